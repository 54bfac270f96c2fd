package orders

import (
	"context"
	"math"

	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// searchMoves is the effort of the layout search: bounded work rather than time, so that the same order gives the same
// plan. It is shared among the copies, so that an order of any size answers while a person waits.
const searchMoves = 600_000

// stretch is one cut as it lies: on film of a width, and perhaps of a roll that was asked for by name.
type stretch struct {
	layout.Layout
	width units.Micrometres
	roll  string
}

func (s *sheet) effort(copies int) layout.Effort {
	return layout.Effort{Seed: 1, Moves: searchMoves / max(copies, 10), Grouped: s.choices.Grouped}
}

// packed lays the sheet out by boxes on film of the recipe's width, in as many cuts as the cutter's longest cut makes of it.
func (s *sheet) packed(ctx context.Context) ([]stretch, error) {
	roll, effort := s.roll(), s.effort(copiesOf(s.pieces))
	one, err := layout.Pack(ctx, roll, s.pieces, effort)
	cuts := []layout.Layout{one}
	if f, ok := fault.As(err); ok && f.Reason == layout.OverMaxLength {
		cuts, err = layout.Split(ctx, roll, s.pieces, effort)
	}
	if err != nil {
		return nil, err
	}
	list := make([]stretch, len(cuts))
	for i, c := range cuts {
		list[i] = stretch{Layout: c, width: roll.Width}
	}
	return list, nil
}

// layoutOf is the sheet as it lies, with its times and areas; the film to take is chosen later.
func (s *sheet) layoutOf(cuts []stretch) (Layout, error) {
	r, roll := s.card.Recipe, s.roll()
	l := Layout{
		Film: r.Film.Code, FilmTitle: r.Film.Title, Colour: s.colour, RollWidth: roll.Width, EdgeMargin: roll.EdgeMargin, Outlines: s.outlines, Card: s.card,
		Weeding: s.weeding, Band: band(s.most, s.layers, s.thin), Gap: roll.Gap, WeedBorder: roll.WeedBorder, TrueOutlines: s.choices.TrueOutlines, Turns: onFilm[r.Film.Turns],
		RowsLength: rowsLength(roll, s.pieces),
	}
	ps := poses{outlines: s.outlines}
	area, edges, drawnUM, bound := 0.0, int64(0), int64(0), 0.0
	for i, c := range cuts {
		l.Cuts = append(l.Cuts, Cut{Length: c.Length, RollWidth: c.width, Roll: c.roll})
		l.Length, l.Bound = l.Length+c.Length, l.Bound+c.Bound
		usable, own := c.width-2*roll.EdgeMargin, 0.0
		edges += 2*int64(roll.EdgeMargin)*int64(c.Length) + int64(roll.Lead+roll.Tail)*int64(usable)
		drawnUM += int64(c.width) * int64(c.Length)
		for _, at := range c.Places {
			own += s.outlines[at.Piece].Area
			l.Places = append(l.Places, ps.settle(Place{Outline: at.Piece, Cut: i, X: at.X, Y: at.Y, Angle: at.Angle, Locked: at.Locked}))
		}
		area, bound = area+own, bound+own*1e6/float64(usable)+float64(roll.Lead+roll.Tail)
	}
	if s.choices.TrueOutlines { // the bound of boxes does not hold: only the designs' own area does
		l.Bound = min(units.Micrometres(math.Ceil(bound)), l.Length)
	}
	drawn := units.SquareMillimetres(drawnUM / 1_000_000)
	l.DesignArea = min(units.SquareMillimetres(math.Round(area)), drawn)
	l.EdgeArea = min(units.SquareMillimetres(edges/1_000_000), drawn-l.DesignArea)
	l.LayoutArea = drawn - l.DesignArea - l.EdgeArea
	for i := range cuts {
		e, err := cut.Driven(l.ordered(&ps, i), cut.Motion{Speed: r.CutSpeed.Set, TravelSpeed: s.cutter.Travel, Acceleration: s.cutter.Acceleration, Passes: int(r.Passes), CornerAngle: stopAngle})
		if err != nil {
			return l, err
		}
		e.TravelUnordered = cut.Travel(l.drawn(&ps, i), cut.Point{})
		l.Cutting = added(l.Cutting, e)
	}
	return l, nil
}

// added is the estimate of two cuts made one after the other.
func added(a, b cut.Estimate) cut.Estimate {
	a.CutLength, a.TravelLength, a.TravelUnordered = a.CutLength+b.CutLength, a.TravelLength+b.TravelLength, a.TravelUnordered+b.TravelUnordered
	a.Stops += b.Stops
	a.Cutting, a.Travelling, a.Total = a.Cutting+b.Cutting, a.Travelling+b.Travelling, a.Total+b.Total
	return a
}

// stopAngle is the turn above which a blade is taken to stop. Common practice, no source.
const stopAngle = 30

// band says how hard a design is to cut, weed and press, for fair comparison: hard with strokes, gaps or pieces at the film's
// limits, more than 40 pieces or more than two layers; middle with more than 10 pieces or two layers. Common practice, no source.
func band(pieces, layers int, thin bool) int {
	switch {
	case thin || pieces > 40 || layers > 2:
		return 2
	case pieces > 10 || layers == 2:
		return 1
	}
	return 0
}
