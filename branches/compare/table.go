package compare

import (
	"slices"

	"evenpeel/recipes/units"
)

// table holds the cells' counts by branch and stratum. Cells are put in buckets by branch, and branches and strata are
// numbers, so that a cell costs one look-up: the fair view of a large franchise has 150 000 of them.
type table struct {
	names  []string // branches with cells, in order of first sight
	number map[string]int32
	strata []stratum // in order of first sight
	rank   []int32   // of each stratum among all, in their own order
	own    [][]entry // by branch: one entry a stratum, in the order of strata
	all    []sums    // by stratum
	worked []int32   // how many branches pressed pieces in it
}

// entry is what one branch did in one stratum.
type entry struct {
	stratum int32
	sums
}

// sums are what is held equal by stratum: reprints by pieces, film drawn by film decorated.
type sums struct {
	Tally
	drawn, decorated units.SquareMillimetres
}

func (s *sums) add(other sums) {
	s.Pieces += other.Pieces
	s.Reprints += other.Reprints
	s.drawn += other.drawn
	s.decorated += other.decorated
}

func tabled(cells []Cell) table {
	t := table{number: map[string]int32{}}
	strata := map[stratum]int32{}
	branch, at := "", int32(-1)
	for i := range cells {
		c := &cells[i]
		if at < 0 || c.Branch != branch { // cells mostly come branch by branch
			known := false
			if at, known = t.number[c.Branch]; !known {
				at = int32(len(t.names))
				t.number[c.Branch] = at
				t.names, t.own = append(t.names, c.Branch), append(t.own, nil)
			}
			branch = c.Branch
		}
		k := c.stratum()
		s, known := strata[k]
		if !known {
			s = int32(len(t.strata))
			strata[k] = s
			t.strata = append(t.strata, k)
		}
		t.own[at] = append(t.own[at], entry{s, sums{Tally{c.Pieces, c.Reprints}, c.Drawn, c.Decorated}})
	}
	t.ranked()
	t.all, t.worked = make([]sums, len(t.strata)), make([]int32, len(t.strata))
	scratch := make([]sums, len(t.strata))
	seen := make([]bool, len(t.strata))
	for b := range t.own {
		t.own[b] = t.merged(t.own[b], scratch, seen)
		for _, e := range t.own[b] {
			t.all[e.stratum].add(e.sums)
			if e.Pieces > 0 {
				t.worked[e.stratum]++
			}
		}
	}
	return t
}

// ranked finds the order of the strata: sums of floats depend on their order, so it must not be that of the cells.
func (t *table) ranked() {
	order := make([]int32, len(t.strata))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int { return compareStrata(t.strata[a], t.strata[b]) })
	t.rank = make([]int32, len(order))
	for place, s := range order {
		t.rank[s] = int32(place)
	}
}

// merged makes one entry of each stratum, in the order of strata. scratch and seen are empty, and are left so.
func (t *table) merged(list []entry, scratch []sums, seen []bool) []entry {
	kept := list[:0]
	for _, e := range list {
		scratch[e.stratum].add(e.sums)
		if !seen[e.stratum] {
			seen[e.stratum] = true
			kept = append(kept, e)
		}
	}
	slices.SortFunc(kept, func(a, b entry) int { return int(t.rank[a.stratum]) - int(t.rank[b.stratum]) })
	for i := range kept {
		e := &kept[i]
		e.sums = scratch[e.stratum]
		scratch[e.stratum], seen[e.stratum] = sums{}, false
	}
	return kept
}

// branches are those with cells and those that should have some, by name.
func (t table) branches(named []string) []string {
	all := append(slices.Clone(named), t.names...)
	slices.Sort(all)
	return slices.Compact(all)
}

// standing counts; the marks come when all branches are known.
func (t table) standing(branch string) Standing {
	s := Standing{Branch: branch, PValue: 1, BHAdjusted: 1}
	if at, known := t.number[branch]; known {
		for _, e := range t.own[at] {
			s.Pieces += e.Pieces
			s.Reprints += e.Reprints
			if e.Pieces > 0 {
				all := t.all[e.stratum]
				s.Expected += float64(e.Pieces) * float64(all.Reprints) / float64(all.Pieces)
				if t.worked[e.stratum] == 1 {
					s.PiecesAlone += e.Pieces
				}
			}
		}
	}
	if s.Pieces > 0 {
		s.Rate = float64(s.Reprints) / float64(s.Pieces)
	}
	s.Wilson95 = Wilson(float64(s.Reprints), float64(s.Pieces), Level95)
	s.Exact95 = ClopperPearson(s.Reprints, s.Pieces, Level95)
	if s.Expected > 0 {
		s.Ratio = float64(s.Reprints) / s.Expected
		s.Ratio95 = over(Garwood(s.Reprints, Level95), s.Expected)
		s.Ratio998 = over(Garwood(s.Reprints, Level998), s.Expected)
	}
	return s
}

// expectedDrawn is the film that all branches together would have drawn for one branch's decorated area, stratum by stratum.
func (t table) expectedDrawn(branch string) (area float64) {
	if at, known := t.number[branch]; known {
		for _, e := range t.own[at] {
			area += float64(e.decorated) * part(t.all[e.stratum].drawn, t.all[e.stratum].decorated)
		}
	}
	return area
}
