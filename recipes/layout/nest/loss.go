package nest

import "math"

// Circles nearer than this many softness lengths still count, so that a pair whose circles do not meet has a
// direction to go.
const (
	reach    = 8
	softness = 0.01 // of the larger piece's extent
	probes   = 3    // largest circles tried first: most overlaps show there
)

// severity is how badly two shapes overlap, as a length times their pulls; 0 if they do not. As soon as it is
// certain to be at least limit, it is infinite.
func (s *Search) severity(a *shape, ax, ay float64, b *shape, bx, by float64, limit float64) float64 {
	dx, dy := bx-ax, by-ay
	hit := a.d.box && b.d.box
	if !hit {
		hit = probe(a, b, dx, dy, s.distance) || s.near.collide(a, b, dx, dy, s.distance)
		if !hit {
			return 0
		}
	}
	soft := softness * max(a.d.across, b.d.across)
	soft2 := soft * soft
	pull := a.d.pull * b.d.pull
	most := inf
	if limit < inf {
		l := limit / pull
		most = (l*l - soft2) / math.Pi
		if most <= 0 {
			return inf
		}
	}
	sum := 0.0
	wide := reach*soft + s.distance
	x0, y0, x1, y1 := b.box.x0-wide, b.box.y0-wide, b.box.x1+wide, b.box.y1+wide
	for i := range a.circles {
		c := &a.circles[i]
		cx, cy, cr := c.x-dx, c.y-dy, c.r
		if cx+cr <= x0 || cx-cr >= x1 || cy+cr <= y0 || cy-cr >= y1 {
			continue // far from all of b
		}
		crd := cr + s.distance
		crw := cr + wide
		for j := range b.circles {
			o := &b.circles[j]
			ex, ey, far := cx-o.x, cy-o.y, crw+o.r
			d2 := ex*ex + ey*ey
			if d2 >= far*far {
				continue
			}
			depth := crd + o.r - math.Sqrt(d2)
			if depth < soft {
				depth = soft2 / (2*soft - depth)
			}
			least := o.r
			if cr < least {
				least = cr
			}
			if sum += depth * least; sum >= most {
				return inf
			}
		}
	}
	return math.Sqrt(math.Pi*sum+soft2) * pull
}

// probe reports whether the largest circles already overlap.
func probe(a, b *shape, dx, dy, distance float64) bool {
	na, nb := min(probes, len(a.circles)), min(probes, len(b.circles))
	for i := range na {
		c := &a.circles[i]
		for j := range nb {
			o := &b.circles[j]
			ex, ey, rr := c.x-dx-o.x, c.y-dy-o.y, c.r+o.r+distance
			if ex*ex+ey*ey < rr*rr*(1-1e-9) {
				return true
			}
		}
	}
	return false
}

// cost is the weighted severity of piece i as shape sh at x, y; from bound up it is infinite.
func (s *Search) cost(i int, sh *shape, x, y, bound float64) float64 {
	s.evaluations++
	g := s.distance
	x0, y0, x1, y1 := x+sh.box.x0-g, y+sh.box.y0-g, x+sh.box.x1+g, y+sh.box.y1+g
	weights := s.weight[i*s.n : (i+1)*s.n]
	total := 0.0
	// Who went over the bound last time most likely does so again.
	first := s.killer
	if first != i {
		if b := &s.boxes[first]; !(b.y1 <= y0 || b.y0 >= y1 || b.x1 <= x0 || b.x0 >= x1) {
			w := weights[first]
			if total = w * s.severity(sh, x, y, s.shapes[first], s.x[first], s.y[first], bound/w); total >= bound {
				return inf
			}
		}
	}
	for j := range s.boxes {
		b := &s.boxes[j]
		if b.y1 <= y0 || b.y0 >= y1 || b.x1 <= x0 || b.x0 >= x1 || j == i || j == first {
			continue
		}
		w := weights[j]
		if total += w * s.severity(sh, x, y, s.shapes[j], s.x[j], s.y[j], (bound-total)/w); total >= bound {
			s.killer = j
			return inf
		}
	}
	return total
}
