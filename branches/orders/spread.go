package orders

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"evenpeel/branches/stock"
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
	whole, err := s.packed(ctx, s.pieces)
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
	enough := suffices(whole, lot)
	if enough && !s.choices.UseRemnants {
		return whole, nil
	}
	best, drawn := whole, freshFilm(whole)
	for _, films := range s.lots(rolls, lot, enough) {
		spread, err := s.spread(ctx, films)
		if err != nil {
			return nil, err
		}
		// What is left over goes on a roll of the same lot; where no single piece suffices, everything must be on the films.
		if len(spread) > 0 && freshFilm(spread) < drawn && (enough && suffices(spread, films[0].Lot) || freshFilm(spread) == 0) {
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

// spread fills one piece of film after the other and lays the rest out on film that is still to be chosen. It is nil where
// nothing goes on the films.
func (s *sheet) spread(ctx context.Context, films []stock.Roll) ([]stretch, error) {
	rest := make([][]int, len(s.pieces)) // copies still to place, by piece
	for i, p := range s.pieces {
		for c := range p.Copies {
			rest[i] = append(rest[i], c)
		}
	}
	var cuts []stretch
	for _, film := range films {
		roll := s.rollOf(min(s.roll().Width, units.Micrometres(film.Width)*1000))
		if left := units.Micrometres(film.Length) * 1000; roll.MaxLength == 0 || left < roll.MaxLength {
			roll.MaxLength = left
		}
		pieces, back := s.candidates(ctx, roll, rest)
		if len(pieces) == 0 {
			continue
		}
		full, err := layout.Split(ctx, roll, pieces, s.effort(4*copiesOf(pieces)))
		if err != nil {
			return nil, err
		}
		first := full[0]
		for i, at := range first.Places {
			piece := back[at.Piece]
			first.Places[i].Piece, first.Places[i].Copy = piece, rest[piece][at.Copy]
		}
		for _, at := range first.Places {
			rest[at.Piece] = slices.DeleteFunc(rest[at.Piece], func(c int) bool { return c == at.Copy })
		}
		cuts = append(cuts, stretch{Layout: first, width: roll.Width, roll: film.Name})
	}
	var pieces []layout.Piece
	var back []int
	for i, copies := range rest {
		if len(copies) > 0 {
			p := s.pieces[i]
			p.Copies = len(copies)
			pieces, back = append(pieces, p), append(back, i)
		}
	}
	if len(cuts) == 0 || len(pieces) == 0 {
		return cuts, nil
	}
	after, err := s.packed(ctx, pieces)
	for _, c := range after {
		for i, at := range c.Places {
			c.Places[i].Piece, c.Places[i].Copy = back[at.Piece], rest[back[at.Piece]][at.Copy]
		}
		cuts = append(cuts, c)
	}
	return cuts, err
}

// candidates are the copies that are offered to a piece of film: those that go on it at all, half as many again as its
// area takes. back gives the sheet's piece for each.
func (s *sheet) candidates(ctx context.Context, roll layout.Roll, rest [][]int) (pieces []layout.Piece, back []int) {
	room := 1.5 * float64(roll.Width) * float64(roll.MaxLength)
	for i, p := range s.pieces {
		one := p
		one.Copies = 1
		if _, err := layout.Pack(ctx, roll, []layout.Piece{one}, layout.Effort{}); err != nil || len(rest[i]) == 0 {
			continue
		}
		each := float64(p.Width) * float64(p.Height)
		p.Copies = min(len(rest[i]), int(room/each)+1)
		if room <= 0 {
			break
		}
		room -= each * float64(p.Copies)
		pieces, back = append(pieces, p), append(back, i)
	}
	return pieces, back
}
