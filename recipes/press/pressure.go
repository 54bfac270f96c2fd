package press

import (
	"math"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Cylinders is what pushes the platen down.
type Cylinders struct {
	Bore  units.Millimetres // inner diameter, 5 to 1 000
	Count int               // 1 to 16, all on one air line
}

// PlatenPressure is the pressure on the work: air line (gauge) × cylinder area × cylinders ÷ pressed area, rounded to
// the nearest kPa. The weight of the platen, rods and friction are left out. A recipe that says "40 psi" almost
// always means the gauge, not the work: on a platen of 380 × 380 mm it would take nearly four tonnes-force.
//
// Faults: Invalid PRESSURE_INVALID with every wrong field.
func PlatenPressure(gauge units.Kilopascals, c Cylinders, pressed units.SquareMillimetres) (units.Kilopascals, error) {
	if err := pressureCheck("gauge", gauge, 2_000, c, pressed); err != nil {
		return 0, err
	}
	return units.Kilopascals(math.Round(onWork(float64(gauge), c, pressed))), nil
}

// Gauge is the air line that puts a pressure on the work, rounded to the nearest kPa: the inverse of PlatenPressure.
//
// Faults: Invalid PRESSURE_INVALID with every wrong field.
func Gauge(work units.Kilopascals, c Cylinders, pressed units.SquareMillimetres) (units.Kilopascals, error) {
	if err := pressureCheck("pressure", work, 10_000, c, pressed); err != nil {
		return 0, err
	}
	return units.Kilopascals(math.Round(float64(work) / onWork(1, c, pressed))), nil
}

// PressedArea is what carries the force: the smaller of platen and work. A small garment sees more pressure.
func PressedArea(platen, work units.SquareMillimetres) units.SquareMillimetres {
	return min(platen, work)
}

func onWork(gauge float64, c Cylinders, pressed units.SquareMillimetres) float64 {
	bore := float64(c.Bore)
	return gauge * math.Pi / 4 * bore * bore * float64(c.Count) / float64(pressed)
}

func pressureCheck(path string, pressure, most units.Kilopascals, c Cylinders, pressed units.SquareMillimetres) error {
	var fields fault.Fields
	if pressure < 0 || pressure > most {
		fields.Add(path, "is %d kPa; must be 0 to %d", pressure, most)
	}
	if c.Bore < 5 || c.Bore > 1_000 {
		fields.Add("bore", "is %d mm; must be 5 to 1000", c.Bore)
	}
	if c.Count < 1 || c.Count > 16 {
		fields.Add("cylinders", "is %d; must be 1 to 16", c.Count)
	}
	if pressed < 100 || pressed > 10_000_000 {
		fields.Add("pressed_area", "is %d mm²; must be 100 to 10000000", pressed)
	}
	return fields.Fault(room, PressureInvalid, "The pressure can not be worked out. Mend the fields named.")
}
