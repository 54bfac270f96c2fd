package compare

import (
	"math"
	"slices"
)

// Quantile7 is the p quantile of sorted values by linear interpolation between order statistics (type 7 of Hyndman
// and Fan 1996, the standard of R). No values give 0.
func Quantile7(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	at := clamp(p, 0, 1) * float64(len(sorted)-1)
	below := int(at)
	if below >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	return sorted[below] + (at-float64(below))*(sorted[below+1]-sorted[below])
}

// OverDispersion says how much more branches differ from each other than counting alone explains.
type OverDispersion struct {
	Branches int     // how many it was found from
	Phi      float64 // mean of the squared winsorised scores; 1 is counting alone
	Tau2     float64 // variance between branches on the square-root scale, 0 where φ is at most 1
	Applied  Dispersion
}

const winsorised = 0.1 // share at each end

// Overdispersed finds φ and τ² from observed and expected counts on the square-root scale, z = 2(√O − √E), with 10 %
// at each end winsorised (Spiegelhalter 2005, Qual Saf Health Care 14:347). Branches with no expectation are left out.
func Overdispersed(observed []int64, expected []float64) OverDispersion {
	var z []float64
	var w, w2 float64
	for i, e := range expected {
		if e > 0 && i < len(observed) {
			z = append(z, 2*(math.Sqrt(math.Max(0, float64(observed[i])))-math.Sqrt(e)))
			weight := 4 * e // 1/s², s = 1/(2√E)
			w += weight
			w2 += weight * weight
		}
	}
	d := OverDispersion{Branches: len(z), Phi: 1}
	if len(z) < 2 {
		return d
	}
	slices.Sort(z)
	low, high := Quantile7(z, winsorised), Quantile7(z, 1-winsorised)
	var sum float64
	for _, v := range z {
		v = clamp(v, low, high)
		sum += v * v
	}
	k := float64(len(z))
	d.Phi = sum / k
	if room := w - w2/w; room > 0 {
		d.Tau2 = math.Max(0, (sum-(k-1))/room)
	}
	return d
}

// wider gives the widening of the dispersion applied. Additive: s becomes √(1/(4E) + τ²), which is s·√(1 + 4Eτ²).
func (d OverDispersion) wider() widening {
	switch d.Applied {
	case Multiplicative:
		factor := math.Sqrt(math.Max(1, d.Phi))
		return func(float64) float64 { return factor }
	case Additive:
		return func(e float64) float64 { return math.Sqrt(1 + 4*e*d.Tau2) }
	}
	return func(float64) float64 { return 1 }
}

// needed turns the expectation needed under counting alone into the one needed under the dispersion; 0 where the
// branches differ so much that no expectation is enough.
func (d OverDispersion) needed(counting float64) float64 {
	switch d.Applied {
	case Multiplicative:
		return counting * math.Max(1, d.Phi)
	case Additive:
		left := 1 - 4*counting*d.Tau2
		if left <= 0 {
			return 0
		}
		return counting / left
	}
	return counting
}
