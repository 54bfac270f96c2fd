package sqlstore

import (
	"math"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/recipes/fault"
)

// maxSpan bounds a span: 20 years and some days.
const maxSpan = 20 * 366 * 24 * time.Hour

// always is an instant of receipt that everything came before.
const always = math.MaxInt64

// stretch is a span taken apart.
type stretch struct {
	from, to     int32 // days since 1970, both included
	months       []monthPart
	film, fabric string
	asOf         int64 // µs; what was received later does not count
}

// monthPart is what a span takes of a month: all of it, or days of it.
type monthPart struct {
	month    string
	begins   int64 // µs
	whole    bool
	from, to int // days of the month, both included
}

// stretchOf takes a span apart. Faults Invalid/SPAN_INVALID, TooLarge/SPAN_TOO_LONG.
func stretchOf(span compare.Span) (*stretch, error) {
	from, err1 := time.Parse(time.DateOnly, span.From)
	to, err2 := time.Parse(time.DateOnly, span.To)
	switch {
	case err1 != nil || err2 != nil || to.Before(from):
		return nil, fault.New(fault.Invalid, room, SpanInvalid, "%q to %q is no span of days. Write two days as 2026-03-14, the earlier one first.", span.From, span.To)
	case to.Sub(from) > maxSpan:
		return nil, fault.New(fault.TooLarge, room, SpanTooLong, "%s to %s is longer than 20 years. Choose a shorter span.", span.From, span.To)
	}
	x := &stretch{from: dayNumber(from), to: dayNumber(to), film: span.Film, fabric: span.Fabric, asOf: always}
	if !span.AsOf.IsZero() {
		x.asOf = micros(span.AsOf)
	}
	for at := from; !at.After(to); {
		end := time.Date(at.Year(), at.Month()+1, 0, 0, 0, 0, 0, time.UTC)
		part := monthPart{month: at.Format("2006-01"), begins: micros(end.AddDate(0, 0, 1-end.Day())), from: at.Day(), to: end.Day()}
		if end.After(to) {
			part.to = to.Day()
		}
		part.whole = part.from == 1 && part.to == end.Day()
		x.months = append(x.months, part)
		at = end.AddDate(0, 0, 1)
	}
	return x, nil
}

// takes says whether the stretch's film and fabric let a stratum in.
func (x *stretch) takes(k stratum) bool {
	return (x.film == "" || x.film == k.film) && (x.fabric == "" || x.fabric == k.fabric)
}

// everything says whether no film and no fabric is asked for.
func (x *stretch) everything() bool { return x.film == "" && x.fabric == "" }
