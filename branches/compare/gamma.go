package compare

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// gammaQuantile is where a gamma of the given shape (rate 1) has the given probability below it, or above it: Halley's steps
// from Wilson and Hilferty's approximation, which takes three evaluations where halving takes thirty. What does not come to
// rest is left to the library.
func gammaQuantile(shape, tail float64, above bool) float64 {
	library, reached, z := mathext.GammaIncRegInv, mathext.GammaIncReg, mathext.NormalQuantile(tail)
	if above {
		library, reached, z = mathext.GammaIncRegCompInv, mathext.GammaIncRegComp, -z
	}
	root := 1 - 1/(9*shape) + z/(3*math.Sqrt(shape))
	x := shape * root * root * root
	if shape < 1 || !(x > 0) {
		return library(shape, tail)
	}
	log, _ := math.Lgamma(shape)
	for range 12 {
		off := reached(shape, x) - tail
		if above {
			off = -off
		}
		step := off / math.Exp((shape-1)*math.Log(x)-x-log)
		step /= 1 - clamp(step*((shape-1)/x-1)/2, -0.5, 0.5)
		next := x - step
		if !(next > 0) || math.IsInf(next, 0) {
			break
		}
		if math.Abs(next-x) <= 4e-15*x {
			return next
		}
		// Where rounding of the probability is all that moves it, halving would find no more.
		if math.Abs(step) <= 1e-13*x && math.Abs(off) <= 1e-14*tail {
			return next
		}
		x = next
	}
	return library(shape, tail)
}
