package nest

import (
	"math"
	"slices"
)

// edge runs upwards: y0 ≤ y1.
type edge struct{ x0, y0, x1, y1, left, right float64 }

type circle struct{ x, y, r float64 }

// shape is a design at one angle, its box's lower left corner at the origin.
type shape struct {
	d       *Design
	angle   int32
	w, h    float64 // box of the outline itself
	box     rect    // of what the search separates, a little more than the outline's where it was simplified
	edges   []edge
	starts  []Point // one corner of every ring
	circles []circle
	xs, ys  []float64 // where corners or straight sides are worth lining up with a neighbour's
}

type rect struct{ x0, y0, x1, y1 float64 }

// turn makes into the design at an angle; the rounding is that of layout.Outlined.
func (d *Design) turn(into *shape, angle int32) {
	sin, cos := sincos(angle)
	turned := func(p Point) Point {
		return Point{math.Round(float64(p.X*cos) - float64(p.Y*sin)), math.Round(float64(p.X*sin) + float64(p.Y*cos))}
	}
	low, high := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, p := range d.corners {
		q := turned(p)
		low = Point{min(low.X, q.X), min(low.Y, q.Y)}
		high = Point{max(high.X, q.X), max(high.Y, q.Y)}
	}
	into.d, into.angle, into.w, into.h = d, angle, high.X-low.X, high.Y-low.Y
	into.edges, into.starts, into.circles = into.edges[:0], into.starts[:0], into.circles[:0]
	into.box = rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, ring := range d.rings {
		last := turned(ring[len(ring)-1])
		last = Point{last.X - low.X, last.Y - low.Y}
		for i, p := range ring {
			q := turned(p)
			q = Point{q.X - low.X, q.Y - low.Y}
			if i == 0 {
				into.starts = append(into.starts, q)
			}
			b := &into.box
			b.x0, b.y0, b.x1, b.y1 = min(b.x0, q.X), min(b.y0, q.Y), max(b.x1, q.X), max(b.y1, q.Y)
			e := edge{last.X, last.Y, q.X, q.Y, min(last.X, q.X), max(last.X, q.X)}
			if e.y0 > e.y1 {
				e.x0, e.y0, e.x1, e.y1 = e.x1, e.y1, e.x0, e.y0
			}
			if last != q {
				into.edges = append(into.edges, e)
			}
			last = q
		}
	}
	into.xs, into.ys = d.marks(into.xs[:0], into.ys[:0], into.edges)
	for _, c := range d.circles {
		into.circles = append(into.circles, circle{c.x*cos - c.y*sin - low.X, c.x*sin + c.y*cos - low.Y, c.r})
	}
}

func sincos(angle int32) (sin, cos float64) {
	switch angle {
	case 0:
		return 0, 1
	case 90_000:
		return 1, 0
	case 180_000:
		return 0, -1
	case 270_000:
		return -1, 0
	}
	return math.Sincos(float64(angle) * math.Pi / (180 * 1000))
}

// NewDesign simplifies an outline and finds its circles. filled fills its holes.
func NewDesign(in Drawing, filled bool) *Design {
	d := &Design{box: in.Box, angles: in.Angles, free: len(in.Angles) == 0}
	rings := oriented(in.Rings)
	if filled {
		rings = outers(rings)
	}
	for _, ring := range in.Rings {
		d.corners = append(d.corners, ring...)
	}
	d.corners = hull(d.corners)
	if len(rings) == 0 { // a line, or loops that cancel out: its box stands for it
		low, high := d.corners[0], d.corners[0]
		for _, p := range d.corners {
			low, high = Point{min(low.X, p.X), min(low.Y, p.Y)}, Point{max(high.X, p.X), max(high.Y, p.Y)}
		}
		d.corners = []Point{low, {high.X, low.Y}, high, {low.X, high.Y}}
		rings = [][]Point{d.corners}
	}
	for _, ring := range rings {
		d.area += signedArea(ring)
	}
	d.area = max(1, d.area) // of crossing loops it may come out below zero
	d.pull = math.Sqrt(math.Sqrt(signedArea(d.corners)))
	for i, p := range d.corners {
		for _, q := range d.corners[i+1:] {
			d.across = max(d.across, math.Hypot(p.X-q.X, p.Y-q.Y))
		}
	}
	d.rings, d.simpler = simplified(rings, d.area)
	d.circles = inscribed(d.rings, d.area)
	for _, a := range d.angles {
		sh := &shape{}
		d.turn(sh, a)
		known := slices.ContainsFunc(d.shapes, func(o *shape) bool { return sameEdges(o, sh) })
		if !known { // a square turned by a quarter is no other shape
			d.shapes = append(d.shapes, sh)
		}
	}
	return d
}

func sameEdges(a, b *shape) bool {
	if len(a.edges) != len(b.edges) || a.w != b.w || a.h != b.h {
		return false
	}
	for _, e := range a.edges {
		if !slices.Contains(b.edges, e) {
			return false
		}
	}
	return true
}

// signedArea is above zero for a ring that runs counter-clockwise.
func signedArea(ring []Point) float64 {
	sum := 0.0
	last := ring[len(ring)-1]
	for _, p := range ring {
		sum += last.X*p.Y - last.Y*p.X
		last = p
	}
	return sum / 2
}

// oriented are the rings without double points, running so that the solid lies on the left.
func oriented(rings [][]Point) [][]Point {
	var out [][]Point
	for _, ring := range rings {
		clean := slices.Compact(slices.Clone(ring))
		for len(clean) > 1 && clean[0] == clean[len(clean)-1] {
			clean = clean[:len(clean)-1]
		}
		if len(clean) > 2 && signedArea(clean) != 0 {
			out = append(out, clean)
		}
	}
	for i, ring := range out {
		if (depth(out, i)%2 == 0) != (signedArea(ring) > 0) {
			slices.Reverse(ring)
		}
	}
	return out
}

// depth is in how many other rings ring i lies, judged by a corner that is none of theirs.
func depth(rings [][]Point, i int) int {
	n := 0
	for j, other := range rings {
		if j == i {
			continue
		}
		for _, p := range rings[i] {
			if !slices.Contains(other, p) {
				if within(other, p) {
					n++
				}
				break
			}
		}
	}
	return n
}

func outers(rings [][]Point) [][]Point {
	var out [][]Point
	for i, ring := range rings {
		if depth(rings, i) == 0 {
			out = append(out, ring)
		}
	}
	return out
}

func within(ring []Point, p Point) bool {
	in := false
	last := ring[len(ring)-1]
	for _, q := range ring {
		if (q.Y > p.Y) != (last.Y > p.Y) && p.X < (last.X-q.X)*(p.Y-q.Y)/(last.Y-q.Y)+q.X {
			in = !in
		}
		last = q
	}
	return in
}

// hull is the convex hull, counter-clockwise (Andrew's monotone chain).
func hull(points []Point) []Point {
	ps := slices.Clone(points)
	slices.SortFunc(ps, func(a, b Point) int {
		if a.X != b.X {
			return int(math.Copysign(1, a.X-b.X))
		}
		return int(math.Copysign(1, a.Y-b.Y))
	})
	ps = slices.Compact(ps)
	if len(ps) < 3 {
		return ps
	}
	var out []Point
	for pass := range 2 {
		from := len(out)
		for _, p := range ps {
			for len(out) >= from+2 && cross(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		out = out[:len(out)-1]
		if pass == 0 {
			slices.Reverse(ps)
		}
	}
	return out
}

// cross is twice the area of the triangle, above zero if c lies left of a → b.
func cross(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
