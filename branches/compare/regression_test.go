package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenpeel/recipes/fault"
)

// one is a row of a plain count.
func one(count int64, values ...float64) Counted {
	r := Counted{Count: count, Exposure: 1}
	for j, v := range values {
		if v != 0 {
			r.Terms = append(r.Terms, Term{j, v})
		}
	}
	return r
}

// grouped codes a factor against its first level.
func grouped(counts [][]int64) (rows []Counted) {
	for level, list := range counts {
		for _, c := range list {
			values := make([]float64, len(counts))
			values[0] = 1
			if level > 0 {
				values[level] = 1
			}
			rows = append(rows, one(c, values...))
		}
	}
	return rows
}

func TestPoissonRegression_publishedFits(t *testing.T) {
	var warp []Counted
	for i, c := range []int64{26, 30, 54, 25, 70, 52, 51, 26, 67, 18, 21, 29, 17, 12, 18, 35, 30, 36, 36, 21, 24, 18, 10, 43, 28, 15, 26,
		27, 14, 29, 19, 29, 31, 41, 20, 44, 42, 26, 19, 16, 39, 28, 21, 39, 29, 20, 21, 24, 17, 13, 15, 15, 16, 28} {
		b, m, h := 0.0, 0.0, 0.0
		if i >= 27 {
			b = 1
		}
		switch i / 9 % 3 {
		case 1:
			m = 1
		case 2:
			h = 1
		}
		warp = append(warp, one(c, 1, b, m, h))
	}
	var dobson []Counted
	for i, c := range []int64{18, 17, 15, 20, 10, 20, 25, 13, 12} {
		is := func(n, level int) float64 {
			if n == level {
				return 1
			}
			return 0
		}
		dobson = append(dobson, one(c, 1, is(i%3, 1), is(i%3, 2), is(i/3, 1), is(i/3, 2)))
	}
	var plant []Counted
	for _, r := range [][3]float64{{33.3, 25.3, 15}, {52.2, 14.4, 9}, {64.7, 32.5, 14}, {137.0, 20.5, 24}, {125.9, 97.6, 27}, {116.3, 53.6, 27}, {131.7, 56.6, 23}, {85.0, 87.3, 18}, {91.9, 47.8, 22}} {
		plant = append(plant, one(int64(r[2]), 1, r[0], r[1], r[0]*r[1]))
	}
	sprays := grouped([][]int64{
		{10, 7, 20, 14, 14, 12, 10, 23, 17, 20, 14, 13}, {11, 17, 21, 11, 16, 14, 17, 17, 19, 21, 7, 13}, {0, 1, 7, 2, 3, 1, 2, 1, 3, 0, 1, 4},
		{3, 5, 12, 6, 4, 3, 5, 5, 5, 5, 2, 4}, {3, 5, 3, 5, 3, 6, 1, 1, 3, 2, 6, 4}, {11, 9, 15, 22, 15, 16, 13, 10, 26, 26, 24, 13},
	})
	rows := []struct {
		name             string
		rows             []Counted
		coefficients, se []float64
		deviance         float64
		half             []float64 // half a unit of the last digit printed
		source           string
	}{
		{"insect sprays", sprays, []float64{2.67415, 0.05588, -1.94018, -1.08152, -1.42139, 0.13926}, []float64{0.07581, 0.10574, 0.21389, 0.15065, 0.17192, 0.10367}, 98.329,
			[]float64{5e-6, 5e-6, 5e-6, 5e-6, 5e-6, 5e-6}, "R 4 glm(count ~ spray, poisson, InsectSprays), printed in the lecture notes of merman.its.manchester.ac.uk/stats/lectures/13_glm"},
		{"failures in two modes", plant, []float64{2.105, 7.687e-3, 4.703e-3, -1.978e-5}, []float64{0.4481, 4.285e-3, 1.163e-2, 1.037e-4}, math.NaN(),
			[]float64{5e-4, 5e-7, 5e-7, 5e-9}, "R glm(Failures ~ Mode1 * Mode2, poisson) of R-bloggers 26 June 2011, Poisson regression; data of Jørgensen 1961"},
		{"warp breaks", warp, []float64{3.69196, -0.20599, -0.32132, -0.51849}, []float64{0.04541, 0.05157, 0.06027, 0.06396}, 210.39,
			[]float64{5e-6, 5e-6, 5e-6, 5e-6}, "from memory: R glm(breaks ~ wool + tension, poisson, warpbreaks)"},
		{"randomised trial", dobson, []float64{3.045, -0.4543, -0.2930, 0, 0}, []float64{0.1709, 0.2022, 0.1927, 0.2, 0.2}, 5.1291,
			[]float64{5e-4, 5e-5, 5e-5, 1e-9, 1e-9}, "from memory: Dobson 1990, An Introduction to Generalized Linear Models, p. 93, as printed by R ?glm"},
	}
	for _, row := range rows {
		sourced(t, row.source)
		f, err := PoissonRegression(row.rows, make([]float64, len(row.coefficients)))
		if err != nil {
			t.Fatal(row.name, err)
		}
		for j, want := range row.coefficients {
			near(t, row.name+" coefficient", f.Coefficients[j], want, row.half[j])
			near(t, row.name+" error", f.Errors[j], row.se[j], math.Max(row.half[j], row.se[j]*5e-4))
		}
		if !math.IsNaN(row.deviance) {
			near(t, row.name+" deviance", f.Deviance, row.deviance, 5e-3)
		}
	}
}

// The penalty, where the answer can be checked by itself.
func TestPoissonRegression_ridge(t *testing.T) {
	// With one column and a penalty the equation Σy − n·e^b = ridge·b can be checked by itself.
	rows := []Counted{one(4, 1), one(7, 1), one(1, 1)}
	for _, ridge := range []float64{0.01, 1, 20} {
		f, err := PoissonRegression(rows, []float64{ridge})
		if err != nil {
			t.Fatal(err)
		}
		b := f.Coefficients[0]
		near(t, "penalised score", 12-3*math.Exp(b), ridge*b, 1e-8)
		near(t, "its error", f.Errors[0], math.Sqrt(3*math.Exp(b))/(3*math.Exp(b)+ridge), 1e-9)
	}
	// A level on which nothing hangs has no finite coefficient; the penalty gives it one.
	f, err := PoissonRegression([]Counted{one(12, 1), one(9, 1), one(0, 1, 1)}, []float64{0, 1})
	if err != nil || f.Coefficients[1] > -1 || f.Coefficients[1] < -5 {
		t.Errorf("%v %+v", err, f.Coefficients)
	}
	// Exposure is an offset: ten times the exposure and the counts leave the rate.
	a, err := PoissonRegression([]Counted{{Count: 30, Exposure: 1000, Terms: []Term{{0, 1}}}}, []float64{0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "rate", math.Exp(a.Coefficients[0]), 0.03, 1e-12)
}

func TestPoissonRegression_refuses(t *testing.T) {
	for name, try := range map[string]struct {
		rows  []Counted
		ridge []float64
	}{
		"nothing":                     {nil, nil},
		"two columns always the same": {[]Counted{one(3, 1, 1), one(4, 1, 1)}, []float64{0, 0}},
		"no exposure":                 {[]Counted{{Count: 1, Terms: []Term{{0, 1}}}}, []float64{0}},
		"a column that is none":       {[]Counted{{Count: 1, Exposure: 1, Terms: []Term{{3, 1}}}}, []float64{0}},
		"a count below nothing":       {[]Counted{one(-1, 1)}, []float64{0}},
		"a penalty below nothing":     {[]Counted{one(1, 1)}, []float64{-1}},
	} {
		if _, err := PoissonRegression(try.rows, try.ridge); !fault.Is(err, fault.Invalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := PoissonRegression([]Counted{one(1, 1)}, make([]float64, maxColumns+1)); !fault.Is(err, fault.TooLarge) {
		t.Error("too many columns:", err)
	}
}

// Over many seeded samples the 95 % interval of a coefficient holds the true one 95 times in a hundred.
func TestPoissonRegression_coverage(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 1))
	const samples, truth = 1500, 0.4
	held := 0
	for range samples {
		var rows []Counted
		for i := range 60 {
			x := float64(i % 2)
			rows = append(rows, Counted{Count: drawn(dice, 40*0.05*math.Exp(truth*x)), Exposure: 40, Terms: []Term{{0, 1}, {1, x}}})
		}
		f, err := PoissonRegression(rows, []float64{0, 0})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(f.Coefficients[1]-truth) <= Z(Level95)*f.Errors[1] {
			held++
		}
	}
	within(t, "coverage", held, samples, 0.95)
}

// within fails where a share of seeded trials lies more than three standard errors from what it should be.
func within(t *testing.T, what string, found, of int, want float64) {
	t.Helper()
	near(t, what, float64(found)/float64(of), want, 3*math.Sqrt(want*(1-want)/float64(of)))
}

// drawn is a Poisson count, by multiplying chances.
func drawn(dice *rand.Rand, mean float64) (n int64) {
	for sum := dice.ExpFloat64(); sum < mean; sum += dice.ExpFloat64() {
		n++
	}
	return n
}
