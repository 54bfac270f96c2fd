package orders

import (
	"fmt"
	"slices"
	"strings"

	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// take chooses the film for every cut, and takes it off what is left in rolls for the layouts that follow. Film that the
// client named for a cut is used as named; path is that of the layout in its request. Fault Invalid/LAYOUT_INVALID where
// named film is not there, or does not suffice.
func (l *Layout) take(rolls []stock.Roll, lot string, wished []string, path string) error {
	width := units.Millimetres(l.RollWidth / 1000)
	var open []int // cuts that nobody named film for
	for i := range l.Cuts {
		if i >= len(wished) || wished[i] == "" {
			open = append(open, i)
			continue
		}
		at := slices.IndexFunc(rolls, func(r stock.Roll) bool {
			return r.Name == wished[i] && r.Film == l.Film && strings.EqualFold(r.Colour, l.Colour)
		})
		if at < 0 || rolls[at].Width < width || rolls[at].Length < mm(l.Cuts[i].Length) {
			fs := fault.Fields{{Path: fmt.Sprintf("%s.cuts[%d].roll", path, i), Words: fmt.Sprintf("is not %s in %s, at least %d mm wide and %s m long", l.FilmTitle, l.Colour, width, stock.Metres(mm(l.Cuts[i].Length)))}}
			return fs.Fault(room, layout.LayoutInvalid, "This film can not be taken for that cut. Choose another, or leave the choice open.")
		}
		l.takes(i, stock.Choice{Roll: rolls[at], Why: "as you chose"}, rolls)
	}
	if len(open) > 0 {
		lengths := make([]units.Millimetres, len(open))
		for i, c := range open {
			lengths[i] = mm(l.Cuts[c].Length)
		}
		// A roll should have the longest design once more, so that a reprint does not find an empty remnant (common
		// practice, no source); where none has, what suffices for the cuts alone is taken.
		roomy := slices.Clone(lengths)
		roomy[len(roomy)-1] += l.longest()
		choices := stock.Assigned(rolls, l.Film, l.Colour, lot, width, roomy)
		if slices.ContainsFunc(choices, func(c stock.Choice) bool { return c.Roll.Name == "" }) {
			choices = stock.Assigned(rolls, l.Film, l.Colour, lot, width, lengths)
		}
		for i, c := range choices {
			l.takes(open[i], c, rolls)
		}
	}
	l.Roll, l.RollWords, l.Lot = l.Cuts[0].Roll, l.Cuts[0].Words, l.Cuts[0].Lot
	return nil
}

func (l *Layout) takes(i int, c stock.Choice, rolls []stock.Roll) {
	at := &l.Cuts[i]
	if c.Roll.Name == "" {
		at.Words = fmt.Sprintf("No roll of %s in %s has %s m left.", l.FilmTitle, l.Colour, stock.Metres(mm(at.Length)))
		return
	}
	at.Roll, at.Lot = c.Roll.Name, c.Roll.Lot
	stock.Take(rolls, c.Roll.Name, mm(at.Length))
	for _, r := range rolls {
		if r.Name == at.Roll {
			at.Left, at.Remnant = r.Length, stock.Remnant(r, r.Length)
		}
	}
	at.Words = fmt.Sprintf("%s; %s m are left after it", c.Why, stock.Metres(at.Left))
}

// longest is the length of the longest design as it lies.
func (l *Layout) longest() units.Millimetres {
	longest := units.Micrometres(0)
	for _, at := range l.Places {
		longest = max(longest, at.Height)
	}
	return mm(longest)
}
