package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"evenpeel/recipes/units"
)

func area(mm2 int64) units.SquareMillimetres { return units.SquareMillimetres(mm2) }

// filmNetwork makes cells of branches that draw what their orders need and a fifth more, the last branch `more` times that.
func filmNetwork(branches, periods int, more float64) []Cell {
	dice := rand.New(rand.NewPCG(uint64(branches), uint64(periods)))
	var cells []Cell
	for b := range branches {
		for p := range periods {
			// A branch's orders may need much film for what they decorate; that is not the branch's doing.
			decorated := 1_000_000 + dice.Float64()*4_000_000
			achievable := decorated * (1.1 + .5*float64(b%3) + .2*dice.Float64())
			drawn := achievable * (1.2 + .06*dice.NormFloat64())
			if b == branches-1 {
				drawn *= more
			}
			cells = append(cells, Cell{Branch: fmt.Sprintf("film %02d", b), Film: "f", Fabric: "c", Period: fmt.Sprintf("20%02d-%02d", 20+p/12, p%12+1),
				Pieces: 100, Drawn: area(int64(drawn)), Decorated: area(int64(decorated)), Achievable: area(int64(achievable)), DrawnKnown: area(int64(drawn))})
		}
	}
	return cells
}

func fairYield(t *testing.T, cells []Cell, o Options) YieldView {
	t.Helper()
	v, err := FairYield(cells, o)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestFairYield_findsThePlantedWasteAndNotTheAwkwardOrders(t *testing.T) {
	for _, method := range []YieldMethod{Linearised, Bootstrap} {
		v := fairYield(t, filmNetwork(12, 12, 1.25), Options{YieldMethod: method, Seed: 1, Branches: []string{"film 99"}})
		for _, s := range v.Standings {
			switch {
			case s.Branch == "film 11" && s.Mark != Low998:
				t.Errorf("the planted branch: %+v", s)
			case s.Branch == "film 99" && s.Mark != Silent:
				t.Errorf("the silent branch: %+v", s)
			case s.Branch != "film 11" && s.Mark == Low998:
				t.Errorf("%s: yield %.3f, of achievable %.3f %v against %.3f", s.Branch, s.Yield, s.OfAchievable, s.Of998, v.OfAchievable)
			}
			if s.Mark != Silent && (!s.Yield95.Holds(s.Yield) || !s.Of95.Holds(s.OfAchievable) || s.Of998.Low > s.Of95.Low || s.Known != 1 || s.Periods != 12) {
				t.Errorf("limits out of order: %+v", s)
			}
		}
		if v.Counts.Silent != 1 || v.Standings[0].Yield < 1.2*v.Standings[1].Yield {
			t.Errorf("counts %+v; the orders of the second branch are more awkward: %g %g", v.Counts, v.Standings[0].Yield, v.Standings[1].Yield)
		}
	}
}

func TestFairYield_sumsAndDivides(t *testing.T) {
	row := func(branch string, period string, drawn, decorated, achievable int64) Cell {
		c := Cell{Branch: branch, Film: "f", Fabric: "c", Period: period, Pieces: 50, Drawn: area(drawn), Decorated: area(decorated), Achievable: area(achievable)}
		if achievable > 0 {
			c.DrawnKnown = c.Drawn
		}
		return c
	}
	v := fairYield(t, []Cell{row("a", "2026-01", 100, 82, 90), row("a", "2026-02", 300, 150, 0), row("b", "2026-01", 600, 400, 500), row("b", "2026-02", 0, 0, 7)}, Options{})
	a := v.Standings[0]
	for _, x := range []struct {
		name      string
		got, want float64
		source    string
	}{
		{"yield", a.Yield, 232.0 / 400, "by the definition, design.md §1: sum ÷ sum, not the mean of .82 and .5"},
		{"of achievable", a.OfAchievable, .9, "only film whose achievable figure is known"},
		{"known", a.Known, .25, "by the definition"},
		{"over-drawn", float64(a.OverDrawn), 10, "by the definition"},
		{"expected drawn", a.ExpectedDrawn, 232 * 1000 / 632.0, "indirect standardisation by hand"},
		{"drawn ratio", a.DrawnRatio, 400 / (232 * 1000 / 632.0), "the same"},
		{"all", v.Yield, .632, "by the definition"},
		{"all of achievable", v.OfAchievable, 590.0 / 700, "a cell that drew no film does not count"},
		{"marker", part(82, 100), .82, "mfgcalcs.com marker efficiency: 82 of 100 is 82 %"},
	} {
		sourced(t, x.source)
		near(t, x.name, x.got, x.want, 1e-12)
	}
	if a.Mark != CannotTell || a.Periods != 1 || a.Of95 != (Interval{0, 1}) {
		t.Errorf("one period must tell nothing: %+v", a)
	}
}

// Efron and Tibshirani 1993, An Introduction to the Bootstrap, section 10.3: patches; ratio of the means of y and z.
var patches = []pair{{-1200, 8406}, {2601, 2342}, {-2705, 8187}, {1982, 8459}, {-1290, 4795}, {351, 3516}, {-638, 4796}, {-2719, 10238}}

func TestRatio_agreesWithThePatchExample(t *testing.T) {
	r, sum := ratio(patches)
	ratios := replicas(patches, 20000, rand.New(rand.NewPCG(1, 2)))
	var mean, squares float64
	for _, x := range ratios {
		mean += x / float64(len(ratios))
	}
	for _, x := range ratios {
		squares += (x - mean) * (x - mean) / float64(len(ratios)-1)
	}
	for _, row := range []struct {
		name      string
		got, want float64
		within    float64
		source    string
	}{
		{"ratio", r, -.0713, 5e-5, "Efron and Tibshirani 1993, section 10.3 (data read in R bootstrap and a Stanford course page; value from memory)"},
		{"bootstrap error", math.Sqrt(squares), .105, .005, "the same, 400 resamples (from memory)"},
		{"linearised error", ratioError(patches, r, sum), .105, .01, "ours: the two methods estimate the same thing"},
	} {
		sourced(t, row.source)
		near(t, row.name, row.got, row.want, row.within)
	}
}

func TestLinearised_usesStudentsT(t *testing.T) {
	// Twelve periods: t = 2.201 (95 %) with 11 degrees of freedom; 4.025 at 99.8 % (printed tables of t, from memory).
	var of []pair
	for i := range 12 {
		of = append(of, pair{float64(5 + i%3), 10})
	}
	r, sum := ratio(of)
	se, both := ratioError(of, r, sum), linearised(of, map[score]float64{}, Level95, Level998)
	near(t, "95 %", (both[0].High-r)/se, 2.201, 5e-4)
	near(t, "99.8 %", (both[1].High-r)/se, 4.025, 5e-4)
}

func TestYieldLimits_coverWhatTheyPromise(t *testing.T) {
	dice := rand.New(rand.NewPCG(8, 8))
	const tries = 2000
	var linear, boot, linear998 float64
	for range tries {
		of := make([]pair, 12)
		for i := range of {
			x := 1 + 3*dice.Float64()
			of[i] = pair{x * (.8 + .06*dice.NormFloat64()), x}
		}
		both := linearised(of, map[score]float64{}, Level95, Level998)
		if both[0].Holds(.8) {
			linear++
		}
		if both[1].Holds(.8) {
			linear998++
		}
		for i := range of {
			of[i].y, of[i].x = of[i].y/of[i].x, 1
		}
		if resampled(of, 300, dice, Level95)[0].Holds(.8) {
			boot++
		}
	}
	near(t, "linearised 95 %", linear/tries, .95, .02)
	near(t, "linearised 99.8 %", linear998/tries, .998, .004)
	// Percentiles of so few periods are too narrow, which is why they are not the standard: they reach 1.96·√(11/12) = 1.877
	// errors where Student asks for 2.201, and |t| with 11 degrees of freedom stays below 1.877 in .913 of samples.
	near(t, "bootstrap 95 %", boot/tries, .913, .02)
}

func TestWaterfall_sumsExactly(t *testing.T) {
	cells := []Cell{
		{Branch: "a", Film: "f", Fabric: "c", Period: "2026-03", Drawn: 1000, Decorated: 500, LayoutLoss: 100, EdgeLoss: 50, TestCutLoss: 20, WeedingLoss: 80, ReprintLoss: 60, RollEndLoss: 40},
		{Branch: "b", Film: "f", Fabric: "c", Period: "2026-03-02", Drawn: 100, Decorated: 90, LayoutLoss: 30},
	}
	got, err := Waterfall(cells)
	if err != nil {
		t.Fatal(err)
	}
	want := []Loss{{"drawn", 1100, 1100}, {"layout", 130, 970}, {"edge", 50, 920}, {"test cuts", 20, 900}, {"weeding", 80, 820}, {"reprints", 60, 760},
		{"roll ends", 40, 720}, {"not accounted", 130, 590}, {"decorated", 590, 590}}
	if len(got) != len(want) {
		t.Fatalf("got %+v", got)
	}
	left := got[0].Area
	for i := range got {
		if got[i] != want[i] {
			t.Errorf("got %+v, want %+v", got[i], want[i])
		}
		if i > 0 && i < len(got)-1 {
			left -= got[i].Area
		}
	}
	if left != got[len(got)-1].Area {
		t.Errorf("%d mm² lost in the sum", left-got[len(got)-1].Area)
	}
	over, _ := Waterfall(cells[1:])
	if over[7].Area != -20 {
		t.Errorf("more booked than drawn must show as below 0: %+v", over[7])
	}
	// The largest sums that are accepted do not run over.
	worst := Cell{LayoutLoss: MaxArea, EdgeLoss: MaxArea, TestCutLoss: MaxArea, WeedingLoss: MaxArea, ReprintLoss: MaxArea, RollEndLoss: MaxArea}
	if 7*float64(worst.EdgeLoss)*MaxCells >= math.MaxInt64 {
		t.Error("MaxCells × MaxArea does not fit an int64")
	}
}

// A cell of orders with a plan and orders without counts the film of those with one.
func TestFairYield_countsTheKnownPartOfACell(t *testing.T) {
	c := Cell{Branch: "a", Film: "f", Fabric: "c", Period: "2026-01", Pieces: 50, Drawn: 400, DrawnKnown: 100, Decorated: 200, Achievable: 90}
	s := fairYield(t, []Cell{c}, Options{}).Standings[0]
	if s.OfAchievable != .9 || s.Known != .25 || s.OverDrawn != 10 {
		t.Errorf("of achievable %g, known %g, over-drawn %d", s.OfAchievable, s.Known, s.OverDrawn)
	}
}

// The two sums of the store give what the cells themselves give.
func TestFairYieldOf_sums(t *testing.T) {
	cells := filmNetwork(4, 12, 1)
	strata, months := map[[2]string]*Cell{}, map[[2]string]*Cell{}
	sum := func(into map[[2]string]*Cell, key [2]string, c, named Cell) {
		s := into[key]
		if s == nil {
			named.Pieces, named.Reprints, named.Drawn, named.Decorated, named.Achievable, named.DrawnKnown = 0, 0, 0, 0, 0, 0
			s = &named
			into[key] = s
		}
		s.Pieces += c.Pieces
		s.Reprints += c.Reprints
		s.Drawn += c.Drawn
		s.Decorated += c.Decorated
		s.Achievable += c.Achievable
		s.DrawnKnown += c.DrawnKnown
	}
	for _, c := range cells {
		s, m := c, c
		s.Period = "2026-01"
		m.Film, m.Fabric, m.Band = "all", "all", 0
		sum(strata, [2]string{c.Branch, c.Film + "/" + c.Fabric + "/" + string(rune('0'+c.Band))}, c, s)
		sum(months, [2]string{c.Branch, c.Period}, c, m)
	}
	listed := func(m map[[2]string]*Cell) (list []Cell) {
		for _, c := range m {
			list = append(list, *c)
		}
		return list
	}
	got, err := FairYieldOf(mixOf(t, listed(strata)), listed(months), Options{})
	if err != nil || !reflect.DeepEqual(got, fairYield(t, cells, Options{})) {
		t.Errorf("%v\n%+v", err, got.Standings[0])
	}
}
