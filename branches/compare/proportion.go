package compare

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Interval is a pair of limits.
type Interval struct{ Low, High float64 }

// Holds reports whether v lies in the interval, both ends included.
func (i Interval) Holds(v float64) bool { return i.Low <= v && v <= i.High }

// Z is the two-sided normal score of a confidence level between 0 and 1: 1.96 for 0.95. Outside that range the
// level is taken as 0.95, here and in every interval of this room.
func Z(level float64) float64 { return scoreOf(tailOf(level)) }

// tailOf is the probability left in one tail.
func tailOf(level float64) float64 {
	if !(level > 0 && level < 1) {
		level = Level95
	}
	return (1 - level) / 2
}

// scoreOf is the normal score with this probability above it; normalTail is its inverse. Both keep their digits far
// out in the tail, where widened limits live.
func scoreOf(tail float64) float64       { return -mathext.NormalQuantile(tail) }
func normalTail(z float64) float64       { return math.Erfc(z/math.Sqrt2) / 2 }
func clamp(v, low, high float64) float64 { return math.Min(math.Max(v, low), high) }

// possible reports whether x of n can be a proportion; where not, every interval below is 0 to 1: nothing is known.
func possible(x, n float64) bool { return n > 0 && x >= 0 && x <= n && !math.IsInf(n, 0) }

// Wilson is the score interval of the proportion x of n (Wilson 1927; Newcombe 1998a, method 3). x may be
// fractional. n ≤ 0, or x outside 0 to n, gives 0 to 1.
func Wilson(x, n, level float64) Interval {
	if !possible(x, n) {
		return Interval{0, 1}
	}
	z := Z(level)
	// With q counted, not taken as 1 − p, the interval of x and that of n − x mirror each other exactly.
	middle, half, scale := 2*x+z*z, z*math.Sqrt(z*z+4*x*(n-x)/n), 2*(n+z*z)
	i := Interval{(middle - half) / scale, (middle + half) / scale}
	if x == 0 {
		i.Low = 0
	}
	if x == n {
		i.High = 1
	}
	return i
}

// WilsonCorrected is the score interval with continuity correction (Newcombe 1998a, method 4). n ≤ 0, or x outside
// 0 to n, gives 0 to 1.
func WilsonCorrected(x, n, level float64) Interval {
	if !possible(x, n) {
		return Interval{0, 1}
	}
	z, p := Z(level), x/n
	q := (n - x) / n
	i := Interval{
		(2*x + z*z - 1 - z*math.Sqrt(z*z-2-1/n+4*p*(n*q+1))) / (2 * (n + z*z)),
		(2*x + z*z + 1 + z*math.Sqrt(z*z+2-1/n+4*p*(n*q-1))) / (2 * (n + z*z)),
	}
	if x == 0 {
		i.Low = 0
	}
	if x == n {
		i.High = 1
	}
	return i
}

// ClopperPearson is the exact interval of the proportion x of n (Clopper and Pearson 1934; Newcombe 1998a, method 5).
// n ≤ 0, or x outside 0 to n, gives 0 to 1.
func ClopperPearson(x, n int64, level float64) Interval {
	if !possible(float64(x), float64(n)) {
		return Interval{0, 1}
	}
	if n >= manyTrials {
		return ofMany(x, n, level)
	}
	tail, fx, fn := tailOf(level), float64(x), float64(n)
	i := Interval{0, 1}
	if x > 0 {
		i.Low = mathext.InvRegIncBeta(fx, fn-fx+1, tail)
	}
	if x < n {
		// The mirror image, so that the upper limit keeps the digits of a small tail.
		i.High = 1 - mathext.InvRegIncBeta(fn-fx, fx+1, tail)
	}
	return i
}

// MidP is the exact interval that counts half the probability of what was seen (Newcombe 1998a, method 6). n ≤ 0, or
// x outside 0 to n, gives 0 to 1.
func MidP(x, n int64, level float64) Interval {
	if !possible(float64(x), float64(n)) {
		return Interval{0, 1}
	}
	if n >= manyTrials {
		return ofMany(x, n, level)
	}
	tail := tailOf(level)
	// middle rises with p: the probability of more than x, and half that of x itself.
	middle := func(p float64) float64 { return (atLeast(x, n, p) + atLeast(x+1, n, p)) / 2 }
	i := Interval{0, 1}
	if x > 0 {
		i.Low = rising(func(p float64) bool { return middle(p) >= tail }, 0, 1)
	}
	if x < n {
		i.High = rising(func(p float64) bool { return middle(p) >= 1-tail }, 0, 1)
	}
	return i
}

// manyTrials is where the incomplete beta function begins to lose digits. From here a rare outcome is a Poisson count and
// any other a score interval; both then lie within 1 part in 100 of the width of the exact one (tested).
const manyTrials = 100_000_000

const rare = 10_000 // outcomes of many trials

func ofMany(x, n int64, level float64) Interval {
	switch {
	case x < rare:
		return over(Garwood(x, level), float64(n))
	case n-x < rare:
		i := over(Garwood(n-x, level), float64(n))
		return Interval{1 - i.High, 1 - i.Low}
	}
	return Wilson(float64(x), float64(n), level)
}

// atLeast is the probability of x or more in n trials.
func atLeast(x, n int64, p float64) float64 {
	if x <= 0 {
		return 1
	}
	if x > n {
		return 0
	}
	return mathext.RegIncBeta(float64(x), float64(n-x+1), p)
}

// rising halves [low, high] until it has found, to 14 digits, where reached turns true.
func rising(reached func(float64) bool, low, high float64) float64 {
	for range 1100 { // enough to come down to the smallest float64 from 1
		middle := low + (high-low)/2
		if high-low <= 1e-14*high || middle <= low || middle >= high {
			break
		}
		if reached(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// NewcombeDifference is the interval of x1/n1 − x2/n2 by squaring and adding the Wilson limits, without continuity
// correction (Newcombe 1998b, method 10). Where either proportion is impossible the interval is −1 to 1.
func NewcombeDifference(x1, n1, x2, n2 int64, level float64) Interval {
	a, b, c, d := float64(x1), float64(n1), float64(x2), float64(n2)
	if !possible(a, b) || !possible(c, d) {
		return Interval{-1, 1}
	}
	return subtracted(a/b, c/d, Wilson(a, b, level), Wilson(c, d, level))
}

// subtracted gives the limits of p − q from the limits of each (square-and-add; Newcombe 1998b; Zou and Donner 2008).
func subtracted(p, q float64, of, off Interval) Interval {
	return Interval{p - q - math.Hypot(p-of.Low, off.High-q), p - q + math.Hypot(of.High-p, q-off.Low)}
}
