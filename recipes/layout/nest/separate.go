package nest

import "math"

// separate moves pieces out of each other's way until none overlap. It gives up after patience passes in a row
// without a loss 2 % lower, so often as strikes says; the scene then is the best it found.
func (s *Search) separate(patience, strikes int) bool {
	var best scene
	s.save(&best)
	best.loss = s.total()
	for strike := 0; strike < strikes; strike++ {
		begin := best.loss
		mark := best.loss
		for idle := 0; idle < patience; idle++ {
			if best.loss == 0 {
				return true
			}
			if s.due() {
				s.restore(&best)
				return false
			}
			s.pass()
			loss := s.total()
			if loss < best.loss {
				s.save(&best)
				best.loss = loss
				if loss < 0.98*mark {
					mark, idle = loss, -1
				}
			}
			if loss == 0 {
				return true
			}
			s.reweigh()
		}
		if best.loss < 0.98*begin {
			strike = -1
		}
		s.restore(&best)
	}
	return false
}

// restore loads a scene but keeps the weights.
func (s *Search) restore(from *scene) {
	s.load(from)
	for i := range s.n {
		s.relate(i)
	}
}

// pass gives every piece that overlaps another a new place, in random order.
func (s *Search) pass() {
	s.order = s.order[:0]
	for i := range s.n {
		if !s.fixed[i] && s.weighted(i) > 0 {
			s.order = append(s.order, i)
		}
	}
	s.rng.Shuffle(len(s.order), func(a, b int) { s.order[a], s.order[b] = s.order[b], s.order[a] })
	for _, i := range s.order {
		if s.weighted(i) > 0 {
			s.relocate(i)
		}
	}
}

// shorten cuts the strip at a place along it and pushes what lies beyond back. It is false where a piece does not
// fit the new length at any angle tried.
func (s *Search) shorten(length, cut float64) bool {
	s.evaluations += s.n // so that no search goes on for ever where all goes well at once
	by := s.length - length
	s.length = length
	for i := range s.n {
		if s.fixed[i] {
			continue
		}
		sh := s.shapes[i]
		x, y := s.x[i], s.y[i]
		if y+sh.h/2 > cut {
			y -= by
		}
		if sh.h > length {
			if sh = s.lower(i); sh == nil {
				return false
			}
		}
		x, y = s.clamp(sh, x, math.Round(y))
		s.put(i, sh, x, y)
	}
	s.relateAll()
	return true
}

// lower is piece i at an angle at which it fits the strip; nil if none is found.
func (s *Search) lower(i int) *shape {
	d := s.pieces[i]
	for _, sh := range d.shapes {
		if sh.h <= s.length && sh.w <= s.width {
			return sh
		}
	}
	if d.free {
		for k := range int32(freeAngles) {
			if sh := s.at(i, k*(360_000/freeAngles)); sh.h <= s.length && sh.w <= s.width {
				return sh
			}
		}
	}
	return nil
}
