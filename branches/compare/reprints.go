package compare

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// Standing is one branch's reprints, set against what all branches together would have had on the same films,
// fabrics and difficulties.
type Standing struct {
	Branch           string
	Pieces, Reprints int64
	PiecesAlone      int64 // pieces in strata no other branch worked: of these nothing can be compared

	Rate              float64  // reprints ÷ pieces, 0 without pieces
	Wilson95, Exact95 Interval // of the rate: score, and Clopper-Pearson

	Expected          float64  // reprints expected at everybody's rates, by stratum
	Ratio             float64  // reprints ÷ expected; 0 where nothing is expected
	Ratio95, Ratio998 Interval // exact (Garwood), of counting alone
	Shrunk            float64  // empirical-Bayes ratio
	Shrunk95          Interval // its posterior limits

	Mark         Mark
	Judged       bool    // enough pieces to be set against the others; only then does PValue say anything
	PiecesNeeded int64   // to show a true ratio of TellRatio with TellPower; 0 where no number is enough
	PValue       float64 // two-sided, exact, at the dispersion applied; 1 where not judged
	BHAdjusted   float64 // adjusted over the branches judged; 1 where not judged
	Discovery    bool    // BHAdjusted is at most Options.FalseDiscovery
}

// View is the fair view of reprints.
type View struct {
	Standings        []Standing // by branch name, never by rank
	Pieces, Reprints int64
	Rate             float64 // of all branches together
	Funnel           []FunnelPoint
	Dispersion       OverDispersion
	Spread           Spread
	Counts           Counts
	Finding          string // one sentence; a chart's title
}

// FairReprints compares reprint ratios. Branches named in the options but without cells are Silent. A branch inside the
// limits with fewer pieces than it would need to show TellRatio is CannotTell, not good. Fault kinds: Invalid, TooLarge.
func FairReprints(cells []Cell, o Options) (View, error) {
	o, err := o.filled()
	if err != nil {
		return View{}, err
	}
	if err := check(cells); err != nil {
		return View{}, err
	}
	t := tabled(cells)
	branches := t.branches(o.Branches)
	v := View{Standings: make([]Standing, len(branches))}
	for i, b := range branches {
		v.Standings[i] = t.standing(b)
		v.Pieces += v.Standings[i].Pieces
		v.Reprints += v.Standings[i].Reprints
	}
	if v.Pieces > 0 {
		v.Rate = float64(v.Reprints) / float64(v.Pieces)
	}
	v.judge(o, t)
	v.Finding = reprintFinding(v)
	return v, nil
}

func over(i Interval, by float64) Interval { return Interval{i.Low / by, i.High / by} }

func sortedStrata[V any](m map[stratum]V) []stratum {
	keys := make([]stratum, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, compareStrata)
	return keys
}

func compareStrata(a, b stratum) int {
	return cmp.Or(strings.Compare(a.film, b.film), strings.Compare(a.fabric, b.fabric), cmp.Compare(a.band, b.band))
}

// judge marks the standings, once dispersion and spread are known from all of them.
func (v *View) judge(o Options, t table) {
	var observed []int64
	var expected []float64
	from, to := math.Inf(1), 0.0
	for _, s := range v.Standings {
		if s.Expected > 0 {
			observed, expected = append(observed, s.Reprints), append(expected, s.Expected)
			from, to = math.Min(from, s.Expected), math.Max(to, s.Expected)
		}
	}
	v.Dispersion = Overdispersed(observed, expected)
	v.Dispersion.Applied = o.Dispersion
	v.Spread = GammaSpread(observed, expected)
	wider := v.Dispersion.wider()
	v.Funnel = funnel(from, to, wider)
	needed := v.Dispersion.needed(expectedNeeded(o.TellRatio, o.TellPower, tailOf(Level95)))

	var judged []int
	var p []float64
	for i := range v.Standings {
		s := &v.Standings[i]
		if s.Expected > 0 {
			s.Shrunk, s.Shrunk95 = v.Spread.Shrunk(s.Reprints, s.Expected, Level95)
			s.PiecesNeeded = int64(math.Min(math.Ceil(needed*float64(s.Pieces)/s.Expected), 1<<53))
		}
		_, reported := t.number[s.Branch]
		switch {
		case !reported:
			s.Mark = Silent
		case s.Expected == 0 || s.Pieces-s.PiecesAlone < o.MinPieces:
			s.Mark = CannotTell
		default:
			factor := wider(s.Expected)
			s.Judged = true
			s.PValue = widerP(s.Reprints, s.Expected, factor)
			judged, p = append(judged, i), append(p, s.PValue)
			s.Mark = MarkOf(s.Reprints, s.Expected, widened(factor))
			if s.Mark == Inside && (s.PiecesNeeded == 0 || s.Pieces < s.PiecesNeeded) {
				s.Mark = CannotTell
			}
		}
		v.Counts.add(s.Mark)
	}
	for at, adjusted := range BenjaminiHochberg(p) {
		s := &v.Standings[judged[at]]
		s.BHAdjusted, s.Discovery = adjusted, adjusted <= o.FalseDiscovery
	}
}

// widerP divides the normal score of a count by the widening of the limits, so that p-value and limits agree.
func widerP(observed int64, expected, factor float64) float64 {
	if factor <= 1 {
		return PoissonP(observed, expected)
	}
	return math.Min(1, 2*normalTail(scoreOfCount(observed, expected)/factor))
}
