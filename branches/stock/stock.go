// Package stock is film on the shelf: rolls, remnants and lots. Length is never stored but is the sum of movements,
// so it always adds up.
//
// Room: stock
// Holds: Roll, Movement, Shelf, the choice of a roll
// May touch: recipes/fault, recipes/units, branches
// Never: SQL, Redis, RPC, a clock; it never overwrites a movement
package stock

import (
	"context"
	"fmt"
	"sort"
	"strings"
	"time"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Roll is a roll or a remnant.
type Roll struct {
	Name     string // "branches/{branch}/rolls/{id}"
	Film     string
	Colour   string
	Lot      string
	Width    units.Millimetres
	Length   units.Millimetres // left: the sum of its movements
	Remnant  bool
	Place    string
	Received time.Time
}

// Movement is one change of a roll's length.
type Movement struct {
	ID     string // made by the client: sending twice stores once
	Roll   string
	Change units.Millimetres // negative draws
	Why    string            // "receive", "draw", "count", "waste", "return"
	Person string
	Made   time.Time
}

// Shelf keeps rolls and movements.
type Shelf interface {
	// Rolls lists a branch's rolls with what is left, by film, colour and age.
	Rolls(ctx context.Context, branch string) ([]Roll, error)
	// Roll reads one. Fault NotFound/ROLL_NOT_FOUND.
	Roll(ctx context.Context, name string) (Roll, error)
	// AddRoll stores a roll and its first movement (Length); the same movement id again changes nothing.
	AddRoll(ctx context.Context, r Roll, first Movement) error
	// Move stores a movement; the same id again changes nothing. Fault NotReady/ROLL_TOO_SHORT where less than
	// nothing would be left, NotFound/ROLL_NOT_FOUND.
	Move(ctx context.Context, m Movement) error
}

// MaxLength bounds a roll: 1 km.
const MaxLength units.Millimetres = 1_000_000

// Check finds what is wrong with a roll. Paths are those of branches.v1.Roll.
func (r Roll) Check() fault.Fields {
	var fs fault.Fields
	for path, v := range map[string]string{"film": r.Film, "colour": r.Colour} {
		if strings.TrimSpace(v) == "" || len(v) > 60 {
			fs.Add(path, "is empty, or longer than 60 characters")
		}
	}
	if len(r.Lot) > 60 || len(r.Place) > 60 {
		fs.Add("lot", "or place is longer than 60 characters")
	}
	if r.Width < 20 || r.Width > 3000 {
		fs.Add("width_mm", "is %d mm; allowed are 20 to 3000 mm", r.Width)
	}
	if r.Length < 1 || r.Length > MaxLength {
		fs.Add("length_mm", "is %d mm; allowed are 1 to %d mm", r.Length, MaxLength)
	}
	sort.Slice(fs, func(i, j int) bool { return fs[i].Path < fs[j].Path })
	return fs
}

// Check finds what is wrong with a movement.
func (m Movement) Check() fault.Fields {
	var fs fault.Fields
	if m.Change == 0 {
		fs.Add("change_mm", "is 0, so nothing would move")
	}
	if m.Change > MaxLength || m.Change < -MaxLength {
		fs.Add("change_mm", "is %d mm; at most %d mm move at once", m.Change, MaxLength)
	}
	if (m.Why == "draw" || m.Why == "waste") && m.Change > 0 {
		fs.Add("change_mm", "is above 0, but to %s takes film away", m.Why)
	}
	return fs
}

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
