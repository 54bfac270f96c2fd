package compare

import (
	"slices"

	"evenpeel/recipes/units"
)

// overall is what all branches together did in one stratum, and what comes of a unit of it there.
type overall struct {
	pieces, reprints float64
	drawnRate        float64 // film drawn ÷ film decorated
	branches         int32   // that pressed pieces
}

// overalls go through the mix once; a standing goes through its branch's rows once more.
func (m Mix) overalls() []overall {
	sums := make([]Worked, len(m.Strata))
	all := make([]overall, len(m.Strata))
	for i := range m.Branches {
		rows := m.Branches[i].Rows
		for k := range rows {
			r := &rows[k]
			sums[r.Stratum].add(r)
			if r.Pieces > 0 {
				all[r.Stratum].branches++
			}
		}
	}
	for s := range all {
		all[s].pieces, all[s].reprints = float64(sums[s].Pieces), float64(sums[s].Reprints)
		all[s].drawnRate = part(sums[s].Drawn, sums[s].Decorated)
	}
	return all
}

// standing counts; the marks come when all branches are known.
func standing(branch string, rows []Worked, all []overall) Standing {
	s := Standing{Branch: branch, PValue: 1, BHAdjusted: 1}
	for i := range rows {
		r := &rows[i]
		s.Pieces += r.Pieces
		s.Reprints += r.Reprints
		if r.Pieces > 0 {
			everybody := &all[r.Stratum]
			s.Expected += float64(r.Pieces) * everybody.reprints / everybody.pieces
			if everybody.branches == 1 {
				s.PiecesAlone += r.Pieces
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
func expectedDrawn(rows []Worked, all []overall) (area float64) {
	for i := range rows {
		area += float64(rows[i].Decorated) * all[rows[i].Stratum].drawnRate
	}
	return area
}

// withNamed are the branches of the mix and those that should be in it, by name; reported says which have rows.
func (m Mix) withNamed(named []string) (list []BranchMix, reported []bool) {
	named = slices.Clone(named)
	slices.Sort(named)
	named = slices.Compact(named)
	i := 0
	for _, b := range m.Branches {
		for ; i < len(named) && named[i] < b.Branch; i++ {
			list, reported = append(list, BranchMix{Branch: named[i]}), append(reported, false)
		}
		if i < len(named) && named[i] == b.Branch {
			i++
		}
		list, reported = append(list, b), append(reported, true)
	}
	for ; i < len(named); i++ {
		list, reported = append(list, BranchMix{Branch: named[i]}), append(reported, false)
	}
	return list, reported
}

func part(of, whole units.SquareMillimetres) float64 {
	if whole == 0 {
		return 0
	}
	return float64(of) / float64(whole)
}
