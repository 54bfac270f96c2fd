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

// Refresh reads the sessions in use once more, all at once, and writes down which were used. Called every second or
// two, it keeps the store out of the way of calls: what ended elsewhere is refused here after the next Refresh, and
// where Refresh fails or is not called, what was read grows old and every call looks for itself.
func (g *Guard) Refresh(ctx context.Context) error {
	now := g.now()
	seen, inUse := g.cache.due(now)
	if len(seen) > 0 {
		if err := g.directory.SeeSessions(ctx, seen, now); err != nil {
			g.cache.unsee(seen)
			return err
		}
	}
	if len(inUse) == 0 {
		return nil
	}
	mark := g.cache.mark()
	list, err := g.directory.Standings(ctx, inUse)
	if err != nil {
		return err
	}
	g.cache.keepAll(list, inUse, now, mark)
	return nil
}
