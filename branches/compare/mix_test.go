package compare

import (
	"reflect"
	"slices"
	"testing"

	"evenpeel/recipes/fault"
)

// What is held equal makes no difference to what is counted, and one stratum holds nothing equal.
func TestMix_together(t *testing.T) {
	m := mixOf(t, network(9, 20, 800, nil))
	v, err := FairReprintsOf(m.Together(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	whole, err := FairReprintsOf(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range v.Standings {
		if s.Pieces != whole.Standings[i].Pieces || s.Reprints != whole.Standings[i].Reprints {
			t.Errorf("%s: %d of %d, want %d of %d", s.Branch, s.Reprints, s.Pieces, whole.Standings[i].Reprints, whole.Standings[i].Pieces)
		}
		near(t, s.Branch+" expected", s.Expected, float64(s.Pieces)*v.Rate, 1e-9*s.Expected)
	}
}

// A market's view is that of its own cells.
func TestMix_keep(t *testing.T) {
	cells := network(9, 20, 800, nil)
	here := func(branch string) bool { return branch != cells[0].Branch }
	got, err := FairReprintsOf(mixOf(t, cells).Keep(here), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := fair(t, slices.DeleteFunc(slices.Clone(cells), func(c Cell) bool { return !here(c.Branch) }), Options{})
	if !reflect.DeepEqual(got, want) {
		t.Error("keeping branches is not the same as leaving out their cells")
	}
}

func TestMix_refusesWhatNoRollUpGives(t *testing.T) {
	sound := func() Mix {
		return Mix{Strata: []Stratum{{"a", "cotton", 0}, {"b", "cotton", 0}}, Branches: []BranchMix{{"x", []Worked{{0, 5, 1, 10, 5}, {1, 5, 1, 10, 5}}}, {"y", []Worked{{1, 5, 0, 10, 5}}}}}
	}
	if _, err := FairReprintsOf(sound(), Options{}); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(m *Mix){
		"a stratum that is not there":  func(m *Mix) { m.Branches[0].Rows[1].Stratum = 2 },
		"a stratum below all":          func(m *Mix) { m.Branches[0].Rows[0].Stratum = -1 },
		"rows out of order":            func(m *Mix) { slices.Reverse(m.Branches[0].Rows) },
		"branches out of order":        func(m *Mix) { slices.Reverse(m.Branches) },
		"a branch without a name":      func(m *Mix) { m.Branches[0].Branch = "" },
		"more reprints than pieces":    func(m *Mix) { m.Branches[1].Rows[0].Reprints = 6 },
		"less than nothing drawn":      func(m *Mix) { m.Branches[1].Rows[0].Drawn = -1 },
		"more pieces than a float has": func(m *Mix) { m.Branches[1].Rows[0].Pieces = mostPiecesInMix - 4 },
		"sums beyond 64 bits":          func(m *Mix) { m.Branches[0].Rows[0].Drawn, m.Branches[1].Rows[0].Drawn = mostAreaInMix-10, 11 },
	} {
		m := sound()
		spoil(&m)
		if _, err := FairReprintsOf(m, Options{}); !fault.Is(err, fault.Invalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
