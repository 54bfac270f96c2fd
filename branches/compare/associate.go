package compare

import (
	"cmp"
	"math"
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// Association is something that goes together with reprints of one cause. Nothing here says why.
type Association struct {
	Cause              string // "" is all together
	Factor, WithFactor Factor // WithFactor "" where it is no interaction
	Level, With        string
	Also               []string // what can not be told apart from it, because exactly the same runs have it
	Pieces, Count      int64
	Rate               float64
	Rate95             Interval // exact
	Expected           float64  // from the work and from the findings that stand before it
	Ratio              float64
	Ratio95            Interval
	PValue             float64
	BHAdjusted         float64 // over everything of its kind that was looked at, all causes together
	Discovery          bool
}

// Associations is what was found, and how much was looked at.
type Associations struct {
	List   []Association // findings first, then by p-value
	Tested int
	Runs   int
	Phi    float64 // dispersion of all causes together between runs; 1 is counting alone
}

// AssociationOptions say what is looked for. A zero field takes the value named beside it.
type AssociationOptions struct {
	Zones          map[string]*time.Location // by branch; UTC
	Causes         []string                  // "" is all together; none is just that
	FalseDiscovery float64                   // 0.05
	LeastExpected  float64                   // reprints expected below which a level is not judged; 5 (common practice, no source)
}

// ridgeOfWork is the penalty of a film, fabric or band: a normal prior of standard deviation 1 on the logarithm of its rate.
const ridgeOfWork = 1

// mostFindings bounds the findings of one cause.
const mostFindings = 40

// Associate asks which branch, press, cutter, recipe, revision, lot, hour or hours at work go together with reprints, the
// work (film, fabric, difficulty) held equal by a Poisson regression with a ridge penalty. It goes forward: the level whose count is
// least likely by chance joins the regression, if it is a finding after Benjamini and Hochberg, and the others are judged anew; so
// that what merely comes along with a finding is none itself. A level is judged by the exact probability of its count where the
// regression without it expects so many, its score divided by √φ where runs differ more than counting explains. Such p-values are
// a little large, since the level's own reprints raise what is expected. Pairs are judged last. Fault kinds: Invalid, TooLarge.
func Associate(works []Work, o AssociationOptions) (Associations, error) {
	fill(&o.FalseDiscovery, 0.05)
	fill(&o.LeastExpected, 5)
	if len(works) > MaxWorks {
		return Associations{}, fault.New(fault.TooLarge, room, TooMany, "There are %d runs; at most %d are looked at one by one. Choose fewer days, one film or one branch.", len(works), MaxWorks)
	}
	var fs fault.Fields
	between(&fs, "false_discovery", o.FalseDiscovery, 1e-6, 0.5)
	between(&fs, "least_expected", o.LeastExpected, 1, 1e6)
	if err := fs.Fault(room, OptionsInvalid, "The causes were asked for with settings that make no sense. Mend these."); err != nil {
		return Associations{}, err
	}
	if len(o.Causes) == 0 {
		o.Causes = []string{""}
	}
	s := search{works: works, o: o, work: levels(works, o.Zones, workFactors), others: levels(works, o.Zones, otherFactors)}
	answer := Associations{Runs: len(works), Phi: 1}
	if len(works) == 0 {
		return answer, nil
	}
	for _, cause := range o.Causes {
		found, phi, err := s.cause(cause)
		if err != nil {
			return Associations{}, err
		}
		if cause == "" {
			answer.Phi = phi
		}
		answer.List = append(answer.List, found...)
	}
	answer.adjust(o.FalseDiscovery)
	answer.Tested = len(answer.List)
	slices.SortStableFunc(answer.List, func(a, b Association) int {
		if a.Discovery != b.Discovery {
			if a.Discovery {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.PValue, b.PValue)
	})
	return answer, nil
}

// adjust allows for how much was looked at: over the work's own rates by themselves, since these differ by nature and would
// lend their certainty to chance findings among the rest, and over all else together.
func (a *Associations) adjust(rate float64) {
	var p [2][]float64
	var at [2][]int
	for i, x := range a.List {
		pool := 0
		if x.OfWork() {
			pool = 1
		}
		p[pool], at[pool] = append(p[pool], x.PValue), append(at[pool], i)
	}
	for pool := range p {
		for k, adjusted := range BenjaminiHochberg(p[pool]) {
			x := &a.List[at[pool][k]]
			x.BHAdjusted, x.Discovery = adjusted, adjusted <= rate
		}
	}
}

// OfWork reports whether this is the rate of a film, fabric or difficulty itself.
func (a Association) OfWork() bool {
	return a.WithFactor == "" && slices.Contains(workFactors, a.Factor)
}

// search is one Associate under way.
type search struct {
	works        []Work
	o            AssociationOptions
	work, others []candidate
	counts       []int64 // of the cause at hand, by run
	rows         []Counted
	ridge        []float64
	phi          float64
}

func (s *search) cause(cause string) ([]Association, float64, error) {
	s.counts = make([]int64, len(s.works))
	for i := range s.works {
		w := &s.works[i]
		if cause == "" {
			s.counts[i] = w.Reprints
			continue
		}
		for _, r := range w.Reasons {
			if r.Cause == cause {
				s.counts[i] += r.Count
			}
		}
	}
	s.start()
	f, err := PoissonRegression(s.rows, s.ridge)
	if err != nil {
		return nil, 1, err
	}
	s.phi = 1
	judged := s.others
	var taken []candidate
	for range mostFindings {
		best, ok := s.best(judged, f)
		if !ok {
			break
		}
		taken = append(taken, judged[best])
		s.join(judged[best])
		judged = slices.Delete(slices.Clone(judged), best, best+1)
		if f, err = PoissonRegression(s.rows, s.ridge); err != nil {
			return nil, 1, err
		}
	}
	if n := len(s.rows) - len(s.ridge); n > 100 {
		s.phi = math.Max(1, f.Pearson/float64(n))
	}
	list := s.ofWork(cause, f)
	for k, c := range taken {
		a, err := s.ofFinding(cause, c, len(s.work)+1+k, f)
		if err != nil {
			return nil, 1, err
		}
		list = append(list, a)
	}
	for _, c := range judged {
		if a, ok := s.of(cause, c, f); ok {
			list = append(list, a)
		}
	}
	for _, c := range crossed(s.works, s.o.Zones, taken) {
		if a, ok := s.of(cause, c, f); ok {
			list = append(list, a)
		}
	}
	return list, s.phi, nil
}

// start builds the regression of the work alone: everybody's rate, and a term for each film, fabric and band.
func (s *search) start() {
	s.rows = make([]Counted, 0, len(s.works))
	s.ridge = []float64{0}
	for i := range s.works {
		s.rows = append(s.rows, Counted{Count: s.counts[i], Exposure: math.Max(float64(s.works[i].Pieces), 1e-6), Terms: []Term{{0, 1}}})
	}
	for _, c := range s.work {
		s.join(c)
	}
}

func (s *search) join(c candidate) {
	for _, r := range c.rows {
		s.rows[r].Terms = append(s.rows[r].Terms, Term{len(s.ridge), 1})
	}
	s.ridge = append(s.ridge, ridgeOfWork)
}

func (s *search) count(c candidate, means []float64) (observed int64, expected float64) {
	for _, r := range c.rows {
		observed += s.counts[r]
		expected += means[r]
	}
	return observed, expected
}

// best is the candidate least likely by chance, where it is a finding.
func (s *search) best(judged []candidate, f Fitted) (int, bool) {
	var at []int
	var p []float64
	phi := 1.0
	if n := len(s.rows) - len(s.ridge); n > 100 {
		phi = math.Max(1, f.Pearson/float64(n))
	}
	for i, c := range judged {
		if o, e := s.count(c, f.Means); e >= s.o.LeastExpected {
			at, p = append(at, i), append(p, widerP(o, e, math.Sqrt(phi)))
		}
	}
	if len(at) == 0 {
		return 0, false
	}
	adjusted, first := BenjaminiHochberg(p), 0
	// Far out, p-values are all 0: the farther score decides, then the order of the factors.
	far := func(k int) float64 {
		o, e := s.count(judged[at[k]], f.Means)
		return scoreOfCount(o, e)
	}
	for k := range at {
		if p[k] < p[first] || p[k] == p[first] && p[k] < 1e-12 && far(k) > far(first) {
			first = k
		}
	}
	return at[first], adjusted[first] <= s.o.FalseDiscovery
}

func (s *search) made(cause string, c candidate, observed int64) Association {
	a := Association{Cause: cause, Factor: c.factor, WithFactor: c.withFactor, Level: c.level, With: c.with, Also: c.also, Pieces: c.pieces, Count: observed, PValue: 1}
	if c.pieces > 0 {
		a.Rate = float64(observed) / float64(c.pieces)
	}
	a.Rate95 = ClopperPearson(min(observed, c.pieces), c.pieces, Level95)
	return a
}

// of judges a candidate that is not in the regression.
func (s *search) of(cause string, c candidate, f Fitted) (Association, bool) {
	o, e := s.count(c, f.Means)
	if e < s.o.LeastExpected {
		return Association{}, false
	}
	a := s.made(cause, c, o)
	a.Expected, a.Ratio = e, float64(o)/e
	a.Ratio95 = over(widened(math.Sqrt(s.phi))(o, Level95), e)
	a.PValue = widerP(o, e, math.Sqrt(s.phi))
	return a, true
}

// ofFinding judges one that is, by the regression without it.
func (s *search) ofFinding(cause string, c candidate, column int, f Fitted) (Association, error) {
	rows := make([]Counted, len(s.rows))
	for i, r := range s.rows {
		rows[i] = Counted{r.Count, r.Exposure, nil}
		for _, t := range r.Terms {
			if t.Column != column {
				if t.Column > column {
					t.Column--
				}
				rows[i].Terms = append(rows[i].Terms, t)
			}
		}
	}
	without, err := PoissonRegression(rows, slices.Delete(slices.Clone(s.ridge), column, column+1))
	if err != nil {
		return Association{}, err
	}
	o, e := s.count(c, without.Means)
	a := s.made(cause, c, o)
	a.Expected = e
	a.PValue = widerP(o, e, math.Sqrt(s.phi))
	b, half := f.Coefficients[column], Z(Level95)*f.Errors[column]*math.Sqrt(s.phi)
	a.Ratio, a.Ratio95 = math.Exp(b), Interval{math.Exp(b - half), math.Exp(b + half)}
	return a, nil
}

// ofWork sets each film, fabric and band against the mean of its kind, weighted by pieces.
func (s *search) ofWork(cause string, f Fitted) (list []Association) {
	pieces := map[Factor]int64{}
	for _, c := range s.work {
		pieces[c.factor] += c.pieces
	}
	for k, c := range s.work {
		o, e := s.count(c, f.Means)
		if e < s.o.LeastExpected {
			continue
		}
		weights := map[int]float64{k + 1: 1}
		for j, other := range s.work {
			if other.factor == c.factor {
				weights[j+1] -= float64(other.pieces) / float64(pieces[c.factor])
			}
		}
		b, se := f.contrast(weights)
		se *= math.Sqrt(s.phi)
		a := s.made(cause, c, o)
		a.Ratio, a.Ratio95 = math.Exp(b), Interval{math.Exp(b - Z(Level95)*se), math.Exp(b + Z(Level95)*se)}
		a.Expected = float64(o) / a.Ratio
		if se > 0 {
			a.PValue = math.Min(1, 2*normalTail(math.Abs(b)/se))
		}
		list = append(list, a)
	}
	return list
}
