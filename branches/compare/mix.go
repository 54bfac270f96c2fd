package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Stratum is what a fair comparison holds equal.
type Stratum struct {
	Film, Fabric string
	Band         int // difficulty of the drawing: 0, 1 or 2
}

// Worked is what one branch did in one stratum, counted as Cell counts.
type Worked struct {
	Stratum          int32 // place in Mix.Strata
	Pieces, Reprints int64
	Drawn, Decorated units.SquareMillimetres
}

// BranchMix is what one branch did, one row a stratum, by stratum.
type BranchMix struct {
	Branch string
	Rows   []Worked
}

// Mix is what every branch did of every kind of work: what rates are held equal by. Strata are numbers, so that a row costs
// no look-up and no text: the fair view of a large franchise has some 200 000 rows.
type Mix struct {
	Strata   []Stratum   // in the order of film, fabric, band; each once
	Branches []BranchMix // by name, each once; those without a run left out
}

// Keep leaves out the branches that keep does not hold for.
func (m Mix) Keep(keep func(branch string) bool) Mix {
	m.Branches = slices.DeleteFunc(slices.Clone(m.Branches), func(b BranchMix) bool { return !keep(b.Branch) })
	return m
}

// Together takes all work to be the same: one stratum.
func (m Mix) Together() Mix {
	one := Mix{Strata: []Stratum{{Film: "all", Fabric: "all"}}, Branches: make([]BranchMix, len(m.Branches))}
	for i, b := range m.Branches {
		sum := Worked{}
		for k := range b.Rows {
			sum.add(&b.Rows[k])
		}
		one.Branches[i] = BranchMix{b.Branch, []Worked{sum}}
	}
	return one
}

func (w *Worked) add(other *Worked) {
	w.Pieces += other.Pieces
	w.Reprints += other.Reprints
	w.Drawn += other.Drawn
	w.Decorated += other.Decorated
}

func compareStrata(a, b Stratum) int {
	return cmp.Or(strings.Compare(a.Film, b.Film), strings.Compare(a.Fabric, b.Fabric), cmp.Compare(a.Band, b.Band))
}

// MixOf adds up cells. Sums of floats depend on their order, and that of a mix is not that of the cells. Fault kinds: Invalid,
// TooLarge.
func MixOf(cells []Cell) (Mix, error) {
	if err := check(cells); err != nil {
		return Mix{}, err
	}
	var m Mix
	number := map[string]int{}
	strata := map[Stratum]int32{}
	branch, of := "", -1
	for i := range cells {
		c := &cells[i]
		if of < 0 || c.Branch != branch { // cells mostly come branch by branch
			known := false
			if of, known = number[c.Branch]; !known {
				of = len(m.Branches)
				number[c.Branch] = of
				m.Branches = append(m.Branches, BranchMix{Branch: c.Branch})
			}
			branch = c.Branch
		}
		k := c.stratum()
		s, known := strata[k]
		if !known {
			s = int32(len(m.Strata))
			strata[k] = s
			m.Strata = append(m.Strata, k)
		}
		m.Branches[of].Rows = append(m.Branches[of].Rows, Worked{s, c.Pieces, c.Reprints, c.Drawn, c.Decorated})
	}
	m.order()
	return m, nil
}

// order brings strata, branches and rows into order, and makes one row of each stratum.
func (m *Mix) order() {
	places := make([]int32, len(m.Strata))
	for i := range places {
		places[i] = int32(i)
	}
	slices.SortFunc(places, func(a, b int32) int { return compareStrata(m.Strata[a], m.Strata[b]) })
	rank := make([]int32, len(places))
	ordered := make([]Stratum, len(places))
	for place, s := range places {
		rank[s], ordered[place] = int32(place), m.Strata[s]
	}
	m.Strata = ordered
	sum, seen := make([]Worked, len(ordered)), make([]bool, len(ordered))
	for i := range m.Branches {
		rows := m.Branches[i].Rows
		for k := range rows {
			s := rank[rows[k].Stratum]
			sum[s].add(&rows[k])
			seen[s] = true
		}
		rows = rows[:0]
		for s := range sum {
			if seen[s] {
				sum[s].Stratum = int32(s)
				rows = append(rows, sum[s])
				sum[s], seen[s] = Worked{}, false
			}
		}
		m.Branches[i].Rows = rows
	}
	slices.SortFunc(m.Branches, func(a, b BranchMix) int { return strings.Compare(a.Branch, b.Branch) })
}

// Sums over a mix stay inside these, so that pieces are exact in a float64 and areas in an int64.
const (
	mostPiecesInMix = int64(1) << 52
	mostAreaInMix   = units.SquareMillimetres(1) << 62
)

// check refuses what can not be a mix. Fault kinds: TooLarge, Invalid.
func (m Mix) check() error {
	left, drawn, decorated := mostPiecesInMix, mostAreaInMix, mostAreaInMix
	count := 0
	for i, b := range m.Branches {
		if count += len(b.Rows); count > MaxCells || i >= maxBranches {
			return fault.New(fault.TooLarge, room, TooMany, "There are more than %d rows or %d branches; more are not compared at once. Choose fewer films or branches.", MaxCells, maxBranches)
		}
		sound := name(b.Branch) && (i == 0 || m.Branches[i-1].Branch < b.Branch)
		last := int32(-1)
		for k := range b.Rows {
			r := &b.Rows[k]
			sound = sound && r.Stratum > last && int(r.Stratum) < len(m.Strata) && r.Reprints >= 0 && r.Reprints <= r.Pieces &&
				r.Pieces <= left && r.Drawn >= 0 && r.Drawn <= drawn && r.Decorated >= 0 && r.Decorated <= decorated
			last, left, drawn, decorated = r.Stratum, left-r.Pieces, drawn-r.Drawn, decorated-r.Decorated
		}
		if !sound {
			var fields fault.Fields
			fields.Add(fmt.Sprintf("branches[%d]", i), "is no sum of runs by stratum, or is out of order")
			return fields.Fault(room, CellsInvalid, "Some rows can not be a roll-up of runs. Rebuild the roll-ups from the runs.")
		}
	}
	return nil
}
