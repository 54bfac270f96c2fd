package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"slices"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/recipes/units"
)

// Days counts one branch's days in order, those without a run left out. Faults as Cells.
func (s *Store) Days(ctx context.Context, branch string, span compare.Span) ([]compare.DayCount, error) {
	var list []compare.DayCount
	series, err := s.branchDays(ctx, branch, span)
	for _, d := range series[branch].reported() {
		list = append(list, d.count())
	}
	return list, err
}

// AllDays counts every branch's days, by branch and day, those without a run left out. Faults as Cells.
func (s *Store) AllDays(ctx context.Context, span compare.Span) ([]compare.BranchDay, error) {
	series, err := s.branchDays(ctx, "", span)
	var list []compare.BranchDay
	for branch, days := range series {
		for _, d := range days.reported() {
			list = append(list, compare.BranchDay{Branch: branch, DayCount: d.count()})
		}
	}
	slices.SortFunc(list, func(a, b compare.BranchDay) int {
		return cmp.Or(cmp.Compare(a.Branch, b.Branch), cmp.Compare(a.Day, b.Day))
	})
	return list, err
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
	if x.asOf == always {
		if err := s.catchUp(ctx); err != nil {
			return nil, err
		}
		s.cube.mu.RLock()
		for k, days := range s.cube.revisionDays {
			if x.takes(stratum{film: k.film, fabric: k.fabric}) {
				for _, d := range days.between(x.from, x.to) {
					of(k.revision).add(d.day, &d.sums)
				}
			}
		}
		s.cube.mu.RUnlock()
	} else if err := s.each(ctx, x, "", func(_ string, day int32, k *stratum, e *entry) { of(k.revision).add(day, &e.sums) }); err != nil {
		return nil, err
	}
	var list []compare.RevisionDay
	for revision, days := range series {
		for _, d := range days.reported() {
			list = append(list, compare.RevisionDay{Revision: revision, DayCount: d.count()})
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

func (d *dayCell) count() compare.DayCount {
	return compare.DayCount{Day: dayText(d.day), Pieces: d.sums[sumPieces] + d.sums[sumReprints], Reprints: d.sums[sumReprints],
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
	if branch == "" && x.everything() && x.asOf == always {
		if err := s.catchUp(ctx); err != nil {
			return nil, err
		}
		s.cube.mu.RLock()
		defer s.cube.mu.RUnlock()
		for of, name := range s.cube.branches {
			series[name] = &daySeries{cells: slices.Clone(s.cube.days[of].between(x.from, x.to))}
		}
		return series, nil
	}
	err = s.each(ctx, x, branch, func(branch string, day int32, _ *stratum, e *entry) {
		if series[branch] == nil {
			series[branch] = &daySeries{}
		}
		series[branch].add(day, &e.sums)
	})
	return series, err
}

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
