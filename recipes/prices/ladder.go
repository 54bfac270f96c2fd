package prices

import (
	"fmt"
	"sort"

	"evenpeel/recipes/units"
)

// Hint says that charging a longer length of one film makes the whole quote cheaper.
type Hint struct {
	Film            string
	From, To, Extra units.Millimetres // charged now, at the break, and the difference
	Now, Then       units.Money       // Payable of the whole quote at the two lengths
	Saves           units.Money       // Now less Then, above 0
	Words           string
}

// hint prices every longer break of every film again as a whole quote, so that allowances, smallest order, rounding
// and tax are all in it, and keeps what saves most (ties: the shorter length, then the earlier film).
func (b *bill) hint(now Quote) *Hint {
	var best *Hint
	for i, u := range b.films {
		for _, br := range b.filmPrices[i].Breaks {
			if br.From <= u.Length {
				continue
			}
			h := Hint{Film: u.Film, From: u.Length, To: br.From, Extra: br.From - u.Length, Now: now.Payable}
			h.Then = b.quote(&h).Payable
			h.Saves = b.money(h.Now.Minor - h.Then.Minor)
			if h.Saves.Minor > 0 && (best == nil || h.Saves.Minor > best.Saves.Minor) {
				best = &h
			}
		}
	}
	if best != nil {
		best.Words = fmt.Sprintf("%s m more of %s costs less: at %s m the whole order is %s instead of %s.", metres(best.Extra), best.Film, metres(best.To), best.Then, best.Now)
	}
	return best
}

func metres(l units.Millimetres) string { return fmt.Sprintf("%d.%03d", l/1000, l%1000) }

// Step is one stretch of a film's price ladder: lengths in [From, To) at one price per metre.
type Step struct {
	From, To       units.Millimetres
	PerMetre       int64 // minor units
	AtFrom, AtTo   int64 // amount for From, and for To were it still at this step's price; minor units
	AtNext         int64 // amount for To at the next step's price; AtTo where there is no next step
	CheaperToReach units.Millimetres
	// CheaperToReach is the shortest length of this step that costs more than the next step's first length; there
	// and above, buying up to To costs less. 0 where no length of the step does.
}

// Ladder is the film's price by length up to and including upTo, for the picture. Empty for a price that Check
// faults or a length below 1.
func Ladder(f FilmPrice, upTo units.Millimetres) []Step {
	if len(f.Check()) > 0 || upTo < 1 {
		return nil
	}
	var steps []Step
	for i, br := range f.Breaks {
		if br.From > upTo {
			break
		}
		s := Step{From: br.From, To: upTo, PerMetre: br.PerMetre}
		next := br.PerMetre
		if i+1 < len(f.Breaks) && f.Breaks[i+1].From <= upTo {
			s.To, next = f.Breaks[i+1].From, f.Breaks[i+1].PerMetre
		}
		s.AtFrom, s.AtTo, s.AtNext = forLength(s.PerMetre, s.From), forLength(s.PerMetre, s.To), forLength(next, s.To)
		span := int(s.To - s.From)
		if k := sort.Search(span, func(k int) bool { return forLength(s.PerMetre, s.From+units.Millimetres(k)) > s.AtNext }); k < span && next != s.PerMetre {
			s.CheaperToReach = s.From + units.Millimetres(k)
		}
		steps = append(steps, s)
	}
	return steps
}

// at is the break that holds for a length of at least 0.
func (f FilmPrice) at(length units.Millimetres) Break {
	i := sort.Search(len(f.Breaks), func(i int) bool { return f.Breaks[i].From > length })
	return f.Breaks[i-1]
}
