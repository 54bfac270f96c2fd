package nest

import (
	"cmp"
	"math"
	"slices"
)

const (
	snapWithin = 0.05 // of the smaller side: farther a piece is not moved to line up
	snapTries  = 3    // nearest alignments tried along each axis
	mostMarks  = 12   // an outline with more corners is lined up by its straight sides only
)

// marks are the heights across and along at which an outline could line up with a neighbour exactly. Steps that
// only get finer never hit the one place at which pieces cut from one sheet go together again.
func (d *Design) marks(xs, ys []float64, edges []edge) ([]float64, []float64) {
	few := len(edges) <= mostMarks
	for i := range edges {
		e := &edges[i]
		if few || e.x0 == e.x1 {
			xs = append(xs, e.x0, e.x1)
		}
		if few || e.y0 == e.y1 {
			ys = append(ys, e.y0, e.y1)
		}
	}
	slices.Sort(xs)
	slices.Sort(ys)
	return slices.Compact(xs), slices.Compact(ys)
}

// snap tries to line the candidate up with its neighbours, across and along.
func (s *Search) snap(i int, c candidate, within float64) candidate {
	sh := s.at(i, c.angle)
	s.byX, s.byY = s.byX[:0], s.byY[:0]
	g := s.distance
	x0, y0, x1, y1 := c.x+sh.box.x0-g-within, c.y+sh.box.y0-g-within, c.x+sh.box.x1+g+within, c.y+sh.box.y1+g+within
	for j := range s.boxes {
		b := &s.boxes[j]
		if j == i || b.x0 >= x1 || b.x1 <= x0 || b.y0 >= y1 || b.y1 <= y0 {
			continue
		}
		s.byX = aligned(s.byX, sh.xs, s.shapes[j].xs, s.x[j]-c.x, g, within)
		s.byY = aligned(s.byY, sh.ys, s.shapes[j].ys, s.y[j]-c.y, g, within)
	}
	s.byX, s.byY = nearest(s.byX), nearest(s.byY)
	best := c
	for kx := -1; kx < len(s.byX); kx++ {
		for ky := -1; ky < len(s.byY); ky++ {
			dx, dy := 0.0, 0.0
			if kx >= 0 {
				dx = s.byX[kx]
			}
			if ky >= 0 {
				dy = s.byY[ky]
			}
			if kx < 0 && ky < 0 {
				continue
			}
			if t := s.look(i, sh, c.x+dx, c.y+dy, best.cost); t.cost < best.cost {
				if best = t; best.cost == 0 {
					return best
				}
			}
		}
	}
	return best
}

// aligned adds the moves up to within that bring a mark of a piece onto, or the distance beside, one of a neighbour.
func aligned(moves, own, other []float64, by, distance, within float64) []float64 {
	for _, o := range other {
		for _, m := range own {
			d := o + by - m
			if d != 0 && math.Abs(d) <= within {
				moves = append(moves, d)
			}
			if distance > 0 {
				if e := d + distance; e != 0 && math.Abs(e) <= within {
					moves = append(moves, e)
				}
				if e := d - distance; e != 0 && math.Abs(e) <= within {
					moves = append(moves, e)
				}
			}
		}
	}
	return moves
}

// nearest keeps the few shortest different moves.
func nearest(moves []float64) []float64 {
	slices.SortFunc(moves, func(a, b float64) int {
		if c := cmp.Compare(math.Abs(a), math.Abs(b)); c != 0 {
			return c
		}
		return cmp.Compare(a, b)
	})
	moves = slices.Compact(moves)
	return moves[:min(len(moves), snapTries)]
}
