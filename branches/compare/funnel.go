package compare

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// FunnelPoint is the funnel at one expected count: the ratios beyond which a branch is marked.
type FunnelPoint struct {
	Expected                       float64
	Low998, Low95, High95, High998 float64
}

const funnelPoints = 48

// widening is what a normal score of a limit is multiplied by: 1 for counting alone, more under over-dispersion.
type widening func(expected float64) float64

// MarkOf places an observed count against its expectation by the limits of the count: High95 where the expectation
// lies below the lower 95 % limit, and so on. Garwood marks by the exact limits; Byar from 10 events on is the
// rule of the public-health funnel files it is tested against.
func MarkOf(observed int64, expected float64, limits func(observed int64, level float64) Interval) Mark {
	outer, inner := limits(observed, Level998), limits(observed, Level95)
	switch {
	case outer.Low > expected:
		return High998
	case outer.High < expected:
		return Low998
	case inner.Low > expected:
		return High95
	case inner.High < expected:
		return Low95
	}
	return Inside
}

// farthest is the normal score up to which the exact tail of a Poisson count is used. Beyond it, which only widened
// limits reach, the tail's saddlepoint score stands in, within 0.3 % of the exact one (tested): the tail itself would
// run out of float64.
const farthest = 8

// farScore is the normal score of the tail of a gamma of the given shape beyond x: r + ln(u/r)/r with the signed root r of
// the deviance (Barndorff-Nielsen 1986). A count of o or fewer is a gamma of shape o + 1 above the mean, of o or more one
// of shape o below it.
func farScore(shape, x float64) float64 {
	off := (x - shape) / shape
	log := math.Log1p(off)
	if off < -.5 {
		log = math.Log(x / shape) // off has lost x
	}
	root := math.Sqrt(2 * shape * math.Max(0, off-log))
	if root < 1 {
		return root // near the middle the correction is lost in rounding, and nobody asks for it
	}
	return root + math.Log(math.Abs(x-shape)/math.Sqrt(shape)/root)/root
}

// scoreOfCount is how many normal standard deviations, up or down, the exact two-sided p-value of a count is worth.
func scoreOfCount(observed int64, expected float64) float64 {
	if p := PoissonP(observed, expected); p/2 > normalTail(farthest) {
		return math.Max(0, scoreOf(p/2))
	}
	if o := float64(observed); o > expected {
		return farScore(o, expected)
	}
	return farScore(float64(observed)+1, expected)
}

// limitsOf are the limits of the mean of a count at a normal score.
func limitsOf(observed int64, score float64) Interval {
	if score <= farthest {
		return garwood(observed, normalTail(score))
	}
	o := float64(observed)
	above := func(mean float64) bool { return mean > o+1 && farScore(o+1, mean) >= score }
	i := Interval{0, rising(above, o+1, doubled(above, o+2))}
	if observed > 0 {
		// The score falls as the mean nears the count.
		i.Low = rising(func(mean float64) bool { return farScore(o, mean) < score }, 0, o)
	}
	return i
}

// doubled goes up from start until reached.
func doubled(reached func(float64) bool, start float64) float64 {
	for !reached(start) && start < math.MaxFloat64/4 {
		start *= 2
	}
	return start
}

// widened gives the limits of a count at a confidence level whose normal score is multiplied by factor.
func widened(factor float64) func(int64, float64) Interval {
	return func(observed int64, level float64) Interval { return limitsOf(observed, Z(level)*factor) }
}

// funnel draws the by-observation limits between two expected counts, evenly in their logarithm. Between whole counts
// the limits are those of the continuous (gamma) form of Garwood's, so the curve passes through every whole count's
// own limit.
func funnel(from, to float64, wider widening) []FunnelPoint {
	if !(from > 0) || to < from {
		return nil
	}
	points := make([]FunnelPoint, funnelPoints)
	for i := range points {
		e := from * math.Exp(math.Log(to/from)*float64(i)/(funnelPoints-1))
		inner, outer := ratiosAt(e, Z(Level95)*wider(e)), ratiosAt(e, Z(Level998)*wider(e))
		points[i] = FunnelPoint{e, outer.Low, inner.Low, inner.High, outer.High}
	}
	return points
}

// ratiosAt gives the ratios O/E at which the limit of O, at a normal score, is just E.
func ratiosAt(e, score float64) Interval {
	tail := normalTail(score)
	few := func(o float64) bool { return mathext.GammaIncRegComp(o+1, e) >= tail }
	many := func(o float64) bool { return mathext.GammaIncReg(o, e) <= tail }
	if score > farthest {
		few = func(o float64) bool { return o+1 >= e || farScore(o+1, e) <= score }
		many = func(o float64) bool { return o > e && farScore(o, e) >= score }
	}
	var i Interval
	if !few(0) { // else not even a count of nothing is out
		i.Low = rising(few, 0, e) / e
	}
	i.High = rising(many, e/2, doubled(many, e+1)) / e
	return i
}
