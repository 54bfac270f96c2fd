package compare

import (
	"slices"

	"evenpeel/recipes/units"
)

// YieldStanding is one branch's use of film. Every ratio is a sum divided by a sum, never a mean of ratios.
type YieldStanding struct {
	Branch                string
	Pieces                int64
	Periods               int // with film drawn
	Drawn, Decorated      units.SquareMillimetres
	Achievable, OverDrawn units.SquareMillimetres // film those orders needed, and film drawn beyond it; where known
	Known                 float64                 // share of the film drawn whose achievable figure is known

	Yield   float64  // decorated ÷ drawn
	Yield95 Interval // by Options.YieldMethod from the branch's periods

	OfAchievable  float64  // achievable ÷ drawn, over the film whose achievable figure is known: the fair figure
	Of95, Of998   Interval // by Options.YieldMethod
	ExpectedDrawn float64  // mm² all branches together would have drawn for the same decorated area, by stratum
	DrawnRatio    float64  // drawn ÷ ExpectedDrawn; a second witness, 0 where nothing is expected
	Mark          Mark     // of OfAchievable against that of all branches; High is good
}

// YieldView is the fair view of yield.
type YieldView struct {
	Standings           []YieldStanding // by branch name
	Drawn, Decorated    units.SquareMillimetres
	Yield, OfAchievable float64 // of all branches together
	Method              YieldMethod
	Counts              Counts
	Finding             string
}

// film is what one branch drew in one period.
type film struct{ drawn, decorated, achievable, drawnKnown units.SquareMillimetres }

func (f *film) add(c *Cell) {
	f.drawn += c.Drawn
	f.decorated += c.Decorated
	if c.Achievable > 0 && c.Drawn > 0 {
		f.achievable += c.Achievable
		f.drawnKnown += c.Drawn
	}
}

// FairYield compares the film that orders needed with the film that was drawn for them, so that a branch with awkward
// drawings is not blamed for them. A branch is marked where all branches' figure lies outside its own limits; the
// limits come from the spread between the branch's own periods. Fault kinds: Invalid, TooLarge.
func FairYield(cells []Cell, o Options) (YieldView, error) { return FairYieldOf(cells, cells, o) }

// FairYieldOf is FairYield from two sums of the same runs: strata, from which everybody's use of film comes, and periods, from
// which limits come. Faults as FairYield.
func FairYieldOf(inStrata, inPeriods []Cell, o Options) (YieldView, error) {
	o, err := o.filled()
	if err != nil {
		return YieldView{}, err
	}
	for _, cells := range [][]Cell{inStrata, inPeriods} {
		if err := check(cells); err != nil {
			return YieldView{}, err
		}
	}
	periods := map[string]map[string]*film{} // branch, period
	pieces := map[string]int64{}
	var all film
	for i := range inPeriods {
		c := &inPeriods[i]
		inner(periods, c.Branch, c.Period).add(c)
		pieces[c.Branch] += c.Pieces
		all.add(c)
	}
	strata := tabled(inStrata)
	v := YieldView{Drawn: all.drawn, Decorated: all.decorated, Method: o.YieldMethod,
		Yield: part(all.decorated, all.drawn), OfAchievable: part(all.achievable, all.drawnKnown)}
	names := slices.Clone(o.Branches)
	for b := range periods {
		names = append(names, b)
	}
	slices.Sort(names)
	for _, b := range slices.Compact(names) {
		s := YieldStanding{Branch: b, Pieces: pieces[b]}
		s.measure(inTime(periods[b]), o)
		s.ExpectedDrawn = strata.expectedDrawn(b)
		if s.ExpectedDrawn > 0 {
			s.DrawnRatio = float64(s.Drawn) / s.ExpectedDrawn
		}
		_, reported := periods[b]
		s.Mark = s.marked(reported, v.OfAchievable, o)
		v.Counts.add(s.Mark)
		v.Standings = append(v.Standings, s)
	}
	v.Finding = yieldFinding(v)
	return v, nil
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

func part(of, whole units.SquareMillimetres) float64 {
	if whole == 0 {
		return 0
	}
	return float64(of) / float64(whole)
}

// measure fills in the sums, ratios and limits.
func (s *YieldStanding) measure(films []film, o Options) {
	whole, known := make([]pair, 0, len(films)), make([]pair, 0, len(films))
	var drawnKnown units.SquareMillimetres
	for _, f := range films {
		s.Drawn += f.drawn
		s.Decorated += f.decorated
		s.Achievable += f.achievable
		drawnKnown += f.drawnKnown
		if f.drawn > 0 {
			whole = append(whole, pair{float64(f.decorated), float64(f.drawn)})
		}
		if f.drawnKnown > 0 {
			known = append(known, pair{float64(f.achievable), float64(f.drawnKnown)})
		}
	}
	s.OverDrawn = drawnKnown - s.Achievable
	s.Known = part(drawnKnown, s.Drawn)
	s.Yield, s.OfAchievable = part(s.Decorated, s.Drawn), part(s.Achievable, drawnKnown)
	limits := func(of []pair, levels ...float64) []Interval {
		if o.YieldMethod == Bootstrap {
			return resampled(of, o.Replicates, diceFor(o.Seed, s.Branch), levels...)
		}
		return linearised(of, levels...)
	}
	s.Yield95 = limits(whole, Level95)[0]
	both := limits(known, Level95, Level998)
	s.Of95, s.Of998 = both[0], both[1]
	s.Periods = len(known)
}

func (s *YieldStanding) marked(reported bool, all float64, o Options) Mark {
	switch {
	case !reported:
		return Silent
	case s.Known == 0 || s.Pieces < o.MinPieces || s.Periods < o.MinPeriods:
		return CannotTell
	case s.Of998.Low > all:
		return High998
	case s.Of998.High < all:
		return Low998
	case s.Of95.Low > all:
		return High95
	case s.Of95.High < all:
		return Low95
	}
	return Inside
}
