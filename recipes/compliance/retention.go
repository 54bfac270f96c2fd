package compliance

import (
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// Record is a kind of record that some rule says how long to keep.
type Record string

// Records.
const (
	TechnicalDocumentation Record = "technical-documentation"
	RisksAndMeasures       Record = "risks-and-measures"
	Traceability           Record = "traceability"
	ComplaintPersonalData  Record = "complaint-personal-data"
	TestsAndCertificates   Record = "tests-and-certificates"
	ComponentTests         Record = "component-tests"
	FibreContent           Record = "fibre-content"
)

// Retention is one published period. It counts from the event; where FromYearEnd from the end of the event's year.
type Retention struct {
	Market      Market
	Record      Record
	Years       int
	FromYearEnd bool
	AtMost      bool // to be deleted by then, rather than kept until then
	Event       string
	Citation    string
	Seen        Seen
}

// retentions is the record table (shared reference compliance.md §7).
var retentions = []Retention{
	{EU, TechnicalDocumentation, 10, false, false, "placing on the market", "Reg (EU) 2023/988 Art 9(3), 11(6)", Read},
	{EU, RisksAndMeasures, 10, false, false, "supply of the product", "Reg (EU) 2023/988 Art 15(4)", Read},
	{EU, Traceability, 6, false, false, "supply of the product", "Reg (EU) 2023/988 Art 15(5)", Read},
	{EU, ComplaintPersonalData, 5, false, true, "entry in the register", "Reg (EU) 2023/988 Art 9(13), 11(11)", Read},
	{US, TestsAndCertificates, 5, false, false, "creation", "16 CFR 1107.26(b)", Memory},
	{US, ComponentTests, 5, false, false, "creation", "16 CFR 1109.5(j)", Memory},
	{US, FibreContent, 3, false, false, "creation", "16 CFR 303.39", Memory},
	{UK, Traceability, 6, false, false, "supply of the product", "SI 2005/1803 reg 8 fixes no period; six years is common practice, no source", Practice},
	{CA, Traceability, 6, true, false, "the year the papers relate to", "CCPSA s.13(2)", Read},
}

// Retentions are all periods held here.
func Retentions() []Retention { return slices.Clone(retentions) }

// Kept is until when a record is kept, the day included, and the period that says so.
type Kept struct {
	Until string // YYYY-MM-DD
	By    Retention
}

// KeptUntil is how long a record of an event (YYYY-MM-DD) is kept where the goods touch several markets: the longest
// period to keep, or for what must be deleted the shortest.
// NotFound RECORD_UNKNOWN where no market holds a period; Invalid DATE_INVALID.
func KeptUntil(touched []Market, record Record, event string) (Kept, error) {
	day, err := time.Parse(time.DateOnly, event)
	if err != nil {
		return Kept{}, fault.New(fault.Invalid, room, DateInvalid, "%q is no day. Write it as YYYY-MM-DD.", event).Because(err)
	}
	var kept Kept
	for _, r := range retentions {
		if r.Record != record || !slices.Contains(touched, r.Market) {
			continue
		}
		from := day
		if r.FromYearEnd {
			from = time.Date(day.Year(), time.December, 31, 0, 0, 0, 0, time.UTC)
		}
		until := from.AddDate(r.Years, 0, 0).Format(time.DateOnly)
		if kept.Until == "" || (until > kept.Until) != r.AtMost {
			kept = Kept{until, r}
		}
	}
	if kept.Until == "" {
		return Kept{}, fault.New(fault.NotFound, room, RecordUnknown, "No period for %q is held for these markets. Ask head office.", record)
	}
	return kept, nil
}
