package stock

import (
	"fmt"
	"sort"
	"strings"

	"evenpeel/recipes/units"
)

// Choice is the roll to use, and why.
type Choice struct {
	Roll  Roll
	Left  units.Millimetres // expected left-over
	Words string
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
	return Choice{r, r.Length - length, fmt.Sprintf("%s; %s m are left after it", why, Metres(r.Length-length))}, true
}

// Metres writes a length as people say it of a roll: 13461 mm is "13.46".
func Metres(l units.Millimetres) string { return fmt.Sprintf("%d.%02d", l/1000, l%1000/10) }
