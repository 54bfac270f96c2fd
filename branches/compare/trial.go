package compare

import (
	"math"

	"evenpeel/recipes/fault"
)

// TrialDay is one day of a trial: what the branches that try a revision did, and what the others did with the same film and
// fabric.
type TrialDay struct {
	Day            string
	Trial, Control Tally
}

// TrialRule is a stopping rule, stated before the first piece. A zero field takes the value named beside it.
type TrialRule struct {
	Baseline float64 // the rate before; above 0, below 1
	Ratio    float64 // the rate ratio worth finding, below 1; 0.5. A rise by its inverse is watched for too.
	Alpha    float64 // chance of a false alarm; 0.05
	Power    float64 // chance to find the ratio; 0.8
	Looks    int     // planned; 5
}

// TrialVerdict is what the rule says.
type TrialVerdict string

// Verdicts of a trial.
const (
	GoOn         TrialVerdict = "go on"
	Better       TrialVerdict = "better"
	Worse        TrialVerdict = "worse"
	NoDifference TrialVerdict = "no difference of this size"
)

// TrialStep is one day of the sequential tests: evidence of a fall, and of a rise.
type TrialStep struct {
	Day           string
	Trial         Tally // up to this day
	Better, Worse float64
}

// TrialLook is one planned look against the other branches.
type TrialLook struct {
	Information float64 // share of the planned pieces
	Bound       float64
	Day         string // "" where it is still to come
	Score       float64
	Crossed     bool // beyond the bound on either side
}

// Trial is a trial as its rule sees it.
type Trial struct {
	Rule         TrialRule
	Planned      int64   // pieces of the trial branches
	Upper, Lower float64 // bounds of the sequential tests
	Steps        []TrialStep
	Looks        []TrialLook
	Verdict      TrialVerdict
	Ended        string // day of the verdict
	Needed       int64  // pieces still to come, at most
}

// Watch follows a trial by its rule:
//   - it ends as worse on the first day on which Wald's sequential test for a rise by 1/ratio crosses its upper bound;
//   - it ends as better or worse at the first of the planned looks, after equal shares of the planned pieces, at which the
//     trial branches' rate differs from that of the others over the same days by more than the bound (Lan and DeMets, spending
//     little at first);
//   - it ends without a difference of this size after the last look.
//
// The pieces planned are those of a comparison with one look (PiecesForDifference), times 1.03 for looking five times
// (Jennison and Turnbull 2000, Table 2.4: at most so much for bounds of this kind). Fault kinds: Invalid, TooLarge.
func Watch(days []TrialDay, r TrialRule) (Trial, error) {
	fill(&r.Ratio, 0.5)
	fill(&r.Alpha, 0.05)
	fill(&r.Power, 0.8)
	fill(&r.Looks, 5)
	if err := few(len(days)); err != nil {
		return Trial{}, err
	}
	var fs fault.Fields
	between(&fs, "baseline", r.Baseline, 1e-6, 0.5)
	between(&fs, "ratio", r.Ratio, 0.05, 0.95)
	between(&fs, "power", r.Power, 0.5, 0.99)
	between(&fs, "looks", float64(r.Looks), 1, maxLooks)
	for _, d := range days {
		for _, t := range []Tally{d.Trial, d.Control} {
			if (t.Pieces < 0 || t.Reprints < 0 || t.Reprints > t.Pieces || t.Pieces > MaxPieces) && len(fs) < maxFields {
				fs.Add("days", "hold %d of %d on %s, which can not be", t.Reprints, t.Pieces, shortened(d.Day))
			}
		}
	}
	if err := fs.Fault(room, OptionsInvalid, "The trial can not be followed like this. Mend these."); err != nil {
		return Trial{}, err
	}
	fall, err := NewSequentialTest(r.Baseline, r.Baseline*r.Ratio, r.Alpha/2, 1-r.Power)
	if err != nil {
		return Trial{}, err
	}
	rise, err := NewSequentialTest(r.Baseline, math.Min(r.Baseline/r.Ratio, 0.99), r.Alpha/2, 1-r.Power)
	if err != nil {
		return Trial{}, err
	}
	const looking = 1.03
	t := Trial{Rule: r, Upper: fall.Upper, Lower: fall.Lower, Verdict: GoOn}
	t.Planned = int64(math.Ceil(looking * PiecesForDifference(r.Baseline, r.Baseline*r.Ratio, 1-r.Alpha, r.Power)))
	information := make([]float64, r.Looks)
	for k := range information {
		information[k] = float64(k+1) / float64(r.Looks)
	}
	bounds, err := SpentBounds(information, r.Alpha, SpendLate)
	if err != nil {
		return Trial{}, err
	}
	for k := range bounds {
		t.Looks = append(t.Looks, TrialLook{Information: information[k], Bound: bounds[k]})
	}
	t.follow(days, fall, rise)
	return t, nil
}

func (t *Trial) follow(days []TrialDay, fall, rise SequentialTest) {
	var trial, control Tally
	next := 0
	for _, d := range days {
		trial = Tally{trial.Pieces + d.Trial.Pieces, trial.Reprints + d.Trial.Reprints}
		control = Tally{control.Pieces + d.Control.Pieces, control.Reprints + d.Control.Reprints}
		if d.Trial.Pieces > 0 {
			step := TrialStep{d.Day, trial, fall.Evidence(trial), rise.Evidence(trial)}
			t.Steps = append(t.Steps, step)
			if step.Worse >= rise.Upper {
				t.end(Worse, d.Day)
			}
		}
		// Several looks may come due on one busy day; they then see the same.
		for next < len(t.Looks) && float64(trial.Pieces) >= t.Looks[next].Information*float64(t.Planned) {
			look := &t.Looks[next]
			look.Day, look.Score = d.Day, scoreOfTwo(trial, control)
			look.Crossed = math.Abs(look.Score) > look.Bound
			next++
			switch {
			case look.Crossed && look.Score < 0:
				t.end(Better, d.Day)
			case look.Crossed:
				t.end(Worse, d.Day)
			case next == len(t.Looks):
				t.end(NoDifference, d.Day)
			}
		}
	}
	if t.Verdict == GoOn {
		t.Needed = max(0, t.Planned-trial.Pieces)
	}
}

// end keeps the first verdict.
func (t *Trial) end(v TrialVerdict, day string) {
	if t.Verdict == GoOn {
		t.Verdict, t.Ended = v, day
	}
}

// scoreOfTwo is the score of two proportions' difference with the pooled variance; 0 where either has no pieces.
func scoreOfTwo(a, b Tally) float64 {
	if a.Pieces == 0 || b.Pieces == 0 {
		return 0
	}
	n, m := float64(a.Pieces), float64(b.Pieces)
	p := float64(a.Reprints+b.Reprints) / (n + m)
	variance := p * (1 - p) * (1/n + 1/m)
	if variance == 0 {
		return 0
	}
	return (a.Rate() - b.Rate()) / math.Sqrt(variance)
}
