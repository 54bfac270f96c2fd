package compare

import (
	"math"
)

// Spread is the gamma distribution of the branches' true ratios: mean Shape/Rate. Common is set where the branches
// show no spread beyond counting; every branch then has the mean.
type Spread struct {
	Shape, Rate float64
	Mean        float64
	Common      bool
}

const (
	smallestShape = 1e-3
	largestShape  = 1e6 // from here a gamma is a point for every purpose here
)

// GammaSpread fits the gamma by maximum likelihood of the negative binomial counts (Clayton and Kaldor 1987, gamma
// model). Branches with no expectation are left out; nothing observed gives a common mean of 0.
func GammaSpread(observed []int64, expected []float64) Spread {
	var o, e []float64
	var sumO, sumE float64
	for i, x := range expected {
		if x > 0 && i < len(observed) && observed[i] >= 0 {
			o, e = append(o, float64(observed[i])), append(e, x)
			sumO += float64(observed[i])
			sumE += x
		}
	}
	if sumO == 0 || len(o) < 2 {
		mean := 0.0
		if sumE > 0 {
			mean = sumO / sumE
		}
		return Spread{Mean: mean, Common: true}
	}
	// The mean solves ΣO/(1+mE/ν) = ΣmE/(1+mE/ν) for a given shape ν; the likelihood left over has one hump in ln ν.
	mean := sumO / sumE
	fitted := func(shape float64) (float64, float64) {
		m := mean
		for range 100 {
			var up, down float64
			for i := range o {
				w := 1 / (1 + m*e[i]/shape)
				up += w * o[i]
				down += w * e[i]
			}
			next := up / down
			if math.Abs(next-m) <= 1e-13*next {
				m = next
				break
			}
			m = next
		}
		var log float64
		for i := range o {
			log += risen(o[i], shape) - (o[i]+shape)*math.Log1p(m*e[i]/shape) + o[i]*math.Log(m)
		}
		return log, m
	}
	shape := math.Exp(highest(func(l float64) float64 { v, _ := fitted(math.Exp(l)); return v }, math.Log(smallestShape), math.Log(largestShape)))
	if shape > largestShape/2 {
		return Spread{Mean: mean, Common: true}
	}
	_, m := fitted(shape)
	return Spread{Shape: shape, Rate: shape / m, Mean: m}
}

// risen is ln Γ(ν+o) − ln Γ(ν) − o ln ν, without the loss of digits of large ν.
func risen(o, shape float64) float64 {
	if o <= 40 {
		product, log := 1.0, 0.0
		for k := 1.0; k < o; k++ {
			product *= 1 + k/shape
			if product > 1e200 {
				log += math.Log(product)
				product = 1
			}
		}
		return log + math.Log(product)
	}
	up, _ := math.Lgamma(shape + o)
	down, _ := math.Lgamma(shape)
	return up - down - o*math.Log(shape)
}

// highest is the golden-section search of the top of f between low and high.
func highest(f func(float64) float64, low, high float64) float64 {
	golden := (math.Sqrt(5) - 1) / 2
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := f(a), f(b)
	for high-low > 1e-8 {
		if fa < fb {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = f(b)
		} else {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = f(a)
		}
	}
	return (low + high) / 2
}

// Shrunk is the empirical-Bayes ratio (O + shape)/(E + rate) and its posterior limits. The limits take the spread as
// known, so they are a little narrow where branches are few.
func (s Spread) Shrunk(observed int64, expected, level float64) (float64, Interval) {
	if s.Common {
		return s.Mean, Interval{s.Mean, s.Mean}
	}
	tail, shape, rate := tailOf(level), math.Max(0, float64(observed))+s.Shape, math.Max(0, expected)+s.Rate
	return shape / rate, Interval{gammaQuantile(shape, tail, false) / rate, gammaQuantile(shape, tail, true) / rate}
}

// BenjaminiHochberg gives the p-values adjusted for the false discovery rate, in the order given (Benjamini and
// Hochberg 1995). A p-value that is not a number counts as 1.
func BenjaminiHochberg(p []float64) []float64 {
	order := ascending(p)
	adjusted := make([]float64, len(p))
	least := 1.0
	for rank := len(order); rank > 0; rank-- {
		i := order[rank-1]
		if v := p[i] * float64(len(p)) / float64(rank); v < least {
			least = v
		}
		adjusted[i] = least
	}
	return adjusted
}
