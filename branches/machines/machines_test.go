package machines

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes"
	"evenpeel/recipes/units"
)

func forceDial() Dial {
	return Dial{Quantity: Force, Scale: "step", Step: 1000, Low: 1000, High: 33000, Points: []Point{{1000, 20000}, {10000, 65000}, {33000, 210000}}}
}

func TestDial_twoPointCalibration(t *testing.T) {
	rows := []struct {
		name       string
		dial       Dial
		value      Milli
		want, true Milli
		source     string
	}{
		// Two-point calibration: slope (t2−t1)/(m2−m1), offset t1 − slope·m1.
		{"a press that reads 3 °C low", Dial{Quantity: Temperature, Scale: "°C", Step: 1000, Low: 0, High: 220000, Points: []Point{{100000, 103000}, {200000, 203000}}}, 150000, 147000, 150000, "shared reference statistics §10, two-point calibration (definition)"},
		{"slope 0.9870, intercept 0.2358", Dial{Quantity: Force, Scale: "µm", Step: 1, Low: 0, High: 20000, Points: []Point{{236, 0}, {10106, 10000}}}, 5000, 5171, 5000, "NIST linewidth calibration (mpc3673): X = (Y − 0.2358)/0.9870, so Y(5) = 5.1708"},
		{"no points: the dial shows the truth", Dial{Quantity: Time, Scale: "s", Step: 1000, Low: 1000, High: 99000}, 10000, 10000, 10000, "definition"},
	}
	for _, row := range rows {
		got, ok := row.dial.Nearest(row.value)
		if !ok || got != row.want || gap(row.dial.True(got), row.true) > 1 {
			t.Errorf("%s: dial %s (true %s, %v), want %s (%s)", row.name, got, row.dial.True(got), ok, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

func TestDial_nearestStepIsNearestOfAll(t *testing.T) {
	d := forceDial()
	rapid.Check(t, func(t *rapid.T) {
		value := Milli(rapid.Int64Range(0, 260000).Draw(t, "value"))
		got, ok := d.Nearest(value)
		for dial := d.Low; dial <= d.High; dial += d.Step {
			if gap(d.True(dial), value) < gap(d.True(got), value) {
				t.Fatalf("%s: chose %s (%s), but %s gives %s", value, got, d.True(got), dial, d.True(dial))
			}
		}
		if value >= 20000 && value <= 210000 && !ok {
			t.Fatalf("%s lies in the dial's range but was called out of it", value)
		}
	})
}

func TestDial_calibrationAndInverseMeet(t *testing.T) {
	d := forceDial()
	rapid.Check(t, func(t *rapid.T) {
		dial := Milli(rapid.Int64Range(1000, 33000).Draw(t, "dial"))
		if back := d.Wanted(d.True(dial)); gap(back, dial) > 1 {
			t.Fatalf("dial %s → %s → %s", dial, d.True(dial), back)
		}
	})
}

func glitterOnCotton() recipes.Recipe {
	return recipes.Recipe{
		Title: "Glitter on cotton", Film: recipes.Film{Code: "g", Title: "Glitter", Thickness: 250, Carrier: 100, RollWidth: 500}, Fabric: "cotton",
		CutSpeed: units.Window[units.MillimetresPerSecond]{Low: 250, Set: 300, High: 500}, CutForce: units.Around(units.GramsForce(120), 20, 20), BladeDepth: units.Around(units.Micrometres(280), 20, 30), Passes: 1,
		Temperature: units.Around(units.Celsius(150), 5, 5), PrePress: 5, Dwell: units.Around(units.Seconds(10), 2, 3), Pressure: units.Around(units.Kilopascals(30), 10, 10), Peel: recipes.Hot,
	}
}

func cutterAndPress() (Machine, Machine) {
	cutter := Machine{Name: "branches/a/machines/c", Kind: Cutter, Title: "Bench cutter", Width: 600, Dials: []Dial{forceDial(), {Quantity: Speed, Scale: "cm/s", Step: 10000, Low: 10000, High: 60000, Points: []Point{{10000, 100000}, {60000, 600000}}}}}
	platen := Machine{Name: "branches/a/machines/p", Kind: Press, Title: "Clam press", PlatenWidth: 380, PlatenDepth: 380, Count: 1, Dials: []Dial{
		{Quantity: Temperature, Scale: "°C", Step: 1000, Low: 50000, High: 220000, Points: []Point{{100000, 97000}, {200000, 197000}}},
		{Quantity: Time, Scale: "s", Step: 1000, Low: 1000, High: 99000},
	}}
	return cutter, platen
}

func TestWorked_glitterOnAPressThatGivesThreeDegreesLess(t *testing.T) {
	cutter, platen := cutterAndPress()
	c := Worked(recipes.SheetEntry{}, glitterOnCotton(), cutter, platen, nil)
	if !c.Usable() {
		t.Fatal(c.Refusals)
	}
	want := map[string]string{"cut_speed_mm_per_second": "30 cm/s", "cut_force_grams": "19 step", "press_temperature_celsius": "153 °C", "dwell_seconds": "10 s", "pre_press_seconds": "5 s"}
	for _, s := range append(c.Cut, c.Pressing...) {
		if w, ok := want[s.Key]; ok && s.Dial.String()+" "+s.Scale != w {
			t.Errorf("%s: dial %s %s, want %s", s.Key, s.Dial, s.Scale, w)
		}
		if s.Given < s.Low || s.Given > s.High {
			t.Errorf("%s: gives %s outside %s to %s", s.Key, s.Given, s.Low, s.High)
		}
	}
	// Shared reference physics A.6: the bond line sits about 15 °C below the platen after 15 s, less after 10 s.
	if below := 150 - c.BondLine.Likely; below < 8 || below > 30 {
		t.Errorf("bond line %d °C for a platen of 150 °C", c.BondLine.Likely)
	}
}

func TestWorked_refusesWhatTheMachineCanNotHold(t *testing.T) {
	cutter, platen := cutterAndPress()
	platen.Dials[0].High = 130000
	cutter.Width = 300
	c := Worked(recipes.SheetEntry{}, glitterOnCotton(), cutter, platen, nil)
	all := strings.Join(c.Refusals, "\n")
	if c.Usable() || !strings.Contains(all, "127 °C at its nearest setting; the recipe allows 145 to 155 °C") || !strings.Contains(all, "up to 300 mm wide") {
		t.Errorf("refusals: %s", all)
	}
	// A dial whose steps are so coarse that none falls into the window.
	coarse := cutter
	coarse.Width = 600
	coarse.Dials = []Dial{{Quantity: Force, Scale: "step", Step: 1000, Low: 1000, High: 3000, Points: []Point{{1000, 50000}, {3000, 350000}}}, cutter.Dials[1]}
	if c := Worked(recipes.SheetEntry{}, glitterOnCotton(), coarse, platen, nil); c.Cut[1].Refusal == "" {
		t.Errorf("steps of 150 gf were accepted for 100 to 140 gf: %+v", c.Cut[1])
	}
}

func TestMachine_checkNamesEveryFault(t *testing.T) {
	fs := Machine{Kind: Cutter, Dials: []Dial{{Quantity: Force, Scale: "", Step: 0, Low: 5, High: 5, Points: []Point{{1, 1}, {2, 1}}}}}.Check()
	for _, path := range []string{"name", "title", "width_mm", "units_per_metre", "dials[0].scale", "dials[0].step_milli", "dials[0].points", "dials"} {
		found := false
		for _, f := range fs {
			found = found || f.Path == path
		}
		if !found {
			t.Errorf("nothing said about %s; got %v", path, fs)
		}
	}
	cutter, platen := cutterAndPress()
	cutter.UnitsPerM, cutter.Acceleration, cutter.Travel = 40000, 2000, 500
	for _, m := range []Machine{cutter, platen} {
		if fs := m.Check(); len(fs) != 0 {
			t.Errorf("%s: %v", m.Name, fs)
		}
	}
}

func BenchmarkWorked(b *testing.B) {
	cutter, platen := cutterAndPress()
	heat := &Heat{}
	for b.Loop() {
		Worked(recipes.SheetEntry{}, glitterOnCotton(), cutter, platen, heat)
	}
}
