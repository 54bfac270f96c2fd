package compare

import (
	"fmt"
	"math"

	"evenpeel/recipes/fault"
)

// Step is one point of a cumulative-sum chart.
type Step struct {
	Label          string
	Up, Down       float64 // both 0 or more: evidence of a rise, of a fall
	UpOut, DownOut bool    // beyond the threshold
}

// CUSUM is the tabular cumulative sum: up = max(0, up + x − target − slack), down likewise; out beyond the threshold
// (NIST/SEMATECH e-Handbook 6.3.2.3). Fault kinds: Invalid, TooLarge.
func CUSUM(readings []Reading, target, slack, threshold float64) ([]Step, error) {
	var fs fault.Fields
	between(&fs, "target", target, -1e12, 1e12)
	between(&fs, "slack", slack, 0, 1e12)
	between(&fs, "threshold", threshold, 1e-12, 1e12)
	if err := fs.Fault(room, SeriesInvalid, "The chart was asked for with settings that make no sense. Mend these."); err != nil {
		return nil, err
	}
	if err := readable(readings); err != nil {
		return nil, err
	}
	steps := make([]Step, len(readings))
	var s Step
	for i, r := range readings {
		s.advance(r.Label, r.Value-target-slack, target-r.Value-slack, threshold)
		steps[i] = s
	}
	return steps, nil
}

func (s *Step) advance(label string, up, down, threshold float64) {
	s.Label, s.Up, s.Down = label, math.Max(0, s.Up+up), math.Max(0, s.Down+down)
	s.UpOut, s.DownOut = s.Up > threshold, s.Down > threshold
}

// Lot is pieces of one branch and one risk, in the order they were pressed.
type Lot struct {
	Label            string
	Pieces, Reprints int64
	Risk             float64 // probability that one piece is made again at everybody's rates, 0 to 1
}

// Suspicion is what a risk-adjusted cumulative sum looks for.
type Suspicion struct {
	Worse     float64 // odds ratio of a rise, above 1; 2 is usual
	Better    float64 // odds ratio of a fall, above 0 and below 1; ½ is usual
	Threshold float64 // 4.5 is common for odds ratio 2; it sets how seldom chance alone signals
}

// Score is the log-likelihood ratio that one piece adds: ln(1/(1−p+R·p)) when it is good, ln(R/(1−p+R·p)) when it is
// made again (Steiner and others 2000, Biostatistics 1:441).
func Score(reprint bool, risk, oddsRatio float64) float64 {
	s := -math.Log1p(risk * (oddsRatio - 1))
	if reprint {
		s += math.Log(oddsRatio)
	}
	return s
}

// RiskAdjustedCUSUM sums the scores of each lot, starting again from 0 whenever the sum falls below. Within a lot the
// order of good and bad pieces is not known, so the sum is held to 0 or more only at its end: with lots of one piece this
// is Steiner's chart; with larger ones it starts again more seldom and signals a little less. Fault kinds: Invalid, TooLarge.
func RiskAdjustedCUSUM(lots []Lot, s Suspicion) ([]Step, error) {
	if err := few(len(lots)); err != nil {
		return nil, err
	}
	var fs fault.Fields
	between(&fs, "worse", s.Worse, 1.01, 100)
	between(&fs, "better", s.Better, 0.01, 0.99)
	between(&fs, "threshold", s.Threshold, 0.1, 1000)
	for i, l := range lots {
		if len(fs) >= maxFields {
			break
		}
		if l.Pieces < 0 || l.Pieces > MaxPieces || l.Reprints < 0 || l.Reprints > l.Pieces {
			fs.Add(fmt.Sprintf("lots[%d].reprints", i), "is %d of %d, which can not be", l.Reprints, l.Pieces)
		}
		between(&fs, fmt.Sprintf("lots[%d].risk", i), l.Risk, 0, 1)
	}
	if err := fs.Fault(room, SeriesInvalid, "These lots can not be charted. Mend or leave out the ones named."); err != nil {
		return nil, err
	}
	steps := make([]Step, len(lots))
	var at Step
	for i, l := range lots {
		sum := func(oddsRatio float64) float64 {
			return float64(l.Reprints)*Score(true, l.Risk, oddsRatio) + float64(l.Pieces-l.Reprints)*Score(false, l.Risk, oddsRatio)
		}
		at.advance(l.Label, sum(s.Worse), sum(s.Better), s.Threshold)
		steps[i] = at
	}
	return steps, nil
}
