package orders

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// mostRemnants bounds how many pieces of film one layout is spread over, and mostLots how many lots are tried: each change of film costs its operator
// minutes. Common practice, no source.
const (
	mostRemnants = 4
	mostLots     = 3
)

// laid lays the sheet out where nothing is held: in one stretch where it can be; over remnants first where the order asks
// for it; and over several pieces of one lot where no single one suffices.
func (s *sheet) laid(ctx context.Context, rolls []stock.Roll, lot string) ([]stretch, error) {
	whole, err := s.packed(ctx)
	if err != nil {
		return nil, err
	}
	film, width := s.card.Recipe.Film, units.Millimetres(s.roll().Width/1000)
	suffices := func(cuts []stretch, lot string) bool {
		var lengths []units.Millimetres
		for _, c := range cuts {
			if c.roll == "" {
				lengths = append(lengths, mm(c.Length))
			}
		}
		return allFound(stock.Assigned(rolls, film.Code, s.colour, lot, width, lengths))
	}
	single := suffices(whole, lot)
	if single && !s.choices.UseRemnants {
		return whole, nil
	}
	best, drawn := whole, freshFilm(whole)
	for _, films := range s.lots(rolls, lot, single) {
		spread, err := s.spread(ctx, films, single)
		if err != nil {
			return nil, err
		}
		// What is left over goes on a roll of the same lot; where no single piece suffices, everything must be on the films.
		if len(spread) > 0 && freshFilm(spread) < drawn && (freshFilm(spread) == 0 || suffices(spread, films[0].Lot)) {
			best, drawn = spread, freshFilm(spread)
		}
	}
	return best, nil
}

// freshFilm is the length that is not cut from film named already.
func freshFilm(cuts []stretch) (sum units.Micrometres) {
	for _, c := range cuts {
		if c.roll == "" {
			sum += c.Length
		}
	}
	return sum
}

// lots are the pieces to spread over, lot by lot, the lot with most left in remnants first: only remnants where a roll
// suffices for the rest, otherwise rolls after them.
func (s *sheet) lots(rolls []stock.Roll, lot string, onlyRemnants bool) [][]stock.Roll {
	byLot := map[string][]stock.Roll{}
	var names []string
	left := map[string]units.Millimetres{}
	for _, r := range rolls {
		if r.Film != s.card.Recipe.Film.Code || !strings.EqualFold(r.Colour, s.colour) || lot != "" && r.Lot != lot || onlyRemnants && !r.Remnant || r.Length <= 0 {
			continue
		}
		if byLot[r.Lot] == nil {
			names = append(names, r.Lot)
		}
		byLot[r.Lot] = append(byLot[r.Lot], r)
		if r.Remnant || !onlyRemnants {
			left[r.Lot] += r.Length
		}
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(cmp.Compare(left[b], left[a]), cmp.Compare(a, b)) })
	var out [][]stock.Roll
	for _, name := range names[:min(len(names), mostLots)] {
		films := byLot[name]
		slices.SortStableFunc(films, func(a, b stock.Roll) int { // remnants first, the longest of them first; then the oldest roll
			switch {
			case a.Remnant != b.Remnant && a.Remnant:
				return -1
			case a.Remnant != b.Remnant:
				return 1
			case a.Remnant:
				return cmp.Compare(b.Length, a.Length)
			}
			return a.Received.Compare(b.Received)
		})
		out = append(out, films[:min(len(films), mostRemnants)])
	}
	return out
}

// spread lays the sheet out over the films in their order and, where open, the rest on film that is still to be chosen. It
// is nil where they do not hold all of it.
func (s *sheet) spread(ctx context.Context, films []stock.Roll, open bool) ([]stretch, error) {
	var list []layout.Film
	var names []string
	for _, film := range films {
		roll := s.rollOf(min(s.roll().Width, units.Micrometres(film.Width)*1000))
		if left := units.Micrometres(film.Length) * 1000; left > roll.Lead+roll.Tail && roll.Width > 2*roll.EdgeMargin {
			list, names = append(list, layout.Film{Roll: roll, Length: left}), append(names, film.Name)
		}
	}
	if open {
		list, names = append(list, layout.Film{Roll: s.roll()}), append(names, "")
	}
	if len(list) == 0 {
		return nil, nil
	}
	shares, err := layout.Spread(ctx, list, s.pieces, s.effort(copiesOf(s.pieces)*len(list)))
	if f, ok := fault.As(err); ok && f.Reason == layout.FilmsTooShort {
		return nil, nil
	}
	cuts := make([]stretch, len(shares))
	for i, share := range shares {
		cuts[i] = stretch{Layout: share.Layout, width: list[share.Film].Roll.Width, roll: names[share.Film]}
	}
	return cuts, err
}
