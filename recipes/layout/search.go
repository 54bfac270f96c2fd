package layout

import (
	"cmp"
	"context"
	"math/rand/v2"
	"slices"
)

// stopEvery is how many moves pass between two looks at the context.
const stopEvery = 64

// flipIn30 of 30 moves change a preferred orientation; of the others two thirds swap and one third shifts.
const flipIn30 = 3

// trail is one start order and where the search has brought it.
type trail struct {
	seq    []wish
	height int64
	uneven float64
}

// search is a strip, its kinds and the best packing so far.
type search struct {
	e      *engine
	floor  int64 // no packing is lower
	height int64
	best   []spot
	trails []trail
	moves  int
	found  func() // a lower packing is in best
}

// orders are the five start orders, largest first: area, height, width, half perimeter, longer side.
func orders(kinds []kind) [][]wish {
	measures := []func(b box) int64{
		func(b box) int64 { return b.w * b.h },
		func(b box) int64 { return b.h },
		func(b box) int64 { return b.w },
		func(b box) int64 { return b.w + b.h },
		func(b box) int64 { return max(b.w, b.h) },
	}
	ids := make([]int32, len(kinds))
	var out [][]wish
	for _, measure := range measures {
		for i := range ids {
			ids[i] = int32(i)
		}
		slices.SortStableFunc(ids, func(a, b int32) int {
			return cmp.Compare(measure(kinds[b].ways[0]), measure(kinds[a].ways[0]))
		})
		var seq []wish
		for _, k := range ids {
			for range kinds[k].count {
				seq = append(seq, wishFor(k))
			}
		}
		out = append(out, seq)
	}
	return out
}

// start packs every start order once, without limit.
func (s *search) start() {
	for _, seq := range orders(s.e.kinds) {
		s.add(seq, far)
	}
}

// add packs seq below limit and keeps it as a trail; false where it does not hold the limit.
func (s *search) add(seq []wish, limit int64) bool {
	if !s.e.pack(seq, limit) {
		return false
	}
	s.trails = append(s.trails, trail{seq, s.e.top(), s.e.unevenness()})
	s.keep()
	return true
}

func (s *search) keep() {
	if h := s.e.top(); s.best == nil || h < s.height {
		s.height = h
		s.best = append(s.best[:0], s.e.spots...)
		if s.found != nil {
			s.found()
		}
	}
}

// run spends the moves of the effort round robin over the trails. The first m moves are the same whatever
// the total, so more moves are never longer.
func (s *search) run(ctx context.Context, effort Effort) {
	if !s.changeable() {
		return
	}
	rng := rand.New(rand.NewPCG(effort.Seed, 0))
	visit := max(4*len(s.e.pos), 200)
	for t := 0; ; t = (t + 1) % len(s.trails) {
		for range visit {
			if s.height <= s.floor || s.moves >= effort.Moves || s.moves%stopEvery == 0 && ctx.Err() != nil {
				return
			}
			s.moves++
			s.move(&s.trails[t], rng)
		}
	}
}

// changeable reports whether any two sequences differ: two kinds, or one that may turn.
func (s *search) changeable() bool {
	present := 0
	for _, k := range s.e.kinds {
		if k.count > 0 {
			present += len(k.ways)
		}
	}
	return present > 1
}

// move tries one change of the order, or of one preferred orientation, and keeps it when the packing is not
// worse: lower, or as low and as flat.
func (s *search) move(t *trail, rng *rand.Rand) {
	seq, n := t.seq, len(t.seq)
	i, j := rng.IntN(n), rng.IntN(n)
	dice := rng.IntN(30)
	if dice < flipIn30 {
		if len(s.e.kinds[seq[i].kind()].ways) == 1 {
			return
		}
		seq[i] = seq[i].flip()
		if !s.accept(t) {
			seq[i] = seq[i].flip()
		}
		return
	}
	for try := 0; seq[i] == seq[j]; try++ {
		if try == 8 {
			return // nearly all alike: no change would be seen
		}
		i, j = rng.IntN(n), rng.IntN(n)
	}
	if dice%3 < 2 {
		seq[i], seq[j] = seq[j], seq[i]
		if !s.accept(t) {
			seq[i], seq[j] = seq[j], seq[i]
		}
		return
	}
	shift(seq, i, j)
	if !s.accept(t) {
		shift(seq, j, i)
	}
}

// accept packs a changed trail and takes it if it is not worse.
func (s *search) accept(t *trail) bool {
	if !s.e.pack(t.seq, t.height) {
		return false
	}
	h, u := s.e.top(), s.e.unevenness()
	if h == t.height && u > t.uneven {
		return false
	}
	t.height, t.uneven = h, u
	s.keep()
	return true
}

// shift takes out the entry at from and puts it in at to.
func shift(seq []wish, from, to int) {
	k := seq[from]
	if from < to {
		copy(seq[from:to], seq[from+1:to+1])
	} else {
		copy(seq[to+1:from+1], seq[to:from])
	}
	seq[to] = k
}
