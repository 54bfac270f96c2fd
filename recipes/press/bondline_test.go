package press

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// jerseyPress is the example of shared reference physics A.6.
func jerseyPress() Situation {
	return Situation{Platen: 150, Pad: 25, CoverSheet: true, Carrier: 100, Film: 300, Fabric: Cotton, Weight: 150, Dwell: 20}
}

func bondLine(t *testing.T, s Situation) History {
	t.Helper()
	h, err := BondLine(s)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func degrees(m MilliCelsius) float64 { return float64(m) / 1000 }

func TestBondLine_recordedExample(t *testing.T) {
	t.Parallel()
	const recorded = "shared reference physics A.6, recorded from an independent program; properties assumed"
	h := bondLine(t, jerseyPress())
	var rows []row
	for _, r := range []struct {
		at               int
		film, face, back float64
	}{
		{1, 73.39, 71.87, 27.89}, {2, 103.22, 101.57, 35.86}, {3, 117.02, 115.39, 43.02}, {4, 123.73, 122.16, 48.71}, {5, 127.22, 125.71, 53.23},
		{7, 130.46, 129.04, 59.97}, {10, 132.52, 131.22, 66.93}, {15, 134.37, 133.19, 74.73}, {20, 135.59, 134.49, 80.23},
	} {
		s := h.Samples[r.at]
		rows = append(rows,
			row{fmt.Sprintf("film underside at %d s", r.at), degrees(s.BondLine), r.film, 0.05, recorded},
			row{fmt.Sprintf("fabric face at %d s", r.at), degrees(s.FabricFace), r.face, 0.05, recorded},
			row{fmt.Sprintf("fabric back at %d s", r.at), degrees(s.FabricBack), r.back, 0.05, recorded})
	}
	// Steady resistances above a half space of pad: q = (T∞−Ti)·h·exp(h²at/k²)·erfc(h·√(at)/k), Incropera 6e equation 5.60.
	above := 1e-4 + 50e-6/0.08 + 100e-6/0.15 + 300e-6/0.25
	all := above + 2e-4 + 600e-6/0.06 + 1e-4
	u := math.Sqrt(0.23/1200/1000*15) / 0.23 / all
	q := (150 - 25) / all * math.Exp(u*u) * math.Erfc(u)
	rows = append(rows, row{"hand estimate at 15 s", degrees(h.Samples[15].BondLine), 150 - q*above, 1.5, "Incropera 6e equation 5.60 with the sum of resistances"},
		row{"the hand estimate itself", 150 - q*above, 135.4, 0.05, "shared reference physics A.6"})

	for _, r := range []struct {
		name   string
		change func(*Situation)
		want   float64
	}{
		{"platen −5 °C", func(s *Situation) { s.Platen -= 5 }, -4.4},
		{"platen +5 °C", func(s *Situation) { s.Platen += 5 }, 4.4},
		{"platen −10 °C", func(s *Situation) { s.Platen -= 10 }, -8.7},
		{"pad at 60 °C", func(s *Situation) { s.Pad = 60 }, 4.1},
		{"film 0.1 mm", func(s *Situation) { s.Film = 100 }, 4.7},
		{"film 0.5 mm", func(s *Situation) { s.Film = 500 }, -5.0},
		{"polyester jersey", func(s *Situation) { s.Fabric = Polyester }, -1.1},
		{"thin nylon", func(s *Situation) { s.Fabric, s.Weight = Nylon, 80 }, -8.6},
	} {
		s := jerseyPress()
		r.change(&s)
		rows = append(rows, row{r.name, degrees(bondLine(t, s).Samples[15].BondLine - h.Samples[15].BondLine), r.want, 0.1, recorded})
	}
	s := jerseyPress()
	s.Dwell = 15
	rows = append(rows, row{"heat drawn in 15 s", float64(bondLine(t, s).HeatJoulesPerSquareM), 203e3, 1e3, recorded})
	checkRows(t, rows)
}

func TestMarch_moistureMatchesTheRecord(t *testing.T) {
	const source = "shared reference physics A.6, recorded from another program with its own boiling curve"
	at := func(water float64, seconds float64) float64 {
		return lastFaces(t, referenceStack(150, jersey(water)), seconds, PressResolution)[2].Lower
	}
	checkRows(t, []row{
		{"7.5 % regain at 5 s", at(18.75, 5), 123.9, 0.3, source},
		{"7.5 % regain at 15 s", at(18.75, 15), 133.5, 0.3, source},
		{"damp 20 % at 5 s", at(50, 5), 119.7, 0.3, source},
		{"damp 20 % at 15 s", at(50, 15), 131.8, 0.3, source},
	})
	bare := Stack{Top: Behind(150, 1e-4), Bottom: Held(25), Layers: referenceStack(150, jersey(18.75)).Layers}
	bare.Layers = append([]Layer{bare.Layers[0]}, bare.Layers[3:]...)
	for seconds, want := range map[float64]float64{1: 0.74, 3: 0.58, 5: 0.51, 10: 0.40} {
		got := course(t, bare, seconds, seconds, PressResolution).WaterLeft[1]
		checkRows(t, []row{{fmt.Sprintf("water left after %g s of pre-press", seconds), got, want, 0.02, source}})
	}
}

func TestCell_boilingTakesTheLatentHeat(t *testing.T) {
	// 150 g/m² conditioned at 8.5 %: 11.75 g/m² of water, 30.46 kJ/m² to warm from 20 to 100 °C and boil.
	water := 150 * 0.085 / 1.085 // g/m²
	l := cloths[Cotton].layer(150, 0.085)
	thickness := l.ThicknessUM * 1e-6
	wet, dry := cell{dry: l.Rho * l.Cp, water: l.Water, onset: boilingFrom}, cell{dry: l.Rho * l.Cp, onset: boilingFrom}
	takes := func(c cell) float64 {
		hot, _ := c.heat(110)
		cold, _ := c.heat(20)
		return (hot - cold) * thickness / 1000
	}
	const source = "2257 kJ/kg and 4.186 kJ/(kg·K), engineering tables; shared reference physics A.5"
	checkRows(t, []row{
		{"water held, g/m²", l.Water * thickness * 1000, 11.75, 0.005, source},
		{"water held by hand, g/m²", water, 11.75, 0.005, "150 × 0.085/1.085"},
		{"kJ/m² to boil it away", takes(wet) - takes(dry), 30.46, 0.03, source},
		{"kJ/m² to warm the dry cloth 20 to 150 °C", l.Rho * l.Cp * thickness * 130 / 1000, 23.4, 0.05, "shared reference physics A.5"},
	})
	gone := wet
	gone.boilAt(120)
	if gone.waterLeft() != 0 || wet.waterLeft() != wet.water {
		t.Errorf("after 120 °C %g kg/m³ is left, before %g of %g", gone.waterLeft(), wet.waterLeft(), wet.water)
	}
}

func TestBondLine_bandIsThatOfTheReference(t *testing.T) {
	s := jerseyPress()
	s.Dwell = 15
	below, above, err := handbook().band(s)
	if err != nil {
		t.Fatal(err)
	}
	checkRows(t, []row{
		{"below", below, 9, 0.6, "shared reference physics A.6: about −9/+6 °C, root sum of squares"},
		{"above", above, 6, 0.6, "shared reference physics A.6: about −9/+6 °C, root sum of squares"},
	})
	if end := bondLine(t, s).End; end.Likely != 134 || end.Low > 125 || end.High < 140 {
		t.Errorf("got %+v, want 134 with a band of at least −9/+6", end)
	}
	s.Dwell = 3
	short := bondLine(t, s).End
	if short.Likely-short.Low < 12 {
		t.Errorf("a short dwell must have a wider band, got %+v", short)
	}
}

func TestBondLine_prePressDriesAndWarms(t *testing.T) {
	t.Parallel()
	s := jerseyPress()
	s.Regain, s.Dwell = 75_000, 10
	without := bondLine(t, s)
	s.PrePress, s.Place = 5, 6
	with := bondLine(t, s)
	if with.RegainAfterPrePress >= without.RegainAfterPrePress || without.RegainAfterPrePress != s.Regain {
		t.Errorf("water when the dwell begins: with %d, without %d of %d", with.RegainAfterPrePress, without.RegainAfterPrePress, s.Regain)
	}
	if with.RegainAtEnd > with.RegainAfterPrePress || with.Samples[10].BondLine <= without.Samples[10].BondLine {
		t.Errorf("a pre-press must leave the bond line warmer: %d against %d", with.Samples[10].BondLine, without.Samples[10].BondLine)
	}
	if with.PrePressPeak <= with.FacePeak || without.PrePressPeak != 0 {
		t.Errorf("a bare face is hotter than one under film: %d against %d", with.PrePressPeak, with.FacePeak)
	}
	s.Place = 60
	if longer := bondLine(t, s); longer.Samples[1].BondLine > with.Samples[1].BondLine {
		t.Errorf("a garment left open cools: %d after 60 s, %d after 6 s", longer.Samples[1].BondLine, with.Samples[1].BondLine)
	}
}

func anySituation(t *rapid.T) Situation {
	platen := rapid.Int64Range(90, 250).Draw(t, "platen")
	return Situation{
		Platen: units.Celsius(platen), Pad: units.Celsius(rapid.Int64Range(0, 80).Draw(t, "pad")),
		CoverSheet: rapid.Bool().Draw(t, "cover"), Carrier: units.Micrometres(rapid.SampledFrom([]int64{0, 50, 100, 1000}).Draw(t, "carrier")),
		Film:   units.Micrometres(rapid.Int64Range(10, 3000).Draw(t, "film")),
		Fabric: rapid.SampledFrom([]FabricFamily{Cotton, Polyester, Blend, Nylon, Stretch}).Draw(t, "fabric"),
		Weight: units.GramsPerSquareMetre(rapid.Int64Range(20, 1500).Draw(t, "weight")),
		Regain: units.PartsPerMillion(rapid.SampledFrom([]int64{0, 1, 4000, 85_000, 1_000_000}).Draw(t, "regain")),
		Place:  units.Seconds(rapid.Int64Range(0, 10).Draw(t, "place")), PrePress: units.Seconds(rapid.Int64Range(0, 6).Draw(t, "pre-press")),
		Dwell: units.Seconds(rapid.Int64Range(1, 8).Draw(t, "dwell")),
	}
}

func TestBondLine_staysBetweenPadRoomAndPlaten(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := anySituation(t)
		p, err := handbook().press(s, PressResolution)
		if err != nil {
			t.Fatalf("%+v: %v", s, err)
		}
		low, high := min(roomTemperature, float64(s.Pad))-1e-6, float64(s.Platen)+1e-6
		for _, m := range p.moments {
			for i, f := range m.Faces {
				if !within(f.Upper, low, high) || !within(f.Lower, low, high) {
					t.Fatalf("%+v: layer %d at %g s is %+v, outside %g to %g", s, i, m.Seconds, f, low, high)
				}
			}
		}
		if !within(p.waterAfter, 0, p.waterBefore) || !within(p.waterBefore, 0, 1) {
			t.Fatalf("water before the dwell %g, after %g", p.waterBefore, p.waterAfter)
		}
	})
}

func TestBondLine_hotterPlatenHotterBondLine(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := anySituation(t)
		s.Platen = min(s.Platen, 240)
		// Not so after a pre-press: a hotter one boils more water away, and the drier cloth holds less heat while the
		// press stands open.
		s.PrePress = 0
		cooler, err := handbook().press(s, bandResolution)
		if err != nil {
			t.Fatal(err)
		}
		s.Platen += 10
		hotter, err := handbook().press(s, bandResolution)
		if err != nil {
			t.Fatal(err)
		}
		// Under a thick film the first second brings no heat that a float can tell.
		least := 0.0
		if s.Film > 500 {
			least = -1e-6
		}
		if !(hotter.bondLine()-cooler.bondLine() > least) {
			t.Fatalf("%+v: 10 °C more on the platen moved the bond line from %g to %g", s, cooler.bondLine(), hotter.bondLine())
		}
	})
}

func TestBondLine_refusesEveryWrongFieldAtOnce(t *testing.T) {
	_, err := BondLine(Situation{Platen: 300, Pad: 300, Carrier: -1, Fabric: "tin", PrePress: -1, Place: -1, Regain: -1, AdhesiveFrom: 150, AdhesiveTo: 140})
	f, ok := fault.As(err)
	if !ok || f.Kind != fault.Invalid || f.Reason != SituationInvalid {
		t.Fatalf("got %v", err)
	}
	seen := map[string]bool{}
	for _, field := range f.Fields {
		seen[field.Path] = true
	}
	for _, path := range []string{"platen", "pad", "carrier", "film", "fabric", "weight", "regain", "pre_press", "place", "dwell", "adhesive_to"} {
		if !seen[path] {
			t.Errorf("%s was not refused", path)
		}
	}
}

func TestMarch_refusesWhatCanNotBeComputed(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1} {
		for name, f := range map[string]func(*Stack, *Resolution, *float64){
			"thickness": func(s *Stack, _ *Resolution, _ *float64) { s.Layers[0].ThicknessUM = bad },
			"k":         func(s *Stack, _ *Resolution, _ *float64) { s.Layers[1].K = bad },
			"rho":       func(s *Stack, _ *Resolution, _ *float64) { s.Layers[1].Rho = bad },
			"cp":        func(s *Stack, _ *Resolution, _ *float64) { s.Layers[1].Cp = bad },
			"step":      func(_ *Stack, r *Resolution, _ *float64) { r.Step = bad },
			"seconds":   func(_ *Stack, _ *Resolution, seconds *float64) { *seconds = bad },
			"h":         func(s *Stack, _ *Resolution, _ *float64) { s.Top = Convection(20, bad) },
		} {
			if name == "h" && math.IsInf(bad, 1) {
				continue // no resistance at all is a held face
			}
			s, r, seconds := referenceStack(150, jersey(0)), PressResolution, 1.0
			f(&s, &r, &seconds)
			if _, err := s.March(seconds, 1, r); !fault.Is(err, fault.Invalid) && !(name == "h" && math.IsInf(bad, -1)) {
				t.Errorf("%s %g: got %v, want Invalid", name, bad, err)
			}
		}
	}
	s := referenceStack(150, jersey(0))
	for name, run := range map[string]func() error{
		"steps": func() error { _, err := s.March(1e6, 1e6, PressResolution); return err },
		"layers": func() error {
			_, err := Stack{Layers: make([]Layer, MaxLayers+1)}.March(1, 1, PressResolution)
			return err
		},
		"cells": func() error { _, err := s.March(1, 1, Resolution{MaxCells + 1, 0, 1}); return err },
	} {
		if err := run(); !fault.Is(err, fault.TooLarge) {
			t.Errorf("%s: got %v, want TooLarge", name, err)
		}
	}
	if _, err := (Stack{}).March(1, 1, PressResolution); !fault.Is(err, fault.Invalid) {
		t.Errorf("an empty stack: got %v, want Invalid", err)
	}
}

// Ready-made steps from two milliseconds to half a second must not overshoot.
func TestMarch_maximumPrinciple(t *testing.T) {
	t.Parallel()
	for _, step := range []float64{0.002, 0.02, 0.1, 0.5} {
		for _, water := range []float64{0, 18.75} {
			c := course(t, referenceStack(150, jersey(water)), 4, 0.5, Resolution{16, 1.5, step})
			for _, m := range c.Moments {
				for i, f := range m.Faces {
					if !within(f.Upper, 25-1e-6, 150+1e-6) || !within(f.Lower, 25-1e-6, 150+1e-6) {
						t.Errorf("step %g s, water %g: layer %d at %g s is %+v", step, water, i, m.Seconds, f)
					}
				}
			}
		}
	}
}

func FuzzBondLine(f *testing.F) {
	f.Add(int64(150), int64(25), int64(100), int64(300), "cotton", int64(150), int64(85_000), int64(3), int64(2), true)
	f.Add(int64(250), int64(0), int64(0), int64(10), "nylon", int64(20), int64(1_000_000), int64(1), int64(1), false)
	f.Fuzz(func(t *testing.T, platen, pad, carrier, film int64, fabric string, weight, regain, prePress, dwell int64, cover bool) {
		if dwell > 5 || prePress > 5 {
			return
		}
		s := Situation{units.Celsius(platen), units.Celsius(pad), cover, units.Micrometres(carrier), units.Micrometres(film), FabricFamily(fabric),
			units.GramsPerSquareMetre(weight), units.PartsPerMillion(regain), units.Seconds(prePress), 3, units.Seconds(dwell), 0, 0}
		h, err := BondLine(s)
		if err != nil {
			if !fault.Is(err, fault.Invalid) {
				t.Fatalf("%+v: %v", s, err)
			}
			return
		}
		for _, sample := range h.Samples {
			if degrees(sample.BondLine) > float64(platen)+0.001 || degrees(sample.BondLine) < min(roomTemperature, float64(pad))-0.001 {
				t.Fatalf("%+v: %+v", s, sample)
			}
		}
		Warnings(s, h)
	})
}

func FuzzMarch(f *testing.F) {
	f.Add(100.0, 0.2, 1000.0, 1000.0, 10.0, 1e-4, 20.0, 150.0, 0.05)
	f.Add(1e9, 1e-6, 1e6, 1e8, 1e4, 1e6, 1e5, -273.0, 1e9)
	f.Add(1e-3, 1e6, 1e-6, 1e-6, 1e4, 0.0, 20.0, 150.0, 1.0)
	f.Fuzz(func(t *testing.T, thickness, k, rho, cp, water, contact, start, end, step float64) {
		l := Layer{"any", thickness, k, rho, cp, water, contact, start}
		dry := l
		dry.Water = 0
		c, err := Stack{Top: Behind(end, contact), Bottom: Insulated(), Layers: []Layer{l, dry}}.March(10*step, step, Resolution{6, 1, step})
		if err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		for _, m := range c.Moments {
			for _, face := range m.Faces {
				if math.IsNaN(face.Upper) || math.IsInf(face.Lower, 0) {
					t.Fatalf("%+v at %g s: %+v", l, m.Seconds, face)
				}
			}
		}
	})
}

func BenchmarkMarch_20sPressDry(b *testing.B)   { benchmarkMarch(b, 0) }
func BenchmarkMarch_20sPressMoist(b *testing.B) { benchmarkMarch(b, 18.75) }

func benchmarkMarch(b *testing.B, water float64) {
	s := referenceStack(150, jersey(water))
	for b.Loop() {
		if _, err := s.March(20, 1, PressResolution); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBondLine_20sPressWithBand(b *testing.B) {
	s := jerseyPress()
	s.Regain, s.PrePress, s.Place = 85_000, 3, 5
	for b.Loop() {
		if _, err := BondLine(s); err != nil {
			b.Fatal(err)
		}
	}
}
