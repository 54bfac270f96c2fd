package stock

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"evenpeel/recipes/units"
)

// Choice is the roll to use, and why.
type Choice struct {
	Roll  Roll
	Left  units.Millimetres // expected left-over
	Why   string
	Words string // why, and what is left
}

// Chosen picks the cheapest sufficient piece for a length of film: remnants before rolls, among remnants the shortest
// that suffices, among rolls the oldest that suffices; the lot is kept where one is named. ok is false where none
// suffices. The order of preference is common practice, no source.
func Chosen(rolls []Roll, film, colour, lot string, width, length units.Millimetres) (Choice, bool) {
	var fit []Roll
	for _, r := range rolls {
		if r.Film == film && strings.EqualFold(r.Colour, colour) && (lot == "" || r.Lot == lot) && r.Width >= width && r.Length >= length {
			fit = append(fit, r)
		}
	}
	if len(fit) == 0 {
		return Choice{}, false
	}
	sort.SliceStable(fit, func(i, j int) bool {
		a, b := fit[i], fit[j]
		switch {
		case a.Remnant != b.Remnant:
			return a.Remnant
		case a.Remnant && a.Length != b.Length:
			return a.Length < b.Length
		case !a.Received.Equal(b.Received):
			return a.Received.Before(b.Received)
		}
		return a.Name < b.Name
	})
	r := fit[0]
	why := "the oldest roll that suffices"
	if r.Remnant {
		why = "the shortest remnant that suffices"
	}
	return Choice{r, r.Length - length, why, fmt.Sprintf("%s; %s m are left after it", why, Metres(r.Length-length))}, true
}

// Assigned picks the piece for each of several stretches of film that belong together, as Chosen does, and takes each off
// what is left for the next. They come from one lot where one lot suffices for all, since lots differ in shade; where
// none does, the words say so. A stretch that no piece suffices for has a Choice without a Roll. Rolls is not changed.
func Assigned(rolls []Roll, film, colour, lot string, width units.Millimetres, lengths []units.Millimetres) []Choice {
	if len(lengths) == 0 {
		return nil
	}
	if lot == "" && len(lengths) > 1 {
		var whole []Roll // of lots that suffice for all
		suffices := map[string]bool{}
		for _, r := range rolls {
			enough, known := suffices[r.Lot]
			if !known {
				_, enough = taken(only(rolls, r.Lot), film, colour, r.Lot, width, lengths)
				suffices[r.Lot] = enough
			}
			if enough {
				whole = append(whole, r)
			}
		}
		if first, ok := Chosen(whole, film, colour, "", width, lengths[0]); ok {
			list, _ := taken(only(rolls, first.Roll.Lot), film, colour, first.Roll.Lot, width, lengths)
			return list
		}
	}
	list, _ := taken(rolls, film, colour, lot, width, lengths)
	for i := range list {
		if list[i].Roll.Name != "" && list[i].Roll.Lot != list[0].Roll.Lot && list[0].Roll.Name != "" {
			other := ", but of another lot than the first: compare the shades before pressing"
			list[i].Why, list[i].Words = list[i].Why+other, strings.Replace(list[i].Words, ";", other+";", 1)
		}
	}
	return list
}

func only(rolls []Roll, lot string) (out []Roll) {
	for _, r := range rolls {
		if r.Lot == lot {
			out = append(out, r)
		}
	}
	return out
}

// taken takes the stretches off the rolls one after the other; ok where there was a piece for each.
func taken(rolls []Roll, film, colour, lot string, width units.Millimetres, lengths []units.Millimetres) (list []Choice, ok bool) {
	rest := slices.Clone(rolls)
	ok = true
	for _, length := range lengths {
		c, found := Chosen(rest, film, colour, lot, width, length)
		ok = ok && found
		list = append(list, c)
		Take(rest, c.Roll.Name, length)
	}
	return list, ok
}

// Take takes a length off the roll of that name in the list.
func Take(rolls []Roll, name string, length units.Millimetres) {
	for i := range rolls {
		if rolls[i].Name == name {
			rolls[i].Length -= length
		}
	}
}

// Bounds of what is worth putting away as a remnant: shorter is waste, longer stays the roll it is. Common practice, no
// source.
const (
	shortestRemnant units.Millimetres = 150
	longestRemnant  units.Millimetres = 1500
)

// Remnant is the length worth cutting off and putting away as a remnant when so much is left of a roll after a cut; 0
// where the rest is waste, stays a roll, or was a remnant already.
func Remnant(r Roll, left units.Millimetres) units.Millimetres {
	if r.Remnant || left < shortestRemnant || left > longestRemnant {
		return 0
	}
	return left
}

// Metres writes a length as people say it of a roll: 13461 mm is "13.46".
func Metres(l units.Millimetres) string { return fmt.Sprintf("%d.%02d", l/1000, l%1000/10) }
