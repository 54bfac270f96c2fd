package stock

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/units"
)

func TestReorder_isThatOfTheHandbooks(t *testing.T) {
	for _, row := range []struct {
		name                  string
		mean, spread, lead, z float64
		want, within          float64
		source                string
	}{
		{"demand over the lead time 350, spread 10, one stock-out in twenty", 350, 10, 1, 1.65, 366.5, 1e-9, "Heizer and Render, Operations Management, example of a probabilistic reorder point (from memory)"},
		{"15 a day, spread 5, 2 days, 90 %", 15, 5, 2, 1.28, 39.05, 0.005, "Heizer and Render, Operations Management, example of variable demand and constant lead time (from memory)"},
		{"5 a day, spread 2, 3 days, 95 %", 5, 2, 3, 1.645, 20.70, 0.005, "Render, Stair, Hanna, Quantitative Analysis for Management, hardware warehouse exercise; figures on mycoursehelp.com/QA/36573, answer by the stated formula"},
	} {
		if got := reorder(row.mean, row.spread, row.lead, row.z); math.Abs(got-row.want) > row.within {
			t.Errorf("%s: got %.3f, want %.3f (%s)", row.name, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
	// The quantile of 0.95, NIST/SEMATECH e-Handbook 1.3.6.7.1: the table gives 0.94950 at 1.64 and 0.95053 at 1.65.
	if p := 0.5 * math.Erfc(-oneInTwenty/math.Sqrt2); p < 0.9495 || p > 0.9505 {
		t.Errorf("the quantile stands for %.4f", p)
	}
}

func TestSpreadOf_isThatOfTheHandbook(t *testing.T) {
	// NIST/SEMATECH e-Handbook 1.3.5.6 defines the sample standard deviation with N − 1; 2, 4, 4, 4, 5, 5, 7, 9 has mean 5 and
	// squares that add up to 32.
	mean, spread := spreadOf([]float64{2, 4, 4, 4, 5, 5, 7, 9})
	if mean != 5 || math.Abs(spread-math.Sqrt(32.0/7)) > 1e-12 {
		t.Errorf("mean %g, spread %g", mean, spread)
	}
}

// usesOf makes one use a day, the last one today (day 100).
func usesOf(lengths ...int64) (out []Use) {
	for i, l := range lengths {
		if l != 0 {
			out = append(out, Use{Film: "glimmer", Colour: "gold", Day: int64(100 - i), Length: units.Millimetres(l)})
		}
	}
	return out
}

func TestPaced_saysHowLongItLasts(t *testing.T) {
	shelf := []Roll{roll("a", 6_000, 0), remnant("m", 1_000, 1), {Name: "v", Film: "velour", Colour: "red", Length: 500}}
	same := make([]int64, PaceDays)
	for i := range same {
		same[i] = 250
	}
	got := Paced(shelf, usesOf(same...), 100)
	if len(got) != 2 || got[0].Film != "glimmer" || got[1].Film != "velour" {
		t.Fatalf("paces %+v", got)
	}
	// 250 mm on every day and 7000 mm left: exactly 28 days, whatever the side, and 7 · 250 mm for a delivery.
	if p := got[0]; !p.Known || p.Left != 7000 || p.Used != 7000 || p.Days != 28 || p.DaysLow != 28 || p.DaysHigh != 28 || p.Reorder != 1750 || p.Low {
		t.Errorf("got %+v", p)
	}
	if p := got[1]; p.Known || p.Low || p.Days != 0 || !strings.Contains(p.Words, "too few") {
		t.Errorf("nothing drawn: %+v", p)
	}
	if p := Paced([]Roll{roll("a", 1_750, 0)}, usesOf(same...), 100)[0]; !p.Low || !strings.Contains(p.Words, "Order now") {
		t.Errorf("at the reorder length: %+v", p)
	}
	// Three days with draws are too few; a use outside the four weeks does not count.
	few := append(usesOf(900, 900, 900), Use{Film: "glimmer", Colour: "gold", Day: 72, Length: 9000}, Use{Film: "glimmer", Colour: "gold", Day: 101, Length: 9000})
	if p := Paced(shelf, few, 100)[0]; p.Known || p.Used != 2700 {
		t.Errorf("few days: %+v", p)
	}
}

func TestPaced_rangeHoldsAndWidens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lengths := rapid.SliceOfN(rapid.Int64Range(0, 3000), PaceDays, PaceDays).Draw(t, "draws")
		left := units.Millimetres(rapid.Int64Range(0, 60_000).Draw(t, "left"))
		p := Paced([]Roll{roll("a", left, 0)}, usesOf(lengths...), 100)[0]
		if !p.Known {
			return
		}
		if p.DaysLow > p.Days || p.Days > p.DaysHigh || p.DaysHigh > longestDays {
			t.Fatalf("days %d, %d, %d", p.DaysLow, p.Days, p.DaysHigh)
		}
		// The lower end and the reorder length are two sides of one formula: low just where it may not last the delivery.
		mean, spread := spreadOf(floats(lengths))
		if n := lasting(float64(left), mean, oneInTwenty*spread); p.Low != (n <= leadDays) && math.Abs(n-leadDays) > 1e-3 {
			t.Fatalf("low is %v, but it lasts %.3f days", p.Low, n)
		}
		// By definition: after n days the demand that is exceeded once in twenty is what was left.
		if n := lasting(float64(left), mean, oneInTwenty*spread); math.Abs(reorder(mean, spread, n, oneInTwenty)-float64(left)) > 1e-6*(1+float64(left)) {
			t.Fatalf("%.3f days do not use %d mm up", n, left)
		}
	})
}

func floats(xs []int64) (out []float64) {
	for _, x := range xs {
		out = append(out, float64(x))
	}
	return out
}
