// Package storetest is the contract of everything that stores things: one test for each promise that the interfaces
// make in their comments. Every store runs it, with every cache in front.
//
// Room: storetest
// Holds: Run, Stores
// May touch: recipes, recipes/fault, recipes/units, branches, branches/machines, branches/stock, branches/orders, branches/runs, branches/compare, server/access, github.com/google/go-cmp/cmp
// Never: a promise that an interface does not make
package storetest

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenpeel/branches"
	"evenpeel/branches/compare"
	"evenpeel/branches/machines"
	"evenpeel/branches/orders"
	"evenpeel/branches/runs"
	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

// Comparison is where fair comparison gets its rows.
type Comparison interface {
	compare.Source
	// Strata, Months and FilmMonths add up Cells over months, revisions and what else they do not tell apart.
	Strata(ctx context.Context, span compare.Span) ([]compare.Cell, error)
	Months(ctx context.Context, span compare.Span) ([]compare.Cell, error)
	FilmMonths(ctx context.Context, span compare.Span) ([]compare.Cell, error)
	// LastReceived is when each branch's newest report was received.
	LastReceived(ctx context.Context) (map[string]time.Time, error)
	// Anew answers Cells and CauseCounts from the runs alone, by reading all of them.
	Anew(ctx context.Context, span compare.Span) ([]compare.Cell, []compare.Cause, error)
	// RebuildRollUps makes the roll-ups anew from the runs, to the same numbers.
	RebuildRollUps(ctx context.Context) error
}

// Stores is everything that is kept, and one way to spoil it.
type Stores interface {
	recipes.Catalog
	recipes.Desk
	recipes.Reaches
	recipes.Restorer
	branches.Register
	machines.Workshop
	stock.Shelf
	runs.Ledger
	orders.Book
	access.Directory
	access.Audited
	Comparison
	// Poison changes sealed bytes behind the store's back, as a failing disk or a person with the database's password
	// would.
	Poison(t *testing.T, digest recipes.Digest, content []byte)
}

// Run tests every promise, each on a store of its own that open makes empty.
func Run(t *testing.T, open func(t *testing.T) Stores) {
	Recipes(t, open)
	promised(t, "branches", branchPromises, open)
	promised(t, "runs", runPromises, open)
	promised(t, "access", accessPromises, open)
}

// Recipes tests the promises about recipes alone, for what stands in front of these and nothing else.
func Recipes(t *testing.T, open func(t *testing.T) Stores) {
	promised(t, "recipes", recipePromises, open)
	promised(t, "acts", actPromises, open)
}

func promised(t *testing.T, room string, promises []promise, open func(t *testing.T) Stores) {
	t.Run(room, func(t *testing.T) {
		for _, p := range promises {
			t.Run(p.words, func(t *testing.T) { p.keep(t, open(t)) })
		}
	})
}

// promise is one sentence of an interface's comment.
type promise struct {
	words string
	keep  func(t *testing.T, s Stores)
}

// noon is the instant of most things here.
var noon = time.Date(2026, 3, 14, 12, 0, 0, 0, time.UTC)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// got passes a value on, and ends the test on an error.
func got[T any](v T, err error) func(t *testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		must(t, err)
		return v
	}
}

// refused wants a Fault of the kind and reason.
func refused(t *testing.T, err error, kind fault.Kind, reason fault.Reason) *fault.Fault {
	t.Helper()
	f, ok := fault.As(err)
	if !ok || f.Kind != kind || f.Reason != reason {
		t.Fatalf("got %v, want fault %s/%s", err, kind, reason)
	}
	if f.Words == "" {
		t.Fatalf("fault %s has no words", reason)
	}
	return f
}

func same(t *testing.T, got, want any) {
	t.Helper()
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(recipes.Sealed{})); diff != "" {
		t.Fatalf("differs (-want +got):\n%s", diff)
	}
}
