package compare

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"evenpeel/recipes/fault"
)

// Term is one column of a regression's row that is not 0.
type Term struct {
	Column int
	Value  float64
}

// Counted is one row of a regression: a count, what it was counted in, and what it may hang on.
type Counted struct {
	Count    int64
	Exposure float64 // above 0; the mean is Exposure · exp(Σ value · coefficient)
	Terms    []Term
}

// Fitted is a regression's answer.
type Fitted struct {
	Coefficients []float64
	Errors       []float64 // standard errors, at a dispersion of 1
	Means        []float64 // by row
	Deviance     float64
	Pearson      float64 // Σ (count − mean)²/mean
	Steps        int
	covariance   *mat.Dense
}

// Limits of a regression: the matrix of its columns is kept whole.
const (
	maxColumns = 1500
	maxSteps   = 60
)

// PoissonRegression fits a log-linear Poisson model by iteratively reweighted least squares (McCullagh and Nelder 1989,
// section 2.5) with a ridge penalty ½ Σ ridge · coefficient² (Hoerl and Kennard 1970; le Cessie and van Houwelingen 1992 for
// likelihoods). A ridge of 0 leaves a column alone. The errors are those of the penalised estimate, H⁻¹ I H⁻¹ with H = I +
// ridge; without a penalty, those of every textbook. Fault kinds: TooLarge, Invalid (columns that can not be told apart).
func PoissonRegression(rows []Counted, ridge []float64) (Fitted, error) {
	columns := len(ridge)
	if columns > maxColumns || len(rows) > MaxCells {
		return Fitted{}, fault.New(fault.TooLarge, room, TooMany, "%d columns and %d rows are too many for one regression; at most %d and %d. Choose a shorter span.", columns, len(rows), maxColumns, MaxCells)
	}
	if err := regressable(rows, ridge); err != nil {
		return Fitted{}, err
	}
	m := model{rows, ridge}
	var count, exposure float64
	for _, r := range rows {
		count += float64(r.Count)
		exposure += r.Exposure
	}
	start := math.Log(math.Max(count, 0.5) / exposure)
	f := Fitted{Coefficients: make([]float64, columns), Means: make([]float64, len(rows))}
	// The first step starts at everybody's rate, as if it were known, and finds the coefficients that come nearest to it.
	h, gradient := m.normal(f.Coefficients, func(i int) float64 { return start }, true)
	if err := solved(h, gradient, f.Coefficients); err != nil {
		return Fitted{}, err
	}
	best := m.likelihood(f.Coefficients)
	for f.Steps = 1; f.Steps < maxSteps; f.Steps++ {
		h, gradient = m.normal(f.Coefficients, nil, false)
		step := make([]float64, columns)
		if err := solved(h, gradient, step); err != nil {
			return Fitted{}, err
		}
		next, likelihood := m.along(f.Coefficients, step, best)
		done := math.Abs(likelihood-best) <= 1e-12*(math.Abs(best)+0.1)
		if likelihood >= best {
			f.Coefficients, best = next, likelihood
		}
		if done {
			break
		}
	}
	return m.summed(f)
}

func regressable(rows []Counted, ridge []float64) error {
	var fs fault.Fields
	for j, r := range ridge {
		if len(fs) < maxFields {
			between(&fs, fmt.Sprintf("ridge[%d]", j), r, 0, 1e9)
		}
	}
	for i, r := range rows {
		if len(fs) >= maxFields {
			break
		}
		if r.Count < 0 || r.Count > MaxPieces {
			fs.Add(fmt.Sprintf("rows[%d].count", i), "is %d, must be 0 to %d", r.Count, MaxPieces)
		}
		between(&fs, fmt.Sprintf("rows[%d].exposure", i), r.Exposure, 1e-12, 1e15)
		for _, t := range r.Terms {
			if t.Column < 0 || t.Column >= len(ridge) || math.IsNaN(t.Value) || math.Abs(t.Value) > 1e9 {
				fs.Add(fmt.Sprintf("rows[%d]", i), "has a term that is none: column %d of %d, value %v", t.Column, len(ridge), t.Value)
				break
			}
		}
	}
	if len(rows) == 0 || len(ridge) == 0 {
		fs.Add("rows", "must hold at least one, and one column")
	}
	return fs.Fault(room, SeriesInvalid, "These rows can not be fitted. Mend the ones named.")
}

type model struct {
	rows  []Counted
	ridge []float64
}

// eta is the linear part, kept where its exponential is a number.
func eta(r *Counted, b []float64) float64 {
	e := 0.0
	for _, t := range r.Terms {
		e += t.Value * b[t.Column]
	}
	return clamp(e, -200, 200)
}

// likelihood is the penalised log likelihood, up to what does not hang on b.
func (m model) likelihood(b []float64) float64 {
	sum := 0.0
	for i := range m.rows {
		r := &m.rows[i]
		e := eta(r, b)
		sum += float64(r.Count)*e - r.Exposure*math.Exp(e)
	}
	for j, r := range m.ridge {
		sum -= r * b[j] * b[j] / 2
	}
	return sum
}

// along goes the whole step, or halves it until the likelihood rises.
func (m model) along(b, step []float64, best float64) ([]float64, float64) {
	next := make([]float64, len(b))
	for size := 1.0; ; size /= 2 {
		for j := range b {
			next[j] = b[j] + size*step[j]
		}
		if l := m.likelihood(next); l >= best || size < 1e-8 {
			return next, l
		}
	}
}

// normal builds the normal equations: the information with the ridge on its diagonal, and the gradient; or, for the first
// step, the right-hand side of the weighted least squares from means that no coefficients stand for.
func (m model) normal(b []float64, given func(i int) float64, first bool) (*mat.SymDense, []float64) {
	n := len(m.ridge)
	h, right := make([]float64, n*n), make([]float64, n)
	for i := range m.rows {
		r := &m.rows[i]
		var e float64
		if first {
			e = given(i)
		} else {
			e = eta(r, b)
		}
		mean := r.Exposure * math.Exp(e)
		pull := float64(r.Count) - mean
		if first {
			pull += mean * e
		}
		for a, t := range r.Terms {
			right[t.Column] += t.Value * pull
			w := mean * t.Value
			for _, u := range r.Terms[a:] {
				lo, hi := min(t.Column, u.Column), max(t.Column, u.Column)
				h[lo*n+hi] += w * u.Value
			}
		}
	}
	for j, r := range m.ridge {
		h[j*n+j] += r
		if !first {
			right[j] -= r * b[j]
		}
	}
	return mat.NewSymDense(n, h), right
}

func solved(h *mat.SymDense, right, into []float64) error {
	var c mat.Cholesky
	if !c.Factorize(h) || c.Cond() > 1e14 {
		return fault.New(fault.Invalid, room, SeriesInvalid, "Two of the things that this looks at always come together, so they can not be told apart.")
	}
	x := mat.NewVecDense(len(into), into)
	if err := c.SolveVecTo(x, mat.NewVecDense(len(right), right)); err != nil {
		return fault.New(fault.Invalid, room, SeriesInvalid, "The fit did not come to an end.").Because(err)
	}
	return nil
}

// summed works out means, errors, deviance and Pearson's sum.
func (m model) summed(f Fitted) (Fitted, error) {
	for i := range m.rows {
		r := &m.rows[i]
		mean := r.Exposure * math.Exp(eta(r, f.Coefficients))
		f.Means[i] = mean
		o := float64(r.Count)
		f.Deviance -= 2 * (o - mean)
		if o > 0 {
			f.Deviance += 2 * o * math.Log(o/mean)
		}
		f.Pearson += (o - mean) * (o - mean) / mean
	}
	h, _ := m.normal(f.Coefficients, nil, false)
	n := len(m.ridge)
	var c mat.Cholesky
	if !c.Factorize(h) {
		return Fitted{}, fault.New(fault.Invalid, room, SeriesInvalid, "Two of the things that this looks at always come together, so they can not be told apart.")
	}
	var inverse mat.SymDense
	if err := c.InverseTo(&inverse); err != nil {
		return Fitted{}, fault.New(fault.Invalid, room, SeriesInvalid, "The fit has no errors.").Because(err)
	}
	information := mat.NewDense(n, n, nil)
	information.Copy(h)
	for j, r := range m.ridge {
		information.Set(j, j, information.At(j, j)-r)
	}
	f.covariance = mat.NewDense(n, n, nil)
	f.covariance.Product(&inverse, information, &inverse)
	f.Errors = make([]float64, n)
	for j := range n {
		f.Errors[j] = math.Sqrt(math.Max(0, f.covariance.At(j, j)))
	}
	return f, nil
}

// contrast is Σ weight · coefficient and its standard error.
func (f Fitted) contrast(weights map[int]float64) (value, se float64) {
	for a, u := range weights {
		value += u * f.Coefficients[a]
		for b, v := range weights {
			se += u * v * f.covariance.At(a, b)
		}
	}
	return value, math.Sqrt(math.Max(0, se))
}
