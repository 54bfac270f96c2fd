package compare

import (
	"math"
	"testing"
)

const (
	newcombeA = "Newcombe 1998, Stat Med 17:857, Table I"
	newcombeB = "Newcombe 1998, Stat Med 17:873, Table II, method 10"
	rBinom    = "R package binom, printed in statsmodels results_proportion.py"
	phe       = "PHEindicatormethods 2.1.1, testdata_Byars_Wilson.xlsx and testdata_Proportion.xlsx"
	fagerland = "Fagerland, Lydersen, Laake, Statistical Analysis of Contingency Tables, chapter 2, as tested in contingencytables"
	decimals  = "computed with 60 decimal digits, statistics.md reference_high_precision.csv"
)

func TestProportions_agreeWithPublishedTables(t *testing.T) {
	wilson := func(x, n int64, level float64) Interval { return Wilson(float64(x), float64(n), level) }
	corrected := func(x, n int64, level float64) Interval { return WilsonCorrected(float64(x), float64(n), level) }
	for _, row := range []struct {
		name      string
		interval  func(x, n int64, level float64) Interval
		x, n      int64
		level     float64
		low, high float64
		tolerance float64
		source    string
	}{
		{"score", wilson, 81, 263, .95, .2553, .3662, 5e-5, newcombeA},
		{"score", wilson, 15, 148, .95, .0624, .1605, 5e-5, newcombeA},
		{"score", wilson, 0, 20, .95, 0, .1611, 5e-5, newcombeA},
		{"score", wilson, 1, 29, .95, .0061, .1718, 5e-5, newcombeA},
		{"score corrected", corrected, 15, 148, .95, .0598, .1644, 5e-5, newcombeA},
		{"score corrected", corrected, 0, 20, .95, 0, .2005, 5e-5, newcombeA},
		{"score corrected", corrected, 1, 29, .95, .0018, .1963, 5e-5, newcombeA},
		{"score corrected", corrected, 81, 263, .95, .2535, .3682, 5e-5, newcombeA + " (from memory)"},
		{"exact", ClopperPearson, 15, 148, .95, .0578, .1617, 5e-5, newcombeA},
		{"exact", ClopperPearson, 0, 20, .95, 0, .1684, 5e-5, newcombeA},
		{"exact", ClopperPearson, 1, 29, .95, .0009, .1776, 5e-5, newcombeA},
		{"exact", ClopperPearson, 81, 263, .95, .2527, .3676, 5e-5, newcombeA + " (from memory)"},
		{"mid-p", MidP, 15, 148, .95, .0601, .1581, 5e-5, newcombeA},
		{"mid-p", MidP, 0, 20, .95, 0, .1391, 5e-5, newcombeA},
		{"mid-p", MidP, 1, 29, .95, .0017, .1585, 5e-5, newcombeA},
		{"mid-p", MidP, 81, 263, .95, .2544, .3658, 5e-5, newcombeA + " (from memory)"},
		{"exact", ClopperPearson, 13, 16, .95, .5435, .9595, 5e-5, fagerland},
		{"mid-p", MidP, 13, 16, .95, .5699, .9500, 5e-5, fagerland},
		{"exact", ClopperPearson, 0, 1, .95, 0, .9750, 5e-5, fagerland},
		{"exact", ClopperPearson, 1, 1, .95, .0250, 1, 5e-5, fagerland},
		{"mid-p", MidP, 0, 9, .95, 0, .2831, 5e-5, fagerland},
		{"exact", ClopperPearson, 18, 20, .95, 0.6830172859809176, 0.9876514728297052, 1e-12, rBinom},
		{"score", wilson, 18, 20, .95, 0.6989663547715128, 0.972133518786232, 1e-12, rBinom},
		{"exact", ClopperPearson, 4, 20, .95, 0.05733399705003284, 0.436614002996668, 1e-12, rBinom},
		{"score", wilson, 4, 20, .95, 0.0806576625797981, 0.4160174322518935, 1e-12, rBinom},
		{"exact", ClopperPearson, 4, 200, .95, 0.005475565879556443, 0.05041360908989634, 1e-12, rBinom},
		{"score", wilson, 4, 200, .95, 0.00780442641634947, 0.05028708690582643, 1e-12, rBinom},
		{"exact", ClopperPearson, 190, 200, .95, 0.9099724622986486, 0.975765834527891, 1e-12, rBinom},
		{"score", wilson, 190, 200, .95, 0.910421851861224, 0.972617354399236, 1e-12, rBinom},
		{"exact", ClopperPearson, 1, 30, .95, 0.0008435709, 0.17216946, 5e-9, rBinom},
		{"exact", ClopperPearson, 29, 30, .95, 0.8278305, 0.9991564, 5e-8, rBinom},
		{"exact", ClopperPearson, 0, 30, .95, 0, 0.11570331, 5e-9, rBinom},
		{"exact", ClopperPearson, 30, 30, .95, 0.8842967, 1, 5e-8, rBinom},
		{"score", wilson, 0, 30, .95, 0, 0.11351339, 5e-9, rBinom},
		{"score", wilson, 30, 30, .95, 0.8864866, 1, 5e-8, rBinom},
		{"score", wilson, 65, 100, .998, 0.49549465740704313, 0.77835406140896968, 1e-12, phe},
		{"score", wilson, 1045, 5000, .95, 0.19795549880013297, 0.22049130373189027, 1e-12, phe},
		{"score", wilson, 9856, 12345, .998, 0.7869924108419063, 0.80930614125896261, 1e-12, phe},
		{"score", wilson, 7776456, 7564336677, .95, 1.0273201001641094e-3, 1.0287644578977231e-3, 1e-15, phe},
		{"score", wilson, 7776456, 7564336677, .998, 1.0269040118442213e-3, 1.0291812992698397e-3, 1e-15, phe},
		{"exact", ClopperPearson, 81, 263, .998, 0.2239376078898622, 0.4019823196266235, 1e-12, decimals},
		{"exact", ClopperPearson, 15, 148, .998, 0.04028444503410537, 0.1996570373429188, 1e-12, decimals},
	} {
		sourced(t, row.source)
		got := row.interval(row.x, row.n, row.level)
		near(t, row.name+" low", got.Low, row.low, row.tolerance)
		near(t, row.name+" high", got.High, row.high, row.tolerance)
	}
	near(t, "fractional successes", Wilson(0.445, 1, .95).Low, 4.3817447720588223e-2, 1e-14) // phe
}

func TestNewcombeDifference_agreesWithPublishedTables(t *testing.T) {
	for _, row := range []struct {
		x1, n1, x2, n2       int64
		low, high, tolerance float64
		source               string
	}{
		{56, 70, 48, 80, .0524, .3339, 5e-5, newcombeB},
		{9, 10, 3, 10, .1705, .8090, 5e-5, newcombeB},
		{6, 7, 2, 7, .0582, .8062, 5e-5, newcombeB},
		{5, 56, 0, 29, -.0381, .1926, 5e-5, newcombeB},
		{0, 10, 0, 20, -.1611, .2775, 5e-5, newcombeB},
		{10, 10, 0, 20, .6791, 1, 5e-5, newcombeB},
		{0, 10, 0, 10, -.2775, .2775, 5e-5, newcombeB + " (from memory)"},
		{10, 10, 0, 10, .6075, 1, 5e-5, newcombeB + " (from memory)"},
		{7, 34, 1, 34, .019, .34, 5e-3, "Fagerland and others 2015, as quoted in statsmodels test_proportion.py"},
	} {
		sourced(t, row.source)
		got := NewcombeDifference(row.x1, row.n1, row.x2, row.n2, .95)
		near(t, "low", got.Low, row.low, row.tolerance)
		near(t, "high", got.High, row.high, row.tolerance)
	}
}

func TestZ_agreesWithTheTable(t *testing.T) {
	for _, row := range []struct {
		p, z   float64
		source string
	}{
		{.90, 1.2815515655446, decimals}, {.95, 1.644853626951473, decimals}, {.975, 1.959963984540054, decimals}, {.99, 2.326347874040841, decimals},
		{.995, 2.575829303548901, decimals}, {.999, 3.090232306167814, decimals}, {.9995, 3.290526731491895, decimals},
	} {
		sourced(t, row.source)
		near(t, "z", Z(2*row.p-1), row.z, 1e-12)
		near(t, "tail of z", normalTail(row.z), 1-row.p, 1e-15)
	}
	if Z(0) != Z(.95) || Z(math.NaN()) != Z(.95) || Z(1) != Z(.95) {
		t.Error("a level that is none must be taken as 0.95")
	}
}

// The coverage of an interval is not simulated but added up over every outcome.
func TestIntervals_coverWhatTheyPromise(t *testing.T) {
	for _, n := range []int64{20, 60, 200} {
		var scores, exacts, midPs []Interval
		for x := range n + 1 {
			scores = append(scores, Wilson(float64(x), float64(n), .95))
			exacts = append(exacts, ClopperPearson(x, n, .95))
			midPs = append(midPs, MidP(x, n, .95))
		}
		var wilson, exact, midP float64
		const ps = 99
		for i := 1; i <= ps; i++ {
			p := float64(i) / (ps + 1)
			var w, e, m float64
			for x := range n + 1 {
				chance := atLeast(x, n, p) - atLeast(x+1, n, p)
				if scores[x].Holds(p) {
					w += chance
				}
				if exacts[x].Holds(p) {
					e += chance
				}
				if midPs[x].Holds(p) {
					m += chance
				}
			}
			if e < .95-1e-9 {
				t.Errorf("the exact interval of n = %d covers %.4f only at p = %.2f", n, e, p)
			}
			wilson, exact, midP = wilson+w/ps, exact+e/ps, midP+m/ps
		}
		if math.Abs(wilson-.95) > .01 || exact < .95 || math.Abs(midP-.95) > .015 {
			t.Errorf("n = %d: mean coverage of score %.4f, exact %.4f, mid-p %.4f", n, wilson, exact, midP)
		}
	}
}

func TestClopperPearson_meetsWhatItHandsOverTo(t *testing.T) {
	const n = manyTrials - 1
	for _, x := range []int64{0, 3, rare - 1, rare, n / 100, n / 2, n - rare, n - 3, n} {
		exact, many := ClopperPearson(x, n, .95), ofMany(x, n, .95)
		width := exact.High - exact.Low
		near(t, "low", many.Low, exact.Low, .01*width)
		near(t, "high", many.High, exact.High, .01*width)
	}
}

func TestProportions_sayNothingOfTheImpossible(t *testing.T) {
	for _, i := range []Interval{Wilson(3, 2, .95), Wilson(math.NaN(), 2, .95), WilsonCorrected(1, 0, .95), ClopperPearson(-1, 5, .95), MidP(1, 0, .95)} {
		if i != (Interval{0, 1}) {
			t.Errorf("got %v", i)
		}
	}
	if got := NewcombeDifference(1, 0, 1, 2, .95); got != (Interval{-1, 1}) {
		t.Errorf("got %v", got)
	}
}

func TestPublishedProportions_highPrecision(t *testing.T) {
	for _, row := range published(t, "reference_high_precision.csv") {
		level := row["level"]
		switch row["kind"] {
		case "clopper_pearson":
			got := ClopperPearson(count(t, row["arg1"]), count(t, row["arg2"]), number(t, level))
			near(t, "exact low", got.Low, number(t, row["lower"]), 1e-12)
			near(t, "exact high", got.High, number(t, row["upper"]), 1e-12)
		case "wilson":
			got := Wilson(number(t, row["arg1"]), number(t, row["arg2"]), number(t, level))
			near(t, "score low", got.Low, number(t, row["lower"]), 1e-13)
			near(t, "score high", got.High, number(t, row["upper"]), 1e-13)
		case "garwood":
			got := Garwood(count(t, row["arg1"]), number(t, level))
			alike(t, "count low", got.Low, number(t, row["lower"]), 1e-12)
			alike(t, "count high", got.High, number(t, row["upper"]), 1e-12)
		}
	}
}
