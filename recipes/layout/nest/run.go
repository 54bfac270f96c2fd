package nest

import (
	"cmp"
	"context"
	"slices"
)

const (
	searches      = 2       // seeds that run side by side and share the shortest layout
	soloBelow     = 100_000 // evaluations that are not worth a second search
	firstRound    = 20_000  // evaluations after which they first meet
	longRound     = 500_000 // later rounds grow to this
	largeShare    = 0.75    // of the area: the pieces worth swapping
	starting      = 0.4     // of the evaluations go into fresh starts; the best of all searches goes on
	startPer      = 100_000 // evaluations per piece of each of several fresh starts, at least
	shortStart    = 15_000  // of a single one; with less to spend, the given layout is the start
	mostStarts    = 12
	worthStarting = 1.1 // a start may begin so much longer than the best layout
	exploring     = 0.8 // of the evaluations; the rest compresses
)

// Run looks for a shorter layout than the given one until the evaluations are spent, split over two searches, or
// the context ends. shorter is called with each shorter layout, from one goroutine, and says whether it may be
// kept. The same problem, seed and evaluations give the same answer. What is spent is returned.
func Run(ctx context.Context, p Problem, seed uint64, start []Spot, length float64, evaluations int, shorter func(spots []Spot, length float64) bool) int {
	st := newStrip(p)
	for i, fixed := range st.fixed {
		if fixed { // the strip can not end below what stays
			sh := &shape{}
			st.pieces[i].turn(sh, start[i].Angle)
			st.floor = max(st.floor, start[i].Y+sh.h)
		}
	}
	n := searches
	if evaluations < soloBelow {
		n = 1
	}
	t := &team{ctx: ctx, budget: evaluations / n, paused: make(chan *Search), round: firstRound, shorter: shorter}
	t.best = scene{spots: slices.Clone(start), length: length}
	for k := range n {
		q := newSearch(st, seed, uint64(k))
		q.next = min(t.round, t.budget)
		q.best, q.top, q.shared = *t.best.clone(), *t.best.clone(), t.best
		t.all = append(t.all, q)
	}
	if n == 1 {
		t.solo()
	} else {
		t.lead()
	}
	spent := 0
	for _, q := range t.all {
		spent += q.evaluations
	}
	return spent
}

// team is the searches of one run. They meet after every round, so that what they share does not depend on
// which of them is faster.
type team struct {
	ctx     context.Context
	all     []*Search
	budget  int
	round   int
	paused  chan *Search
	best    scene
	shorter func([]Spot, float64) bool
	over    bool
}

// solo runs the one search there is.
func (t *team) solo() {
	q := t.all[0]
	q.pause = func() bool {
		t.meet()
		return t.over
	}
	q.work(t.budget)
	t.meet()
}

// lead runs the searches side by side until all have ended.
func (t *team) lead() {
	for _, q := range t.all {
		q.resume = make(chan bool)
		q.pause = func() bool {
			t.paused <- q
			return <-q.resume
		}
		go func() {
			q.work(t.budget)
			q.ended = true
			t.paused <- q
		}()
	}
	for working := len(t.all); working > 0; {
		waiting := 0
		for range working {
			if q := <-t.paused; !q.ended {
				waiting++
			}
		}
		working = waiting
		t.meet()
		for _, q := range t.all {
			if !q.ended {
				q.resume <- t.over || q.evaluations >= t.budget
			}
		}
	}
}

// meet offers what is shorter to whoever asked, shares it, and sets the next meeting. Nothing runs meanwhile.
func (t *team) meet() {
	for _, q := range t.all {
		if q.top.length >= t.best.length {
			continue
		}
		if t.shorter(q.top.spots, q.top.length) {
			t.best = *q.top.clone()
			continue
		}
		q.top, q.best = *t.best.clone(), *t.best.clone() // refused: back to what holds
	}
	t.round = min(2*t.round, longRound)
	t.over = t.ctx.Err() != nil || t.best.length <= t.all[0].floor
	for _, q := range t.all {
		q.shared = t.best
		q.next = min(q.next+t.round, t.budget)
		t.over = t.over || q.evaluations >= t.budget && len(t.all) == 1
	}
}

// work is one search from start to end.
func (s *Search) work(budget int) {
	if len(s.large) == 0 {
		return
	}
	s.load(&s.best)
	explore := int(exploring * float64(budget))
	starts := min(int(starting*float64(budget))/(startPer*s.n), mostStarts)
	if starts == 0 && int(starting*float64(budget)) > shortStart*s.n {
		starts = 1
	}
	for k := range starts {
		if s.begin(s.top.length * worthStarting); s.best.length == inf {
			s.best = *s.top.clone()
		}
		s.explore(int(starting*float64(budget))*(k+1)/starts, false)
		s.best = scene{length: inf}
	}
	s.rejoin()
	s.explore(explore, true)
	s.rejoin()
	s.compress(budget)
}

// rejoin goes on from the shortest layout of all searches.
func (s *Search) rejoin() {
	if s.shared.length < s.top.length {
		s.top = *s.shared.clone()
	}
	s.best = *s.top.clone()
}

// largest are the free pieces that make up most of the area.
func largest(s *strip) []int {
	var all []int
	for i := range s.pieces {
		if !s.fixed[i] {
			all = append(all, i)
		}
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(s.pieces[b].area, s.pieces[a].area) })
	sum, want := 0.0, 0.0
	for _, i := range all {
		want += largeShare * s.pieces[i].area
	}
	for k, i := range all {
		if sum += s.pieces[i].area; sum >= want {
			return all[:k+1]
		}
	}
	return all
}
