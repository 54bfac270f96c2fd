package sqlstore

import (
	"cmp"
	"context"
	"slices"
	"sync"

	"evenpeel/branches/compare"
	"evenpeel/recipes/units"
)

// onto makes sums a cell.
func (s *sums) onto(c *compare.Cell) {
	c.Pieces, c.Reprints = s[sumPieces]+s[sumReprints], s[sumReprints] // a run's pieces leave reprints out, a cell's do not
	areas := [...]*units.SquareMillimetres{
		sumDrawn: &c.Drawn, sumDecorated: &c.Decorated, sumLayout: &c.LayoutLoss, sumEdge: &c.EdgeLoss, sumTestCut: &c.TestCutLoss,
		sumWeeding: &c.WeedingLoss, sumReprintFilm: &c.ReprintLoss, sumRollEnd: &c.RollEndLoss, sumAchievable: &c.Achievable, sumDrawnKnown: &c.DrawnKnown,
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
// cell's Period is the span's first day, its Revision 0. In no order. Faults as Cells.
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

// allOfThem is the film or the fabric of a cell that tells none apart.
const allOfThem = "all"

func oneGroup(strata []stratum) ([]int32, int) { return make([]int32, len(strata)), 1 }

// Months adds up by branch and month alone: film and fabric are "all", band and revision 0. In no order. Faults as Cells.
func (s *Store) Months(ctx context.Context, span compare.Span) ([]compare.Cell, error) {
	return s.cells(ctx, span, true, oneGroup, func(c *compare.Cell, _ int) { c.Film, c.Fabric = allOfThem, allOfThem })
}

// FilmMonths adds up by branch, month and film: fabric is "all", band and revision 0. In no order. Faults as Cells.
func (s *Store) FilmMonths(ctx context.Context, span compare.Span) ([]compare.Cell, error) {
	var films []string
	return s.cells(ctx, span, true, func(strata []stratum) ([]int32, int) {
		at := map[string]int32{}
		group := make([]int32, len(strata))
		for i, k := range strata {
			g, ok := at[k.film]
			if !ok {
				g = int32(len(films))
				at[k.film], films = g, append(films, k.film)
			}
			group[i] = g
		}
		return group, len(films)
	}, func(c *compare.Cell, group int) { c.Film, c.Fabric = films[group], allOfThem })
}

// Reporting says how each branch that sent a run of the span reported, by branch. Faults as Cells.
func (s *Store) Reporting(ctx context.Context, span compare.Span) ([]compare.Reporting, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	var list []compare.Reporting
	err = s.add(ctx, &adding{stretch: x, groups: oneGroup, sums: func(branch, _ string, _ int, of *sums) {
		list = append(list, compare.Reporting{Branch: branch, Runs: of[sumRuns], Late: of[sumLate], Corrected: of[sumCorrected]})
	}})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(a, b compare.Reporting) int { return cmp.Compare(a.Branch, b.Branch) })
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
	var answer answered
	err = s.add(ctx, &adding{stretch: x, byMonth: byMonth, groups: func(strata []stratum) ([]int32, int) {
		group, count := groups(strata)
		answer = answered{byMonth, count}
		if x.everything() {
			list = make([]compare.Cell, 0, s.cube.rows.of(answer)*x.parts(byMonth))
		}
		return group, count
	}, sums: func(branch, month string, group int, of *sums) {
		if of[sumRuns] == 0 {
			return
		}
		list = append(list, compare.Cell{})
		c := &list[len(list)-1]
		c.Branch, c.Period = branch, month
		if !byMonth {
			c.Period = span.From
		}
		of.onto(c)
		name(c, group)
	}})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	if x.everything() {
		s.cube.rows.keep(answer, len(list)/x.parts(byMonth)*65/64+1)
	}
	return list, nil
}

// parts is how many times a branch and group may come.
func (x *stretch) parts(byMonth bool) int {
	if byMonth {
		return len(x.months)
	}
	return 1
}

// answered is a kind of answer: by month or not, and by how many groups.
type answered struct {
	byMonth bool
	groups  int
}

// rowCounts is how many rows each kind of answer last had, a month where it is by month: what the next one makes room for.
type rowCounts struct {
	mu   sync.Mutex
	rows map[answered]int
}

func (r *rowCounts) of(a answered) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.rows[a]
}

// mostKinds of answers: groups grow with films.
const mostKinds = 100

func (r *rowCounts) keep(a answered, rows int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.rows == nil || len(r.rows) > mostKinds {
		r.rows = map[answered]int{}
	}
	r.rows[a] = rows
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
	err = s.add(ctx, &adding{stretch: x, groups: oneGroup,
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
	// What was added under one revision may have been taken out under another: quarters know none.
	if list = slices.DeleteFunc(list, func(c compare.Cause) bool { return c.Count == 0 }); len(list) == 0 {
		return nil, nil
	}
	return list, nil
}
