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
}

// DayCount is one day of one branch.
type DayCount struct {
	Day       string // "2026-03-14"
	Pieces    int64  // pressed, those made again included, as Cell counts them
	Reprints  int64
	Drawn     units.SquareMillimetres
	Decorated units.SquareMillimetres
}

// Source adds up what branches reported. Faults Invalid/SPAN_INVALID, TooLarge/SPAN_TOO_LONG.
type Source interface {
	// Cells adds up by branch, month, film, fabric, band and recipe revision. In no order.
	Cells(ctx context.Context, span Span) ([]Cell, error)
	// CauseCounts adds up why pieces were made again. In no order.
	CauseCounts(ctx context.Context, span Span) ([]Cause, error)
	// Days counts one branch's days in order, those without a run left out.
	Days(ctx context.Context, branch string, span Span) ([]DayCount, error)
	// LastDays is the last day on which each branch reported.
	LastDays(ctx context.Context) (map[string]string, error)
}
