package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// network makes cells of branches that all work at the same rates by stratum, except where faults says otherwise. The
// mix of easy and difficult work differs from branch to branch.
func network(seed uint64, branches, pieces int, faults map[string]float64) []Cell {
	dice := rand.New(rand.NewPCG(seed, 7))
	var cells []Cell
	for b := range branches {
		branch := fmt.Sprintf("branch %02d", b)
		times := 1.0
		if f, ok := faults[branch]; ok {
			times = f
		}
		for band := range bands {
			for _, film := range []string{"flock", "glitter"} {
				n := int64(1 + float64(pieces)*dice.Float64()*2/6)
				rate := []float64{.02, .04, .09}[band] * times
				if film == "flock" {
					rate *= 1.3
				}
				cells = append(cells, Cell{Branch: branch, Film: film, Fabric: "cotton", Band: band, Period: "2026-03", Pieces: n,
					Reprints: int64(distuv.Binomial{N: float64(n), P: rate, Src: dice}.Rand())})
			}
		}
	}
	return cells
}

func of(t *testing.T, v View, branch string) Standing {
	t.Helper()
	for _, s := range v.Standings {
		if s.Branch == branch {
			return s
		}
	}
	t.Fatalf("%s is not in the view", branch)
	return Standing{}
}

func fair(t *testing.T, cells []Cell, o Options) View {
	t.Helper()
	v, err := FairReprints(cells, o)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Two groups of four strata: events e of base b, standard rates of each group's own.
func TestStanding_expectsWhatTheStandardPredicts(t *testing.T) {
	const source = "pysal/esda test_smoothing.py, indirect standardisation: 2.48691099 and 2.73684211"
	sourced(t, source)
	for _, row := range []struct {
		e, b, standardE, standardB [4]int64
		want                       float64
	}{
		{[4]int64{30, 25, 25, 15}, [4]int64{100, 100, 110, 90}, [4]int64{100, 45, 120, 100}, [4]int64{1000, 900, 1000, 900}, 2.48691099},
		{[4]int64{33, 21, 30, 20}, [4]int64{100, 90, 110, 90}, [4]int64{50, 30, 200, 80}, [4]int64{1000, 900, 1000, 900}, 2.73684211},
	} {
		// The standard is all cells here: the other branch holds what is left of it.
		var cells []Cell
		for i := range row.e {
			film := fmt.Sprint(i)
			cells = append(cells, Cell{Branch: "one", Film: film, Fabric: "x", Period: "2026-03", Pieces: row.b[i], Reprints: row.e[i]},
				Cell{Branch: "rest", Film: film, Fabric: "x", Period: "2026-03", Pieces: row.standardB[i] - row.b[i], Reprints: row.standardE[i] - row.e[i]})
		}
		near(t, "ratio", of(t, fair(t, cells, Options{}), "one").Ratio, row.want, 5e-9)
	}
}

func TestFairReprints_findsThePlantedBranchAndNothingElse(t *testing.T) {
	for _, d := range []Dispersion{PoissonOnly, Multiplicative, Additive} {
		v := fair(t, network(3, 24, 4000, map[string]float64{"branch 07": 2}), Options{Dispersion: d})
		for _, s := range v.Standings {
			if s.Branch == "branch 07" {
				if s.Mark != High998 || !s.Discovery || s.Ratio < 1.5 || s.Shrunk >= s.Ratio {
					t.Errorf("%v: the planted branch: %+v", d, s)
				}
			} else if s.Mark == High998 || s.Mark == Low998 || s.Discovery {
				t.Errorf("%v: %s is flagged, ratio %.2f", d, s.Branch, s.Ratio)
			}
		}
		if want := "More reprints than chance explains: branch 07"; !strings.HasPrefix(v.Finding, want) {
			t.Errorf("finding %q, want it to begin with %q", v.Finding, want)
		}
	}
}

// A branch that does difficult work only has a high rate and an ordinary ratio.
func TestFairReprints_doesNotBlameDifficultWork(t *testing.T) {
	row := func(branch string, band int, pieces, reprints int64) Cell {
		return Cell{Branch: branch, Film: "f", Fabric: "c", Band: band, Period: "2026-03", Pieces: pieces, Reprints: reprints}
	}
	v := fair(t, []Cell{row("easy", 0, 9000, 90), row("easy", 2, 1000, 100), row("hard", 0, 1000, 10), row("hard", 2, 9000, 900)}, Options{})
	easy, hard := of(t, v, "easy"), of(t, v, "hard")
	if hard.Rate < 4*easy.Rate || hard.Ratio != 1 || easy.Ratio != 1 || hard.Mark != Inside || easy.Mark != Inside {
		t.Errorf("easy %+v\nhard %+v", easy, hard)
	}
}

func TestFairReprints_limitsAlarmNoOftenerThanTheyPromise(t *testing.T) {
	const networks, branches = 20, 60
	var out95, out998 int
	var inside, judged float64
	for seed := range uint64(networks) {
		v := fair(t, network(100+seed, branches, 2500, nil), Options{MinPieces: 1})
		out95 += v.Counts.High95 + v.Counts.Low95 + v.Counts.High998 + v.Counts.Low998
		out998 += v.Counts.High998 + v.Counts.Low998
		for _, s := range v.Standings {
			judged++
			if s.Ratio95.Holds(1) {
				inside++
			}
		}
	}
	// Exact limits, a branch counted in its own standard, and pieces that fail once at most: all keep alarms below the promise.
	if share := float64(out95) / judged; share > .05 || share < .01 {
		t.Errorf("%.4f of %g branches lie outside the 95 %% limits though all are alike", share, judged)
	}
	if share := float64(out998) / judged; share > .004 {
		t.Errorf("%.4f lie outside the 99.8 %% limits", share)
	}
	if inside/judged < .95 {
		t.Errorf("the 95 %% limits of the ratio cover 1 in %.4f only", inside/judged)
	}
}

// Where branches truly differ, unadjusted limits flag many of them; both adjustments calm the funnel.
func TestFairReprints_overDispersionWidensTheLimits(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 5))
	var cells []Cell
	for b := range 60 {
		theta := distuv.Gamma{Alpha: 12, Beta: 12, Src: dice}.Rand()
		cells = append(cells, Cell{Branch: fmt.Sprintf("b%02d", b), Film: "f", Fabric: "c", Period: "2026-03", Pieces: 20000, Reprints: int64(distuv.Poisson{Lambda: 400 * theta, Src: dice}.Rand())})
	}
	flagged := func(d Dispersion) int {
		v := fair(t, cells, Options{Dispersion: d})
		if v.Dispersion.Phi < 5 || v.Dispersion.Tau2 <= 0 || v.Dispersion.Applied != d {
			t.Errorf("dispersion %+v", v.Dispersion)
		}
		return v.Counts.High998 + v.Counts.Low998
	}
	if plain, times, plus := flagged(PoissonOnly), flagged(Multiplicative), flagged(Additive); plain < 20 || times > 3 || plus > 3 {
		t.Errorf("flagged: %d by counting alone, %d times, %d plus", plain, times, plus)
	}
}

func TestFairReprints_marksAgreeWithTheCurveAndThePValue(t *testing.T) {
	for _, d := range []Dispersion{PoissonOnly, Multiplicative, Additive} {
		v := fair(t, network(11, 40, 3000, map[string]float64{"branch 03": 1.6, "branch 04": .5, "branch 05": 1.3}), Options{Dispersion: d})
		wider := v.Dispersion.wider()
		for _, s := range v.Standings {
			limits := ratiosAt(s.Expected, Z(Level998)*wider(s.Expected))
			beyond := s.Mark == High998 || s.Mark == Low998
			if beyond != (s.Ratio > limits.High || s.Ratio < limits.Low) || beyond != (s.PValue < 1-Level998) {
				t.Errorf("%s: mark %v, ratio %g, curve %v, p %g", s.Branch, s.Mark, s.Ratio, limits, s.PValue)
			}
		}
		if len(v.Funnel) != funnelPoints {
			t.Errorf("%d points of the funnel", len(v.Funnel))
		}
	}
}

func TestFairReprints_saysWhatItCanNotTell(t *testing.T) {
	row := func(branch, film string, pieces, reprints int64) Cell {
		return Cell{Branch: branch, Film: film, Fabric: "c", Period: "2026-03", Pieces: pieces, Reprints: reprints}
	}
	cells := []Cell{row("large", "f", 50000, 1500), row("other", "f", 50000, 1500), row("small", "f", 100, 0), row("tiny", "f", 5, 5),
		row("alone", "only here", 9000, 700), row("idle", "f", 0, 0)}
	v := fair(t, cells, Options{Branches: []string{"large", "gone"}})
	for branch, want := range map[string]Mark{"large": Inside, "small": CannotTell, "tiny": CannotTell, "alone": CannotTell, "idle": CannotTell, "gone": Silent} {
		if got := of(t, v, branch); got.Mark != want {
			t.Errorf("%s: got %v, want %v (%+v)", branch, got.Mark, want, got)
		}
	}
	small := of(t, v, "small")
	// A ratio of 1.5 at a rate of 3 % takes a good 40 reprints expected.
	if small.PiecesNeeded < 1000 || small.PiecesNeeded > 2500 || of(t, v, "alone").PiecesAlone != 9000 {
		t.Errorf("needed %d, alone %d", small.PiecesNeeded, of(t, v, "alone").PiecesAlone)
	}
	if want := (Counts{Silent: 1, CannotTell: 4, Inside: 2}); v.Counts != want {
		t.Errorf("counts %+v, want %+v", v.Counts, want)
	}
	if want := "No branch can be told from the others by its reprints; too little to tell: 4; silent: 1. Allowing for looks at 3 branches, none differs."; v.Finding != want {
		t.Errorf("finding %q", v.Finding)
	}
	none := fair(t, nil, Options{Branches: []string{"b", "a"}})
	if none.Counts.Silent != 2 || none.Standings[0].Branch != "a" || none.Rate != 0 || none.Funnel != nil {
		t.Errorf("nothing reported: %+v", none)
	}
}

// A branch with the power that PiecesNeeded promises is found about that often.
func TestPiecesNeeded_keepsItsPromise(t *testing.T) {
	found, tries := 0, 4000
	dice := rand.New(rand.NewPCG(2, 2))
	const rate = .03
	const otherPieces, otherReprints = 900_000, 27_000
	n := math.Ceil(expectedNeeded(1.5, .8, .025) / rate)
	for range tries {
		reprints := distuv.Binomial{N: n, P: 1.5 * rate, Src: dice}.Rand()
		expected := n * (otherReprints + reprints) / (otherPieces + n)
		if m := MarkOf(int64(reprints), expected, Garwood); m == High95 || m == High998 {
			found++
		}
	}
	if share := float64(found) / float64(tries); share < .78 || share > .88 {
		t.Errorf("found %.3f of the time, promised .8", share)
	}
}

func TestFair_isTheSameInAnyOrder(t *testing.T) {
	cells := append(network(9, 20, 800, nil), filmNetwork(4, 12, 1)...)
	o := Options{YieldMethod: Bootstrap, Seed: 4, Replicates: 300}
	v, y := fair(t, cells, o), fairYield(t, cells, o)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(cells), func(i, j int) { cells[i], cells[j] = cells[j], cells[i] })
	if !reflect.DeepEqual(v, fair(t, cells, o)) || !reflect.DeepEqual(y, fairYield(t, cells, o)) {
		t.Error("the order of the cells changed the answer")
	}
}

// franchise is 500 branches × 60 strata × 12 months.
func franchise() []Cell {
	dice := rand.New(rand.NewPCG(1, 1))
	cells := make([]Cell, 0, 500*60*12)
	for b := range 500 {
		branch := fmt.Sprintf("branch %03d", b)
		for m := range 12 {
			period := fmt.Sprintf("2026-%02d", m+1)
			for s := range 60 {
				n := int64(5 + dice.IntN(40))
				drawn := 90_000 * n
				cells = append(cells, Cell{Branch: branch, Film: fmt.Sprintf("film %d", s/6), Fabric: fmt.Sprintf("fabric %d", s/3%2), Band: s % 3, Period: period,
					Pieces: n, Reprints: int64(distuv.Binomial{N: float64(n), P: .03, Src: dice}.Rand()),
					Drawn: area(drawn), Decorated: area(drawn * 6 / 10), Achievable: area(drawn * int64(80+dice.IntN(15)) / 100)})
			}
		}
	}
	return cells
}

func BenchmarkFairReprints(b *testing.B) {
	cells := franchise()
	for b.Loop() {
		if _, err := FairReprints(cells, Options{Dispersion: Additive}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFairYield(b *testing.B) {
	cells := franchise()
	for name, method := range map[string]YieldMethod{"linearised": Linearised, "bootstrap": Bootstrap} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := FairYield(cells, Options{YieldMethod: method}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
