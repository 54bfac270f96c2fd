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

// take chooses the film for every cut, and takes it off what is left in rolls for the layouts that follow. Film that
// a cut names already is used as named; path is that of the layout in its request. Fault Invalid/LAYOUT_INVALID where
// named film is not there, or does not suffice.
func (l *Layout) take(rolls []stock.Roll, lot string, path string) error {
	width := units.Millimetres(l.RollWidth / 1000)
	var named []string // lots of film that is named
	var open []int     // cuts that nobody named film for
	for i := range l.Cuts {
		wished := l.Cuts[i].Roll
		if wished == "" {
			open = append(open, i)
			continue
		}
		at := slices.IndexFunc(rolls, func(r stock.Roll) bool {
			return r.Name == wished && r.Film == l.Film && strings.EqualFold(r.Colour, l.Colour)
		})
		if at < 0 || units.Micrometres(rolls[at].Width)*1000 < l.Cuts[i].RollWidth || rolls[at].Length < mm(l.Cuts[i].Length) {
			fs := fault.Fields{{Path: fmt.Sprintf("%s.cuts[%d].roll", path, i), Words: fmt.Sprintf("is not %s in %s, at least %d mm wide and %s m long", l.FilmTitle, l.Colour, l.Cuts[i].RollWidth/1000, stock.Metres(mm(l.Cuts[i].Length)))}}
			return fs.Fault(room, layout.LayoutInvalid, "This film can not be taken for that cut. Choose another, or leave the choice open.")
		}
		l.takes(i, stock.Choice{Roll: rolls[at], Why: "as chosen"}, rolls)
		named = append(named, rolls[at].Lot)
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
		var choices []stock.Choice
		for _, lot := range append(named, lot) { // of the lot that is named already, where there is one that suffices
			for _, lengths := range [][]units.Millimetres{roomy, lengths} {
				if choices = stock.Assigned(rolls, l.Film, l.Colour, lot, width, lengths); allFound(choices) {
					break
				}
			}
			if allFound(choices) {
				break
			}
		}
		for i, c := range choices {
			l.takes(open[i], c, rolls)
		}
	}
	l.Roll, l.RollWords, l.Lot = l.Cuts[0].Roll, l.Cuts[0].Words, l.Cuts[0].Lot
	return nil
}

func allFound(choices []stock.Choice) bool {
	return !slices.ContainsFunc(choices, func(c stock.Choice) bool { return c.Roll.Name == "" })
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
