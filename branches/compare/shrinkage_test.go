package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Clayton and Kaldor 1987, Biometrics 43:671: lip cancer in 56 counties of Scotland; expected counts as printed, to one decimal.
var (
	lipObserved = []int64{9, 39, 11, 9, 15, 8, 26, 7, 6, 20, 13, 5, 3, 8, 17, 9, 2, 7, 9, 7, 16, 31, 11, 7, 19, 15, 7, 10, 16, 11, 5, 3, 7, 8, 11, 9, 11, 8, 6, 4, 10, 8, 2, 6, 19, 3, 2, 3, 28, 6, 1, 1, 1, 1, 0, 0}
	lipExpected = []float64{1.4, 8.7, 3.0, 2.5, 4.3, 2.4, 8.1, 2.3, 2.0, 6.6, 4.4, 1.8, 1.1, 3.3, 7.8, 4.6, 1.1, 4.2, 5.5, 4.4, 10.5, 22.7, 8.8, 5.6, 15.5, 12.5, 6.0, 9.0, 14.4, 10.2, 4.8, 2.9, 7.0, 8.5, 12.3, 10.1, 12.7, 9.4, 7.2, 5.3, 18.8, 15.8, 4.3, 14.6, 50.7, 8.2, 5.6, 9.3, 88.7, 19.6, 3.4, 3.6, 5.7, 7.0, 4.2, 1.8}
)

func TestGammaSpread_lipCancer(t *testing.T) {
	s := GammaSpread(lipObserved, lipExpected)
	for _, row := range []struct {
		name      string
		got, want float64
		within    float64
		source    string
	}{
		{"shape", s.Shape, 1.879490, 1e-5, "data: Clayton and Kaldor 1987; R glm.nb theta 1.879 (from memory); digits from a second implementation, statistics.md section 5"},
		{"rate", s.Rate, 1.321667, 1e-5, "the same"},
		{"mean", s.Mean, 1.422060, 1e-5, "the same"},
	} {
		sourced(t, row.source)
		near(t, row.name, row.got, row.want, row.within)
	}
	skye, _ := s.Shrunk(lipObserved[0], lipExpected[0], .95)
	banff, limits := s.Shrunk(lipObserved[1], lipExpected[1], .95)
	annandale, _ := s.Shrunk(0, 1.8, .95)
	near(t, "Skye-Lochalsh", skye, 3.997362, 1e-5)
	near(t, "Banff-Buchan", banff, 4.079111, 1e-5)
	near(t, "Annandale", annandale, .602079, 1e-5)
	if banff <= skye {
		t.Error("the county with more cases must overtake the one with the higher raw ratio")
	}
	if !limits.Holds(banff) || limits.Low < 2.5 || limits.High > 6 {
		t.Errorf("posterior limits %v", limits)
	}
}

func TestPublishedShrinkage_all56Counties(t *testing.T) {
	s := GammaSpread(lipObserved, lipExpected)
	for i, row := range published(t, "scotland_lip_cancer_eb_measured.csv") {
		got, _ := s.Shrunk(lipObserved[i], lipExpected[i], .95)
		near(t, row["county"], got, number(t, row["eb_ml"]), 1e-5)
	}
}

func TestGammaSpread_ofCountingAloneIsCommon(t *testing.T) {
	observed, expected := make([]int64, 40), make([]float64, 40)
	for i := range observed {
		observed[i], expected[i] = 20, 20
	}
	s := GammaSpread(observed, expected)
	if got, limits := s.Shrunk(20, 20, .95); !s.Common || got != 1 || limits != (Interval{1, 1}) {
		t.Errorf("got %+v, %g", s, got)
	}
	if none := GammaSpread([]int64{0, 0}, []float64{3, 4}); !none.Common || none.Mean != 0 {
		t.Errorf("nothing observed: got %+v", none)
	}
}

func TestGammaSpread_findsTheSpreadItWasMadeWith(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 2))
	const shape, rate = 9, 9
	n := 4000
	observed, expected := make([]int64, n), make([]float64, n)
	covered := 0
	truth := make([]float64, n)
	for i := range observed {
		truth[i] = distuv.Gamma{Alpha: shape, Beta: rate, Src: dice}.Rand()
		expected[i] = 5 + 60*dice.Float64()
		observed[i] = int64(distuv.Poisson{Lambda: truth[i] * expected[i], Src: dice}.Rand())
	}
	s := GammaSpread(observed, expected)
	near(t, "shape", s.Shape, shape, .8)
	near(t, "mean", s.Mean, 1, .02)
	for i := range observed {
		if _, limits := s.Shrunk(observed[i], expected[i], .95); limits.Holds(truth[i]) {
			covered++
		}
	}
	// Four standard errors of a proportion of .95 in 4000.
	near(t, "coverage of the posterior limits", float64(covered)/float64(n), .95, 4*math.Sqrt(.95*.05/float64(n)))
}

func TestBenjaminiHochberg_agreesWithPublishedValues(t *testing.T) {
	p := []float64{.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1}
	for _, row := range []struct {
		p, want []float64
		source  string
	}{
		{p, []float64{.0015, .003, .0095, .035625, .0603, .06385714, .06385714, .0645, .0765, .486, .58118182, .714875, .75323077, .81321429, 1},
			"Benjamini and Hochberg 1995, JRSS B 57:289; adjusted values as printed in scipy, false_discovery_control"},
		{[]float64{.5, .6, .1, .001}, []float64{.6, .6, .2, .004}, "scipy, false_discovery_control"},
	} {
		sourced(t, row.source)
		rejected := 0
		for i, got := range BenjaminiHochberg(row.p) {
			near(t, "adjusted", got, row.want[i], 5e-9)
			if got <= .05 {
				rejected++
			}
		}
		if len(row.p) == 15 && rejected != 4 {
			t.Errorf("%d rejected, want 4", rejected)
		}
	}
	if got := BenjaminiHochberg([]float64{math.NaN(), .01}); got[0] != 1 || got[1] != .02 {
		t.Errorf("a p-value that is no number must make no finding: %v", got)
	}
}
