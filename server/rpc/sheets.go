package rpc

import (
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"evenpeel/recipes"
)

// sheetMemory bounds the encoded answers that are kept, in bytes. Above it everything is dropped and made anew.
const sheetMemory = 48 << 20

// sheets keeps answers to PullSheet encoded, so that a pull costs a look into memory. What a branch is answered follows
// from three things: the releases that reach it, the stretch of time between two effective instants, and what it holds
// already. Branches that the same releases reach share one answer.
type sheets struct {
	markets markets
	turn    sync.Mutex // held by whoever makes a table
	table   atomic.Pointer[table]
	spent   atomic.Int64
	away    atomic.Bool // whether the last pull found the store not to answer
}

// table is everything that follows from the releases up to one number. A new release makes a new one.
type table struct {
	newest   int64
	digest   recipes.Digest // of the newest
	signed   []recipes.SignedRelease
	plain    []recipes.Release
	targeted map[string][]int // by branch: places in all of the releases that name branches, and this one among them
	of       sync.Map         // branch → *scope
	mu       sync.Mutex
	scopes   map[string]*scope
}

// scope is what branches share that the same releases reach.
type scope struct {
	table  *table
	branch string // one of them; each stands for all
	market recipes.Market
	window atomic.Pointer[window]
}

// window is a stretch of time in which no release takes effect.
type window struct {
	from, until   time.Time // until is zero where nothing comes
	current, next *recipes.Sheet
	mu            sync.RWMutex
	answers       map[position]*encoded
}

// position is what makes answers of one window differ.
type position struct {
	held    int  // how many of the releases the branch holds
	newest  bool // whether it named exactly the newest
	patches bool
}

// encoded is an answer, or the error of making it, once ready is closed.
type encoded struct {
	ready   chan struct{}
	content []byte
	err     error
}

// upTo gives a table that knows every release up to the newest. Many that ask at once cause one reading.
func (s *sheets) upTo(ctx context.Context, catalog recipes.Catalog) (*table, error) {
	newest, err := catalog.NewestRelease(ctx)
	if err != nil {
		return nil, err
	}
	if t := s.table.Load(); t != nil && t.newest >= newest {
		return t, nil
	}
	s.turn.Lock()
	defer s.turn.Unlock()
	if t := s.table.Load(); t != nil && t.newest >= newest {
		return t, nil
	}
	all, err := catalog.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	t := newTable(all)
	t.newest = max(t.newest, newest)
	s.spent.Store(0)
	s.table.Store(t)
	return t, nil
}

func newTable(all []recipes.SignedRelease) *table {
	t := &table{signed: all, plain: make([]recipes.Release, len(all)), targeted: map[string][]int{}, scopes: map[string]*scope{}}
	for i, r := range all {
		t.newest, t.digest, t.plain[i] = r.Release.Number, r.Sealed.Digest(), r.Release
		for _, branch := range r.Release.Branches {
			t.targeted[branch] = append(t.targeted[branch], i)
		}
	}
	return t
}

func (t *table) scope(branch string, market recipes.Market) *scope {
	if known, ok := t.of.Load(branch); ok {
		return known.(*scope)
	}
	key := []string{string(market)}
	for _, i := range t.targeted[branch] {
		if t.plain[i].Reaches(branch, market) {
			key = append(key, strconv.Itoa(i))
		}
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	one := strings.Join(key, " ")
	sc := t.scopes[one]
	if sc == nil {
		sc = &scope{table: t, branch: branch, market: market}
		t.scopes[one] = sc
	}
	t.of.Store(branch, sc)
	return sc
}

// at gives the window in which an instant lies. Only the last one position for is kept: time goes on.
func (sc *scope) at(now time.Time) *window {
	w := sc.window.Load()
	if w != nil && !now.Before(w.from) && (w.until.IsZero() || now.Before(w.until)) {
		return w
	}
	current, next := recipes.SheetAt(sc.table.plain, sc.branch, sc.market, now)
	fresh := &window{current: &current, next: next, answers: map[position]*encoded{}}
	// Every instant counts, also one that changes nothing for who holds all: for who holds less it may.
	for _, r := range sc.table.plain {
		switch at := r.Effective; {
		case !r.Reaches(sc.branch, sc.market):
		case at.After(now) && (fresh.until.IsZero() || at.Before(fresh.until)):
			fresh.until = at
		case !at.After(now) && at.After(fresh.from):
			fresh.from = at
		}
	}
	if sc.window.CompareAndSwap(w, fresh) {
		return fresh
	}
	if w = sc.window.Load(); w.from.Equal(fresh.from) {
		return w // somebody was quicker; sharing theirs shares their answers
	}
	return fresh
}

// answer gives an encoded answer, making it at most once however many ask at once. A failed making is not kept.
func (w *window) answer(ctx context.Context, key position, making func(context.Context) ([]byte, error)) ([]byte, error) {
	w.mu.RLock()
	a := w.answers[key]
	w.mu.RUnlock()
	if a == nil {
		w.mu.Lock()
		if a = w.answers[key]; a == nil {
			a = &encoded{ready: make(chan struct{})}
			w.answers[key] = a
			w.mu.Unlock()
			// Others wait for this one, so it goes on when its own asker goes away.
			if a.content, a.err = making(context.WithoutCancel(ctx)); a.err != nil {
				w.mu.Lock()
				delete(w.answers, key)
				w.mu.Unlock()
			}
			close(a.ready)
			return a.content, a.err
		}
		w.mu.Unlock()
	}
	select {
	case <-a.ready:
		return a.content, a.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// keep counts what was encoded, and starts afresh where it is too much. The releases stay: they are what is answered
// from while the store is away.
func (s *sheets) keep(bytes int) {
	t := s.table.Load()
	if s.spent.Add(int64(bytes)) > sheetMemory && t != nil && s.table.CompareAndSwap(t, newTable(t.signed)) {
		s.spent.Store(0)
	}
}

// held is how many releases have at most this number.
func (t *table) held(number int64) int {
	n, found := slices.BinarySearchFunc(t.plain, number, func(r recipes.Release, n int64) int { return cmp.Compare(r.Number, n) })
	if found {
		n++
	}
	return n
}

// numberAt is the number of the last of so many releases; 0 of none.
func (t *table) numberAt(held int) int64 {
	if held == 0 {
		return 0
	}
	return t.plain[held-1].Number
}
