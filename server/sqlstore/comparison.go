package sqlstore

import (
	"context"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/recipes/units"
)

// onto makes sums a cell.
func (s *sums) onto(c *compare.Cell) {
	c.Pieces, c.Reprints = s[sumPieces]+s[sumReprints], s[sumReprints] // a run's pieces leave reprints out, a cell's do not
	areas := [...]*units.SquareMillimetres{
		sumDrawn: &c.Drawn, sumDecorated: &c.Decorated, sumLayout: &c.LayoutLoss, sumEdge: &c.EdgeLoss, sumTestCut: &c.TestCutLoss,
		sumWeeding: &c.WeedingLoss, sumReprintFilm: &c.ReprintLoss, sumRollEnd: &c.RollEndLoss, sumAchievable: &c.Achievable,
	}
	for i, area := range areas {
		if area != nil {
			*area = units.SquareMillimetres(s[i])
		}
	}
}

// Cells adds up the runs of a span by branch, month, film, fabric, band and recipe revision, to the last unit. In no
// order. Faults Invalid/SPAN_INVALID, TooLarge/SPAN_TOO_LONG. Over 10 million runs these are millions of rows: a view of
// all branches asks for Strata and Months.
func (s *Store) Cells(ctx context.Context, span compare.Span) (list []compare.Cell, err error) {
	var by []stratum
	return s.cells(ctx, span, true, func(strata []stratum) ([]int32, int) {
		by = strata
		group := make([]int32, len(strata))
		for i := range group {
			group[i] = int32(i)
		}
		return group, len(strata)
	}, func(c *compare.Cell, group int) {
		k := &by[group]
		c.Film, c.Fabric, c.Band, c.Revision = k.film, k.fabric, int(k.band), k.revision
	})
}

// Strata adds up by branch, film, fabric and band, over the whole span and all revisions: what rates are held equal by. A
// cell's Period is the span's first month, its Revision 0. In no order. Faults as Cells.
func (s *Store) Strata(ctx context.Context, span compare.Span) ([]compare.Cell, error) {
	var by []stratum
	return s.cells(ctx, span, false, func(strata []stratum) ([]int32, int) {
		at := map[stratum]int32{}
		group := make([]int32, len(strata))
		for i, k := range strata {
			k.revision = 0
			g, ok := at[k]
			if !ok {
				g = int32(len(by))
				at[k], by = g, append(by, k)
			}
			group[i] = g
		}
		return group, len(by)
	}, func(c *compare.Cell, group int) {
		k := &by[group]
		c.Film, c.Fabric, c.Band = k.film, k.fabric, int(k.band)
	})
}

// all is the film and the fabric of a cell that tells none apart.
const allOfThem = "all"

// Months adds up by branch and month alone: film and fabric are "all", band and revision 0. In no order. Faults as Cells.
func (s *Store) Months(ctx context.Context, span compare.Span) ([]compare.Cell, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	if x.everything() && x.asOf == always {
		return s.monthsOfDays(ctx, x)
	}
	return s.cells(ctx, span, true, func(strata []stratum) ([]int32, int) { return make([]int32, len(strata)), 1 },
		func(c *compare.Cell, _ int) { c.Film, c.Fabric = allOfThem, allOfThem })
}

// monthsOfDays is Months from the sums by month and, where the span cuts one, by day, which know no film.
func (s *Store) monthsOfDays(ctx context.Context, x *stretch) (list []compare.Cell, err error) {
	if err := s.catchUp(ctx); err != nil {
		return nil, err
	}
	s.cube.mu.RLock()
	defer s.cube.mu.RUnlock()
	for of, branch := range s.cube.branches {
		at := x.from
		for _, part := range x.months {
			end := at + int32(part.to-part.from)
			var total sums
			if m := s.cube.months[part.month]; part.whole && m != nil && of < len(m.totals) {
				total = m.totals[of]
			} else if !part.whole {
				for _, d := range s.cube.days[of].between(at, end) {
					total.add(&d.sums)
				}
			}
			if total[sumRuns] != 0 {
				c := compare.Cell{Branch: branch, Period: part.month, Film: allOfThem, Fabric: allOfThem}
				total.onto(&c)
				list = append(list, c)
			}
			at = end + 1
		}
	}
	return list, nil
}

func (s *sums) add(other *sums) {
	for i, v := range other {
		s[i] += v
	}
}

// cells answers in cells; name fills in what a group stands for.
func (s *Store) cells(ctx context.Context, span compare.Span, byMonth bool, groups func([]stratum) ([]int32, int), name func(c *compare.Cell, group int)) ([]compare.Cell, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	var list []compare.Cell
	if !byMonth && x.everything() {
		list = make([]compare.Cell, 0, s.cube.strataRows.Load())
	}
	err = s.add(ctx, &adding{stretch: x, byMonth: byMonth, groups: groups, sums: func(branch, month string, group int, of *sums) {
		list = append(list, compare.Cell{})
		c := &list[len(list)-1]
		c.Branch, c.Period = branch, month
		of.onto(c)
		name(c, group)
	}})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	if !byMonth && x.everything() {
		s.cube.strataRows.Store(int64(len(list) + len(list)/64))
	}
	return list, nil
}

// CauseCounts adds up why pieces were made again, over the whole span. In no order. Faults as Cells.
func (s *Store) CauseCounts(ctx context.Context, span compare.Span) ([]compare.Cause, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	var list []compare.Cause
	type key struct {
		film, fabric string
		cause        int
	}
	var of string
	at := map[key]int{} // of one branch: bands and revisions are made one
	err = s.add(ctx, &adding{stretch: x, groups: func(strata []stratum) ([]int32, int) { return make([]int32, len(strata)), 1 },
		sums: func(string, string, int, *sums) {},
		causes: func(branch string, stratum, cause int, pieces int64) {
			if branch != of {
				of = branch
				clear(at)
			}
			strata, causes := s.words.known()
			k := key{strata[stratum].film, strata[stratum].fabric, cause}
			i, seen := at[k]
			if !seen {
				i = len(list)
				at[k] = i
				list = append(list, compare.Cause{Branch: branch, Film: k.film, Fabric: k.fabric, Cause: causes[cause]})
			}
			list[i].Count += pieces
		}})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// Days counts one branch's days in order, those without a run left out. Faults as Cells.
func (s *Store) Days(ctx context.Context, branch string, span compare.Span) ([]compare.DayCount, error) {
	list, err := s.days(ctx, branch, span)
	if err != nil {
		return nil, err
	}
	var days []compare.DayCount
	for _, d := range list {
		days = append(days, d.count())
	}
	return days, nil
}

func (d *dayCell) count() compare.DayCount {
	return compare.DayCount{Day: dayText(d.day), Pieces: d.sums[sumPieces] + d.sums[sumReprints], Reprints: d.sums[sumReprints],
		Drawn: units.SquareMillimetres(d.sums[sumDrawn]), Decorated: units.SquareMillimetres(d.sums[sumDecorated])}
}

const branchPages = `SELECT month, content FROM compare_page WHERE branch = $1 AND month >= $2 AND month <= $3 ORDER BY month`

// days are the sums of one branch's days: from memory, or where a film, a fabric or an instant is asked for, from the
// branch's own pages, of which a month has some ten.
func (s *Store) days(ctx context.Context, branch string, span compare.Span) ([]dayCell, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	if err := s.catchUp(ctx); err != nil {
		return nil, err
	}
	s.cube.mu.RLock()
	of, known := s.cube.branchOf[branch]
	var series daySeries
	if known && x.everything() && x.asOf == always {
		series.cells = append(series.cells, s.cube.days[of].between(x.from, x.to)...)
		s.cube.mu.RUnlock()
		return series.reported(), nil
	}
	s.cube.mu.RUnlock()
	if !known {
		return nil, nil
	}
	strata, _ := s.words.known()
	type found struct {
		month   string
		content []byte
	}
	list, err := all(ctx, s.read, func(row scanner) (f found, err error) {
		err = row.Scan(&f.month, &f.content)
		return f, err
	}, branchPages, branch, x.months[0].month, x.months[len(x.months)-1].month)
	if err != nil {
		return nil, s.fault(err)
	}
	for _, f := range list {
		first, err := time.Parse("2006-01", f.month)
		if err != nil {
			return nil, s.fault(err)
		}
		read := entries{content: f.content}
		for read.next() {
			e := &read.entry
			day := dayNumber(first) - 1 + int32(e.day)
			// A stratum that is not known yet came after the call.
			if day >= x.from && day <= x.to && e.received <= x.asOf && e.stratum < int64(len(strata)) && x.takes(strata[e.stratum]) {
				series.add(day, &read.rest().sums)
			}
		}
		if err := read.fault(); err != nil {
			return nil, err
		}
	}
	return series.reported(), nil
}

// reported are the days with a run.
func (d *daySeries) reported() (list []dayCell) {
	for _, c := range d.cells {
		if c.sums[sumRuns] > 0 {
			list = append(list, c)
		}
	}
	return list
}

// LastDays is the last day on which a run of each branch ended, corrected runs left out.
func (s *Store) LastDays(ctx context.Context) (map[string]string, error) {
	if err := s.catchUp(ctx); err != nil {
		return nil, err
	}
	s.cube.mu.RLock()
	defer s.cube.mu.RUnlock()
	last := map[string]string{}
	for of, branch := range s.cube.branches {
		cells := s.cube.days[of].cells
		for i := len(cells) - 1; i >= 0; i-- {
			if cells[i].sums[sumRuns] > 0 {
				last[branch] = dayText(cells[i].day)
				break
			}
		}
	}
	return last, nil
}
