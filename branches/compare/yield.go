package compare

import (
	"cmp"
	"slices"
	"strings"

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
	if c.DrawnKnown > 0 {
		f.achievable += c.Achievable
		f.drawnKnown += c.DrawnKnown
	}
}

func (f *film) plus(other *film) {
	f.drawn += other.drawn
	f.decorated += other.decorated
	f.achievable += other.achievable
	f.drawnKnown += other.drawnKnown
}

// FairYield compares the film that orders needed with the film that was drawn for them, so that a branch with awkward
// drawings is not blamed for them. A branch is marked where all branches' figure lies outside its own limits; the
// limits come from the spread between the branch's own periods. Fault kinds: Invalid, TooLarge.
func FairYield(cells []Cell, o Options) (YieldView, error) {
	m, err := MixOf(cells)
	if err != nil {
		return YieldView{}, err
	}
	return FairYieldOf(m, cells, o)
}

// FairYieldOf is FairYield from two sums of the same runs: the mix, from which everybody's use of film comes, and periods, from
// which limits come. Faults as FairYield.
func FairYieldOf(m Mix, inPeriods []Cell, o Options) (YieldView, error) {
	o, err := o.filled()
	if err != nil {
		return YieldView{}, err
	}
	if err := m.check(); err != nil {
		return YieldView{}, err
	}
	if err := check(inPeriods); err != nil {
		return YieldView{}, err
	}
	films := filmsOf(inPeriods)
	var all film
	for i := range films {
		for k := range films[i].periods {
			all.plus(&films[i].periods[k])
		}
	}
	v := YieldView{Drawn: all.drawn, Decorated: all.decorated, Method: o.YieldMethod,
		Yield: part(all.decorated, all.drawn), OfAchievable: part(all.achievable, all.drawnKnown)}
	names := slices.Clone(o.Branches)
	for i := range films {
		names = append(names, films[i].branch)
	}
	slices.Sort(names)
	everybody, scores := m.overalls(), map[score]float64{}
	mixed, drawn := 0, 0
	for _, b := range slices.Compact(names) {
		s := YieldStanding{Branch: b}
		var own branchFilm
		for ; drawn < len(films) && films[drawn].branch <= b; drawn++ {
			own = films[drawn]
		}
		reported := own.branch == b
		if !reported {
			own = branchFilm{}
		}
		s.Pieces = own.pieces
		s.measure(own.periods, o, scores)
		for ; mixed < len(m.Branches) && m.Branches[mixed].Branch <= b; mixed++ {
			if m.Branches[mixed].Branch == b {
				s.ExpectedDrawn = expectedDrawn(m.Branches[mixed].Rows, everybody)
			}
		}
		if s.ExpectedDrawn > 0 {
			s.DrawnRatio = float64(s.Drawn) / s.ExpectedDrawn
		}
		s.Mark = s.marked(reported, v.OfAchievable, o)
		v.Counts.add(s.Mark)
		v.Standings = append(v.Standings, s)
	}
	v.Finding = yieldFinding(v)
	return v, nil
}

// branchFilm is what one branch drew, by period.
type branchFilm struct {
	branch  string
	pieces  int64
	periods []film
}

// filmsOf adds up cells by branch and period, both in their order.
func filmsOf(cells []Cell) (list []branchFilm) {
	order := make([]int32, len(cells))
	for i := range order {
		order[i] = int32(i)
	}
	byTime := func(i, j int32) int {
		return cmp.Or(strings.Compare(cells[i].Branch, cells[j].Branch), strings.Compare(cells[i].Period, cells[j].Period))
	}
	slices.SortFunc(order, byTime)
	var last *Cell
	for _, i := range order {
		c := &cells[i]
		if last == nil || last.Branch != c.Branch {
			list, last = append(list, branchFilm{branch: c.Branch}), nil
		}
		of := &list[len(list)-1]
		if last == nil || last.Period != c.Period {
			of.periods = append(of.periods, film{})
		}
		of.pieces += c.Pieces
		of.periods[len(of.periods)-1].add(c)
		last = c
	}
	return list
}

// measure fills in the sums, ratios and limits.
func (s *YieldStanding) measure(films []film, o Options, scores map[score]float64) {
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
		return linearised(of, scores, levels...)
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
