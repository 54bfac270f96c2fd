package rpc

import (
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"go.uber.org/zap"

	"evenpeel/recipes"
)

const (
	reachAge   = time.Minute            // how old a stored pull may grow while a branch goes on pulling the same
	reachDelay = 250 * time.Millisecond // how long news of reach is gathered, so that a thousand pulls are one write
	reachRetry = 5 * time.Second        // after a write that failed
	reachStore = 10 * time.Second       // for one write
)

// keptReaches is a name for the part that does not hide the method of the same name.
type keptReaches = recipes.Reaches

// ReachBook stands in front of recipes.Reaches. It writes only what is news, or older than a minute, and writes it
// together, a moment later, off the way of the pull. Whoever reads gets what was noted here before. What a process that
// dies had not written yet is written at the branch's next pull, since the next process knows nothing and finds
// everything news.
type ReachBook struct {
	keptReaches
	log *zap.Logger

	writing sync.Mutex // one write at a time, so that a reader waits for what is on its way
	mu      sync.Mutex
	noted   map[string]recipes.Reach // last by branch
	waiting map[string]recipes.Reach // not written yet
	due     bool                     // whether a write is on its way
}

// NewReachBook makes a book in front of where reach is kept.
func NewReachBook(kept recipes.Reaches, log *zap.Logger) *ReachBook {
	return &ReachBook{keptReaches: kept, log: log, noted: map[string]recipes.Reach{}, waiting: map[string]recipes.Reach{}}
}

// NoteReach takes a note; it is written soon.
func (b *ReachBook) NoteReach(_ context.Context, r recipes.Reach) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if last, known := b.noted[r.Branch]; known && last.Held == r.Held && r.Pulled.Sub(last.Pulled) < reachAge {
		return nil
	}
	b.noted[r.Branch], b.waiting[r.Branch] = r, r
	b.soon(reachDelay)
	return nil
}

// soon plans a write; the caller holds mu.
func (b *ReachBook) soon(delay time.Duration) {
	if b.due {
		return
	}
	b.due = true
	time.AfterFunc(delay, func() {
		ctx, end := context.WithTimeout(context.Background(), reachStore)
		defer end()
		b.mu.Lock()
		b.due = false
		b.mu.Unlock()
		if err := b.Flush(ctx); err != nil {
			b.log.Warn("who holds which release could not be stored; it is tried again", zap.String("room", room), zap.Error(err))
		}
	})
}

// Flush writes what waits. What could not be written waits on.
func (b *ReachBook) Flush(ctx context.Context) error {
	b.writing.Lock()
	defer b.writing.Unlock()
	b.mu.Lock()
	list := make([]recipes.Reach, 0, len(b.waiting))
	for _, r := range b.waiting {
		list = append(list, r)
	}
	clear(b.waiting)
	b.mu.Unlock()
	if len(list) == 0 {
		return nil
	}
	// In one order everywhere: two processes that write the same rows must not wait for each other.
	slices.SortFunc(list, func(x, y recipes.Reach) int { return strings.Compare(x.Branch, y.Branch) })
	err := b.NoteReaches(ctx, list)
	if err == nil {
		return nil
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, r := range list {
		if _, newer := b.waiting[r.Branch]; !newer {
			b.waiting[r.Branch] = r
		}
	}
	b.soon(reachRetry)
	return err
}

// Reaches lists what is known, with what was noted here and is not written yet.
func (b *ReachBook) Reaches(ctx context.Context) ([]recipes.Reach, error) {
	if err := b.Flush(ctx); err != nil {
		return nil, err
	}
	return b.keptReaches.Reaches(ctx)
}
