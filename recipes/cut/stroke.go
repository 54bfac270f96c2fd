package cut

import "math"

// outlinedStroke gives the rings, all clockwise, that together cover a stroke of the given look along the line, in the
// line's own coordinates (a stroke is drawn before its transform). tol is in those coordinates; ok is false where there
// would be too many dashes.
// Source: SVG 2, painting, "computing the shape of the stroke".
func outlinedStroke(line Ring, closed bool, l look, tol float64) (rings []Ring, ok bool) {
	line = withoutRepeats(line, closed)
	if len(l.dashes) == 0 || len(line) < 2 {
		return strokeAlong(line, closed, l, tol), true
	}
	runs, ok := dashed(line, closed, l.dashes, l.dashOffset)
	for _, run := range runs {
		rings = append(rings, strokeAlong(withoutRepeats(run, false), false, l, tol)...)
	}
	return rings, ok
}

func strokeAlong(line Ring, closed bool, l look, tol float64) []Ring {
	half := l.width / 2
	if len(line) < 2 {
		if l.cap == "round" && len(line) == 1 {
			return []Ring{disc(line[0], half, tol)}
		}
		if l.cap == "square" && len(line) == 1 {
			return []Ring{quad(line[0].minus(Point{half, 0}), line[0].plus(Point{half, 0}), half)}
		}
		return nil
	}
	var rings []Ring
	n := len(line)
	last := n - 1
	if closed {
		last = n
	}
	for i := range last {
		a, b := line[i], line[(i+1)%n]
		u, _ := b.minus(a).unit()
		if !closed && l.cap == "square" {
			if i == 0 {
				a = a.minus(u.times(half))
			}
			if i == last-1 {
				b = b.plus(u.times(half))
			}
		}
		rings = append(rings, quad(a, b, half))
		if i+1 < last || closed {
			if j := joint(line[i], line[(i+1)%n], line[(i+2)%n], half, l, tol); j != nil {
				rings = append(rings, j)
			}
		}
	}
	if !closed && l.cap == "round" {
		rings = append(rings, disc(line[0], half, tol), disc(line[n-1], half, tol))
	}
	return rings
}

// withoutRepeats drops points that equal the one before but for the last digits, as an arc's end does: an edge between
// them would point anywhere.
func withoutRepeats(line Ring, closed bool) Ring {
	same := func(p, q Point) bool { return p.to(q) <= 1e-12*(1+math.Abs(p.X)+math.Abs(p.Y)) }
	var out Ring
	for _, p := range line {
		if len(out) == 0 || !same(out[len(out)-1], p) {
			out = append(out, p)
		}
	}
	if closed && len(out) > 1 && same(out[0], out[len(out)-1]) {
		out = out[:len(out)-1]
	}
	return out
}

func quad(a, b Point, half float64) Ring {
	u, _ := b.minus(a).unit()
	n := u.leftNormal().times(half)
	return Ring{a.minus(n), b.minus(n), b.plus(n), a.plus(n)}
}

func disc(c Point, r, tol float64) Ring {
	n := max(8, arcChords(r, 2*math.Pi, tol))
	ring := make(Ring, n)
	for i := range ring {
		s, co := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		ring[i] = Point{c.X + r*co, c.Y + r*s}
	}
	return ring
}

// joint fills the wedge on the outer side of the corner a-b-c.
func joint(a, b, c Point, half float64, l look, tol float64) Ring {
	u, _ := b.minus(a).unit()
	v, _ := c.minus(b).unit()
	angle := math.Atan2(u.cross(v), u.dot(v))
	if angle == 0 {
		return nil
	}
	out := -half // the outer side is on the right of a left turn
	if angle < 0 {
		out = half
	}
	p, q := b.plus(u.leftNormal().times(out)), b.plus(v.leftNormal().times(out))
	ring := Ring{b, p}
	switch {
	case l.join == "round":
		steps := arcChords(half, angle, tol)
		start := u.leftNormal().times(out)
		for i := 1; i < steps; i++ {
			s, co := math.Sincos(angle * float64(i) / float64(steps))
			ring = append(ring, b.plus(Point{start.X*co - start.Y*s, start.X*s + start.Y*co}))
		}
	case l.join != "bevel" && 1 <= l.miter*math.Abs(math.Cos(angle/2)):
		mid, _ := u.plus(v).unit()
		if mid != (Point{}) {
			ring = append(ring, b.plus(mid.leftNormal().times(out/math.Cos(angle/2))))
		}
	}
	ring = append(ring, q)
	if ring.Area() < 0 {
		for i, j := 0, len(ring)-1; i < j; i, j = i+1, j-1 {
			ring[i], ring[j] = ring[j], ring[i]
		}
	}
	return ring
}
