package cut

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenpeel/recipes/units"
)

// Longley's data: employment, then price deflator, product, unemployed, armed forces, population, year.
var longley = [][]float64{
	{60323, 83.0, 234289, 2356, 1590, 107608, 1947}, {61122, 88.5, 259426, 2325, 1456, 108632, 1948}, {60171, 88.2, 258054, 3682, 1616, 109773, 1949},
	{61187, 89.5, 284599, 3351, 1650, 110929, 1950}, {63221, 96.2, 328975, 2099, 3099, 112075, 1951}, {63639, 98.1, 346999, 1932, 3594, 113270, 1952},
	{64989, 99.0, 365385, 1870, 3547, 115094, 1953}, {63761, 100.0, 363112, 3578, 3350, 116219, 1954}, {66019, 101.2, 397469, 2904, 3048, 117388, 1955},
	{67857, 104.6, 419180, 2822, 2857, 118734, 1956}, {68169, 108.4, 442769, 2936, 2798, 120445, 1957}, {66513, 110.8, 444546, 4681, 2637, 121950, 1958},
	{68655, 112.6, 482704, 3813, 2552, 123366, 1959}, {69564, 114.2, 502601, 3931, 2514, 125368, 1960}, {69331, 115.7, 518173, 4806, 2572, 127852, 1961},
	{70551, 116.9, 554894, 4007, 2827, 130081, 1962},
}

func TestLeastSquares_published(t *testing.T) {
	var rows, through [][]float64
	var wanted, response []float64
	for _, r := range longley {
		rows, wanted = append(rows, append([]float64{1}, r[1:]...)), append(wanted, r[0])
	}
	for i := range 11 { // NoInt1: y 130 … 140 on x 60 … 70, without an intercept
		through, response = append(through, []float64{60 + float64(i)}), append(response, 130+float64(i))
	}
	for _, row := range []struct {
		rows           [][]float64
		wanted, want   []float64
		deviation, tol float64
		source         string
	}{
		{rows, wanted, []float64{-3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359, -0.0511041056535807, 1829.15146461355}, 304.854073561965, 1e-7, "NIST StRD, linear regression, Longley, certified values"},
		{through, response, []float64{2.07438016528926}, 3.56753034006338, 1e-12, "NIST StRD, linear regression, NoInt1, certified values"},
	} {
		sourced(t, row.source)
		x, ok := leastSquares(row.rows, row.wanted)
		if !ok {
			t.Fatalf("no solution (%s)", row.source)
		}
		for k, want := range row.want {
			if math.Abs(x[k]-want) > row.tol*math.Abs(want) {
				t.Errorf("coefficient %d is %.12g, want %.12g (%s)", k, x[k], want, row.source)
			}
		}
		if got := math.Sqrt(squares(row.rows, row.wanted, x) / float64(len(row.rows)-len(x))); math.Abs(got/row.deviation-1) > 1e-8 {
			t.Errorf("residual deviation %.12g, want %.12g (%s)", got, row.deviation, row.source)
		}
	}
	if _, ok := leastSquares([][]float64{{1, 2}, {2, 4}, {3, 6}}, []float64{1, 2, 3}); ok {
		t.Error("columns that say the same were taken")
	}
}

func TestNonNegative_published(t *testing.T) {
	a := [][]float64{{1, 0}, {1, 0}, {0, 1}}
	for _, row := range []struct {
		wanted, want []float64
		norm         float64
		source       string
	}{
		{[]float64{2, 1, 1}, []float64{1.5, 1}, 0.7071067811865475, "SciPy reference, optimize.nnls, first example, from memory"},
		{[]float64{-1, -1, -1}, []float64{0, 0}, 1.7320508075688772, "SciPy reference, optimize.nnls, second example, from memory"},
	} {
		sourced(t, row.source)
		x := nonNegative(a, row.wanted)
		if !near(x[0], row.want[0], 1e-12) || !near(x[1], row.want[1], 1e-12) || !near(math.Sqrt(squares(a, row.wanted, x)), row.norm, 1e-12) {
			t.Errorf("got %v, want %v (%s)", x, row.want, row.source)
		}
	}
	// The conditions of Kuhn and Tucker: no slope leads down from x, neither within nor along a part held at 0.
	r := rand.New(rand.NewPCG(51, 52))
	for range 50 {
		rows, wanted := make([][]float64, 12), make([]float64, 12)
		for i := range rows {
			rows[i] = []float64{r.Float64(), r.Float64(), r.Float64(), r.Float64()}
			wanted[i] = r.NormFloat64()
		}
		x := nonNegative(rows, wanted)
		for k := range x {
			slope := 0.0
			for i, row := range rows {
				miss := -wanted[i]
				for j, v := range row {
					miss += v * x[j]
				}
				slope += miss * row[k]
			}
			if x[k] < 0 || slope < -1e-9 || x[k] > 0 && slope > 1e-9 {
				t.Fatalf("part %d is %g with slope %g", k, x[k], slope)
			}
		}
	}
}

func TestCounted(t *testing.T) {
	d := read(t, `<path fill-rule="evenodd" d="M0 0H30V30H0Z M5 5H25V25H5Z M10 10H20V20H10Z M14 14h1v1h-1z"/><rect x="50" width="1" height="1"/>`)
	if got, want := Counted(d, 4), (Tally{Pieces: 3, Holes: 2, Islands: 1, Tiny: 1, Perimeter: 120 + 80 + 40 + 4 + 4}); got.Pieces != want.Pieces || got.Holes != want.Holes || got.Islands != want.Islands || got.Tiny != want.Tiny || !near(got.Perimeter, want.Perimeter, 1e-6) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	one := Counted(d, 4)
	if one.Times(3) != one.Plus(one).Plus(one) {
		t.Errorf("three copies are %+v", one.Times(3))
	}
}

// The reference is a model of our own that made the observations: it must be found again through noise, and few
// observations must not lead far from what is usual.
func TestFitWeeding_findsTheModelAgain(t *testing.T) {
	truth := WeedingModel{Piece: 3100, Hole: 2500, Island: 4000, Metre: 16_000}
	made := func(n int, noise float64) []WeedingObservation {
		r := rand.New(rand.NewPCG(61, 62))
		list := make([]WeedingObservation, n)
		for i := range list {
			tally := Tally{Pieces: 10 + r.IntN(300), Holes: r.IntN(150), Perimeter: 500 + r.Float64()*60_000}
			tally.Islands = r.IntN(tally.Pieces / 2)
			list[i] = WeedingObservation{tally, units.Milliseconds(float64(truth.Time(tally)) * (1 + noise*(2*r.Float64()-1)))}
		}
		return list
	}
	part := func(got, want units.Milliseconds) float64 { return math.Abs(float64(got)/float64(want) - 1) }
	for _, row := range []struct {
		n          int
		noise, tol float64
	}{{60, 0, 0.12}, {600, 0.3, 0.15}} {
		m, err := FitWeeding(made(row.n, row.noise))
		if err != nil || m.Observations != row.n || part(m.Piece, truth.Piece) > row.tol || part(m.Hole, truth.Hole) > row.tol || part(m.Island, truth.Island) > row.tol || part(m.Metre, truth.Metre) > row.tol {
			t.Errorf("%d observations: %+v, %v; want %+v", row.n, m, err, truth)
		}
		if want := row.noise / math.Sqrt(3); !near(m.Spread, want, 0.05) { // of an even spread
			t.Errorf("%d observations: spread %g, want %g", row.n, m.Spread, want)
		}
	}
	only := make([]WeedingObservation, 8) // nothing but pieces: the other parts stay as usual
	for i := range only {
		only[i] = WeedingObservation{Tally{Pieces: 10 + i}, units.Milliseconds(8000 * (10 + i))}
	}
	m, err := FitWeeding(only)
	if err != nil || m.Hole != UsualWeeding.Hole || m.Metre != UsualWeeding.Metre || part(m.Piece, 8000) > 0.1 {
		t.Errorf("pieces only: %+v, %v", m, err)
	}
	for name, bad := range map[string][]WeedingObservation{"few": only[:3], "no time": append([]WeedingObservation{{Tally{Pieces: 1}, 0}}, only...), "no pieces": append([]WeedingObservation{{Tally{}, 1000}}, only...), "not a number": append([]WeedingObservation{{Tally{Pieces: 1, Perimeter: math.NaN()}, 1000}}, only...)} {
		if _, err := FitWeeding(bad); !hasReason(err, OptionsInvalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
