package compare

import (
	"context"
	"time"

	"evenpeel/recipes/units"
)

// Span is a stretch of whole days, both ends included, by the UTC day on which a run ended.
type Span struct {
	From, To     string // "2026-03-14"
	Film, Fabric string // "" is every one
	// AsOf asks for the answer as if nothing received after that instant had come: runs received later are left out, and
	// a run that was corrected later still counts as it stood. Zero is now.
	AsOf time.Time
	// NthDay takes one whole day in so many, for Works alone: a sample of very many runs. 0 and 1 take every day.
	NthDay int
}

// DayCount is one day of one branch.
type DayCount struct {
	Day       string // "2026-03-14"
	Pieces    int64  // pressed, those made again included, as Cell counts them
	Reprints  int64
	Drawn     units.SquareMillimetres
	Decorated units.SquareMillimetres
}

// BranchDay is one day of the branch named.
type BranchDay struct {
	Branch string
	DayCount
}

// RevisionDay is one day of one recipe revision over all branches.
type RevisionDay struct {
	Revision int64
	DayCount
}

// Reason is how many pieces of one run were made again for one cause.
type Reason struct {
	Cause string
	Count int64
}

// Work is one run as comparison sees it. Reprints are among its pieces.
type Work struct {
	Branch, ID, Order            string
	Film, Fabric, Lot            string
	Cutter, Press                string // resource names
	Recipe                       string // "recipes/{id}/revisions/{n}"; "" where worked by hand
	Band                         int
	Revision                     int64
	Start, End                   time.Time
	OnFor                        time.Duration // since its reporter's first start at that branch on the UTC day it started
	Pieces, Reprints             int64
	Reasons                      []Reason
	Drawn, Decorated, Achievable units.SquareMillimetres

	LayoutLoss, EdgeLoss, TestCutLoss, WeedingLoss, ReprintLoss, RollEndLoss units.SquareMillimetres
}

// MaxWorks bounds the runs that one answer looks at one by one.
const MaxWorks = 200_000

// NthDayFor is the sample of days that brings so many runs down to MaxWorks. It is never a whole number of weeks, which would
// look at Mondays alone.
func NthDayFor(runs int64) int {
	if runs <= MaxWorks {
		return 1
	}
	nth := int(runs*11/10/MaxWorks) + 1 // a tenth more, for busy days
	if nth%7 == 0 {
		nth++
	}
	return nth
}

// Reporting is how one branch reported the runs of a span.
type Reporting struct {
	Branch    string
	Runs      int64
	Late      int64 // received more than a day after they ended
	Corrected int64 // runs that a later one took the place of; not among Runs
}

// Source adds up what branches reported. Runs that another took the place of are left out. Faults Invalid/SPAN_INVALID,
// TooLarge/SPAN_TOO_LONG.
type Source interface {
	// Cells adds up by branch, month, film, fabric, band and recipe revision. In no order.
	Cells(ctx context.Context, span Span) ([]Cell, error)
	// Strata adds up by branch, film, fabric and band: months and revisions together, Period the span's first day, Revision 0.
	// In no order.
	Strata(ctx context.Context, span Span) ([]Cell, error)
	// Months adds up by branch and month; film and fabric are "all", band and revision 0. In no order.
	Months(ctx context.Context, span Span) ([]Cell, error)
	// FilmMonths adds up by branch, month and film; fabric is "all", band and revision 0. In no order.
	FilmMonths(ctx context.Context, span Span) ([]Cell, error)
	// CauseCounts adds up why pieces were made again. In no order.
	CauseCounts(ctx context.Context, span Span) ([]Cause, error)
	// Days counts one branch's days in order, those without a run left out.
	Days(ctx context.Context, branch string, span Span) ([]DayCount, error)
	// AllDays counts every branch's days, by branch and day, those without a run left out.
	AllDays(ctx context.Context, span Span) ([]BranchDay, error)
	// RevisionDays counts the days of each revision over all branches, by day and revision; of every recipe where the span
	// names no film and fabric.
	RevisionDays(ctx context.Context, span Span) ([]RevisionDay, error)
	// Works lists the runs of a branch, or of all where it is "", by branch, start and id. Fault TooLarge/TOO_MANY_WORKS
	// where there are more than MaxWorks.
	Works(ctx context.Context, branch string, span Span) ([]Work, error)
	// Reporting says how each branch that sent a run of the span reported, by branch.
	Reporting(ctx context.Context, span Span) ([]Reporting, error)
	// LastDays is the last day on which each branch reported.
	LastDays(ctx context.Context) (map[string]string, error)
}
