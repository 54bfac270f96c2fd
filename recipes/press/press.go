// Package press answers three questions about a heat press: is this press able to do it, what does the bond line
// see, and how many garments an hour. It knows heat conduction through the stack under the platen, the pressure that
// a cylinder puts on the work, and the order of hand and heat steps in a cycle.
//
// What is lost at the border: the temperature field inside the layers; only faces leave. What can not be claimed:
// bond strength, wash life, "cured", or an absolute temperature better than about −9/+6 °C with handbook
// values (shared reference physics A.6). The model ranks and warns; an approved recipe and a probe reading stand
// above it.
//
// Room: press
// Holds: the press cycle, heat through the stack, pressure on the work, fabric limits, cautions at the press
// May touch: recipes/units, recipes/fault
// Never: claims of bond strength or legal compliance, overriding an approved recipe, a branch
package press

import (
	"evenpeel/recipes/fault"
)

const room = "press"

// The reasons of this room. The list is append-only: programs branch on it.
const (
	SituationInvalid fault.Reason = "SITUATION_INVALID"   // a field of a Situation is out of its range
	StackInvalid     fault.Reason = "STACK_INVALID"       // a layer, an end or the resolution can not be computed
	PressureInvalid  fault.Reason = "PRESSURE_INVALID"    // gauge, bore, cylinders or area out of range
	CycleInvalid     fault.Reason = "CYCLE_INVALID"       // a step of the cycle or the number of hands is out of range
	PressTooLarge    fault.Reason = "PRESS_TOO_LARGE"     // over a stated limit of size
	HeatDidNotSettle fault.Reason = "HEAT_DID_NOT_SETTLE" // the iteration for boiling water did not converge: our fault
)

// Reasons is every reason of the room, in the order they were added.
func Reasons() []fault.Reason {
	return []fault.Reason{SituationInvalid, StackInvalid, PressureInvalid, CycleInvalid, PressTooLarge, HeatDidNotSettle}
}
