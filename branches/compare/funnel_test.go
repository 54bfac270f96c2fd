package compare

import (
	"math"
	"strings"
	"testing"
)

const pheFunnel = "PHEindicatormethods 2.1.1, testdata_funnel_ratio_inputs.csv"

// pheLimits is the rule of those files: exact below 10 events, Byar from 10.
func pheLimits(observed int64, level float64) Interval {
	if observed < 10 {
		return Garwood(observed, level)
	}
	return Byar(observed, level)
}

func TestMarkOf_agreesWithPublishedFlags(t *testing.T) {
	for _, row := range []struct {
		observed int64
		expected float64
		want     Mark
		source   string
	}{
		{8, 6.239860227, Inside, pheFunnel},
		{151, 106.4429719, High998, pheFunnel},
		{159, 232.9329036, Low998, pheFunnel},
		{191, 184.0963855, Inside, pheFunnel},
		{150, 119.5695496, High95, pheFunnel},
		{0, 240.6273499, Low998, pheFunnel},
		{113, 96.14566494, Inside, pheFunnel},
		{141, 106.7211626, High998, pheFunnel},
	} {
		sourced(t, row.source)
		for name, limits := range map[string]func(int64, float64) Interval{"rule of the file": pheLimits, "exact": Garwood} {
			if got := MarkOf(row.observed, row.expected, limits); got != row.want {
				t.Errorf("%d of %g by the %s: got %v, want %v", row.observed, row.expected, name, got, row.want)
			}
		}
	}
}

func TestPublishedFunnel_all300Flags(t *testing.T) {
	words := map[string]Mark{"High (0.001)": High998, "High (0.025)": High95, "Low (0.001)": Low998, "Low (0.025)": Low95, "Not significant": Inside}
	rows := published(t, "phe_funnel_ratio_inputs.csv")
	for _, row := range rows {
		o, e, want := count(t, row["obs"]), number(t, row["expected"]), words[strings.TrimSpace(row["significance"])]
		if got := MarkOf(o, e, pheLimits); got != want {
			t.Errorf("%d of %g: got %v, want %v", o, e, got, want)
		}
		// Ours differ from the file's in at most the third digit of a limit, which moves none of the 300.
		if got := MarkOf(o, e, Garwood); got != want {
			t.Errorf("exact, %d of %g: got %v, want %v", o, e, got, want)
		}
	}
	if len(rows) != 300 {
		t.Errorf("%d rows", len(rows))
	}
}

func TestPublishedFunnel_limitsByObservation(t *testing.T) {
	for _, row := range published(t, "phe_funnel_ratio_limits.csv") {
		o := count(t, row["Observed_events"])
		for _, l := range []struct {
			level     float64
			low, high string
		}{{Level95, "upper_2s_exp_events", "lower_2s_exp_events"}, {Level998, "upper_3s_exp_events", "lower_3s_exp_events"}} {
			// The file's own limits come from a bisection; 5·10⁻⁵ is its worst error.
			got := Garwood(o, l.level)
			alike(t, "expected at the upper limit", got.Low, number(t, row[l.low]), 5e-5)
			alike(t, "expected at the lower limit", got.High, number(t, row[l.high]), 5e-5)
		}
	}
}

// The curve drawn and the marks given must be the same construction: at the expectation where the exact limit of a
// whole count lies, the curve has that count.
func TestFunnel_passesThroughTheLimitsOfWholeCounts(t *testing.T) {
	for _, o := range []int64{1, 2, 9, 40, 700} {
		for _, level := range []float64{Level95, Level998} {
			i := Garwood(o, level)
			alike(t, "low", ratiosAt(i.High, Z(level)).Low, float64(o)/i.High, 1e-9)
			alike(t, "high", ratiosAt(i.Low, Z(level)).High, float64(o)/i.Low, 1e-9)
		}
	}
	if low := ratiosAt(3.6, Z(Level95)).Low; low != 0 {
		t.Errorf("of 3.6 expected even none is inside, got a lower limit of %g", low)
	}
	for _, p := range funnel(.01, 1e6, func(float64) float64 { return 1 }) {
		if !(p.Low998 <= p.Low95 && p.Low95 < 1 && 1 < p.High95 && p.High95 < p.High998) || math.IsInf(p.High998, 0) {
			t.Errorf("limits out of order: %+v", p)
		}
	}
	if funnel(math.Inf(1), 0, nil) != nil {
		t.Error("no branches must be no funnel")
	}
}

func TestOverdispersed_byHand(t *testing.T) {
	for _, row := range []struct {
		name      string
		observed  []int64
		expected  []float64
		phi, tau2 float64
		source    string
	}{
		// z = 2(√O − √E) = −2, 0, 2; type 7 quantiles at .1 and .9 are −1.6 and 1.6; φ = 5.12/3; Σw = 4·(25+25+25) = 300.
		{"three", []int64{16, 25, 36}, []float64{25, 25, 25}, 5.12 / 3, (5.12 - 2) / (300 - 30000.0/300), "worked by hand from Spiegelhalter 2005, Qual Saf Health Care 14:347"},
		{"all as expected", []int64{25, 25}, []float64{25, 25}, 0, 0, "worked by hand"},
		{"one only", []int64{99}, []float64{25}, 1, 0, "ours: one branch can not differ from itself"},
	} {
		sourced(t, row.source)
		got := Overdispersed(row.observed, row.expected)
		near(t, row.name+" φ", got.Phi, row.phi, 1e-12)
		near(t, row.name+" τ²", got.Tau2, row.tau2, 1e-12)
	}
	additive := OverDispersion{Tau2: .01, Applied: Additive}
	near(t, "widening at 100", additive.wider()(100), math.Sqrt(5), 1e-15)
	near(t, "needed", additive.needed(10), 10/(1-.4), 1e-12)
	if got := additive.needed(30); got != 0 {
		t.Errorf("where branches differ that much nothing is enough, got %g", got)
	}
	near(t, "multiplicative never narrows", OverDispersion{Phi: .5, Applied: Multiplicative}.wider()(7), 1, 0)
	near(t, "multiplicative", OverDispersion{Phi: 4, Applied: Multiplicative}.wider()(7), 2, 0)
}

func TestQuantile7_agreesWithR(t *testing.T) {
	for _, row := range []struct {
		values []float64
		p      float64
		want   float64
		source string
	}{
		{[]float64{1, 2, 3, 4}, .25, 1.75, "Hyndman and Fan 1996, type 7, as R quantile(1:4, .25) (from memory)"},
		{[]float64{1, 2, 3, 4}, .5, 2.5, "the median"},
		{[]float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}, .1, 2, "by the definition"},
		{[]float64{7}, .9, 7, "by the definition"},
		{nil, .5, 0, "ours"},
	} {
		sourced(t, row.source)
		near(t, "quantile", Quantile7(row.values, row.p), row.want, 1e-15)
	}
}

// Widened limits reach far beyond what an exact tail can hold; marks, limits, scores and curve must still agree.
func TestWidenedLimits_stayInOrderFarOut(t *testing.T) {
	for _, o := range []int64{0, 1, 50, 30_000, 20_000_000} {
		last := Interval{math.Inf(1), 0}
		for _, score := range []float64{1.96, 7.99, 8.01, 30, 300, 1e5} {
			i := limitsOf(o, score)
			if !(i.Low >= 0 && i.Low <= last.Low && i.High > last.High) || math.IsInf(i.High, 0) {
				t.Errorf("%d at %g: %v after %v", o, score, i, last)
			}
			last = i
			// The curve's count at the limit is the count again.
			near(t, "low of the curve", ratiosAt(i.High, score).Low*i.High, float64(o), 1e-6*float64(o)+1e-5)
			if i.Low > 1e-9 {
				alike(t, "high of the curve", ratiosAt(i.Low, score).High*i.Low, float64(o), 1e-6)
			}
		}
	}
	for _, o := range []int64{0, 1, 5, 50, 3000, 1_000_000} {
		exact := limitsOf(o, farthest)
		near(t, "upper limit at the seam, as a score", farScore(float64(o)+1, exact.High), farthest, .003*farthest)
		if o > 0 {
			near(t, "lower limit at the seam, as a score", farScore(float64(o), exact.Low), farthest, .003*farthest)
		}
	}
	if got := scoreOfCount(100_000, 50_000); got < 190 || got > 210 {
		t.Errorf("score %g", got)
	}
	if p := widerP(100_000, 50_000, 150); p < .1 || p > .3 {
		t.Errorf("a score of 200 widened by 150 is no finding: p %g", p)
	}
}
