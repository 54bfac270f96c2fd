package press

import (
	"math"
	"strconv"

	"evenpeel/recipes/fault"
)

// Limits of one computation, so that no input can hold the process.
const (
	MaxLayers    = 32          // layers in a Stack
	MaxCells     = 2_000       // cells in one layer
	MaxSteps     = 500_000     // time steps in one March
	MaxCellSteps = 100_000_000 // cells × steps in one March
)

// Layer is one sheet of the stack, listed from the platen down.
type Layer struct {
	Name         string
	ThicknessUM  float64 // µm, above 0
	K            float64 // conductivity, W/(m·K), above 0
	Rho          float64 // density without its water, kg/m³, above 0
	Cp           float64 // heat capacity without its water, J/(kg·K), above 0
	Water        float64 // liquid water held, kg per m³ of layer, 0 or more
	ContactBelow float64 // contact resistance to the next layer, m²·K/W, 0 or more; ignored for the last layer
	Start        float64 // temperature at the start, °C
}

// Stack is what lies between two ends, from the platen down.
type Stack struct {
	Top, Bottom End
	Layers      []Layer
}

// End is what happens at the top or the bottom of a stack. The zero End is insulated.
type End struct {
	conducts    bool
	temperature float64 // °C
	resistance  float64 // m²·K/W
	flux        float64 // W/m² into the stack
}

// Held is an end kept at a temperature in °C.
func Held(celsius float64) End { return End{conducts: true, temperature: celsius} }

// Behind is an end kept at a temperature in °C behind a contact resistance in m²·K/W, 0 or more.
func Behind(celsius, resistance float64) End {
	return End{conducts: true, temperature: celsius, resistance: resistance}
}

// Convection is a fluid at a temperature in °C with a coefficient in W/(m²·K), above 0: a resistance of 1/h.
func Convection(celsius, h float64) End { return Behind(celsius, 1/h) }

// Heated is an end with a fixed flux into the stack in W/m².
func Heated(flux float64) End { return End{flux: flux} }

// Insulated is an end that no heat passes.
func Insulated() End { return End{} }

// Resolution says how finely space and time are cut.
type Resolution struct {
	Cells int     // cells in every layer, 2 to MaxCells
	Grade float64 // 0 is even cells; larger puts finer cells at the faces of each layer, up to 6
	Step  float64 // seconds, above 0
}

// PressResolution is within 0.05 °C of a sixteen times finer run after 1 s of pressing (see the convergence test).
var PressResolution = Resolution{Cells: 16, Grade: 1.5, Step: 0.05}

// Faces is the temperature of a layer's upper and lower face, °C.
type Faces struct{ Upper, Lower float64 }

// Moment is the stack at one sampled instant.
type Moment struct {
	Seconds float64
	Faces   []Faces // one per layer
}

// Course is what a March saw.
type Course struct {
	Moments   []Moment  // the start, every sampling interval, the end
	HeatIn    float64   // through the top, J/m²
	HeatOut   float64   // through the bottom, J/m²
	Stored    float64   // warming, and boiling water away, J/m²
	WaterLeft []float64 // per layer, as a part of the water it began with; 1 for a dry layer
}

// March computes the stack for a number of seconds and samples it every so many seconds.
//
// Method: finite volumes with cells graded inside each layer, Crank–Nicolson in time after two steps that are each
// split into two backward-Euler halves (Rannacher's start, so that a sudden platen does not ring), held water as a
// step of enthalpy solved by damped Newton. Order 2 in space and in time (tested).
//
// Faults: Invalid STACK_INVALID with every wrong field; TooLarge PRESS_TOO_LARGE over the limits of this file;
// Broken HEAT_DID_NOT_SETTLE.
func (s Stack) March(seconds, every float64, r Resolution) (Course, error) {
	if err := s.check(seconds, every, r); err != nil {
		return Course{}, err
	}
	m := newMarch(s.Layers, r)
	course := Course{}
	err := m.advance(s.Top, s.Bottom, seconds, every, r.Step, func(t float64) {
		course.Moments = append(course.Moments, Moment{t, m.faces(s.Top, s.Bottom)})
	})
	if err != nil {
		return Course{}, err
	}
	course.HeatIn, course.HeatOut, course.Stored = m.heatIn, m.heatOut, m.stored
	for layer := range s.Layers {
		course.WaterLeft = append(course.WaterLeft, m.waterLeft(layer))
	}
	return course, nil
}

func (s Stack) check(seconds, every float64, r Resolution) error {
	if len(s.Layers) > MaxLayers || r.Cells > MaxCells {
		return fault.New(fault.TooLarge, room, PressTooLarge,
			"The stack has %d layers of %d cells; at most %d layers of %d cells are computed. Use fewer.", len(s.Layers), r.Cells, MaxLayers, MaxCells)
	}
	var fields fault.Fields
	if len(s.Layers) == 0 {
		fields.Add("layers", "is empty; name at least one layer")
	}
	for i, l := range s.Layers {
		fields.Under("layers["+strconv.Itoa(i)+"]", l.check())
	}
	fields.Under("top", s.Top.check())
	fields.Under("bottom", s.Bottom.check())
	if r.Cells < 2 {
		fields.Add("resolution.cells", "is %d; at least 2 are needed", r.Cells)
	}
	if !within(r.Grade, 0, 6) {
		fields.Add("resolution.grade", "is %g; must be 0 to 6", r.Grade)
	}
	for _, span := range []struct {
		path  string
		value float64
	}{{"resolution.step", r.Step}, {"seconds", seconds}, {"every", every}} {
		if !within(span.value, 1e-9, 1e9) {
			fields.Add(span.path, "is %g s; must be above 0 and at most a thousand million", span.value)
		}
	}
	if err := fields.Fault(room, StackInvalid, "The stack can not be computed. Mend the fields named."); err != nil {
		return err
	}
	// Every sampling interval takes at least one step.
	steps := seconds/min(r.Step, every) + seconds/every + 1
	cells := float64(len(s.Layers) * r.Cells)
	if steps > MaxSteps || steps*cells > MaxCellSteps {
		return fault.New(fault.TooLarge, room, PressTooLarge,
			"This would take %.0f steps of %.0f cells; at most %d steps and %d cell steps are computed. Use a longer step.", steps, cells, MaxSteps, MaxCellSteps)
	}
	return nil
}

func (l Layer) check() (fields fault.Fields) {
	for _, p := range []struct {
		path      string
		value     float64
		low, high float64
		unit      string
	}{
		{"thickness", l.ThicknessUM, 1e-3, 1e9, "µm"},
		{"k", l.K, 1e-6, 1e6, "W/(m·K)"},
		{"rho", l.Rho, 1e-6, 1e6, "kg/m³"},
		{"cp", l.Cp, 1e-6, 1e8, "J/(kg·K)"},
		{"water", l.Water, 0, 1e4, "kg/m³"},
		{"contact_below", l.ContactBelow, 0, 1e6, "m²·K/W"},
		{"start", l.Start, -273.15, 1e5, "°C"},
	} {
		if !within(p.value, p.low, p.high) {
			fields.Add(p.path, "is %g %s; must be %g to %g", p.value, p.unit, p.low, p.high)
		}
	}
	return fields
}

func (e End) check() (fields fault.Fields) {
	if !within(e.temperature, -273.15, 1e5) {
		fields.Add("temperature", "is %g °C; must be a temperature", e.temperature)
	}
	if !within(e.resistance, 0, 1e6) {
		fields.Add("resistance", "is %g m²·K/W; must be 0 to 1e+06", e.resistance)
	}
	if !within(e.flux, -1e9, 1e9) {
		fields.Add("flux", "is %g W/m²; must be -1e+09 to 1e+09", e.flux)
	}
	return fields
}

// within is false for NaN.
func within(v, low, high float64) bool { return v >= low && v <= high && !math.IsInf(v, 0) }
