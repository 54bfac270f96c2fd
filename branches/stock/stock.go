// Package stock is film on the shelf: rolls, remnants and lots. Length is never stored but is the sum of movements,
// so it always adds up.
//
// Room: stock
// Holds: Roll, Movement, Piece, Shelf, the choice of a roll, the pace of use, the length by diameters
// May touch: recipes/fault, recipes/units, branches
// Never: SQL, Redis, RPC, a clock; it never overwrites a movement
package stock

import (
	"context"
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
	Received time.Time // a remnant is as old as its film
	CutFrom  string    // roll that a remnant was cut from, where it is known
}

// Movement is one change of a roll's length.
type Movement struct {
	ID     string // made by the client: sending twice stores once
	Roll   string
	Change units.Millimetres // negative draws
	Why    string            // "receive", "draw", "count", "waste", "return", "remnant"
	Person string
	Made   time.Time
	// Counted is what was measured where Why is "count" and it was said; otherwise 0.
	Counted units.Millimetres
	Other   string            // the other roll, where a remnant was cut
	Left    units.Millimetres // after it; set by the shelf
}

// Piece is film to cut off a roll and put away as a remnant of its own.
type Piece struct {
	ID      string // made by the client
	Roll    string // what it is cut from
	Remnant string // its name
	Length  units.Millimetres
	Width   units.Millimetres // 0 is the roll's own
	Place   string
	Person  string
	Made    time.Time
}

// Use is film of one kind drawn on one day, waste included and returns taken off.
type Use struct {
	Film, Colour string
	Day          int64 // days since 1970-01-01 UTC
	Length       units.Millimetres
}

// Shelf keeps rolls and movements.
type Shelf interface {
	// Every act has an id of its own. One that the branch sent before with something else in it is refused with the fault
	// Invalid/MOVEMENT_ID_REUSED, and changes nothing.

	// Rolls lists a branch's rolls with what is left, by film, colour and age.
	Rolls(ctx context.Context, branch string) ([]Roll, error)
	// Roll reads one. Fault NotFound/ROLL_NOT_FOUND.
	Roll(ctx context.Context, name string) (Roll, error)
	// AddRoll stores a roll and its first movement (Length); the same again changes nothing. Fault Invalid/ROLL_TAKEN.
	AddRoll(ctx context.Context, r Roll, first Movement) error
	// Move stores a movement; the same again changes nothing. Fault NotReady/ROLL_TOO_SHORT where less than
	// nothing would be left, NotFound/ROLL_NOT_FOUND.
	Move(ctx context.Context, m Movement) error
	// Count stores what was measured on a roll: the change is worked out against the account in the same instant, and
	// a count that agrees is stored too. It answers the stored movement; the same again answers the first. Fault
	// NotFound/ROLL_NOT_FOUND.
	Count(ctx context.Context, m Movement) (Movement, error)
	// Cut takes a piece off a roll and stores it as a remnant with the roll's film, lot and age; both movements or
	// none. The same again changes nothing. Faults NotReady/ROLL_TOO_SHORT, NotFound/ROLL_NOT_FOUND,
	// Invalid/REMNANT_INVALID where it is wider than the roll, Invalid/ROLL_TAKEN.
	Cut(ctx context.Context, p Piece) error
	// Movements lists those of a branch, or of one roll, newest first, beginning after the one named by its time and
	// id (the zero time begins at the newest). The times of one roll's movements never run backwards.
	Movements(ctx context.Context, of string, before time.Time, beforeID string, most int) ([]Movement, error)
	// Uses sums a branch's draws since an instant by film, colour and day.
	Uses(ctx context.Context, branch string, since time.Time) ([]Use, error)
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

// Check finds what is wrong with a piece. Paths are those of branches.v1.CutRemnantRequest.
func (p Piece) Check() fault.Fields {
	var fs fault.Fields
	if p.Length < 1 || p.Length > MaxLength {
		fs.Add("length_mm", "is %d mm; allowed are 1 to %d mm", p.Length, MaxLength)
	}
	if p.Width != 0 && (p.Width < 20 || p.Width > 3000) {
		fs.Add("width_mm", "is %d mm; allowed are 20 to 3000 mm, or 0 for the roll's own", p.Width)
	}
	if len(p.Place) > 60 {
		fs.Add("place", "is longer than 60 characters")
	}
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
