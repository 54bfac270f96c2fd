package compare

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"evenpeel/recipes/fault"
)

// plant raises the chance of edge-lift of a run by a factor.
type plant func(w *Work) float64

// workshop invents runs of 8 branches with two presses each, 4 films whose rates differ by nature, 3 fabrics, and lots and
// revisions that follow each other in time.
func workshop(dice *rand.Rand, runs int, planted plant) []Work {
	works := make([]Work, runs)
	natural := []float64{0.6, 1, 1.3, 2}
	for i := range works {
		w := &works[i]
		branch := dice.IntN(8)
		film, fabric := dice.IntN(4), dice.IntN(3)
		w.Branch, w.ID = fmt.Sprintf("branches/b%d", branch), fmt.Sprintf("%05d", i)
		w.Press, w.Cutter = fmt.Sprintf("%s/machines/p%d", w.Branch, dice.IntN(2)), w.Branch+"/machines/c"
		w.Film, w.Fabric, w.Band = fmt.Sprintf("film%d", film), fmt.Sprintf("fabric%d", fabric), dice.IntN(3)
		w.Lot = fmt.Sprintf("l%d", 4*i/runs)
		w.Revision = int64(1 + 2*i/runs)
		w.Recipe = fmt.Sprintf("recipes/%s-%s/revisions/%d", w.Film, w.Fabric, w.Revision)
		w.Start = time.Date(2026, 3, 2, 8+dice.IntN(10), 0, 0, 0, time.UTC)
		w.OnFor = time.Duration(dice.IntN(8)) * time.Hour
		w.Pieces = 5 + dice.Int64N(30)
		rate := 0.02 * natural[film] * (0.7 + 0.4*float64(w.Band))
		lift := 0.4 * rate
		if planted != nil {
			lift *= planted(w)
		}
		var lifted, torn int64
		for range w.Pieces {
			switch u := dice.Float64(); {
			case u < lift:
				lifted++
			case u < lift+0.6*rate:
				torn++
			}
		}
		w.Reprints = lifted + torn
		if lifted > 0 {
			w.Reasons = append(w.Reasons, Reason{"edge-lift", lifted})
		}
		if torn > 0 {
			w.Reasons = append(w.Reasons, Reason{"weeding-tear", torn})
		}
	}
	return works
}

// findings are the discoveries that are not the work's own nature.
func findings(t *testing.T, works []Work, o AssociationOptions) (list []Association) {
	t.Helper()
	a, err := Associate(works, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range a.List {
		if x.Discovery && !x.OfWork() {
			list = append(list, x)
		}
	}
	return list
}

func TestAssociate_findsWhatIsPlanted(t *testing.T) {
	rows := []struct {
		name    string
		planted plant
		factor  Factor
		level   string
		ratio   float64
	}{
		{"a press", func(w *Work) float64 { return is(w.Press == "branches/b3/machines/p1", 4) }, ByPress, "branches/b3/machines/p1", 4},
		{"a branch", func(w *Work) float64 { return is(w.Branch == "branches/b5", 3) }, ByBranch, "branches/b5", 3},
		{"a revision", func(w *Work) float64 { return is(w.Recipe == "recipes/film1-fabric2/revisions/2", 5) }, ByRevision, "recipes/film1-fabric2/revisions/2", 5},
		{"a lot", func(w *Work) float64 { return is(w.Film == "film2" && w.Lot == "l3", 3) }, ByLot, "film2 l3", 3},
		{"the end of a long day", func(w *Work) float64 { return is(w.OnFor >= 6*time.Hour, 2) }, ByOnFor, "over 6 h", 2},
		{"early mornings", func(w *Work) float64 { return is(w.Start.Hour() < 10, 2) }, ByHour, "before 10", 2},
	}
	for k, row := range rows {
		works := workshop(rand.New(rand.NewPCG(11, uint64(k))), 6000, row.planted)
		found := findings(t, works, AssociationOptions{Causes: []string{"", "edge-lift", "weeding-tear"}})
		hit := false
		for _, x := range found {
			if x.Cause == "edge-lift" && x.Factor == row.factor && x.Level == row.level {
				hit = true
				if !x.Ratio95.Holds(row.ratio) {
					t.Errorf("%s: ratio %.2f, %.2f to %.2f; planted was %v", row.name, x.Ratio, x.Ratio95.Low, x.Ratio95.High, row.ratio)
				}
			} else if x.Cause == "weeding-tear" || x.Factor != row.factor || x.Level != row.level {
				t.Errorf("%s: also found %s %s %s %s, p %.2g", row.name, x.Cause, x.Factor, x.Level, x.With, x.BHAdjusted)
			}
		}
		if !hit {
			t.Errorf("%s was not found", row.name)
		}
	}
}

func is(holds bool, factor float64) float64 {
	if holds {
		return factor
	}
	return 1
}

// With nothing planted something is found in at most one seeded data set of twenty.
func TestAssociate_falseFindings(t *testing.T) {
	const sets = 80
	wrong := 0
	for k := range sets {
		if len(findings(t, workshop(rand.New(rand.NewPCG(99, uint64(k))), 1500, nil), AssociationOptions{})) > 0 {
			wrong++
		}
	}
	// At most 0.05 is promised, and the p-values are a little large; three standard errors above it is too much.
	if share := float64(wrong) / sets; share > 0.05+3*0.02 {
		t.Errorf("something was found in %.3f of the sets with nothing in them", share)
	}
}

// The work's own rates come out as they were made, on average over seeded sets.
func TestAssociate_worksNature(t *testing.T) {
	a, err := Associate(workshop(rand.New(rand.NewPCG(4, 4)), 20_000, nil), AssociationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	ratios := map[string]float64{}
	for _, x := range a.List {
		if x.WithFactor == "" && (x.Factor == ByFilm || x.Factor == ByBand) {
			ratios[x.Level] = x.Ratio
		}
	}
	near(t, "film3 against film0", ratios["film3"]/ratios["film0"], 2/0.6, 0.35)
	near(t, "hard against easy", ratios["hard"]/ratios["easy"], 1.5/0.7, 0.2)
	near(t, "dispersion", a.Phi, 1, 0.05)
}

// A branch with one press is found once, under the wider name, and the press is said.
func TestAssociate_whatCanNotBeToldApart(t *testing.T) {
	works := workshop(rand.New(rand.NewPCG(8, 1)), 5000, func(w *Work) float64 {
		if w.Branch == "branches/b1" {
			w.Press = "branches/b1/machines/only"
			return 4
		}
		return 1
	})
	found := findings(t, works, AssociationOptions{Causes: []string{"edge-lift"}})
	if len(found) != 1 || found[0].Factor != ByBranch || !slices.Equal(found[0].Also, []string{"branches/b1/machines/only", "branches/b1/machines/c"}) {
		t.Fatalf("%+v", found)
	}
	words := found[0].Sentence(func(r string) string {
		return map[string]string{"branches/b1": "Tanner Row", "branches/b1/machines/only": "Press 1"}[r]
	})
	if !strings.HasPrefix(words, "Edge lift is associated with Tanner Row (not to be told apart from Press 1, branches/b1/machines/c): ") || strings.Contains(words, "because") {
		t.Error(words)
	}
}

// An interaction is found as one: a film on a branch that is like the others with other films.
func TestAssociate_interaction(t *testing.T) {
	works := workshop(rand.New(rand.NewPCG(8, 3)), 12_000, func(w *Work) float64 { return is(w.Branch == "branches/b2" && w.Film == "film1", 3) })
	a, err := Associate(works, AssociationOptions{Causes: []string{"edge-lift"}})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range a.List {
		if x.Discovery && x.WithFactor == ByFilm && x.Level == "branches/b2" && x.With == "film1" && x.Ratio > 1.3 {
			if words := x.Sentence(nil); !strings.Contains(words, "branches/b2 together with film1") {
				t.Error(words)
			}
			return
		}
	}
	t.Errorf("not found: %+v", a.List[:5])
}

func TestAssociate_littleOrNothing(t *testing.T) {
	a, err := Associate(nil, AssociationOptions{})
	if err != nil || len(a.List) != 0 {
		t.Error(a, err)
	}
	a, err = Associate(workshop(rand.New(rand.NewPCG(2, 1)), 30, nil), AssociationOptions{Causes: []string{"scorch"}})
	if err != nil || len(a.List) != 0 {
		t.Error("a cause that never was:", a, err)
	}
	if _, err := Associate(nil, AssociationOptions{FalseDiscovery: 0.9}); !fault.Is(err, fault.Invalid) {
		t.Error(err)
	}
	if _, err := Associate(make([]Work, MaxWorks+1), AssociationOptions{}); !fault.Is(err, fault.TooLarge) {
		t.Error(err)
	}
}

// The order of the runs changes nothing.
func TestAssociate_anyOrder(t *testing.T) {
	works := workshop(rand.New(rand.NewPCG(6, 6)), 800, nil)
	a, err := Associate(works, AssociationOptions{})
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(works)
	b, err := Associate(works, AssociationOptions{})
	if err != nil || len(a.List) != len(b.List) {
		t.Fatal(err, len(a.List), len(b.List))
	}
	for i := range a.List {
		if a.List[i].Level != b.List[i].Level || a.List[i].Count != b.List[i].Count {
			t.Fatalf("%+v\n%+v", a.List[i], b.List[i])
		}
		alike(t, "ratio", b.List[i].Ratio, a.List[i].Ratio, 1e-6)
	}
}

func BenchmarkAssociate(b *testing.B) {
	works := workshop(rand.New(rand.NewPCG(1, 1)), 20_000, func(w *Work) float64 { return is(w.Branch == "branches/b5", 3) })
	for b.Loop() {
		if _, err := Associate(works, AssociationOptions{Causes: []string{"", "edge-lift", "weeding-tear"}}); err != nil {
			b.Fatal(err)
		}
	}
}
