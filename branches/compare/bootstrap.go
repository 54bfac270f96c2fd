package compare

import (
	"cmp"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
)

// resampling is a seeded bootstrap: n units drawn n times with replacement, and the statistics of each drawing. A statistic
// is a function of how often each unit was drawn, so that leaving one out is a drawing too.
type resampling struct {
	units      int
	statistics int
	of         func(times []float64, into []float64)
}

// limits are the bias-corrected and accelerated limits of each statistic (Efron 1987; Efron and Tibshirani 1993, section
// 14.3): the percentiles of the resamples, moved by how far the estimate lies off their middle (z0) and by how the spread
// changes with the value (a, from the statistics with one unit left out). Fewer than two units, or resamples without any
// spread, give the estimate itself.
func (r resampling) limits(replicates int, dice *rand.Rand, level float64) []Interval {
	estimate := make([]float64, r.statistics)
	times := make([]float64, r.units)
	for i := range times {
		times[i] = 1
	}
	r.of(times, estimate)
	limits := make([]Interval, r.statistics)
	if r.units < 2 {
		for k, e := range estimate {
			limits[k] = Interval{e, e}
		}
		return limits
	}
	without := make([][]float64, r.units) // by unit, then statistic
	for i := range without {
		without[i] = make([]float64, r.statistics)
		times[i] = 0
		r.of(times, without[i])
		times[i] = 1
	}
	drawings := r.drawings(replicates, dice)
	for k, e := range estimate {
		list := drawings[k]
		slices.Sort(list)
		left := make([]float64, r.units)
		for i := range left {
			left[i] = without[i][k]
		}
		limits[k] = accelerated(list, e, left, level)
	}
	return limits
}

// drawings are the statistics of the resamples, by statistic.
func (r resampling) drawings(replicates int, dice *rand.Rand) [][]float64 {
	list := make([][]float64, r.statistics)
	for k := range list {
		list[k] = make([]float64, replicates)
	}
	times, values := make([]float64, r.units), make([]float64, r.statistics)
	for b := range replicates {
		clear(times)
		for range r.units {
			times[dice.IntN(r.units)]++
		}
		r.of(times, values)
		for k, v := range values {
			list[k][b] = v
		}
	}
	return list
}

// accelerated reads the limits off the sorted resamples.
func accelerated(sorted []float64, estimate float64, leftOut []float64, level float64) Interval {
	below, same := 0, 0
	for _, v := range sorted {
		switch cmp.Compare(v, estimate) {
		case -1:
			below++
		case 0:
			same++
		}
	}
	share := (float64(below) + float64(same)/2) / float64(len(sorted))
	if share <= 0 || share >= 1 || sorted[0] == sorted[len(sorted)-1] {
		return Interval{Quantile7(sorted, tailOf(level)), Quantile7(sorted, 1-tailOf(level))}
	}
	z0 := scoreOf(1 - share)
	mean := 0.0
	for _, v := range leftOut {
		mean += v / float64(len(leftOut))
	}
	var squares, cubes float64
	for _, v := range leftOut {
		d := mean - v
		squares += d * d
		cubes += d * d * d
	}
	a := 0.0
	if squares > 0 {
		a = cubes / (6 * math.Pow(squares, 1.5))
	}
	moved := func(z float64) float64 {
		w := z0 + z
		return 1 - normalTail(z0+w/(1-a*w))
	}
	z := Z(level)
	return Interval{Quantile7(sorted, moved(-z)), Quantile7(sorted, moved(z))}
}

// diceFor are seeded by a branch's name too, so that a branch's limits do not hang on which others are shown.
func diceFor(seed uint64, name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}
