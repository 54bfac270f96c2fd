// Package demo is a franchise that does not exist: its workshops, films, recipes, people and a year of their work, for
// trying the program out and for showing what comparison finds. All of it is invented. Four causes are planted in the
// year, so that somebody who looks can find them; see Cold, Short, Wasteful and Brittle.
//
// Room: demo
// Holds: Load, SignIn, the planted causes
// May touch: recipes, recipes/units, recipes/fault, recipes/sealed, recipes/prices, recipes/compliance, recipes/compliance/care, branches, branches/machines, branches/stock, branches/runs, server/access
// Never: a clock, randomness without a seed, a store with people in it, the name of a real place or firm
package demo

import (
	"context"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/branches/runs"
	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

// Store is what the demo is written through.
type Store interface {
	recipes.Catalog
	recipes.Desk
	recipes.Reaches
	branches.Register
	machines.Workshop
	stock.Shelf
	runs.Ledger
	access.Audited
}

// loadDemo is the act under which the audit chain knows a load: its first entry says that one began, and the second that
// it was finished.
const loadDemo = "LoadDemo"

// Half reports whether a load was stopped before its end, so that the store holds only a part of the demo.
func Half(ctx context.Context, a access.Audited) (bool, error) {
	first, err := a.Audit(ctx, 0, 2)
	if err != nil || len(first) == 0 || first[0].Act != loadDemo {
		return false, err
	}
	return len(first) < 2 || first[1].Act != loadDemo, nil
}

// HalfLoaded is the fault for such a store.
func HalfLoaded() error {
	return fault.New(fault.NotReady, "demo", "DEMO_HALF_LOADED", "Loading the demo was stopped before its end, so this store holds a part of it only. Remove the data folder (or empty the database), or name another, and start again.")
}

// SignIn is one way in, to be printed at the start.
type SignIn struct{ Email, Password, Title, Does string }

// The planted causes.
const (
	// Cold is the branch whose press is 9 °C colder than its dial says. It went wrong ColdMonths ago and was measured
	// only three days ago, so its card corrects it now, but the runs up to then were pressed cold: edges lift, and its
	// reprint ratio lies near 2 over the year. Its machine's calibration table shows why.
	Cold = "branches/tanner-row"
	// ColdMonths is how many months before the day of loading the press went cold.
	ColdMonths = 9

	// Short is the recipe whose revision 2 dwelt too short (6 s instead of 12). From ShortMonths ago, when it was
	// released, its reprints rose at every branch; revision 3, released MendedMonths ago, brought them down again.
	Short recipes.RecordName = "recipes/glimmer-polyester"
	// ShortMonths is how many months ago revision 2 took effect.
	ShortMonths = 8
	// MendedMonths is how many months ago revision 3 took effect.
	MendedMonths = 4

	// Wasteful is the branch that leaves film at the end of its rolls: about 6 % of what it draws, against about 1 %
	// elsewhere. Its reprints are like everybody's.
	Wasteful = "branches/cooper-yard"

	// Brittle is the lot of a film that tears when it is weeded, wherever it is worked: several times as often as other lots.
	Brittle = "dewfall-b4"
)

// Tardy is the branch whose reports come days late, and Mending the one that corrected some of its runs; neither works worse
// than others.
const (
	Tardy   = "branches/weavers-fold"
	Mending = "branches/chapel-walk"
)

// historyMonths is how far back the first release lies; the runs begin yearDays ago.
const (
	historyMonths = 13
	yearDays      = 365
)

// Load writes the demo. The day of now is the day after the last run; all else follows from it, but for the names and
// password hashes of people, which come from the guard's own source. A load that fails leaves a store to be thrown
// away, and Half says so. Faults: NotReady/DEMO_NOT_EMPTY where there are people, and those of the store.
func Load(ctx context.Context, s Store, guard *access.Guard, signer recipes.Signer, now time.Time) ([]SignIn, error) {
	people, err := guard.People(ctx)
	if err != nil {
		return nil, err
	}
	if len(people) > 0 {
		return nil, fault.New(fault.NotReady, "demo", "DEMO_NOT_EMPTY", "There are people here already, so the demo is not loaded. Start it with an empty store.")
	}
	l := loading{store: s, signer: signer, day: now.UTC().Truncate(24 * time.Hour), houses: houses()}
	mark := func(object string) func(context.Context) error {
		return func(ctx context.Context) error {
			return s.AppendAudit(ctx, access.AuditEntry{Time: now, Person: "whoever runs the server", Act: loadDemo, Object: object})
		}
	}
	for _, step := range []func(context.Context) error{
		mark("begun"),
		l.branches,
		func(ctx context.Context) error { return l.people(ctx, guard) },
		l.history, l.year, l.shelves,
		mark("finished"),
	} {
		if err := step(ctx); err != nil {
			return nil, err
		}
	}
	return SignIns(), nil
}

// loading is one Load under way.
type loading struct {
	store                    Store
	signer                   recipes.Signer
	day                      time.Time // midnight UTC of the day of loading
	houses                   []house
	editor, approver, second string            // people of the office
	bench                    map[string]string // branch → who reports there
	released                 []recipes.Release
	approved                 map[recipes.RevisionName]recipes.Recipe
}

// before is the morning of a day some months and days before the day of loading.
func (l *loading) before(months, days int) time.Time {
	return l.day.AddDate(0, -months, -days).Add(7 * time.Hour)
}
