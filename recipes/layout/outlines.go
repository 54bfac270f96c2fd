package layout

import (
	"context"
	"math"
	"slices"

	"evenpeel/recipes/layout/nest"
	"evenpeel/recipes/units"
)

// mostTogether is how many pieces one outline search takes on. More are cut into stretches along the roll, each
// searched for itself: a search compares every piece with every other.
const mostTogether = 300

// perStretch is how many pieces such a stretch has, about.
const perStretch = 120

func outlined(ps []Piece) bool {
	return slices.ContainsFunc(ps, func(p Piece) bool { return len(p.Outline) > 0 })
}

// outlines searches by true outline.
func (im *improvement) outlines() {
	places := im.best.Places
	if im.e.Evaluations == 0 || !outlined(im.ps) && !locked(places) {
		return
	}
	if len(places) > mostTogether && !locked(places) {
		im.stretch(windows(im.ps, places))
		return
	}
	if len(places) > 4*mostTogether {
		return // locked among very many: boxes and windows would move them
	}
	s := outlineStrip{im.r, im.ps, im.designs}
	spent := s.nest(im.ctx, places, im.best.Length-im.r.Lead-im.r.Tail, im.r.Lead, im.e.Seed, im.e.Evaluations, func(at []Place, length units.Micrometres) bool {
		return im.take(Layout{Places: at, Length: length + im.r.Lead + im.r.Tail})
	})
	im.best.Evaluations += spent
}

// outlineStrip is a roll and pieces as the outline search sees them.
type outlineStrip struct {
	r       Roll
	ps      []Piece
	designs map[int]*nest.Design // made so far, by piece
}

// nest looks for a shorter strip for the places, which begins at start along the roll with the first weeding
// border and is length long with the last. keep is offered each and says whether it holds. What was spent is returned.
func (s outlineStrip) nest(ctx context.Context, places []Place, length, start units.Micrometres, seed uint64, evaluations int, keep func([]Place, units.Micrometres) bool) int {
	r := s.r
	left, bottom := r.EdgeMargin+r.WeedBorder, start+r.WeedBorder
	p := nest.Problem{
		Width:    float64(r.usable() - 2*r.WeedBorder),
		Distance: float64(r.Gap + 2*r.WeedBorder),
	}
	known := map[int]int{}
	var spots []nest.Spot
	for _, at := range places {
		k, ok := known[at.Piece]
		if !ok {
			k = len(p.Designs)
			known[at.Piece] = k
			if s.designs[at.Piece] == nil {
				s.designs[at.Piece] = nest.NewDesign(drawingOf(s.ps[at.Piece]), r.NoNesting)
			}
			p.Designs = append(p.Designs, s.designs[at.Piece])
		}
		p.Pieces = append(p.Pieces, k)
		p.Fixed = append(p.Fixed, at.Locked)
		spots = append(spots, nest.Spot{X: float64(at.X - left), Y: float64(at.Y - bottom), Angle: int32(at.Angle)})
	}
	return nest.Run(ctx, p, seed, spots, float64(length-2*r.WeedBorder), evaluations, func(spots []nest.Spot, length float64) bool {
		moved := slices.Clone(places)
		for i, q := range spots {
			if !moved[i].Locked {
				moved[i].X, moved[i].Y, moved[i].Angle = units.Micrometres(q.X)+left, units.Micrometres(q.Y)+bottom, Millidegrees(q.Angle)
			}
		}
		return keep(moved, units.Micrometres(length)+2*r.WeedBorder)
	})
}

func drawingOf(p Piece) nest.Drawing {
	d := nest.Drawing{Box: len(p.Outline) == 0}
	for _, ring := range p.rings() {
		out := make([]nest.Point, len(ring))
		for i, q := range ring {
			out[i] = nest.Point{X: float64(q.X), Y: float64(q.Y)}
		}
		d.Rings = append(d.Rings, out)
	}
	switch p.Turns {
	case None:
		d.Angles = []int32{0}
	case Half:
		d.Angles = []int32{0, int32(2 * quarterTurn)}
	case Quarter:
		d.Angles = []int32{0, int32(quarterTurn), int32(2 * quarterTurn), int32(3 * quarterTurn)}
	}
	return d
}

// outlineBound is a length below which no layout of the placed outlines exists: by the Brunn-Minkowski
// inequality an area a grown by r all round covers at least (√a + r√π)², and pieces grown by half their distance
// do not overlap; and the longest piece must lie on the roll.
func outlineBound(r Roll, ps []Piece, places []Place) units.Micrometres {
	need := float64(r.Gap + 2*r.WeedBorder)
	covered, longest := 0.0, units.Micrometres(0)
	areas := map[int]float64{}
	for _, at := range places {
		p := ps[at.Piece]
		a, ok := areas[at.Piece]
		if !ok {
			a, _ = outlineArea(p)
			areas[at.Piece] = a
			switch {
			case p.Turns <= Half:
				longest = max(longest, p.Height)
			case p.Turns == Quarter:
				longest = max(longest, min(p.Width, p.Height))
			}
		}
		grown := math.Sqrt(max(0, a)) + math.Sqrt(math.Pi)*need/2
		covered += grown * grown
	}
	width := float64(r.usable() - 2*r.WeedBorder)
	length := max(longest, units.Micrometres(covered/(width+need)-need))
	return length + 2*r.WeedBorder + r.Lead + r.Tail
}
