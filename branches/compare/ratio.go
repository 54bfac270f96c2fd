package compare

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// pair is one period's numerator and denominator.
type pair struct{ y, x float64 }

// widest is what is known of a ratio from fewer than two periods.
var widest = Interval{0, 1}

func ratio(of []pair) (r, x float64) {
	var y float64
	for _, p := range of {
		y += p.y
		x += p.x
	}
	return y / x, x
}

// linearised gives limits of Σy/Σx: the variance of the ratio estimate is n/(n−1)·Σ(y − r·x)²/(Σx)² (Cochran 1977,
// Sampling Techniques, section 6.3, without the finite-population factor), the score Student's t with n − 1 degrees
// of freedom. Those are kept in scores: branches have the same few numbers of periods.
func linearised(of []pair, scores map[score]float64, levels ...float64) []Interval {
	limits := make([]Interval, len(levels))
	r, sum := ratio(of)
	se := ratioError(of, r, sum)
	for i, level := range levels {
		if len(of) < 2 {
			limits[i] = widest
			continue
		}
		key := score{len(of), level}
		t, known := scores[key]
		if !known {
			t = tScore(len(of), level)
			scores[key] = t
		}
		limits[i] = Interval{math.Max(0, r-t*se), r + t*se}
	}
	return limits
}

// score names one of Student's: for n periods, at a level.
type score struct {
	n     int
	level float64
}

// tScore is Student's for n periods.
func tScore(n int, level float64) float64 {
	return -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 1)}.Quantile(tailOf(level))
}

func ratioError(of []pair, r, sum float64) float64 {
	var squares float64
	for _, p := range of {
		e := p.y - r*p.x
		squares += e * e
	}
	n := float64(len(of))
	return math.Sqrt(n/(n-1)*squares) / sum
}

// resampled gives the percentile limits of Σy/Σx over resamples of the periods with replacement (Efron and Tibshirani
// 1993, chapter 13).
func resampled(of []pair, replicates int, dice *rand.Rand, levels ...float64) []Interval {
	limits := make([]Interval, len(levels))
	if len(of) < 2 {
		for i := range limits {
			limits[i] = widest
		}
		return limits
	}
	ratios := replicas(of, replicates, dice)
	for i, level := range levels {
		limits[i] = Interval{Quantile7(ratios, tailOf(level)), Quantile7(ratios, 1-tailOf(level))}
	}
	return limits
}

// replicas are the sorted ratios of the resamples.
func replicas(of []pair, replicates int, dice *rand.Rand) []float64 {
	ratios := make([]float64, replicates)
	for i := range ratios {
		var y, x float64
		for range of {
			p := of[dice.IntN(len(of))]
			y += p.y
			x += p.x
		}
		ratios[i] = y / x
	}
	slices.Sort(ratios)
	return ratios
}
