package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"evenpeel/recipes/fault"
)

// tried invents a trial's days: 60 pieces a day at the trial branches, 200 at the others.
func tried(dice *rand.Rand, days int, trial, control float64) (list []TrialDay) {
	of := func(n int64, rate float64) Tally {
		t := Tally{Pieces: n}
		for range n {
			if dice.Float64() < rate {
				t.Reprints++
			}
		}
		return t
	}
	for d := range days {
		list = append(list, TrialDay{fmt.Sprintf("2026-01-%03d", d), of(60, trial), of(200, control)})
	}
	return list
}

func verdicts(t *testing.T, trials int, trial, control float64, r TrialRule) map[TrialVerdict]int {
	t.Helper()
	dice := rand.New(rand.NewPCG(12, uint64(trial*1e6)))
	count := map[TrialVerdict]int{}
	for range trials {
		w, err := Watch(tried(dice, 60, trial, control), r)
		if err != nil {
			t.Fatal(err)
		}
		count[w.Verdict]++
	}
	return count
}

// With nothing changed a trial ends as better or worse seldom; with the ratio stated it ends as better as often as planned.
func TestWatch_errors(t *testing.T) {
	const trials = 200
	rule := TrialRule{Baseline: 0.04}
	none := verdicts(t, trials, 0.04, 0.04, rule)
	// Two tests of 0.025 and 0.05 are looked at together: 0.075 is the most that chance alone may end.
	if wrong := float64(none[Better]+none[Worse]) / trials; wrong > 0.075+3*math.Sqrt(0.075*0.925/trials) {
		t.Errorf("chance ended %.3f of the trials: %v", wrong, none)
	}
	if better := float64(none[Better]) / trials; better > 0.025+3*math.Sqrt(0.025*0.975/trials) {
		t.Errorf("chance was called better in %.3f of the trials", better)
	}
	half := verdicts(t, trials, 0.02, 0.04, rule)
	if found := float64(half[Better]) / trials; found < 0.8-3*math.Sqrt(0.8*0.2/trials) {
		t.Errorf("half the rate was found in %.3f of the trials: %v", found, half)
	}
	twice := verdicts(t, trials, 0.08, 0.04, rule)
	if twice[Worse] < trials*95/100 {
		t.Errorf("twice the rate: %v", twice)
	}
}

func TestWatch_plan(t *testing.T) {
	w, err := Watch(tried(rand.New(rand.NewPCG(1, 1)), 3, 0.03, 0.03), TrialRule{Baseline: 0.03})
	if err != nil {
		t.Fatal(err)
	}
	if want := int64(math.Ceil(1.03 * PiecesForDifference(0.03, 0.015, 0.95, 0.8))); w.Planned != want || w.Needed != want-180 || w.Verdict != GoOn || len(w.Looks) != 5 || w.Looks[0].Day != "" {
		t.Errorf("%+v", w)
	}
	near(t, "last bound", w.Looks[4].Bound, 2.031, 1e-3)
	if len(w.Steps) != 3 || w.Steps[2].Trial.Pieces != 180 {
		t.Errorf("%+v", w.Steps)
	}
}

// A control with the same fall at the same time means that the revision did nothing.
func TestWatch_controlFellToo(t *testing.T) {
	w, err := Watch(tried(rand.New(rand.NewPCG(3, 1)), 60, 0.02, 0.02), TrialRule{Baseline: 0.04})
	if err != nil || w.Verdict != NoDifference {
		t.Errorf("%v %+v", err, w.Verdict)
	}
}

func TestWatch_refuses(t *testing.T) {
	for _, r := range []TrialRule{{}, {Baseline: 0.9}, {Baseline: 0.1, Ratio: 2}, {Baseline: 0.1, Looks: 30}, {Baseline: math.NaN()}, {Baseline: 0.1, Alpha: 2}} {
		if _, err := Watch(nil, r); !fault.Is(err, fault.Invalid) {
			t.Errorf("%+v: %v", r, err)
		}
	}
	if _, err := Watch([]TrialDay{{Trial: Tally{1, 2}}}, TrialRule{Baseline: 0.1}); !fault.Is(err, fault.Invalid) {
		t.Error(err)
	}
}

func TestScoreOfTwo(t *testing.T) {
	// 7/34 against 1/34: pooled two-proportion z is 2.258 (square 5.10, the Pearson chi-square of the 2 × 2 table).
	const source = "Pearson chi-square of the table 7 27 | 1 33, worked by hand: 68·(7·33 − 27·1)²/(34·34·8·60)"
	sourced(t, source)
	near(t, "score²", math.Pow(scoreOfTwo(Tally{34, 7}, Tally{34, 1}), 2), 68*204.0*204/(34*34*8*60), 1e-9)
	if scoreOfTwo(Tally{}, Tally{3, 1}) != 0 || scoreOfTwo(Tally{3, 0}, Tally{3, 0}) != 0 {
		t.Error("nothing known scores 0")
	}
}
