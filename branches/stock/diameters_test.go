package stock

import (
	"math"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestWound_isThePublishedLength(t *testing.T) {
	for _, row := range []struct {
		name                   string
		outer, core, thickness units.Micrometres
		want                   float64 // mm
		within                 float64
		source                 string
	}{
		{"a 110 mm roll on a 76 mm core, 0.25 mm thick", 110_000, 76_000, 250, 19_867, 1, "L = π(D² − d²)/(4t), Math Forum, Dr. Math 67031 (2003), worked by hand: 19.867 m"},
		{"5 in on 2 in, 0.011 in thick: 1499.39 in", 127_000, 50_800, 279, 1499.39 * 25.4 * 0.2794 / 0.279, 8, "calculator.academy, roll length calculator, example; thickness rounded from 279.4 to 279 µm"},
		{"a whole disc: no core", 20_000, 0, 100, math.Pi * 1000, 1, "area of a circle, π r², shared out over 0.1 mm"},
	} {
		if got := Wound(row.outer, row.core, row.thickness); math.Abs(float64(got)-row.want) > row.within {
			t.Errorf("%s: got %d mm, want %.0f (%s)", row.name, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
	// Turn by turn: each turn's circumference at its middle, added up. 68 turns of 0.25 mm lie between 76 and 110 mm.
	sum := 0.0
	for turn := range 68 {
		sum += math.Pi * (76 + 0.25*(2*float64(turn)+1))
	}
	if got := Wound(110_000, 76_000, 250); math.Abs(float64(got)-sum) > 1 {
		t.Errorf("got %d mm, turn by turn %.1f", got, sum)
	}
}

func TestMeasured_warnsAndRefuses(t *testing.T) {
	m, err := Measured(110_000, 76_000, 250, 19_000)
	if err != nil || m.Doubtful || m.Low > 18_874 || m.High < 20_860 || m.Words == "" {
		t.Errorf("near the account: %+v, %v", m, err)
	}
	// A thickness a hundredth of a millimetre out stays inside the range that is said.
	for _, t2 := range []units.Micrometres{240, 260} {
		if off := Wound(110_000, 76_000, t2); off < m.Low || off > m.High {
			t.Errorf("%d µm gives %d mm, outside %d to %d", t2, off, m.Low, m.High)
		}
	}
	for _, account := range []units.Millimetres{0, 18_000, 25_000} {
		if m, _ := Measured(110_000, 76_000, 250, account); !m.Doubtful {
			t.Errorf("an account of %d mm is not doubted", account)
		}
	}
	if m, _ := Measured(110_000, 76_000, 250, -1); m.Doubtful {
		t.Error("no account is doubted")
	}
	for _, row := range [][3]units.Micrometres{{76_000, 76_000, 250}, {110_000, 76_000, 0}, {110_000, -1, 250}, {2_000_001, 76_000, 250}, {110_000, 76_000, 5001}} {
		if _, err := Measured(row[0], row[1], row[2], 1); !fault.Is(err, fault.Invalid) {
			t.Errorf("%v was taken: %v", row, err)
		}
	}
}
