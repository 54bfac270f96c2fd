package layout

import (
	"math"

	"evenpeel/recipes/units"
)

// Point is a corner of an outline, X across the roll and Y along it.
type Point struct{ X, Y units.Micrometres }

// Ring is a closed outline without its first point repeated. Which way round it runs does not matter.
type Ring []Point

// Millidegrees is a thousandth of a degree, counter-clockwise.
type Millidegrees int32

// The four quarters, which turn an outline exactly.
const (
	fullTurn    Millidegrees = 360_000
	quarterTurn Millidegrees = 90_000
)

// Turned reports whether the piece's Height lies across the roll: a quarter or three quarters.
func (pl Place) Turned() bool { return pl.Angle == quarterTurn || pl.Angle == 3*quarterTurn }

// Outlined is the piece's rings on the film: turned by the place's angle about the piece's own origin and moved
// so that the lower left corner of their box lies at X, Y. Quarters are exact, since they only swap and negate
// coordinates; at any other angle every point is rounded to the nearest whole micrometre, and these rounded
// rings, the same on every call, are what lies on the film. A piece without an outline is its box.
func Outlined(p Piece, pl Place) []Ring {
	out := turned(p.rings(), pl.Angle)
	low, _ := extentOf(out)
	for _, ring := range out {
		for i := range ring {
			ring[i].X += pl.X - low.X
			ring[i].Y += pl.Y - low.Y
		}
	}
	return out
}

// rings is the outline, or the box where there is none.
func (p Piece) rings() []Ring {
	if len(p.Outline) > 0 {
		return p.Outline
	}
	return []Ring{{{0, 0}, {p.Width, 0}, {p.Width, p.Height}, {0, p.Height}}}
}

// turned is a copy of the rings turned about the origin.
func turned(rings []Ring, angle Millidegrees) []Ring {
	turn := turner(angle)
	out := make([]Ring, len(rings))
	for i, ring := range rings {
		out[i] = make(Ring, len(ring))
		for j, p := range ring {
			out[i][j] = turn(p)
		}
	}
	return out
}

// turner turns one point. The conversions forbid fused multiply-add: one answer on every machine.
func turner(angle Millidegrees) func(Point) Point {
	switch angle {
	case 0:
		return func(p Point) Point { return p }
	case quarterTurn:
		return func(p Point) Point { return Point{-p.Y, p.X} }
	case 2 * quarterTurn:
		return func(p Point) Point { return Point{-p.X, -p.Y} }
	case 3 * quarterTurn:
		return func(p Point) Point { return Point{p.Y, -p.X} }
	}
	sin, cos := math.Sincos(float64(angle) * math.Pi / (180 * 1000))
	return func(p Point) Point {
		x, y := float64(p.X), float64(p.Y)
		return Point{
			units.Micrometres(math.Round(float64(x*cos) - float64(y*sin))),
			units.Micrometres(math.Round(float64(x*sin) + float64(y*cos))),
		}
	}
}

// extentOf is the box around the rings.
func extentOf(rings []Ring) (low, high Point) {
	first := true
	for _, ring := range rings {
		for _, p := range ring {
			if first {
				low, high, first = p, p, false
				continue
			}
			low = Point{min(low.X, p.X), min(low.Y, p.Y)}
			high = Point{max(high.X, p.X), max(high.Y, p.Y)}
		}
	}
	return low, high
}

// measured are the pieces with the outline's own box as the piece's, so that a box layout and an outline layout
// mean the same corner. The outline stays where it is: moved, it would round to other points when turned.
func measured(ps []Piece) []Piece {
	out := make([]Piece, len(ps))
	for i, p := range ps {
		if len(p.Outline) > 0 {
			low, high := extentOf(p.Outline)
			p.Width, p.Height = high.X-low.X, high.Y-low.Y
		}
		out[i] = p
	}
	return out
}

// depthOf is in how many other rings ring i lies. Rings may touch, so the first corner that is not on the other
// decides.
func depthOf(rings []Ring, i int) int {
	n := 0
	for j, other := range rings {
		if j == i {
			continue
		}
		for _, p := range rings[i] {
			if in, on := other.around(p); !on {
				if in {
					n++
				}
				break
			}
		}
	}
	return n
}

// around reports whether the point lies inside the ring, or on it.
func (r Ring) around(p Point) (in, on bool) {
	if len(r) == 0 {
		return false, false
	}
	last := r[len(r)-1]
	for _, q := range r {
		a, b := last, q
		if a.Y > b.Y {
			a, b = b, a
		}
		side := int64(b.X-a.X)*int64(p.Y-a.Y) - int64(b.Y-a.Y)*int64(p.X-a.X)
		if side == 0 && p.Y >= a.Y && p.Y <= b.Y && p.X >= min(a.X, b.X) && p.X <= max(a.X, b.X) {
			return false, true
		}
		if a.Y <= p.Y && p.Y < b.Y && side > 0 {
			in = !in
		}
		last = q
	}
	return in, false
}

// outlineArea is the area inside the rings by the even-odd rule, and their whole length, in µm² and µm.
func outlineArea(p Piece) (area, perimeter float64) {
	rings := p.rings()
	for i, ring := range rings {
		if len(ring) == 0 {
			continue
		}
		twice := int64(0)
		last := ring[len(ring)-1]
		for _, q := range ring {
			twice += int64(last.X)*int64(q.Y) - int64(q.X)*int64(last.Y)
			perimeter += math.Hypot(float64(q.X-last.X), float64(q.Y-last.Y))
			last = q
		}
		one := math.Abs(float64(twice)) / 2
		if depthOf(rings, i)%2 == 1 {
			one = -one
		}
		area += one
	}
	return max(0, area), perimeter // loops that cross, against the rule, could make it less
}
