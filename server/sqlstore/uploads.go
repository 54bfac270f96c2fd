package sqlstore

import (
	"context"
	"slices"
	"sync"

	"evenpeel/branches/runs"
	"evenpeel/recipes/fault"
)

// MaxRuns is the most runs that one Append takes.
const MaxRuns = 10_000

// groupRuns is how many runs a group of uploads grows to: enough to share the flush to disk among many, few enough that the
// first of them does not wait long.
const groupRuns = 2_000

// upload is one call of Append. Uploads that come while others are written wait and are then written together, in one
// transaction and with one flush, though each is still stored whole or refused by itself.
type upload struct {
	runs      []runs.Run
	revisions []int64
	done      chan struct{} // closed when the rest is set

	stored, known int
	err           error
}

// uploads are those of this process. Whoever has the turn writes for all that wait.
type uploads struct {
	turn    chan struct{}
	mu      sync.Mutex
	waiting []*upload
}

func newUploads() *uploads { return &uploads{turn: make(chan struct{}, 1)} }

// group takes those off that wait, in their order, up to groupRuns, but at least one.
func (u *uploads) group() []*upload {
	u.mu.Lock()
	defer u.mu.Unlock()
	n, count := 0, 0
	for n < len(u.waiting) && (n == 0 || count+len(u.waiting[n].runs) <= groupRuns) {
		count += len(u.waiting[n].runs)
		n++
	}
	group := slices.Clone(u.waiting[:n])
	u.waiting = slices.Delete(u.waiting, 0, n)
	return group
}

// withdraw takes back what nobody has begun to write.
func (u *uploads) withdraw(one *upload) bool {
	u.mu.Lock()
	defer u.mu.Unlock()
	i := slices.Index(u.waiting, one)
	if i >= 0 {
		u.waiting = slices.Delete(u.waiting, i, i+1)
	}
	return i >= 0
}

// Append stores runs, all or none, and their roll-ups in the same transaction. Faults as the Ledger's, and
// TooLarge/TOO_MANY_RUNS, Invalid/REVISION_NAME_INVALID. Where ctx ends while they are written nobody knows whether they
// were stored: sending them again is safe.
func (s *Store) Append(ctx context.Context, rs []runs.Run) (stored, known int, err error) {
	if len(rs) > MaxRuns {
		return 0, 0, fault.New(fault.TooLarge, room, TooManyRuns, "%d runs were sent at once; at most %d are taken. Send them in parts.", len(rs), MaxRuns)
	}
	if len(rs) == 0 {
		return 0, 0, nil
	}
	u := &upload{runs: slices.Clone(rs), revisions: make([]int64, len(rs)), done: make(chan struct{})}
	for i := range u.runs {
		r := &u.runs[i]
		if r.Received.IsZero() {
			r.Received = r.End
		}
		if r.Recipe == "" {
			continue // worked by hand, without a recipe: revision 0
		}
		if _, u.revisions[i], err = r.Recipe.Parts(); err != nil {
			return 0, 0, err
		}
	}
	s.uploads.mu.Lock()
	s.uploads.waiting = append(s.uploads.waiting, u)
	s.uploads.mu.Unlock()
	for {
		select {
		case <-u.done:
			return u.stored, u.known, u.err
		default:
		}
		select {
		case <-u.done:
		case s.uploads.turn <- struct{}{}:
			// Others wait for this too, so it does not end with the context of the one who writes.
			s.writeGroup(context.WithoutCancel(ctx), s.uploads.group())
			<-s.uploads.turn
		case <-ctx.Done():
			s.uploads.withdraw(u)
			return 0, 0, s.fault(ctx.Err())
		}
	}
}

// writeGroup stores uploads in one transaction. Where that fails for a reason that is not one upload's own, each is tried
// by itself, so that a text that can not be kept harms nobody else.
func (s *Store) writeGroup(ctx context.Context, group []*upload) {
	if len(group) == 0 {
		return
	}
	err := s.inWrite(ctx, func(t *writing) error {
		return (&appending{t: t, words: s.words.numbering()}).do(ctx, group)
	})
	if err != nil && len(group) > 1 && !fault.Is(err, fault.Unavailable) {
		for _, u := range group {
			s.writeGroup(ctx, []*upload{u})
		}
		return
	}
	for _, u := range group {
		if err != nil {
			u.stored, u.known, u.err = 0, 0, err
		}
		close(u.done)
	}
}
