package compare

import (
	"time"

	"evenpeel/recipes/fault"
)

// Every is the length of a chart's periods.
type Every int

// Lengths of a period.
const (
	Week Every = iota // from Monday
	Day
	Month
)

// First is the first day of the period that a day lies in. Fault kind: Invalid.
func (e Every) First(day string) (string, error) {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return "", fault.New(fault.Invalid, room, SeriesInvalid, "%q is no day. Write one as 2026-03-14.", shortened(day))
	}
	switch e {
	case Day:
	case Month:
		t = t.AddDate(0, 0, 1-t.Day())
	default:
		t = t.AddDate(0, 0, -(int(t.Weekday())+6)%7)
	}
	return t.Format(time.DateOnly), nil
}

// Grouped adds days up to periods; Day is then the period's first day. Days come in order of time; periods in which nothing
// was reported are left out, not shown as good ones. Fault kind: Invalid.
func Grouped(days []DayCount, e Every) ([]DayCount, error) {
	var list []DayCount
	for _, d := range days {
		first, err := e.First(d.Day)
		if err != nil {
			return nil, err
		}
		if n := len(list); n == 0 || list[n-1].Day != first {
			list = append(list, DayCount{Day: first})
		}
		sum := &list[len(list)-1]
		sum.Pieces += d.Pieces
		sum.Reprints += d.Reprints
		sum.Drawn += d.Drawn
		sum.Decorated += d.Decorated
	}
	return list, nil
}

// Proportions are samples of reprints among pieces, periods without pieces left out.
func Proportions(periods []DayCount) (list []Sample) {
	for _, p := range periods {
		if p.Pieces > 0 {
			list = append(list, Sample{Label: p.Day, Count: p.Reprints, Size: p.Pieces})
		}
	}
	return list
}

// squareCentimetre in mm²; a u chart counts in whole ones, so that sizes stay whole numbers.
const squareCentimetre = 100

// PerSquareMetre turns a u chart's rates (per cm²) into rates per m².
const PerSquareMetre = squareMetre / squareCentimetre

// PerArea are samples of reprints in the film drawn, in cm².
func PerArea(periods []DayCount) (list []Sample) {
	for _, p := range periods {
		if size := int64(p.Drawn) / squareCentimetre; size > 0 {
			list = append(list, Sample{Label: p.Day, Count: p.Reprints, Size: size})
		}
	}
	return list
}

// Readings are single values, a yield or a reprint rate; periods without what they are a share of are left out.
func Readings(periods []DayCount, yield bool) (list []Reading) {
	for _, p := range periods {
		switch {
		case yield && p.Drawn > 0:
			list = append(list, Reading{p.Day, part(p.Decorated, p.Drawn)})
		case !yield && p.Pieces > 0:
			list = append(list, Reading{p.Day, float64(p.Reprints) / float64(p.Pieces)})
		}
	}
	return list
}

// Smoothed is the EWMA of readings about their own mean, σ by their moving range over 1.128, with a weight of 0.2 and limits
// of 3 (NIST/SEMATECH e-Handbook 6.3.2.4). Readings that do not move have no chart: their limits would have no width.
// Fault kinds: Invalid, TooLarge.
func Smoothed(readings []Reading) (Chart, error) {
	single, _, err := XmR(readings)
	if err != nil {
		return Chart{}, err
	}
	if single.Sigma < 1e-12 {
		return Chart{}, fault.New(fault.Invalid, room, SeriesInvalid, "These values do not move, or there are too few of them, so they have no limits. Choose a longer span.")
	}
	return EWMA(readings, Smoothing{Lambda: 0.2, Target: single.Centre, Sigma: single.Sigma, Widths: limitSigmas})
}

// RiskByDay gives one branch's lots for a risk-adjusted cumulative sum, by the day its runs ended; others are roll-ups of the
// same films and fabrics, from which each stratum's risk comes (those of the branch itself are left out). Fault kinds: as Lots.
func RiskByDay(works []Work, others []Cell, branch string) ([]Lot, error) {
	cells := make([]Cell, 0, len(works)+len(others))
	for i := range works {
		w := &works[i]
		cells = append(cells, Cell{Branch: w.Branch, Film: w.Film, Fabric: w.Fabric, Band: w.Band, Period: w.End.UTC().Format(time.DateOnly), Revision: w.Revision, Pieces: w.Pieces, Reprints: w.Reprints})
	}
	for _, c := range others {
		if c.Branch != branch {
			cells = append(cells, c)
		}
	}
	return Lots(cells, branch)
}
