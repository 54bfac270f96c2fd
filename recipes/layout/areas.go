package layout

import "evenpeel/recipes/units"

const squareMicrometres = 1_000_000 // in a square millimetre

// areas splits the film drawn. A gap counts only where it lies on the usable film; each part is rounded down
// and the offcut takes the rest, so the parts add up.
func areas(r Roll, ps []Piece, l Layout) Areas {
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
