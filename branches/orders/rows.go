package orders

import (
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// rowsLength is the film that plain rows take, as a shop lays designs out by hand: copies in the order of the lines, upright, left
// to right, and where a row is full the next begins above the highest of it. A design that goes across only when turned
// is turned. On level packing see Coffman, Garey, Johnson and Tarjan (1980), "next fit".
func rowsLength(r layout.Roll, pieces []layout.Piece) units.Micrometres {
	usable := r.Width - 2*r.EdgeMargin
	x, y, high := units.Micrometres(0), units.Micrometres(0), units.Micrometres(0)
	for _, p := range pieces {
		w, h := p.Width+2*r.WeedBorder, p.Height+2*r.WeedBorder
		if w > usable {
			w, h = h, w
		}
		for range p.Copies {
			if x > 0 && x+w > usable {
				x, y, high = 0, y+high+r.Gap, 0
			}
			x, high = x+w+r.Gap, max(high, h)
		}
	}
	return r.Lead + y + high + r.Tail
}
