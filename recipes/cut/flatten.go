package cut

import "math"

// maxChords bounds one curve, so that a tolerance far below need can not allocate without limit.
const maxChords = 4096

// arc is an elliptical arc about a centre: SVG 2, implementation notes, "elliptical arc parameterization".
type arc struct {
	centre      Point
	rx, ry, phi float64 // phi in radians
	from, sweep float64 // radians
}

func (e arc) at(t float64) Point {
	s, c := math.Sincos(e.from + e.sweep*t)
	sp, cp := math.Sincos(e.phi)
	return Point{e.centre.X + e.rx*c*cp - e.ry*s*sp, e.centre.Y + e.rx*c*sp + e.ry*s*cp}
}

// arcBetween converts end points to a centre (SVG 2, implementation notes, "conversion from endpoint to center
// parameterization"). ok is false where the arc is a straight line or nothing: equal ends or a zero radius.
func arcBetween(from, to Point, rx, ry, degrees float64, large, sweep bool) (arc, bool) {
	rx, ry = math.Abs(rx), math.Abs(ry)
	if from == to || rx == 0 || ry == 0 {
		return arc{}, false
	}
	phi := math.Mod(degrees, 360) * math.Pi / 180
	sp, cp := math.Sincos(phi)
	hx, hy := (from.X-to.X)/2, (from.Y-to.Y)/2
	x, y := cp*hx+sp*hy, -sp*hx+cp*hy
	if lambda := (x/rx)*(x/rx) + (y/ry)*(y/ry); lambda > 1 { // radii too small to span the ends grow evenly
		rx, ry = rx*math.Sqrt(lambda), ry*math.Sqrt(lambda)
	}
	ux, uy := x/rx, y/ry
	q := ux*ux + uy*uy
	f := math.Sqrt(max(0, (1-q)/q)) // cancellation can push the radicand below 0
	if large == sweep {
		f = -f
	}
	cx, cy := f*uy, -f*ux // centre on the unit circle's scale
	start := math.Atan2(uy-cy, ux-cx)
	turn := math.Atan2(-uy-cy, -ux-cx) - start
	if sweep && turn < 0 {
		turn += 2 * math.Pi
	} else if !sweep && turn > 0 {
		turn -= 2 * math.Pi
	}
	mid := lerp(from, to, 0.5)
	cx, cy = cx*rx, cy*ry
	e := arc{Point{mid.X + cp*cx - sp*cy, mid.Y + sp*cx + cp*cy}, rx, ry, phi, start, turn}
	return e, e.centre.finite() && !math.IsNaN(turn)
}

// arcChords is how many chords keep an arc of radius r within tol: r(1 − cos(sweep/2n)) ≤ tol.
func arcChords(r, sweep, tol float64) int {
	if tol >= r {
		return max(1, int(math.Ceil(math.Abs(sweep)/(math.Pi/2))))
	}
	return bounded(math.Abs(sweep) / (2 * math.Acos(1-tol/r)))
}

// cubicChords is Wang's bound for a cubic: n = √(6·M/(8·tol)) with M the largest second difference.
// Source: Goldman, Pyramid Algorithms (2003), 5.6.3.
func cubicChords(p0, p1, p2, p3 Point, tol float64) int {
	a := p0.minus(p1.times(2)).plus(p2).length()
	b := p1.minus(p2.times(2)).plus(p3).length()
	return bounded(math.Sqrt(6 * max(a, b) / (8 * tol)))
}

func bounded(n float64) int {
	if !(n < maxChords) {
		return maxChords
	}
	return max(1, int(math.Ceil(n-1e-9)))
}

func cubicAt(p0, p1, p2, p3 Point, t float64) Point {
	s := 1 - t
	return p0.times(s * s * s).plus(p1.times(3 * s * s * t)).plus(p2.times(3 * s * t * t)).plus(p3.times(t * t * t))
}

// flattened gives the subpath's points through m, within tol millimetres after m: scale first, flatten second.
func (s *subpath) flattened(m matrix, tol float64) Ring {
	at := s.start
	points := Ring{m.on(at)}
	for _, p := range s.pieces {
		switch p.kind {
		case 'C':
			a, b, c, d := m.on(at), m.on(p.c1), m.on(p.c2), m.on(p.to)
			n := cubicChords(a, b, c, d, tol)
			for i := 1; i < n; i++ {
				points = append(points, cubicAt(a, b, c, d, float64(i)/float64(n)))
			}
		case 'A':
			n := arcChords(max(p.ellipse.rx, p.ellipse.ry)*m.stretch(), p.ellipse.sweep, tol)
			for i := 1; i < n; i++ {
				points = append(points, m.on(p.ellipse.at(float64(i)/float64(n))))
			}
		}
		points = append(points, m.on(p.to))
		at = p.to
	}
	return points
}
