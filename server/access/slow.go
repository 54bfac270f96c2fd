package access

import (
	"sync"
	"time"
)

const (
	freeFailures   = 5                // wrong passwords before a wait begins
	firstWait      = 2 * time.Second  // doubles with every further one
	longestWait    = time.Minute      // short, so that nobody can lock another person out for long
	forgetFailures = 30 * time.Minute // after the last one
	mostAddresses  = 10_000           // remembered at once
)

// tries counts wrong passwords by address; known and unknown addresses alike, so that a wait tells nothing.
type tries struct {
	mu    sync.Mutex
	by    map[string]*try
	limit int
}

type try struct {
	count int
	last  time.Time
}

func waitAfter(failures int) time.Duration {
	if failures < freeFailures {
		return 0
	}
	wait := firstWait
	for range failures - freeFailures {
		if wait *= 2; wait >= longestWait {
			return longestWait
		}
	}
	return wait
}

// begin counts one more try before it is known to be wrong: tries at the same time must not all pass. It returns
// how long to wait where it is too early, and then counts nothing.
func (t *tries) begin(email string, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	seen, known := t.by[email]
	if known && now.Sub(seen.last) > forgetFailures {
		*seen = try{}
	}
	if !known {
		t.makeRoom(now)
		seen = &try{}
		t.by[email] = seen
	}
	if left := waitAfter(seen.count) - now.Sub(seen.last); seen.count > 0 && left > 0 {
		return left
	}
	seen.count++
	seen.last = now
	return 0
}

// makeRoom drops what is forgotten anyway, and else the address whose last failure is oldest.
func (t *tries) makeRoom(now time.Time) {
	if len(t.by) < t.limit {
		return
	}
	oldest, at := "", now.Add(time.Hour)
	for email, seen := range t.by {
		if now.Sub(seen.last) > forgetFailures {
			delete(t.by, email)
		} else if seen.last.Before(at) {
			oldest, at = email, seen.last
		}
	}
	if len(t.by) >= t.limit {
		delete(t.by, oldest)
	}
}

// right forgets the failures of an address.
func (t *tries) right(email string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.by, email)
}

// takeBack undoes one count where the try never reached the password.
func (t *tries) takeBack(email string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if seen, ok := t.by[email]; ok && seen.count > 0 {
		seen.count--
	}
}
