package press

import (
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestPlatenPressure_published(t *testing.T) {
	one := Cylinders{63, 1}
	const source = "area ratio, shared reference physics B: 6 bar on a bore of 63 mm, platen 380 × 380 mm"
	checkRows(t, []row{
		{"pressure, kPa", onWork(600, one, 144_400), 12.9525, 1e-4, source},
		{"force, N", onWork(600, one, 144_400) * 144_400 / 1000, 1870.347, 1e-3, source},
		{"psi", onWork(600, one, 144_400) / 6.894757293168361, 1.8786, 1e-4, "NIST SP 811 for the pound-force per square inch"},
		{"tonnes-force for 40 psi on the platen", 40 * 6.894757293168361 * 144_400 / 1000 / 9806.65, 39_824 / 9806.65, 1e-3, "shared reference physics B: 39 824 N"},
	})
	got, err := PlatenPressure(600, one, 144_400)
	if err != nil || got != 13 {
		t.Errorf("got %d kPa, %v; want 13 (%s)", got, err, source)
	}
	if back, err := Gauge(13, one, 144_400); err != nil || back != 602 {
		t.Errorf("got %d kPa, %v; want 602: 13/12.9525 × 600", back, err)
	}
	if a := PressedArea(144_400, 60_000); a != 60_000 {
		t.Errorf("a small garment carries the force: got %d", a)
	}
}

func TestPlatenPressure_scalesAndComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gauge := units.Kilopascals(rapid.Int64Range(0, 2000).Draw(t, "gauge"))
		c := Cylinders{units.Millimetres(rapid.Int64Range(5, 1000).Draw(t, "bore")), rapid.IntRange(1, 8).Draw(t, "count")}
		area := units.SquareMillimetres(rapid.Int64Range(100, 1_000_000).Draw(t, "area"))
		work, err := PlatenPressure(gauge, c, area)
		if err != nil {
			t.Fatal(err)
		}
		double, err := PlatenPressure(gauge, Cylinders{c.Bore, 2 * c.Count}, area)
		if err != nil || double < 2*work-1 || double > 2*work+1 {
			t.Fatalf("twice the cylinders: %d from %d, %v", double, work, err)
		}
		if work > 10_000 {
			return
		}
		back, err := Gauge(work, c, area)
		if err != nil {
			t.Fatal(err)
		}
		// Half a kPa on the work is this much on the gauge.
		slack := units.Kilopascals(0.5/onWork(1, c, area)) + 1
		if back < gauge-slack || back > gauge+slack {
			t.Fatalf("gauge %d came back as %d with %d kPa on the work", gauge, back, work)
		}
	})
}

func TestPlatenPressure_refusesEveryWrongFieldAtOnce(t *testing.T) {
	_, err := PlatenPressure(-1, Cylinders{}, 0)
	if f, ok := fault.As(err); !ok || f.Reason != PressureInvalid || len(f.Fields) != 4 {
		t.Errorf("got %v, want four fields", err)
	}
	if _, err := Gauge(10_001, Cylinders{63, 17}, 1e8); !fault.Is(err, fault.Invalid) {
		t.Errorf("got %v", err)
	}
}
