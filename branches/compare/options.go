package compare

import (
	"fmt"
	"math"

	"evenpeel/recipes/fault"
)

// Level95 and Level998 are the two confidence levels of every funnel here: "worth a look" and "differs".
const (
	Level95  = 0.95
	Level998 = 0.998
)

// Dispersion says what to do when branches differ from each other more than counting alone explains.
type Dispersion int

const (
	PoissonOnly    Dispersion = iota // limits of counting alone; φ and τ² are still reported
	Multiplicative                   // the normal score of each limit times √φ, where φ > 1
	Additive                         // a variance τ² between branches added to that of counting
)

// YieldMethod is how the limits of a yield are found from the branch's own periods.
type YieldMethod int

const (
	Linearised YieldMethod = iota // ratio estimate, linearised variance, Student t with periods − 1 degrees of freedom
	Bootstrap                     // percentiles of seeded resamples of the periods; coarse at 99.8 % and with few periods
)

// Options of a comparison. A zero field takes the value named beside it.
type Options struct {
	Branches       []string    // every branch that should have reported; one without cells is Silent, not good
	MinPieces      int64       // below it nothing is said of a branch; 0 is 30 (common practice, no source)
	MinPeriods     int         // below it nothing is said of a yield; 0 is 6 (common practice, no source)
	Dispersion     Dispersion  // PoissonOnly
	FalseDiscovery float64     // share of false findings tolerated among findings (Benjamini-Hochberg); 0 is 0.05
	TellRatio      float64     // the reprint ratio a branch must be able to show; 0 is 1.5
	TellPower      float64     // … with this probability, at 95 %; 0 is 0.8
	YieldMethod    YieldMethod // Linearised
	Replicates     int         // of the bootstrap; 0 is 2000
	Seed           uint64      // of the bootstrap
}

const (
	maxBranches   = 100_000
	maxReplicates = 20_000
)

// filled puts in what a zero field stands for, and refuses what makes no sense.
func (o Options) filled() (Options, error) {
	if len(o.Branches) > maxBranches {
		return o, fault.New(fault.TooLarge, room, TooMany, "There are %d branches; at most %d are compared at once.", len(o.Branches), maxBranches)
	}
	fill(&o.MinPieces, 30)
	fill(&o.MinPeriods, 6)
	fill(&o.FalseDiscovery, 0.05)
	fill(&o.TellRatio, 1.5)
	fill(&o.TellPower, 0.8)
	fill(&o.Replicates, 2000)
	var fs fault.Fields
	between(&fs, "min_pieces", float64(o.MinPieces), 1, float64(MaxPieces))
	between(&fs, "min_periods", float64(o.MinPeriods), 2, 1000)
	between(&fs, "false_discovery", o.FalseDiscovery, 1e-6, 0.5)
	between(&fs, "tell_ratio", o.TellRatio, 1.05, 100)
	between(&fs, "tell_power", o.TellPower, 0.5, 0.999)
	between(&fs, "replicates", float64(o.Replicates), 200, maxReplicates)
	between(&fs, "dispersion", float64(o.Dispersion), float64(PoissonOnly), float64(Additive))
	between(&fs, "yield_method", float64(o.YieldMethod), float64(Linearised), float64(Bootstrap))
	for i, b := range o.Branches {
		if !name(b) && len(fs) < maxFields {
			fs.Add(fmt.Sprintf("branches[%d]", i), "must have 1 to %d bytes", MaxName)
		}
	}
	return o, fs.Fault(room, OptionsInvalid, "The comparison was asked for with settings that make no sense. Mend these.")
}

func fill[T comparable](field *T, standard T) {
	var zero T
	if *field == zero {
		*field = standard
	}
}

func between(fs *fault.Fields, path string, v, low, high float64) {
	if math.IsNaN(v) || v < low || v > high {
		fs.Add(path, "is %v, must be %v to %v", v, low, high)
	}
}

// Mark is what can be said of a branch's figure. High and Low are about the figure: a high reprint ratio is bad, a
// high yield is good.
type Mark int

const (
	Silent     Mark = iota // no cells: nothing is known
	CannotTell             // too few pieces or periods to tell a difference of the stated size from chance
	Inside                 // no more different than chance explains
	High95                 // above the 95 % limit: worth a look
	High998                // above the 99.8 % limit
	Low95
	Low998
)

var markWords = [...]string{"silent", "can not tell", "inside", "high 95", "high 99.8", "low 95", "low 99.8"}

// String is the mark's word for logs and tests.
func (m Mark) String() string {
	if m < 0 || int(m) >= len(markWords) {
		return "unknown"
	}
	return markWords[m]
}

// Counts says how many branches carry each mark.
type Counts struct{ Silent, CannotTell, Inside, High95, High998, Low95, Low998 int }

func (c *Counts) add(m Mark) {
	*[...]*int{&c.Silent, &c.CannotTell, &c.Inside, &c.High95, &c.High998, &c.Low95, &c.Low998}[m]++
}
