// Package nest puts outlines close together in a strip: all pieces lie on it at once, overlaps allowed, and a guided
// local search separates them; where it succeeds the strip is made shorter and the search goes on from there.
// After Gardeyn, Vanden Berghe & Wauters 2025, "An open-source heuristic to reboot 2D nesting research"
// (arXiv 2509.13329): circles inside a piece measure how badly two pieces overlap, weights grow on pairs that
// stay in each other's way. Ours has no tree, no no-fit polygons and a strip that pieces never leave.
//
// Coordinates are whole numbers held in float64, places too. Below 2²⁶ every cross product is then exact, so the
// search decides "touches" and "overlaps" without a tolerance. Layouts are checked again by who asks for them.
//
// Room: nest
// Holds: Drawing, Design, Problem, Run
// May touch: nothing
// Never: a clock, randomness without a seed, units
package nest

import "math"

// Point is a corner in whole units.
type Point struct{ X, Y float64 }

// Drawing is one outline and how it may be turned.
type Drawing struct {
	Rings  [][]Point // even-odd, in the piece's own frame
	Angles []int32   // allowed, millidegrees counter-clockwise; none is any angle
	Box    bool      // a plain box: two boxes keep their distance along an axis, as box layouts do
}

// Spot is where a piece lies: the lower left corner of the box around its turned outline, and the angle.
type Spot struct {
	X, Y  float64
	Angle int32
}

// Problem is the strip and what goes onto it.
type Problem struct {
	Width    float64 // of the strip
	Distance float64 // least distance between two outlines
	Designs  []*Design
	Pieces   []int  // the design of each piece
	Fixed    []bool // pieces that keep their spot; nil is none
}

// Design is a Drawing made ready: simplified, with its circles. It is only read once made.
type Design struct {
	rings   [][]Point // what the search separates: the outline or a simpler one around it
	corners []Point   // of the hull of the outline itself: they give the box at any angle
	circles []circle
	area    float64
	pull    float64 // hull area to the quarter: large pieces cost more
	across  float64 // largest extent
	box     bool
	free    bool
	angles  []int32
	shapes  []*shape // one for each allowed angle; empty if free
	simpler bool     // than the drawing
}

// strip is a problem made ready; it is only read once built, so that searches share it.
type strip struct {
	width, distance float64
	pieces          []*Design
	fixed           []bool
	covered         float64 // by all outlines, each grown by half the distance
	floor           float64 // no layout is shorter
	tallest         float64
}

func newStrip(p Problem) *strip {
	s := &strip{width: p.Width, distance: p.Distance, fixed: p.Fixed}
	if s.fixed == nil {
		s.fixed = make([]bool, len(p.Pieces))
	}
	for _, d := range p.Designs {
		if d.simpler { // its corners are rounded, so the outline may reach past it by less than one unit
			s.distance = p.Distance + 2
		}
	}
	for _, k := range p.Pieces {
		d := p.Designs[k]
		s.pieces = append(s.pieces, d)
		// Brunn-Minkowski: an area a grown by r all round covers at least (√a + r√π)².
		g := math.Sqrt(d.area) + math.Sqrt(math.Pi)*p.Distance/2
		s.covered += g * g
		if !d.free {
			low := math.Inf(1)
			for _, sh := range d.shapes {
				low = min(low, sh.h)
			}
			s.tallest = max(s.tallest, low)
		} else {
			s.tallest = max(s.tallest, 2*d.circles[0].r)
		}
	}
	s.floor = math.Ceil(max(s.tallest, s.filled(1)) - 1e-6)
	return s
}

// filled is the length at which the pieces cover so much of the strip.
func (s *strip) filled(part float64) float64 {
	return s.covered/(s.width+s.distance)/part - s.distance
}
