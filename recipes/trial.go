package recipes

import (
	"fmt"
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// Trial is evidence that a draft carries: garments that were really pressed, and how they stood the wash.
type Trial struct {
	Garments int64
	Wash     string // ISO 6330 wash procedure; empty where nothing was washed
	Dry      string // ISO 6330 drying procedure
	Cycles   int64  // wash and dry, one after another
	Outcome  string
	Tester   string
	Day      string // "2026-05-31"
	Words    string
}

// WashProcedures are those of ISO 6330:2012, type A (the horizontal-drum machine): the digit is a tenth of the
// temperature in °C, N is normal, M mild, G gentle, H hand wash. From memory; their number, 13, is read.
var WashProcedures = []string{"9N", "7N", "6N", "6M", "5N", "5M", "4N", "4M", "4G", "3N", "3M", "3G", "4H"}

// DryProcedures are those of ISO 6330:2021: line, drip line, flat, drip flat, flat press, tumble.
var DryProcedures = []string{"A", "B", "C", "D", "E", "F"}

// TrialOutcomes are what can have become of the work.
var TrialOutcomes = []string{"held", "edges_lifted", "peeled_off", "cracked", "colour_changed", "fabric_marked"}

// maxTrials bounds what one draft carries.
const maxTrials = 50

// Check finds what is wrong with a trial. Paths are those of record.v1.Trial.
func (t Trial) Check() fault.Fields {
	var fs fault.Fields
	number(&fs, "garments_count", t.Garments, limit{1, 10_000, "garments"})
	number(&fs, "cycles", t.Cycles, limit{0, 200, "cycles"})
	if t.Cycles > 0 && !slices.Contains(WashProcedures, t.Wash) {
		fs.Add("wash_procedure", "is %q; name a procedure of ISO 6330 type A, such as 4N or 6N", t.Wash)
	}
	if t.Cycles > 0 && !slices.Contains(DryProcedures, t.Dry) {
		fs.Add("dry_procedure", "is %q; name a procedure of ISO 6330, A to F", t.Dry)
	}
	if t.Cycles == 0 && (t.Wash != "" || t.Dry != "") {
		fs.Add("cycles", "is 0, but a procedure is named; say how many times")
	}
	if !slices.Contains(TrialOutcomes, t.Outcome) {
		fs.Add("outcome", "is not chosen; choose held, edges_lifted, peeled_off, cracked, colour_changed or fabric_marked")
	}
	text(&fs, "tester", t.Tester, 120)
	if _, err := time.Parse(time.DateOnly, t.Day); err != nil {
		fs.Add("day", "is %q; write a day as 2026-05-31", t.Day)
	}
	if len(t.Words) > 2000 {
		fs.Add("words", "has %d characters, at most 2000 fit", len(t.Words))
	}
	return fs
}

// checkTrials finds what is wrong with a draft's trials; only a recipe carries some.
func checkTrials(c Content, trials []Trial) fault.Fields {
	var fs fault.Fields
	if len(trials) > 0 && KindOf(c) != KindRecipe {
		fs.Add("trials", "belong to a recipe; this record is none")
	}
	if len(trials) > maxTrials {
		fs.Add("trials", "are %d, at most %d are kept", len(trials), maxTrials)
	}
	for i, t := range trials {
		fs.Under(fmt.Sprintf("trials[%d]", i), t.Check())
	}
	return fs
}
