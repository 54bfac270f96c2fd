package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

func samplesOf(size int64, counts ...int64) []Sample {
	s := make([]Sample, len(counts))
	for i, c := range counts {
		s[i] = Sample{Label: fmt.Sprint(i + 1), Count: c, Size: size}
	}
	return s
}

func readingsOf(values ...float64) []Reading {
	r := make([]Reading, len(values))
	for i, v := range values {
		r[i] = Reading{fmt.Sprint(i + 1), v}
	}
	return r
}

func leaveOut(s []Sample, numbers ...int) []Sample {
	for _, n := range numbers {
		s[n-1].LeftOut = true
	}
	return s
}

// out lists the points beyond their limits, by number.
func out(c Chart) string {
	var labels []string
	for _, p := range c.Points {
		if p.Out {
			labels = append(labels, p.Label)
		}
	}
	return strings.Join(labels, " ")
}

var (
	wafers   = []int64{12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6}
	adjusted = []int64{9, 6, 12, 5, 6, 4, 6, 3, 7, 6, 2, 4, 3, 6, 5, 4, 8, 5, 6, 7, 5, 6, 3, 5}
	defects  = []int64{16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13}
	circuits = []int64{21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15}
	machines = []int64{10, 12, 8, 14, 10, 16, 11, 7, 10, 15, 9, 5, 7, 11, 12, 6, 8, 10, 7, 5}
	supplies = []int64{2, 3, 8, 1, 1, 4, 1, 4, 5, 1, 8, 2, 4, 3, 4, 1, 8, 3, 7, 4}
	batches  = []int64{5, 6, 11, 6, 4, 9, 17, 10, 12, 9, 8, 7, 7, 15, 8, 18, 12, 16, 4, 7, 17, 12, 8, 7, 15, 6, 8, 12, 7, 9}
)

// variable is Montgomery, Introduction to Statistical Quality Control, Table 7.4: counts and sizes.
func variable() []Sample {
	counts := []int64{12, 8, 6, 9, 10, 12, 11, 16, 10, 6, 20, 15, 9, 8, 6, 8, 10, 7, 5, 8, 5, 8, 10, 6, 9}
	sizes := []int64{100, 80, 80, 100, 110, 110, 100, 100, 90, 90, 110, 120, 120, 120, 110, 80, 80, 80, 90, 100, 100, 100, 100, 90, 90}
	s := samplesOf(0, counts...)
	for i := range s {
		s[i].Size = sizes[i]
	}
	return s
}

func TestAttributeCharts_agreeWithPublishedCharts(t *testing.T) {
	for _, row := range []struct {
		name              string
		chart             func([]Sample) (Chart, error)
		samples           []Sample
		at                int // the point whose limits are looked at
		centre, low, high float64
		within            float64
		out               string
		source            string
	}{
		{"p", PChart, samplesOf(50, wafers...), 1, .2313333, .05242755, .4102391, 5e-8, "15 23", "Montgomery 1991, frozen juice cans, as printed in the qcc 3.0 article"},
		{"p", PChart, samplesOf(50, wafers...), 1, .2313, .0524, .4103, 1.5e-4, "15 23", "NIST/SEMATECH e-Handbook 6.3.3.2 (computed there from the rounded centre)"},
		{"p, two left out", PChart, leaveOut(samplesOf(50, wafers...), 15, 23), 1, .215, .040702839954289555, .38929716004571047, 1e-12, "15 21 23", "qicharts2 ex_7.1_5.rds"},
		{"p, adjusted", PChart, samplesOf(50, adjusted...), 1, .1108333, 0, .2440207, 5e-8, "", "Montgomery 1991 pp.155-159, as printed in the qcc 3.0 article"},
		{"p, 100 of changing sizes", PChart, variable(), 1, 0.09551020408163265, 0.007334694727773067, 0.18368571343549223, 1e-12, "11", "Montgomery Table 7.4, qicharts2 tbl_7.4_1.rds"},
		{"p, 80 of changing sizes", PChart, variable(), 2, 0.09551020408163265, 0, 0.19409342051458195, 1e-12, "11", "the same"},
		{"p, 120 of changing sizes", PChart, variable(), 12, 0.09551020408163265, 0.01501734492727154, 0.17600306323599374, 1e-12, "11", "the same"},
		{"p, of 500", PChart, samplesOf(500, batches...), 1, .019467, .00093, .03800, 5e-6, "", "SAS/QC sample SHWPCHR (data read; printed limits from memory)"},
		{"c", UChart, samplesOf(1, defects...), 1, 16, 4, 28, 0, "24", "NIST/SEMATECH e-Handbook 6.3.3.1"},
		{"c", UChart, samplesOf(1, circuits...), 1, 19.84615, 6.481447, 33.21086, 5e-6, "6 20", "Montgomery Example 7.3, as printed in the qcc 3.0 article"},
		{"c, two left out", UChart, leaveOut(samplesOf(1, circuits...), 6, 20), 1, 19.666666666666668, 6.3625319710165975, 32.970801362316735, 1e-12, "6 20", "qicharts2 ex_7.3_3.rds"},
		{"u", UChart, samplesOf(5, machines...), 1, 1.93, .06613305, 3.793867, 5e-7, "", "Montgomery 1991 pp.181-182, as printed in the qcc 3.0 article"},
		{"u", UChart, samplesOf(50, supplies...), 1, .074, 0, 0.1894123043700281, 1e-12, "", "Montgomery Example 7.4, qicharts2 ex_7.4_1.rds"},
	} {
		sourced(t, row.source)
		got, err := row.chart(row.samples)
		if err != nil {
			t.Fatal(err)
		}
		p := got.Points[row.at-1]
		near(t, row.name+" centre", p.Centre, row.centre, row.within)
		near(t, row.name+" low", p.Low, row.low, row.within)
		near(t, row.name+" high", p.High, row.high, row.within)
		if out(got) != row.out {
			t.Errorf("%s: out %q, want %q", row.name, out(got), row.out)
		}
	}
}

func TestLaneyP_byHand(t *testing.T) {
	// p = .1, .3, .1, .3 of 100; p̄ = .2, √(p̄q̄/n) = .04; z = −2.5, 2.5, −2.5, 2.5; mean range 5; σz = 5/1.128.
	got, err := LaneyP(samplesOf(100, 10, 30, 10, 30))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "σz", got.Sigma, 5/1.128, 1e-12)
	near(t, "low", got.Points[0].Low, 0, 0)
	near(t, "high", got.Points[0].High, .2+3*5/1.128*.04, 1e-12)
	plain, err := PChart(samplesOf(100, 10, 30, 10, 30))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "width against the plain chart", (got.Points[0].High-.2)/(plain.Points[0].High-.2), got.Sigma, 1e-12)
	one, err := LaneyP(samplesOf(100, 10))
	if err != nil || one.Sigma != 1 {
		t.Errorf("of one sample: %+v %v", one, err)
	}
}

func TestXmR_agreesWithNIST(t *testing.T) {
	values, ranges, err := XmR(readingsOf(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1))
	if err != nil {
		t.Fatal(err)
	}
	const source = "NIST/SEMATECH e-Handbook 6.3.2.2, flow rates"
	sourced(t, source)
	near(t, "centre", values.Centre, 50.81, 1e-9)
	near(t, "mean range", ranges.Centre, 1.8778, 5e-5)
	near(t, "high", values.Points[0].High, 55.8041, 5e-5)
	near(t, "low", values.Points[0].Low, 45.8159, 5e-5)
	near(t, "high of ranges", ranges.Points[0].High, 3.267*1.8778, 2e-4)
	if len(ranges.Points) != 9 || out(values) != "" {
		t.Errorf("%d ranges, out %q", len(ranges.Points), out(values))
	}
}

func TestEWMA_agreesWithNIST(t *testing.T) {
	x := readingsOf(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	const source = "NIST/SEMATECH e-Handbook 6.3.2.4"
	sourced(t, source)
	s := Smoothing{Lambda: .3, Target: 50, Sigma: 2.0539, Widths: 3, Steady: true}
	got, err := EWMA(x, s)
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range got.Points {
		near(t, "average", p.Value, want[i], .0051)
		near(t, "high", p.High, 52.5884, 1e-3)
		near(t, "low", p.Low, 47.4115, 1e-3)
	}
	if out(got) != "" {
		t.Errorf("out %q, want none", out(got))
	}
	s.Steady = false
	early, _ := EWMA(x, s)
	near(t, "first limit is that of λx alone", early.Points[0].High, 50+3*.3*2.0539, 1e-12)
	near(t, "last limit is the steady one", early.Points[19].High, got.Points[19].High, 1e-5)
}

func TestCUSUM_agreesWithNIST(t *testing.T) {
	x := readingsOf(324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350)
	up := []float64{0, 0, 0, 0, .03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04}
	down := []float64{0, .01, 0, .33, 0, 0, .56, .72, .17, .25, .31, 0, 0, 0, 0, 0, 0, 0, 0, 0}
	const source = "NIST/SEMATECH e-Handbook 6.3.2.3"
	sourced(t, source)
	steps, err := CUSUM(x, 325, .3175, 4.1959)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range steps {
		near(t, "up", s.Up, up[i], .0051)
		near(t, "down", s.Down, down[i], .0051)
		if s.UpOut != (i+1 >= 14) || s.DownOut {
			t.Errorf("group %s: out %v %v", s.Label, s.UpOut, s.DownOut)
		}
	}
}

func TestScore_agreesWithPublishedScores(t *testing.T) {
	const steiner, rigdon = "Steiner 2014 p.234 (intercept −3.68), as tested in R vlad", "Rigdon and Fricker 2015 pp.225-226 (intercept −3.67), as tested in R vlad"
	for _, row := range []struct {
		intercept, score float64
		reprint          bool
		odds, want       float64
		within           float64
		source           string
	}{
		{-3.68, 0, false, 2, -.024, 5e-4, steiner},
		{-3.68, 0, true, 2, .669, 5e-4, steiner},
		{-3.68, 50, false, 2, -.433, 5e-4, steiner},
		{-3.68, 50, true, 2, .26, 5e-4, steiner},
		{-3.68, 0, false, .5, .012, 5e-4, steiner},
		{-3.68, 0, true, .5, -.681, 5e-4, steiner},
		{-3.68, 50, false, .5, .316, 5e-4, steiner},
		{-3.68, 50, true, .5, -.377, 5e-4, steiner},
		{-3.67, 19, true, 2, .5986, 5e-5, rigdon},
		{-3.67, 0, false, 2, -.0245, 5e-5, rigdon},
		{-3.67, 0, true, 2, .6686, 5e-5, rigdon},
		{-3.67, 19, false, .5, .05083, 5e-6, rigdon},
	} {
		sourced(t, row.source)
		risk := 1 / (1 + math.Exp(-(row.intercept + .077*row.score)))
		near(t, "score", Score(row.reprint, risk, row.odds), row.want, row.within)
	}
}

func TestRiskAdjustedCUSUM_seesARiseAndForgivesRisk(t *testing.T) {
	s := Suspicion{Worse: 2, Better: .5, Threshold: 4.5}
	run := func(reprints int64, risk float64) []Step {
		lots := make([]Lot, 12)
		for i := range lots {
			lots[i] = Lot{fmt.Sprint(i), 100, reprints, risk}
		}
		steps, err := RiskAdjustedCUSUM(lots, s)
		if err != nil {
			t.Fatal(err)
		}
		return steps
	}
	if last := run(8, .04)[11]; !last.UpOut || last.Down != 0 {
		t.Errorf("twice the reprints must be seen: %+v", last)
	}
	if last := run(8, .08)[11]; last.UpOut || last.DownOut {
		t.Errorf("as many as the work risks must not: %+v", last)
	}
	if last := run(2, .08)[11]; last.UpOut || !last.DownOut {
		t.Errorf("a quarter of what the work risks must be seen as better: %+v", last)
	}
	one := Lot{"1", 1, 1, .04}
	steps, _ := RiskAdjustedCUSUM([]Lot{one, one, one}, s)
	near(t, "three bad pieces in a row", steps[2].Up, 3*math.Log(2/1.04), 1e-12)
}

func TestPareto_agreesWithThePublishedChart(t *testing.T) {
	const source = "qcc 3.0 article, Pareto chart of purchase-order mistakes"
	sourced(t, source)
	shares, err := Pareto([]Cause{{"a", "", "", "part number", 33}, {"b", "", "", "contact", 90}, {"a", "", "", "date", 27}, {"a", "", "", "supplier", 66}, {"a", "", "", "price", 80}, {"a", "", "", "contact", 4}, {"a", "", "", "none", 0}})
	if err != nil {
		t.Fatal(err)
	}
	percent, cumulative := []float64{31.33, 26.67, 22, 11, 9}, []float64{31.33, 58, 80, 91, 100}
	if len(shares) != 5 {
		t.Fatalf("got %+v", shares)
	}
	for i, s := range shares {
		near(t, s.Cause, s.Percent, percent[i], .005)
		near(t, s.Cause, s.CumulativePercent, cumulative[i], .005)
		if s.Few != (i < 3) {
			t.Errorf("%s: exactly 80 %% is reached by the third cause: %v", s.Cause, s.Few)
		}
	}
	if _, err := Pareto([]Cause{{Cause: "", Count: -1}}); !fault.Is(err, fault.Invalid) {
		t.Errorf("got %v", err)
	}
	if none, err := Pareto(nil); err != nil || len(none) != 0 {
		t.Errorf("got %v %v", none, err)
	}
}

func TestCharts_refuseWhatCanNotBe(t *testing.T) {
	_, p := PChart([]Sample{{"1", 3, 2, false}, {"2", 0, -1, false}})
	_, u := UChart([]Sample{{"1", 3, 0, false}})
	_, none := LaneyP([]Sample{{"1", 0, 0, false}, {"2", 1, 9, true}})
	_, _, x := XmR(readingsOf(1, math.NaN()))
	_, e := EWMA(readingsOf(1), Smoothing{})
	_, cu := CUSUM(nil, 0, 0, 1)
	_, ra := RiskAdjustedCUSUM([]Lot{{"", 1, 2, math.NaN()}}, Suspicion{2, .5, 4.5})
	for i, err := range []error{p, u, none, x, e, cu, ra} {
		if f, ok := fault.As(err); !ok || f.Kind != fault.Invalid || len(f.Fields) == 0 {
			t.Errorf("%d: got %v", i, err)
		}
	}
	if _, err := PChart(make([]Sample, MaxSeries+1)); !fault.Is(err, fault.TooLarge) {
		t.Errorf("got %v", err)
	}
}

// Limits alarm by chance as often as three standard deviations do: 27 times in 10 000 by the normal curve, a little more by the
// binomial (its tails stand here), and a little less where the values alarmed of made the limits too (25 values, XmR).
func TestCharts_falseAlarms(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 27))
	const charts, points, size, rate = 600, 25, 400, 0.1
	out, single := 0, 0
	for range charts {
		var samples []Sample
		var readings []Reading
		for i := range points {
			s := Sample{Label: string(rune('a' + i)), Size: size}
			for range size {
				if dice.Float64() < rate {
					s.Count++
				}
			}
			samples = append(samples, s)
			readings = append(readings, Reading{s.Label, dice.NormFloat64()})
		}
		p, err := PChart(samples)
		if err != nil {
			t.Fatal(err)
		}
		x, _, err := XmR(readings)
		if err != nil {
			t.Fatal(err)
		}
		for i := range points {
			if p.Points[i].Out {
				out++
			}
			if x.Points[i].Out {
				single++
			}
		}
	}
	exact := atLeast(59, size, rate) + 1 - atLeast(22, size, rate) // beyond 40 ± 18
	if share := float64(out) / (charts * points); math.Abs(share-exact) > 3*math.Sqrt(exact/(charts*points))+0.0005 {
		t.Errorf("p chart alarms %.4f of the time, %.4f by its own tails", share, exact)
	}
	if share := float64(single) / (charts * points); share < 0.001 || share > 0.0035 {
		t.Errorf("XmR alarms %.4f of the time", share)
	}
}
