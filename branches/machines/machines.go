// Package machines is a branch's cutters and presses: how their dials are calibrated, and what a recipe comes to on
// them. A card is refused where a machine can not hold the recipe's window; it is never quietly bent.
//
// Room: machines
// Holds: Machine, Dial, Card, Workshop
// May touch: recipes, recipes/units, recipes/fault, recipes/press, branches
// Never: SQL, Redis, RPC, a clock; it never changes a recipe
package machines

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"time"

	"evenpeel/branches"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Quantity is what a dial sets.
type Quantity string

const (
	Force       Quantity = "force"       // gf
	Speed       Quantity = "speed"       // mm/s
	Temperature Quantity = "temperature" // °C
	Pressure    Quantity = "pressure"    // kPa on the work
	Time        Quantity = "time"        // s
	Blade       Quantity = "blade"       // µm of exposure
)

// Kind tells cutters from presses.
type Kind string

const (
	Cutter Kind = "cutter"
	Press  Kind = "press"
)

// Machine is a cutter or a press. Fields of the other kind are zero.
type Machine struct {
	Name         string // "branches/{branch}/machines/{id}"
	Kind         Kind
	Title        string
	Dials        []Dial
	Width        units.Millimetres // cutter: widest film
	EdgeMargin   units.Millimetres // cutter: pinch rollers, each side
	Lead, Tail   units.Millimetres // cutter: unusable at start and end of a cut
	LongestCut   units.Millimetres // cutter: 0 is no limit
	BladeOffset  units.Micrometres // cutter: tip behind swivel
	Overcut      units.Micrometres // cutter: run past the start of an outline
	Acceleration int64             // cutter: mm/s²
	Travel       units.MillimetresPerSecond
	UnitsPerM    int64 // cutter: HP-GL units in a metre
	LongNumbers  bool  // cutter: reads HP-GL/2's numbers, so that a cut may be longer than 32767 units
	PlatenWidth  units.Millimetres
	PlatenDepth  units.Millimetres
	Count        int64 // presses that one operator serves
	CalibratedOn string
	Etag         int64
}

// Workshop keeps machines.
type Workshop interface {
	// Machines lists a branch's machines, by name.
	Machines(ctx context.Context, branch string) ([]Machine, error)
	// PutMachine adds (Etag 1) or replaces one that stands at Etag−1. Fault MovedOn/MACHINE_MOVED_ON.
	PutMachine(ctx context.Context, m Machine) error
}

var machineName = regexp.MustCompile(`^branches/[a-z]([a-z0-9-]{0,61}[a-z0-9])?/machines/[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`)

// Dial finds a machine's dial for a quantity.
func (m Machine) Dial(q Quantity) (Dial, bool) {
	for _, d := range m.Dials {
		if d.Quantity == q {
			return d, true
		}
	}
	return Dial{}, false
}

// Branch is the branch that owns the machine.
func (m Machine) Branch() string { return branches.Of(m.Name) }

// needed are the dials without which a machine can not hold a recipe. A cutter's blade may be set by hand.
var needed = map[Kind][]Quantity{Cutter: {Force, Speed}, Press: {Temperature, Time}}

// Check finds everything that is wrong with a machine's facts. Paths are those of branches.v1.Machine.
func (m Machine) Check() fault.Fields {
	var fs fault.Fields
	if !machineName.MatchString(m.Name) {
		fs.Add("name", "is %q; one looks like branches/harbour-street/machines/press-1", m.Name)
	}
	if strings.TrimSpace(m.Title) == "" || len(m.Title) > 120 {
		fs.Add("title", "is empty, or longer than 120 characters")
	}
	between := func(path string, v, low, high int64, unit string) {
		if v < low || v > high {
			fs.Add(path, "is %d %s; allowed are %d to %d %s", v, unit, low, high, unit)
		}
	}
	switch m.Kind {
	case Cutter:
		between("width_mm", int64(m.Width), 50, 3000, "mm")
		between("edge_margin_mm", int64(m.EdgeMargin), 0, 100, "mm")
		between("lead_mm", int64(m.Lead), 0, 500, "mm")
		between("tail_mm", int64(m.Tail), 0, 500, "mm")
		between("longest_cut_mm", int64(m.LongestCut), 0, 100_000, "mm")
		between("blade_offset_um", int64(m.BladeOffset), 0, 2000, "µm")
		between("overcut_um", int64(m.Overcut), 0, 5000, "µm")
		between("acceleration_mm_per_second2", m.Acceleration, 100, 100_000, "mm/s²")
		between("travel_mm_per_second", int64(m.Travel), 10, 5000, "mm/s")
		between("units_per_metre", m.UnitsPerM, 1000, 1_000_000, "units")
	case Press:
		between("platen_width_mm", int64(m.PlatenWidth), 50, 3000, "mm")
		between("platen_depth_mm", int64(m.PlatenDepth), 50, 3000, "mm")
		between("count", m.Count, 1, 50, "presses")
	default:
		fs.Add("kind", "is not chosen; choose cutter or press")
	}
	if m.CalibratedOn != "" {
		if _, err := time.Parse(time.DateOnly, m.CalibratedOn); err != nil {
			fs.Add("calibrated_on", "is %q; write a day as 2026-05-31", m.CalibratedOn)
		}
	}
	seen := map[Quantity]bool{}
	for i, d := range m.Dials {
		fs.Under(fmt.Sprintf("dials[%d]", i), d.Check())
		if seen[d.Quantity] {
			fs.Add(fmt.Sprintf("dials[%d].quantity", i), "has a dial already")
		}
		seen[d.Quantity] = true
	}
	for _, q := range needed[m.Kind] {
		if !seen[q] {
			fs.Add("dials", "has none for %s", string(q))
		}
	}
	return fs
}
