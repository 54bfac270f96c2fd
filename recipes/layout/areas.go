package layout

import (
	"math"

	"evenpeel/recipes/units"
)

const squareMicrometres = 1_000_000 // in a square millimetre

// areas splits the film drawn. A gap counts only where it lies on the usable film; each part is rounded down
// and the offcut takes the rest, so the parts add up.
func areas(r Roll, ps []Piece, l Layout) Areas {
	if outlined(ps) {
		return outlineAreas(r, ps, l)
	}
	var pieces, bordered, spaced int64
	right, end := r.Width-r.EdgeMargin, l.Length-r.Tail
	for _, at := range l.Places {
		w, h := ps[at.Piece].Width, ps[at.Piece].Height
		if at.Turned() {
			w, h = h, w
		}
		pieces += int64(w * h)
		bordered += int64((w + 2*r.WeedBorder) * (h + 2*r.WeedBorder))
		x, y := at.X-r.WeedBorder, at.Y-r.WeedBorder
		w, h = w+2*r.WeedBorder+r.Gap, h+2*r.WeedBorder+r.Gap
		spaced += int64(min(w, right-x) * min(h, end-y))
	}
	mm2 := func(v int64) units.SquareMillimetres { return units.SquareMillimetres(v / squareMicrometres) }
	a := Areas{
		Drawn:   mm2(int64(r.Width * l.Length)),
		Pieces:  mm2(pieces),
		Borders: mm2(bordered - pieces),
		Gaps:    mm2(spaced - bordered),
		Edges:   mm2(int64(2 * r.EdgeMargin * l.Length)),
		Ends:    mm2(int64((r.Lead + r.Tail) * r.usable())),
	}
	a.Offcut = a.Drawn - a.Pieces - a.Borders - a.Gaps - a.Edges - a.Ends
	return a
}

// outlineAreas counts borders and gaps by the length of the outlines, which is too much where an outline turns
// inwards, and never more of them than there is film left.
func outlineAreas(r Roll, ps []Piece, l Layout) Areas {
	var pieces, perimeters, corners float64
	type measure struct{ area, perimeter float64 }
	known := map[int]measure{}
	for _, at := range l.Places {
		m, ok := known[at.Piece]
		if !ok {
			m.area, m.perimeter = outlineArea(ps[at.Piece])
			known[at.Piece] = m
		}
		pieces += m.area
		perimeters += m.perimeter
		corners++
	}
	mm2 := func(v float64) units.SquareMillimetres { return units.SquareMillimetres(v / squareMicrometres) }
	border, gap := float64(r.WeedBorder), float64(r.Gap)/2
	a := Areas{
		Drawn: mm2(float64(r.Width * l.Length)),
		Edges: mm2(float64(2 * r.EdgeMargin * l.Length)),
		Ends:  mm2(float64((r.Lead + r.Tail) * r.usable())),
	}
	left := a.Drawn - a.Edges - a.Ends
	part := func(v float64) units.SquareMillimetres {
		one := min(mm2(v), left)
		left -= one
		return one
	}
	a.Pieces = part(pieces)
	a.Borders = part(perimeters*border + corners*math.Pi*border*border)
	a.Gaps = part(perimeters*gap + corners*math.Pi*gap*(gap+2*border))
	a.Offcut = left
	return a
}
