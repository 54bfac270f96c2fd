package nest

import (
	"math"
	"slices"
)

const (
	firstStep   = 0.02  // the strip gets shorter by this part at first
	leastStep   = 0.001 // and by no less while exploring
	patienceMin = 20
	patienceMax = 160
	poolMost    = 40
	farBehind   = 0.002 // of the length: then a search jumps to where the other is
	fineTries   = 40    // passes without progress while compressing
	startFill   = 0.72  // density of the random start
)

// explore makes the strip shorter and shorter from the best layout, in steps that adapt, until due. With jump it
// goes over to the layout of another search that has got much farther.
func (s *Search) explore(until int, jump bool) {
	step := firstStep
	patience := patienceMin
	var pool []*scene
	for !s.due() && s.evaluations < until && s.best.length > s.floor {
		length := s.shorter(step)
		if len(pool) == 0 {
			s.load(&s.best)
			if !s.shorten(length, s.best.length/2) {
				if step == leastStep {
					return
				}
				step = max(step/2.5, leastStep)
				continue
			}
		} else {
			s.load(s.draw(pool))
			s.disrupt()
			s.relateAll()
		}
		if s.separate(patience, 1) {
			s.found()
			pool, patience = pool[:0], patienceMin
			step = min(step*1.4, firstStep)
			continue
		}
		if step > leastStep {
			step = max(step/2.5, leastStep)
			continue
		}
		if jump && s.shared.length < s.best.length*(1-farBehind) {
			s.best, pool, patience = *s.shared.clone(), pool[:0], patienceMin
			continue
		}
		fail := &scene{}
		s.save(fail)
		fail.loss = s.total()
		at, _ := slices.BinarySearchFunc(pool, fail.loss, func(o *scene, v float64) int {
			if o.loss < v {
				return -1
			}
			return 1
		})
		pool = slices.Insert(pool, at, fail)
		if len(pool) > poolMost {
			pool = pool[:poolMost]
		}
		patience = min(2*patience, patienceMax)
	}
}

// shorter is the next length to try.
func (s *Search) shorter(step float64) float64 {
	return max(s.floor, math.Floor(min(s.best.length-1, s.best.length*(1-step))))
}

// draw picks one of the failed scenes, the better the likelier.
func (s *Search) draw(pool []*scene) *scene {
	return pool[min(int(math.Abs(s.rng.NormFloat64())*0.25*float64(len(pool))), len(pool)-1)]
}

// disrupt swaps two large pieces of different outline; small ones inside the place of one go along.
func (s *Search) disrupt() {
	i, j, ok := s.unlike()
	if !ok {
		return
	}
	middle := func(i int) (float64, float64) {
		b := s.boxes[i]
		return (b.x0 + b.x1) / 2, (b.y0 + b.y1) / 2
	}
	xi, yi := middle(i)
	xj, yj := middle(j)
	carry := func(big int, dx, dy float64) {
		b := s.boxes[big]
		for k, d := range s.pieces {
			if k == i || k == j || s.fixed[k] || d.area >= s.pieces[big].area/2 {
				continue
			}
			if x, y := middle(k); x > b.x0 && x < b.x1 && y > b.y0 && y < b.y1 {
				px, py := s.clamp(s.shapes[k], math.Round(s.x[k]+dx), math.Round(s.y[k]+dy))
				s.put(k, s.shapes[k], px, py)
			}
		}
	}
	place := func(k int, x, y float64) {
		sh := s.shapes[k]
		px, py := s.clamp(sh, math.Round(x-sh.w/2), math.Round(y-sh.h/2))
		s.put(k, sh, px, py)
	}
	place(i, xj, yj)
	place(j, xi, yi)
	carry(i, xi-xj, yi-yj)
	carry(j, xj-xi, yj-yi)
}

// unlike draws two free pieces of different outline among the largest.
func (s *Search) unlike() (i, j int, ok bool) {
	for range 50 {
		i, j = s.large[s.rng.IntN(len(s.large))], s.large[s.rng.IntN(len(s.large))]
		if s.pieces[i] != s.pieces[j] {
			return i, j, true
		}
	}
	return 0, 0, false
}

// compress shortens the best layout in ever finer steps at random cuts until the evaluations are spent.
func (s *Search) compress(until int) {
	from := s.evaluations
	for !s.due() && s.evaluations < until && s.best.length > s.floor {
		if s.shared.length < s.best.length {
			s.best = *s.shared.clone()
		}
		part := float64(s.evaluations-from) / float64(max(1, until-from))
		step := 0.0005*(1-part) + 0.00001*part
		s.load(&s.best)
		if s.shorten(s.shorter(step), s.rng.Float64()*s.best.length) && s.separate(fineTries, 1) {
			s.found()
		}
	}
}

// found keeps the present scene as the best, ended where the last piece ends.
func (s *Search) found() {
	end := 0.0
	for i := range s.n {
		end = max(end, s.y[i]+s.shapes[i].h)
	}
	s.length = end
	s.save(&s.best)
	if s.length < s.top.length {
		s.save(&s.top)
	}
}

// begin looks for a first layout from a random scene, longer after every failure, but shorter than below.
func (s *Search) begin(below float64) {
	fill := startFill
	for !s.due() {
		length := math.Floor(max(s.floor, s.filled(fill)))
		if length >= below {
			return
		}
		if s.scatter(length) && s.separate(patienceMin, 1) {
			s.found()
			return
		}
		fill /= 1.05
	}
}
