package compare

import (
	"maps"
	"slices"
)

// ByPeriod gives one branch's samples for a p chart or Laney's, in order of time. Fault kinds: Invalid, TooLarge.
func ByPeriod(cells []Cell, branch string) ([]Sample, error) {
	if err := check(cells); err != nil {
		return nil, err
	}
	sums := map[string]*Sample{}
	for i := range cells {
		if c := &cells[i]; c.Branch == branch {
			s := at(sums, c.Period)
			s.Label = c.Period
			s.Count += c.Reprints
			s.Size += c.Pieces
		}
	}
	return inTime(sums), nil
}

func inTime[V any](m map[string]*V) []V {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	values := make([]V, len(keys))
	for i, k := range keys {
		values[i] = *m[k]
	}
	return values
}

// at finds or makes the value of a key; inner does so two maps deep.
func at[K comparable, V any](m map[K]*V, k K) *V {
	v := m[k]
	if v == nil {
		v = new(V)
		m[k] = v
	}
	return v
}

func inner[A, B comparable, V any](m map[A]map[B]*V, a A, b B) *V {
	within := m[a]
	if within == nil {
		within = map[B]*V{}
		m[a] = within
	}
	return at(within, b)
}

// Lots gives one branch's pieces for a risk-adjusted cumulative sum, one lot a period, each stratum's risk being the
// reprint rate of all other branches there; pieces no other branch pressed the like of are left out. Within a period
// the lot's risk is the mean over its pieces. Fault kinds: Invalid, TooLarge.
func Lots(cells []Cell, branch string) ([]Lot, error) {
	if err := check(cells); err != nil {
		return nil, err
	}
	others, own := map[Stratum]*Tally{}, map[string]map[Stratum]*Tally{}
	for i := range cells {
		c := &cells[i]
		t := (*Tally)(nil)
		if c.Branch == branch {
			t = inner(own, c.Period, c.stratum())
		} else {
			t = at(others, c.stratum())
		}
		t.Pieces += c.Pieces
		t.Reprints += c.Reprints
	}
	lots := map[string]*Lot{}
	for period, strata := range own {
		for _, k := range slices.SortedFunc(maps.Keys(strata), compareStrata) {
			o, t := others[k], strata[k]
			if o == nil || o.Pieces == 0 || t.Pieces == 0 {
				continue
			}
			l := at(lots, period)
			l.Label = period
			l.Pieces += t.Pieces
			l.Reprints += t.Reprints
			l.Risk += float64(t.Pieces) * o.Rate()
		}
	}
	sorted := inTime(lots)
	for i := range sorted {
		sorted[i].Risk /= float64(sorted[i].Pieces)
	}
	return sorted, nil
}
