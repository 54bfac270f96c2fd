package compare

import (
	"encoding/binary"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestReasons_onlyGrow(t *testing.T) {
	got := []fault.Reason{CellsInvalid, TooMany, OptionsInvalid, CausesInvalid, SeriesInvalid, TallyInvalid}
	want := []fault.Reason{"COMPARE_CELLS_INVALID", "COMPARE_TOO_MANY", "COMPARE_OPTIONS_INVALID", "COMPARE_CAUSES_INVALID", "COMPARE_SERIES_INVALID", "COMPARE_TALLY_INVALID"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %v", got)
	}
}

func TestCell_holdsNoFloat(t *testing.T) {
	for i := range reflect.TypeFor[Cell]().NumField() {
		if f := reflect.TypeFor[Cell]().Field(i); f.Type.Kind() == reflect.Float64 || f.Type.Kind() == reflect.Float32 {
			t.Errorf("%s is a float", f.Name)
		}
	}
}

func TestCells_areRefusedWithEveryFault(t *testing.T) {
	bad := Cell{Branch: "", Film: strings.Repeat("x", MaxName+1), Fabric: "c", Band: 3, Period: "March", Pieces: 2, Reprints: 3, Drawn: -1, RollEndLoss: MaxArea + 1}
	_, r := FairReprints([]Cell{bad}, Options{})
	_, y := FairYield([]Cell{bad}, Options{})
	_, w := Waterfall([]Cell{bad})
	_, p := ByPeriod([]Cell{bad}, "a")
	_, l := Lots([]Cell{bad}, "a")
	for _, err := range []error{r, y, w, p, l} {
		f, ok := fault.As(err)
		if !ok || f.Kind != fault.Invalid || f.Reason != CellsInvalid || len(f.Fields) != 7 {
			t.Fatalf("got %v", err)
		}
		var paths []string
		for _, field := range f.Fields {
			paths = append(paths, strings.TrimPrefix(field.Path, "cells[0]."))
		}
		if got := strings.Join(paths, " "); got != "branch film band period reprints drawn roll_end_loss" {
			t.Errorf("got %s", got)
		}
	}
	many := make([]Cell, 100)
	if f, _ := fault.As(check(many)); len(f.Fields) != maxFields {
		t.Errorf("%d fields", len(f.Fields))
	}
	if err := check(make([]Cell, MaxCells+1)); !fault.Is(err, fault.TooLarge) {
		t.Errorf("got %v", err)
	}
}

func TestOptions_areRefusedWithEveryFault(t *testing.T) {
	_, err := FairReprints(nil, Options{Branches: []string{""}, MinPieces: -1, Dispersion: 9, TellRatio: math.NaN(), Replicates: 1})
	if f, ok := fault.As(err); !ok || f.Reason != OptionsInvalid || len(f.Fields) != 5 {
		t.Errorf("got %v", err)
	}
	if _, err := FairYield(nil, Options{Branches: make([]string, maxBranches+1)}); !fault.Is(err, fault.TooLarge) {
		t.Errorf("got %v", err)
	}
}

func TestPeriod_isAMonthOrADay(t *testing.T) {
	for s, want := range map[string]bool{"2026-03": true, "2026-03-14": true, "2026-13": false, "2026-00": false, "2026-3": false, "2026-03-32": false,
		"2026-03-00": false, "2026/03": false, "2026-03-1": false, "": false, "abcd-ef": false} {
		if period(s) != want {
			t.Errorf("%q: got %v", s, !want)
		}
	}
}

func TestMarks_haveWords(t *testing.T) {
	if Silent.String() != "silent" || Low998.String() != "low 99.8" || Mark(-1).String() != "unknown" || Mark(99).String() != "unknown" {
		t.Error("a mark's word is wrong")
	}
}

func TestFinding_namesAFew(t *testing.T) {
	if got := listed([]string{"a", "b", "c", "d", "e"}); got != "a, b, c and 2 more" {
		t.Errorf("got %q", got)
	}
}

func TestByPeriodAndLots_feedTheCharts(t *testing.T) {
	var cells []Cell
	add := func(branch string, month, band int, pieces, reprints int64) {
		cells = append(cells, Cell{Branch: branch, Film: "f", Fabric: "c", Band: band, Period: fmt.Sprintf("2026-%02d", month), Pieces: pieces, Reprints: reprints})
	}
	for month := 12; month >= 1; month-- {
		add("one", month, 0, 100, 2)
		add("one", month, 2, 300, 30)
		add("one", month, 1, 7, 7) // nobody else does the like
		add("other", month, 0, 1000, 20)
		add("other", month, 2, 1000, 100)
	}
	samples, err := ByPeriod(cells, "one")
	if err != nil || len(samples) != 12 || samples[0] != (Sample{"2026-01", 39, 407, false}) {
		t.Errorf("got %+v %v", samples, err)
	}
	lots, err := Lots(cells, "one")
	if err != nil || len(lots) != 12 || lots[11].Pieces != 400 || lots[11].Reprints != 32 || lots[0].Label != "2026-01" {
		t.Fatalf("got %+v %v", lots, err)
	}
	near(t, "risk", lots[0].Risk, (100*.02+300*.1)/400, 1e-15)
	steps, err := RiskAdjustedCUSUM(lots, Suspicion{2, .5, 4.5})
	if err != nil || steps[11].UpOut || steps[11].DownOut {
		t.Errorf("a branch like all others must not signal: %+v %v", steps, err)
	}
}

// FuzzFair feeds cells made of any bytes: nothing may panic, and what is accepted must add up.
func FuzzFair(f *testing.F) {
	f.Add([]byte("a row of thirty-two bytes, or so: and another one of thirty-two."), 0.0, uint8(1))
	f.Add(make([]byte, 96), 1.5, uint8(2))
	f.Fuzz(func(t *testing.T, b []byte, tell float64, switches uint8) {
		var cells []Cell
		var causes []Cause
		for ; len(b) >= 32 && len(cells) < 64; b = b[32:] {
			at := func(i int) int64 { return int64(int16(binary.LittleEndian.Uint16(b[i:]))) }
			c := Cell{Branch: string(b[:1]), Film: string(b[1:2]), Fabric: string(b[2 : 2+b[3]%2]), Band: int(b[4] % 4), Period: fmt.Sprintf("2026-%02d", b[5]%13),
				Pieces: at(6) + 30000, Reprints: at(8), Drawn: units.SquareMillimetres(at(10)), Decorated: units.SquareMillimetres(at(12)), Achievable: units.SquareMillimetres(at(14)), DrawnKnown: units.SquareMillimetres(at(10)) / 2, LayoutLoss: units.SquareMillimetres(at(16) * 1 << 40)}
			cells, causes = append(cells, c), append(causes, Cause{Cause: c.Film, Count: at(18)})
		}
		o := Options{TellRatio: tell, Dispersion: Dispersion(switches % 4), YieldMethod: YieldMethod(switches / 4 % 3), Replicates: 200, Branches: []string{"a", "silent"}}
		if v, err := FairReprints(cells, o); err == nil {
			var pieces int64
			for _, s := range v.Standings {
				pieces += s.Pieces
				for _, x := range []float64{s.Rate, s.Expected, s.Ratio, s.Shrunk, s.PValue, s.BHAdjusted, s.Ratio998.High, s.Wilson95.Low} {
					if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
						t.Fatalf("%+v", s)
					}
				}
			}
			if pieces != v.Pieces || v.Finding == "" {
				t.Fatalf("%+v", v)
			}
		} else if !fault.Is(err, fault.Invalid) {
			t.Fatal(err)
		}
		if v, err := FairYield(cells, o); err == nil {
			for _, s := range v.Standings {
				if math.IsNaN(s.Yield+s.OfAchievable+s.DrawnRatio) || math.IsNaN(s.Of95.Low+s.Of998.High+s.Yield95.Low) {
					t.Fatalf("%+v", s)
				}
			}
		}
		if losses, err := Waterfall(cells); err == nil {
			left := losses[0].Area
			for _, l := range losses[1:] {
				left -= l.Area
			}
			if left != 0 {
				t.Fatalf("%+v", losses)
			}
		}
		if shares, err := Pareto(causes); err == nil && len(shares) > 0 && math.Abs(shares[len(shares)-1].CumulativePercent-100) > 1e-9 {
			t.Fatalf("%+v", shares)
		}
		if samples, err := ByPeriod(cells, "a"); err == nil {
			_, _ = LaneyP(samples)
		}
		if lots, err := Lots(cells, "a"); err == nil {
			_, _ = RiskAdjustedCUSUM(lots, Suspicion{2, .5, 4.5})
		}
	})
}

// FuzzIntervals asks for limits of any counts at any level: nothing may panic or be out of order.
func FuzzIntervals(f *testing.F) {
	f.Add(int64(3), int64(20), .95, 4.5, 1.2)
	f.Add(int64(math.MaxInt64), int64(math.MaxInt64), .998, 1e300, 50.0)
	f.Add(int64(-1), int64(0), math.NaN(), -1.0, 1e9)
	f.Fuzz(func(t *testing.T, x, n int64, level, expected, factor float64) {
		for _, i := range []Interval{Wilson(float64(x), float64(n), level), WilsonCorrected(float64(x), float64(n), level), ClopperPearson(x, n, level), MidP(x, n, level)} {
			if !(i.Low >= 0 && i.Low <= i.High+1e-12 && i.High <= 1+1e-12) {
				t.Fatalf("%d of %d at %g: %v", x, n, level, i)
			}
		}
		// The room's own counts stop at MaxCells × MaxPieces.
		o := x % (MaxCells * MaxPieces)
		for _, i := range []Interval{Garwood(o, level), Byar(o, level), MidPCount(o%10_000, level)} {
			if !(i.Low >= 0 && i.Low <= i.High) {
				t.Fatalf("%d at %g: %v", o, level, i)
			}
		}
		if p, m := PoissonP(o, expected), PoissonMidP(o, expected); !(p >= 0 && p <= 1 && m >= -1e-12 && m <= 1) {
			t.Fatalf("%d of %g: %g %g", o, expected, p, m)
		}
		if o >= 0 && expected > 1e-9 && expected < 1e12 && factor >= 1 && factor < 1e6 {
			w := widened(factor)(o, Level998)
			if p := widerP(o, expected, factor); !(w.Low >= 0 && w.Low <= w.High && p >= 0 && p <= 1) {
				t.Fatalf("%d of %g widened by %g: %v %g", o, expected, factor, w, p)
			}
			if r := ratiosAt(expected, Z(Level95)*factor); !(r.Low >= 0 && r.Low <= 1 && r.High >= r.Low) {
				t.Fatalf("%g widened by %g: %v", expected, factor, r)
			}
		}
	})
}
