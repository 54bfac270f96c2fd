package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenpeel/recipes/fault"
)

func TestBounds_published(t *testing.T) {
	const pocock, fleming = "Pocock 1977, Biometrika 64:191, Table 1 (α 0.05 two-sided; 2.413 also grokipedia.com/page/pocock_boundary); others from memory, Jennison and Turnbull 2000, Table 2.1",
		"O'Brien and Fleming 1979, Biometrics 35:549; constants of Jennison and Turnbull 2000, Table 2.3 (α 0.05 two-sided); from memory"
	rows := []struct {
		looks  int
		bound  func(int, float64) (float64, error)
		want   float64
		source string
	}{
		{1, PocockBound, 1.960, pocock}, {2, PocockBound, 2.178, pocock}, {3, PocockBound, 2.289, pocock}, {4, PocockBound, 2.361, pocock}, {5, PocockBound, 2.413, pocock}, {10, PocockBound, 2.555, pocock},
		{2, OBrienFlemingBound, 1.977, fleming}, {3, OBrienFlemingBound, 2.004, fleming}, {4, OBrienFlemingBound, 2.024, fleming}, {5, OBrienFlemingBound, 2.040, fleming},
	}
	for _, row := range rows {
		sourced(t, row.source)
		got, err := row.bound(row.looks, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		near(t, row.source[:6], got, row.want, 5.5e-4)
	}
}

func TestSpentBounds_published(t *testing.T) {
	rows := []struct {
		spending Spending
		looks    int
		want     []float64
		source   string
	}{
		{SpendLate, 5, []float64{4.8769, 3.3569, 2.6803, 2.2898, 2.0310}, "Reboussin, DeMets, Kim and Lan 2000, Control Clin Trials 21:190 (programme ld98, five looks, α 0.05 two-sided, O'Brien-Fleming type); from memory"},
		{SpendEven, 5, []float64{2.4380, 2.4268, 2.4101, 2.3966, 2.3859}, "idem, Pocock type; from memory"},
	}
	for _, row := range rows {
		sourced(t, row.source)
		information := make([]float64, row.looks)
		for k := range information {
			information[k] = float64(k+1) / float64(row.looks)
		}
		got, err := SpentBounds(information, 0.05, row.spending)
		if err != nil {
			t.Fatal(err)
		}
		for k := range got {
			near(t, "bound", got[k], row.want[k], 1e-3)
		}
	}
}

// Chance alone stops a seeded trial as often as is spent.
func TestSpentBounds_falseAlarms(t *testing.T) {
	information := []float64{0.1, 0.35, 0.5, 0.9, 1}
	bounds, err := SpentBounds(information, 0.05, SpendLate)
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(83, 3))
	const trials = 40_000
	stopped := 0
	for range trials {
		at, before := 0.0, 0.0
		for k, i := range information {
			at += math.Sqrt(i-before) * dice.NormFloat64()
			before = i
			if math.Abs(at)/math.Sqrt(i) > bounds[k] {
				stopped++
				break
			}
		}
	}
	within(t, "false alarms", stopped, trials, 0.05)
}

func TestBounds_refuse(t *testing.T) {
	for _, bad := range [][]float64{nil, {0}, {0.5, 0.5}, {0.5, 1.1}, make([]float64, 21)} {
		if _, err := SpentBounds(bad, 0.05, SpendLate); !fault.Is(err, fault.Invalid) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	if _, err := PocockBound(0, 0.05); !fault.Is(err, fault.Invalid) {
		t.Error(err)
	}
	if _, err := OBrienFlemingBound(3, 0.9); !fault.Is(err, fault.Invalid) {
		t.Error(err)
	}
}

func TestSequentialTest_published(t *testing.T) {
	const wald = "Wald 1947, Sequential Analysis, bounds ln((1-β)/α), ln(β/(1-α)); shared reference statistics section 12, sprt-bounds"
	rows := []struct {
		alpha, beta, upper, lower float64
		source                    string
	}{
		{0.05, 0.05, 2.944439, -2.944439, wald}, {0.01, 0.01, 4.595120, -4.595120, wald}, {0.05, 0.10, 2.890372, -2.251292, wald},
	}
	for _, row := range rows {
		sourced(t, row.source)
		s, err := NewSequentialTest(0.01, 0.1, row.alpha, row.beta)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "upper", s.Upper, row.upper, 1e-6)
		near(t, "lower", s.Lower, row.lower, 1e-6)
	}
	source := "NIST/SEMATECH e-Handbook 6.2.6 sequential plan p1 .01 p2 .10 α .05 β .10: h1 .938862 h2 1.205379 s .039747; shared reference statistics section 12, sprt-plan"
	sourced(t, source)
	s, err := NewSequentialTest(0.01, 0.1, 0.05, 0.10)
	if err != nil {
		t.Fatal(err)
	}
	low, high := s.Lines(0)
	near(t, "h1", -low, 0.938862, 1e-6)
	near(t, "h2", high, 1.205379, 1e-6)
	low100, _ := s.Lines(100)
	near(t, "slope", (low100-low)/100, 0.039747, 1e-6)
	// On its line the evidence is the bound.
	x, n := high+0.039747*500, int64(500)
	near(t, "evidence on the line", x*math.Log(10)+(float64(n)-x)*math.Log(0.9/0.99), s.Upper, 1e-3)
	near(t, "evidence of a tally", s.Evidence(Tally{10, 1}), math.Log(10)+9*math.Log(0.9/0.99), 1e-12)
}

// Wald's bounds keep both error rates, seeded.
func TestSequentialTest_errors(t *testing.T) {
	s, err := NewSequentialTest(0.04, 0.02, 0.05, 0.10)
	if err != nil {
		t.Fatal(err)
	}
	dice := rand.New(rand.NewPCG(47, 1))
	ends := func(rate float64) (taken int) {
		for range 4000 {
			var tally Tally
			for s.Evidence(tally) < s.Upper && s.Evidence(tally) > s.Lower {
				tally.Pieces++
				if dice.Float64() < rate {
					tally.Reprints++
				}
			}
			if s.Evidence(tally) >= s.Upper {
				taken++
			}
		}
		return taken
	}
	if wrong := float64(ends(0.04)) / 4000; wrong > 0.05+3*math.Sqrt(0.05*0.95/4000) || wrong < 0.02 {
		t.Errorf("no change was called one %.3f of the time", wrong)
	}
	if found := float64(ends(0.02)) / 4000; found < 0.90-3*math.Sqrt(0.9*0.1/4000) {
		t.Errorf("the change was found %.3f of the time", found)
	}
}

func TestSequentialTest_refuses(t *testing.T) {
	for _, bad := range [][4]float64{{0, 0.1, 0.05, 0.1}, {0.1, 0.1, 0.05, 0.1}, {0.1, 1, 0.05, 0.1}, {0.1, 0.2, 0, 0.1}, {0.1, 0.2, 0.05, 0.9}, {math.NaN(), 0.2, 0.05, 0.1}} {
		if _, err := NewSequentialTest(bad[0], bad[1], bad[2], bad[3]); !fault.Is(err, fault.Invalid) {
			t.Errorf("%v: %v", bad, err)
		}
	}
}

func TestPiecesForDifference_published(t *testing.T) {
	const source = "R documentation of stats::power.prop.test, examples: p1 .50 p2 .75 power .90 gives n 76.7; n 50 gives power 0.740"
	sourced(t, source)
	near(t, "n", PiecesForDifference(0.5, 0.75, 0.95, 0.9), 76.7, 0.05)
	near(t, "n at power 0.740", PiecesForDifference(0.5, 0.75, 0.95, 0.740), 50, 0.1)
	if !math.IsInf(PiecesForDifference(0.1, 0.1, 0.95, 0.8), 1) || !math.IsInf(PiecesForDifference(-0.1, 0.1, 0.95, 0.8), 1) {
		t.Error("equal or impossible rates need more pieces than there are")
	}
}
