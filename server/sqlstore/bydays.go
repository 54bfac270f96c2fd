package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"maps"
	"slices"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/recipes/units"
)

// Days counts one branch's days in order, those without a run left out. Faults as Cells.
func (s *Store) Days(ctx context.Context, branch string, span compare.Span) ([]compare.DayCount, error) {
	var list []compare.DayCount
	series, err := s.branchDays(ctx, branch, span)
	texts := dayTexts{}
	for _, d := range series[branch].reported() {
		list = append(list, d.count(texts))
	}
	return list, err
}

// AllDays counts every branch's days, by branch and day, those without a run left out. Faults as Cells.
func (s *Store) AllDays(ctx context.Context, span compare.Span) (list []compare.BranchDay, err error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	if x.everything() && x.asOf == always { // no day has to be copied
		err := s.fromDays(ctx, x, func(c *cube) {
			series := make(map[string][]dayCell, len(c.branches))
			for of, branch := range c.branches {
				series[branch] = c.days[of].between(x.from, x.to)
			}
			list = listed(series)
		}, nil)
		return list, err
	}
	days, err := s.branchDays(ctx, "", span)
	if err != nil {
		return nil, err
	}
	series := make(map[string][]dayCell, len(days))
	for branch, d := range days {
		series[branch] = d.cells
	}
	return listed(series), nil
}

// listed are the days with a run, by branch and day.
func listed(series map[string][]dayCell) []compare.BranchDay {
	count := 0
	for _, days := range series {
		count += len(days)
	}
	if count == 0 {
		return nil
	}
	list := make([]compare.BranchDay, 0, count)
	texts := dayTexts{}
	for _, branch := range slices.Sorted(maps.Keys(series)) {
		for i := range series[branch] {
			if d := &series[branch][i]; d.sums[sumRuns] > 0 {
				list = append(list, compare.BranchDay{Branch: branch, DayCount: d.count(texts)})
			}
		}
	}
	if len(list) == 0 {
		return nil
	}
	return list
}

// RevisionDays counts the days of each revision over all branches, by day and revision. Faults as Cells.
func (s *Store) RevisionDays(ctx context.Context, span compare.Span) ([]compare.RevisionDay, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	series := map[int64]*daySeries{}
	of := func(revision int64) *daySeries {
		if series[revision] == nil {
			series[revision] = &daySeries{}
		}
		return series[revision]
	}
	err = s.fromDays(ctx, x, func(c *cube) {
		for k, days := range c.revisionDays {
			if x.takes(stratum{film: k.film, fabric: k.fabric}) {
				for _, d := range days.between(x.from, x.to) {
					of(k.revision).add(d.day, &d.sums)
				}
			}
		}
	}, func(_ string, day int32, k *stratum, less *sums) { of(k.revision).add(day, less) })
	if err != nil {
		return nil, err
	}
	var list []compare.RevisionDay
	texts := dayTexts{}
	for revision, days := range series {
		for _, d := range days.reported() {
			list = append(list, compare.RevisionDay{Revision: revision, DayCount: d.count(texts)})
		}
	}
	slices.SortFunc(list, func(a, b compare.RevisionDay) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Revision, b.Revision))
	})
	return list, nil
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

// LastReceived is when a server took each branch's newest report: of that instant silence is told, whatever days the runs
// are of.
func (s *Store) LastReceived(ctx context.Context) (map[string]time.Time, error) {
	if err := s.catchUp(ctx); err != nil {
		return nil, err
	}
	s.cube.mu.RLock()
	defer s.cube.mu.RUnlock()
	last := make(map[string]time.Time, len(s.cube.branches))
	for of, branch := range s.cube.branches {
		last[branch] = instant(s.cube.received[of])
	}
	return last, nil
}

// dayTexts keeps one copy of each day's text: branches have the same few.
type dayTexts map[int32]string

func (t dayTexts) of(day int32) string {
	text, ok := t[day]
	if !ok {
		text = dayText(day)
		t[day] = text
	}
	return text
}

func (d *dayCell) count(texts dayTexts) compare.DayCount {
	return compare.DayCount{Day: texts.of(d.day), Pieces: d.sums[sumPieces] + d.sums[sumReprints], Reprints: d.sums[sumReprints],
		Drawn: units.SquareMillimetres(d.sums[sumDrawn]), Decorated: units.SquareMillimetres(d.sums[sumDecorated])}
}

// reported are the days with a run.
func (d *daySeries) reported() (list []dayCell) {
	if d == nil {
		return nil
	}
	for _, c := range d.cells {
		if c.sums[sumRuns] > 0 {
			list = append(list, c)
		}
	}
	return list
}

// branchDays are the days of a branch, or of each where it is "". Those of one branch come from its pages, some ten a month:
// a branch that is looked into waits for no report on all. Those of all come from memory, unless a film, a fabric or an
// instant is asked for.
func (s *Store) branchDays(ctx context.Context, branch string, span compare.Span) (map[string]*daySeries, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	series := map[string]*daySeries{}
	if branch == "" && x.everything() {
		err := s.fromDays(ctx, x, func(c *cube) {
			for of, name := range c.branches {
				series[name] = &daySeries{cells: slices.Clone(c.days[of].between(x.from, x.to))}
			}
		}, func(branch string, day int32, _ *stratum, less *sums) { series[branch].add(day, less) })
		return series, err
	}
	err = s.each(ctx, x, branch, func(branch string, day int32, _ *stratum, e *entry) {
		if series[branch] == nil {
			series[branch] = &daySeries{}
		}
		series[branch].add(day, &e.sums)
	})
	return series, err
}

// fromDays answers from the days in memory. Where the stretch is as of an instant, less takes away what came later: what is
// read is bounded by that, not by the stretch.
func (s *Store) fromDays(ctx context.Context, x *stretch, take func(c *cube), less func(branch string, day int32, k *stratum, sum *sums)) error {
	months := *x // days are in memory whatever the stretch cuts
	months.months = slices.Clone(x.months)
	for i := range months.months {
		months.months[i].whole = true
	}
	for {
		if err := s.catchUp(ctx); err != nil {
			return err
		}
		p, err := s.entriesFor(ctx, &months)
		if err != nil {
			return err
		}
		if done, err := s.fromDaysOver(x, &months, p, take, less); done || err != nil {
			return err
		}
	}
}

func (s *Store) fromDaysOver(x, months *stretch, p pages, take func(c *cube), less func(branch string, day int32, k *stratum, sum *sums)) (done bool, err error) {
	c := s.cube
	c.mu.RLock()
	defer c.mu.RUnlock()
	if !p.reach(c, months) {
		return false, nil
	}
	take(c)
	if x.asOf == always {
		return true, nil
	}
	strata, _ := s.words.known()
	takes := make([]bool, len(strata))
	for i, k := range strata {
		takes[i] = x.takes(k)
	}
	var sum sums
	for _, part := range months.months {
		m, first := p[part.month], int32(part.begins/dayMicros)-1
		if m == nil {
			continue
		}
		for branch, list := range m.pages {
			for _, page := range list {
				if page.received <= x.asOf {
					continue
				}
				read := entries{content: page.content}
				for read.next() {
					e := &read.entry
					day := first + int32(e.day)
					if e.received <= x.asOf || e.sequence > c.sequence || day < x.from || day > x.to || !takes[e.stratum] {
						continue
					}
					for i, v := range read.rest().sums {
						sum[i] = -v
					}
					less(branch, day, &strata[e.stratum], &sum)
				}
				if err := read.fault(); err != nil {
					return true, err
				}
			}
		}
	}
	return true, nil
}

// dayMicros is a day in µs.
const dayMicros = 24 * 60 * 60 * 1_000_000

const (
	pagesOfBranch = `SELECT branch, month, content FROM compare_page WHERE branch = $3 AND month >= $1 AND month <= $2 ORDER BY month`
	pagesOfAll    = `SELECT branch, month, content FROM compare_page WHERE month >= $1 AND month <= $2 AND $3 = ''`
)

// each goes through the entries of a stretch, of one branch or of all.
func (s *Store) each(ctx context.Context, x *stretch, branch string, do func(branch string, day int32, k *stratum, e *entry)) error {
	query := pagesOfBranch
	if branch == "" {
		query = pagesOfAll
	}
	return s.inRead(ctx, func(tx *sql.Tx) error {
		if err := s.words.refresh(ctx, tx); err != nil {
			return err
		}
		strata, _ := s.words.known()
		takes := make([]bool, len(strata))
		for i, k := range strata {
			takes[i] = x.takes(k)
		}
		rows, err := tx.QueryContext(ctx, query, x.months[0].month, x.months[len(x.months)-1].month, branch)
		if err != nil {
			return err
		}
		defer rows.Close()
		firsts := map[string]int32{}
		for rows.Next() {
			var of, month string
			var content sql.RawBytes
			if err := rows.Scan(&of, &month, &content); err != nil {
				return err
			}
			first, ok := firsts[month]
			if !ok {
				t, err := time.Parse("2006-01", month)
				if err != nil {
					return err
				}
				first = dayNumber(t)
				firsts[month] = first
			}
			read := entries{content: content}
			for read.next() {
				e := &read.entry
				day := first - 1 + int32(e.day)
				if day >= x.from && day <= x.to && e.received <= x.asOf && e.stratum < int64(len(takes)) && takes[e.stratum] {
					do(of, day, &strata[e.stratum], read.rest())
				}
			}
			if err := read.fault(); err != nil {
				return err
			}
		}
		return rows.Err()
	})
}
