package press

import (
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Peel is when the carrier comes off.
type Peel string

// Hot is peeled on the press; warm and cold wait beside it.
const (
	Hot  Peel = "hot"
	Warm Peel = "warm"
	Cold Peel = "cold"
)

// Cycle is the work on one decoration. Zero seconds is "no such step"; each is at most MaxStepSeconds.
type Cycle struct {
	Load        units.Seconds // dress the garment on the pad; hands
	PrePress    units.Seconds // heat
	Place       units.Seconds // lay the film; hands
	Dwell       units.Seconds // heat, at least 1
	Peel        Peel
	PeelWait    units.Seconds // hot: under the open press; warm and cold: beside it, so that the press is free
	PeelTime    units.Seconds // hands
	SecondPress units.Seconds // heat after the peel; a garment peeled beside the press is loaded again for it
	TakeOff     units.Seconds // lift the garment off the pad; hands
}

// Limits of a schedule.
const (
	MaxStepSeconds = units.Seconds(3_600)
	MaxGarments    = 10_000
	MaxPresses     = 20
	MaxOperators   = 20
)

// Step is one line of a cycle's time line.
type Step struct {
	Name    string
	Seconds units.Seconds
	HeatOn  bool // the platen is closed
	Hands   bool // somebody works
	OnPress bool // the garment lies on the pad
}

// Check gathers every wrong field: Invalid CYCLE_INVALID.
func (c Cycle) Check() error { return c.faults().Fault(room, CycleInvalid, cycleWords) }

const cycleWords = "The cycle can not be worked out. Mend the fields named."

func (c Cycle) faults() (fields fault.Fields) {
	for _, s := range []struct {
		path  string
		value units.Seconds
		least units.Seconds
	}{
		{"load", c.Load, 0}, {"pre_press", c.PrePress, 0}, {"place", c.Place, 0}, {"dwell", c.Dwell, 1},
		{"peel_wait", c.PeelWait, 0}, {"peel_time", c.PeelTime, 0}, {"second_press", c.SecondPress, 0}, {"take_off", c.TakeOff, 0},
	} {
		if s.value < s.least || s.value > MaxStepSeconds {
			fields.Add(s.path, "is %d s; must be %d to %d", s.value, s.least, MaxStepSeconds)
		}
	}
	switch c.Peel {
	case Hot, Warm, Cold:
	default:
		fields.Add("peel", "is %.20q; must be hot, warm or cold", string(c.Peel))
	}
	return fields
}

// Timeline is what happens to one garment, in order, without steps of no length. It does not check: Check does.
func (c Cycle) Timeline() []Step {
	steps := []Step{
		{"load", c.Load, false, true, true},
		{"pre-press", c.PrePress, true, false, true},
		{"place film", c.Place, false, true, true},
		{"press", c.Dwell, true, false, true},
	}
	takeOff := Step{"take off", c.TakeOff, false, true, true}
	second := Step{"second press", c.SecondPress, true, false, true}
	if c.Peel == Hot {
		steps = append(steps, Step{"wait to peel", c.PeelWait, false, false, true}, Step{"peel", c.PeelTime, false, true, true}, second, takeOff)
	} else {
		steps = append(steps, takeOff, Step{"cool", c.PeelWait, false, false, false}, Step{"peel", c.PeelTime, false, true, false})
		if c.SecondPress > 0 {
			steps = append(steps, Step{"load again", c.Load, false, true, true}, second, takeOff)
		}
	}
	kept := steps[:0]
	for _, s := range steps {
		if s.Seconds > 0 {
			kept = append(kept, s)
		}
	}
	return kept
}

// Seconds is one garment from load to the end, nothing overlapping.
func (c Cycle) Seconds() (total units.Seconds) {
	for _, s := range c.Timeline() {
		total += s.Seconds
	}
	return total
}
