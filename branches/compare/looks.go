package compare

import (
	"math"

	"evenpeel/recipes/fault"
)

// Spending is how the chance of a false alarm is spread over the looks at a trial.
type Spending int

const (
	// SpendLate spends 4 − 4Φ(z/√t) on both sides, z with α/4 above it, little at first: Lan and DeMets' likeness of O'Brien and
	// Fleming's bounds.
	SpendLate Spending = iota
	// SpendEven spends α ln(1 + (e−1)t): their likeness of Pocock's.
	SpendEven
)

func (s Spending) spent(t, alpha float64) float64 {
	if s == SpendEven {
		return alpha * math.Log(1+(math.E-1)*t)
	}
	return 4 * normalTail(scoreOf(alpha/4)/math.Sqrt(t))
}

const maxLooks = 20

// SpentBounds are the two-sided scores beyond which a trial stops at looks after the given shares of the information (rising,
// the last at most 1), so that over all looks chance alone stops it with probability alpha (Lan and DeMets 1983, Biometrika
// 70:659). Each side spends half of alpha. Fault kind: Invalid.
func SpentBounds(information []float64, alpha float64, s Spending) ([]float64, error) {
	if err := lookable(information, alpha); err != nil {
		return nil, err
	}
	bounds := make([]float64, len(information))
	var w walk
	before := 0.0
	for k, t := range information {
		spent := s.spent(t, alpha)
		bounds[k] = w.bound(t, spent-before)
		w = w.past(t, bounds[k])
		before = spent
	}
	return bounds, nil
}

// PocockBound is the one score that serves at each of so many evenly spaced looks (Pocock 1977, Biometrika 64:191).
// Fault kind: Invalid.
func PocockBound(looks int, alpha float64) (float64, error) {
	return constant(looks, alpha, func(float64) float64 { return 1 })
}

// OBrienFlemingBound is the score at the last of so many evenly spaced looks; at information t it is divided by √t
// (O'Brien and Fleming 1979, Biometrics 35:549). Fault kind: Invalid.
func OBrienFlemingBound(looks int, alpha float64) (float64, error) {
	return constant(looks, alpha, func(t float64) float64 { return 1 / math.Sqrt(t) })
}

// constant finds c so that bounds c·shape(t) are crossed with probability alpha in all.
func constant(looks int, alpha float64, shape func(t float64) float64) (float64, error) {
	information := make([]float64, max(0, min(looks, maxLooks+1)))
	for k := range information {
		information[k] = float64(k+1) / float64(looks)
	}
	if err := lookable(information, alpha); err != nil {
		return 0, err
	}
	enough := func(c float64) bool {
		var w walk
		sum := 0.0
		for _, t := range information {
			sum += w.beyond(t, c*shape(t))
			w = w.past(t, c*shape(t))
		}
		return sum <= alpha
	}
	low, high := scoreOf(alpha/2)-1e-9, 10.0
	for high-low > 1e-9 {
		if middle := (low + high) / 2; enough(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return high, nil
}

func lookable(information []float64, alpha float64) error {
	var fs fault.Fields
	between(&fs, "alpha", alpha, 1e-6, 0.5)
	between(&fs, "looks", float64(len(information)), 1, maxLooks)
	before := 0.0
	for _, t := range information {
		if !(t > before && t <= 1+1e-12) {
			fs.Add("information", "holds %v after %v; shares rise from above 0 to at most 1", t, before)
			break
		}
		before = t
	}
	return fs.Fault(room, OptionsInvalid, "A trial can not be looked at like this. Mend these.")
}

// walk is what is left, after some looks, of the density of a standard Brownian motion that stops beyond its bounds
// (Armitage, McPherson and Rowe 1969), at evenly spaced values; Simpson's rule integrates it. The empty walk stands at 0.
type walk struct {
	t       float64
	from    float64
	step    float64
	density []float64
}

// walkPoints is odd, for Simpson's rule; three times as many change no published digit.
const walkPoints = 121

// weight is Simpson's, in units of the step.
func weight(i int) float64 {
	switch {
	case i == 0 || i == walkPoints-1:
		return 1.0 / 3
	case i%2 == 1:
		return 4.0 / 3
	}
	return 2.0 / 3
}

// beyond is the probability of going on to information t and lying there beyond ± score·√t.
func (w walk) beyond(t, score float64) float64 {
	edge := score * math.Sqrt(t)
	if w.density == nil {
		return 2 * normalTail(score)
	}
	spread := math.Sqrt(t - w.t)
	sum := 0.0
	for i, d := range w.density {
		at := w.from + float64(i)*w.step
		sum += weight(i) * d * (normalTail((edge-at)/spread) + normalTail((edge+at)/spread))
	}
	return sum * w.step
}

// bound is the score at t that is crossed with the given probability.
func (w walk) bound(t, spend float64) float64 {
	low, high := 0.0, 12.0
	for high-low > 1e-10 {
		if middle := (low + high) / 2; w.beyond(t, middle) <= spend {
			high = middle
		} else {
			low = middle
		}
	}
	return high
}

// past is the walk after looking at t with a bound.
func (w walk) past(t, score float64) walk {
	// Farther out than this there is nothing to integrate.
	edge := math.Min(score, 8.5) * math.Sqrt(t)
	next := walk{t: t, from: -edge, step: 2 * edge / (walkPoints - 1), density: make([]float64, walkPoints)}
	normal := func(x, spread float64) float64 {
		x /= spread
		return math.Exp(-x*x/2) / (spread * math.Sqrt(2*math.Pi))
	}
	for i := range next.density {
		at := next.from + float64(i)*next.step
		if w.density == nil {
			next.density[i] = normal(at, math.Sqrt(t))
			continue
		}
		spread, sum := math.Sqrt(t-w.t), 0.0
		for j, d := range w.density {
			sum += weight(j) * d * normal(at-w.from-float64(j)*w.step, spread)
		}
		next.density[i] = sum * w.step
	}
	return next
}
