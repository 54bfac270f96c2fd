package access

import (
	"context"
	"sync"
	"time"

	"evenpeel/recipes/fault"
)

const (
	longestLook = 10 * time.Second // for one reading of many sessions
	forgetAfter = time.Minute      // a session that nobody asked for is no longer kept fresh
	fewYoung    = 64               // sessions that began, or were read first, since all of them were
	wholeEvery  = 30 * time.Second // all sessions in use are read anew at the latest
)

// gatherer reads sessions for many callers at once: whoever asks while a reading runs goes with the next. When a
// thousand branches come back at one instant, that is some statements rather than two thousand.
type gatherer struct {
	read func(context.Context, []SessionHash) ([]Standing, error)
	mu   sync.Mutex
	next *gathering // nil where nobody waits
	busy bool
}

type gathering struct {
	hashes []SessionHash
	done   chan struct{}
	found  map[SessionHash]Standing
	err    error
}

// standing reads one session. Fault NotSignedIn/SESSION_ENDED where there is none, or nobody to whom it belongs.
func (g *gatherer) standing(ctx context.Context, hash SessionHash) (Standing, error) {
	g.mu.Lock()
	if g.next == nil {
		g.next = &gathering{done: make(chan struct{})}
	}
	mine := g.next
	mine.hashes = append(mine.hashes, hash)
	if !g.busy {
		g.busy = true
		go g.work()
	}
	g.mu.Unlock()
	select {
	case <-mine.done:
	case <-ctx.Done():
		return Standing{}, ctx.Err()
	}
	if mine.err != nil {
		return Standing{}, mine.err
	}
	if s, ok := mine.found[hash]; ok {
		return s, nil
	}
	return Standing{}, sessionEnded()
}

// work reads until nobody waits.
func (g *gatherer) work() {
	for {
		g.mu.Lock()
		now := g.next
		g.next = nil
		if now == nil {
			g.busy = false
			g.mu.Unlock()
			return
		}
		g.mu.Unlock()
		now.found, now.err = g.all(now.hashes)
		close(now.done)
	}
}

func (g *gatherer) all(hashes []SessionHash) (_ map[SessionHash]Standing, err error) {
	// Nobody above could recover a panic of a store here.
	defer func() {
		if broken := recover(); broken != nil {
			err = fault.New(fault.Broken, room, "DIRECTORY_BROKEN", "Something went wrong here. Try again.")
		}
	}()
	ctx, end := context.WithTimeout(context.Background(), longestLook)
	defer end()
	list, err := g.read(ctx, hashes)
	found := make(map[SessionHash]Standing, len(list))
	for _, s := range list {
		found[s.Session.Hash] = s
	}
	return found, err
}

// refreshed is what the last whole refresh knew.
type refreshed struct {
	at    time.Time
	marks Marks
}

// Refresh makes the sessions in use young again, all at once, and writes down which were used. Called every second or
// two, it keeps the store out of the way of calls: what ended elsewhere is refused here after the next Refresh, and
// where Refresh fails or is not called, what was read grows old and every call looks for itself. As long as the
// directory's marks stay the same it reads only sessions that began since it last read all of them; it reads all of
// them every half minute whatever the marks say. It must not be called twice at once.
func (g *Guard) Refresh(ctx context.Context) error {
	now := g.now()
	err := g.refresh(ctx, now)
	g.away.Store(err != nil)
	if err == nil {
		g.heard.Store(now.UnixNano())
	}
	return err
}

func (g *Guard) refresh(ctx context.Context, now time.Time) error {
	seen, old, young := g.cache.due(now, g.whole.at)
	if len(seen) > 0 {
		if err := g.directory.SeeSessions(ctx, seen, now); err != nil {
			g.cache.unsee(seen)
			return err
		}
	}
	drops := g.cache.mark()
	marks, err := g.directory.Marks(ctx, g.whole.at)
	if err != nil {
		return err
	}
	if marks == g.whole.marks && len(young) <= fewYoung && now.Sub(g.whole.at) < wholeEvery && !now.Before(g.whole.at) {
		g.cache.stay(old, now, drops)
	} else {
		// The marks of this instant are taken first: what changes while sessions are read changes them once more.
		if marks, err = g.directory.Marks(ctx, now); err != nil {
			return err
		}
		g.whole = refreshed{now, marks}
		young = append(young, old...)
	}
	if len(young) == 0 {
		return nil
	}
	list, err := g.directory.Standings(ctx, young)
	if err != nil {
		g.whole = refreshed{}
		return err
	}
	g.cache.keepAll(list, young, now, drops)
	return nil
}
