package compare

import (
	"math"
	"testing"
)

const (
	pheByar  = "PHEindicatormethods 2.1.1, testdata_Byars_Wilson.xlsx"
	pheRate  = "PHEindicatormethods 2.1.1, testdata_Rate.xlsx"
	exactci  = "R package exactci, printed in statsmodels test_rates_poisson.py"
	graphpad = "graphpad.com FAQ, confidence interval of a count"
	epitools = "R package epitools, help of pois.exact"
)

func TestCounts_agreeWithPublishedTables(t *testing.T) {
	for _, row := range []struct {
		name      string
		interval  func(int64, float64) Interval
		observed  int64
		level     float64
		low, high float64
		relative  float64
		source    string
	}{
		{"exact", Garwood, 1, .95, 0.025317807984289897, 5.571643390938898, 1e-12, pheRate},
		{"exact", Garwood, 1, .998, 0.0010005003335835344, 9.2334134764515845, 1e-12, pheRate},
		{"exact", Garwood, 5, .95, 1.62348639011842, 11.668332079322669, 1e-12, pheRate},
		{"exact", Garwood, 5, .998, 0.739371731917839, 16.454745203680105, 1e-12, pheRate},
		{"exact", Garwood, 15, .95, 400 * 0.0209884653319583, 400 * 0.0618505471787146, 1e-12, exactci},
		{"exact", Garwood, 25, .90, 17.38, 34.92, 3e-4, graphpad},
		{"exact", Garwood, 25, .95, 16.18, 36.90, 3e-4, graphpad},
		{"exact", Garwood, 25, .99, 14.00, 41.00, 4e-4, graphpad},
		{"exact", Garwood, 0, .95, 0, 3.689, 2e-4, epitools},
		{"exact, one side", Garwood, 0, .90, 0, 2.996, 2e-4, epitools},
		{"Byar", Byar, 65, .95, 50.163187710459454, 82.849138545939837, 1e-12, pheByar},
		{"Byar", Byar, 65, .998, 42.880261471480203, 94.000290844318016, 1e-12, pheByar},
		{"Byar", Byar, 1045, .95, 982.59320180733255, 1110.3312129856499, 1e-12, pheByar},
		{"Byar", Byar, 1045, .998, 947.94070356103737, 1148.8061609880331, 1e-12, pheByar},
		{"Byar", Byar, 10, .998, 2.916318374695686, 24.193724927880535, 1e-12, pheByar},
		{"Byar", Byar, 1, .95, 0.013072132901504351, 5.5637555824752605, 1e-12, pheByar},
		{"Byar", Byar, 7776456, .95, 7564336677 * 0.10273195973e-2, 7564336677 * 0.10287648334092832e-2, 1e-8, pheRate},
		{"mid-p", MidPCount, 4, .95, .3851 * 3.3, 2.9238 * 3.3, 5e-4, "OpenEpi and epiR, 4 observed of 3.3 expected: 0.38 to 2.9"},
	} {
		sourced(t, row.source)
		got := row.interval(row.observed, row.level)
		alike(t, row.name+" low", got.Low, row.low, row.relative)
		alike(t, row.name+" high", got.High, row.high, row.relative)
	}
}

func TestByar_isNotTheOtherFormulaOfThatName(t *testing.T) {
	// 15 events in 400 by the formula with count + ½ in both limits, as printed by R DescTools.
	got := Byar(15, .95)
	if math.Abs(got.Low/400-0.0219084369245707) < 1e-4 || math.Abs(got.High/400-0.0602933510943048) < 1e-4 {
		t.Errorf("got %v", got)
	}
}

func TestPoissonP_agreesWithPublishedValues(t *testing.T) {
	for _, row := range []struct {
		name   string
		got    float64
		want   float64
		within float64
		source string
	}{
		{"15 of 20", PoissonP(15, 20), 0.313026269279486, 1e-13, exactci},
		{"4 of 3.3", PoissonMidP(4, 3.3), 0.6571, 5e-5, "OpenEpi help, standardised mortality ratio, mid-P"},
		{"none of 3.6889", PoissonP(0, 3.688879454113936), 0.05, 1e-14, decimals},
	} {
		sourced(t, row.source)
		near(t, row.name, row.got, row.want, row.within)
	}
	if p := PoissonP(100, 20); p > 1e-30 || p <= 0 {
		t.Errorf("a tail far out must keep its digits, got %g", p)
	}
	if PoissonP(0, 0) != 1 || PoissonP(1, 0) != 0 || PoissonP(3, math.NaN()) != 0 {
		t.Error("wrong at an expectation of nothing")
	}
}

func TestRatios_agreeWithWorkedExamples(t *testing.T) {
	for _, row := range []struct {
		observed                   int64
		expected                   float64
		ratio, low, high, tolerate float64
		source                     string
	}{
		{67, 13.8, 4.9, 3.8, 6.2, .05, "Armitage, Berry and Matthews, Statistical Methods in Medical Research, 4th ed., section 19"},
		{4, 3.3, 1.212, .3303, 3.1035, 5e-4, "OpenEpi help (ratio); limits computed twice, statistics.md section 3"},
		{9, 835.88356123117433, 0.010767049882813684, 0.0049233808250957762, 0.02043921455549973, 1e-14, "PHEindicatormethods 2.1.1, testdata_DSR_ISR.xlsx (exact below 10)"},
	} {
		sourced(t, row.source)
		got := over(Garwood(row.observed, .95), row.expected)
		near(t, "ratio", float64(row.observed)/row.expected, row.ratio, row.tolerate)
		near(t, "low", got.Low, row.low, row.tolerate)
		near(t, "high", got.High, row.high, row.tolerate)
	}
}

func TestGarwood_meetsByarWhereItHandsOver(t *testing.T) {
	for _, level := range []float64{.95, .998} {
		exact, approximate := garwood(manyEvents-1, tailOf(level)), byar(manyEvents-1, Z(level))
		alike(t, "low", exact.Low, approximate.Low, 1e-8)
		alike(t, "high", exact.High, approximate.High, 1e-8)
	}
}

func TestGarwood_inverts(t *testing.T) {
	for _, o := range []int64{1, 3, 40, 999, 123_456, 5_000_000} {
		for _, tail := range []float64{.025, .001, 1e-9, 1e-40} {
			if o < 40 && tail < 1e-9 {
				continue // the limit itself is then next to nothing
			}
			i := garwood(o, tail)
			more, _ := poissonTails(o, i.Low)
			_, less := poissonTails(o, i.High)
			alike(t, "lower tail", more, tail, 1e-9)
			alike(t, "upper tail", less, tail, 1e-9)
		}
	}
}

func TestGarwood_coversWhatItPromises(t *testing.T) {
	for _, mean := range []float64{.3, 1, 2.5, 7, 20, 61.5} {
		for _, level := range []float64{Level95, Level998} {
			var covered, chanceSum float64
			for o := range int64(200) {
				more, less := poissonTails(o, mean)
				chance := more + less - 1
				chanceSum += chance
				if Garwood(o, level).Holds(mean) {
					covered += chance
				}
			}
			if covered < level-1e-9 {
				t.Errorf("mean %g: covers %.5f, promised %g", mean, covered, level)
			}
			near(t, "all outcomes", chanceSum, 1, 1e-9)
		}
	}
}

func TestExpectedNeeded_isEnoughAndNotMuchMore(t *testing.T) {
	for _, ratio := range []float64{1.2, 1.5, 2, 3} {
		e := expectedNeeded(ratio, .8, .025)
		power := func(e float64) float64 {
			c := int64(0)
			for more, _ := poissonTails(c, e); more > .025; more, _ = poissonTails(c, e) {
				c++
			}
			found, _ := poissonTails(c, ratio*e)
			return found
		}
		for k := range 200 {
			if p := power(e * (1.0001 + float64(k)/50)); p < .8-1e-9 {
				t.Fatalf("ratio %g: at %g the power is %.4f only", ratio, e*(1.0001+float64(k)/50), p)
			}
		}
		if p := power(e * .9); p > .84 {
			t.Errorf("ratio %g: nine tenths of %g have power %.4f already", ratio, e, p)
		}
		// The usual normal approximation: (1.96 + 0.84·√R)²/(R − 1)².
		rough := math.Pow(1.96+.8416*math.Sqrt(ratio), 2) / math.Pow(ratio-1, 2)
		if e < .8*rough || e > 1.8*rough {
			t.Errorf("ratio %g: %g events, roughly %g", ratio, e, rough)
		}
	}
}

func TestPublishedRates_phe(t *testing.T) {
	for _, row := range published(t, "phe_rates_expected.csv") {
		limits := Byar
		if row["method"] == "Exact" {
			limits = Garwood
		}
		scale := number(t, row["multiplier"]) / number(t, row["person_time"])
		for _, l := range []struct {
			level     float64
			low, high string
		}{{Level95, "lower95", "upper95"}, {Level998, "lower998", "upper998"}} {
			got := limits(count(t, row["x"]), l.level)
			alike(t, row["area"]+" low", got.Low*scale, number(t, row[l.low]), 1e-12)
			alike(t, row["area"]+" high", got.High*scale, number(t, row[l.high]), 1e-12)
		}
	}
}

// The exact need is that of the textbook's normal approximation and a little more, for the sawtooth of whole counts.
func TestExpectedNeeded_published(t *testing.T) {
	const source = "Breslow and Day 1987, volume II, section 7.2: E = ((z_α + z_β·√R)/(R − 1))²; from memory"
	sourced(t, source)
	for _, ratio := range []float64{1.2, 1.3, 1.5, 2} {
		for _, power := range []float64{0.8, 0.9} {
			root := (Z(Level95) + scoreOf(1-power)*math.Sqrt(ratio)) / (ratio - 1)
			if got := expectedNeeded(ratio, power, tailOf(Level95)) / (root * root); got < 0.95 || got > 1.45 {
				t.Errorf("ratio %v, power %v: %.3f of the approximation", ratio, power, got)
			}
		}
	}
}
