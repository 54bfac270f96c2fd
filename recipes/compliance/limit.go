package compliance

import (
	"fmt"
	"slices"

	"evenpeel/recipes/fault"
)

// Op says on which side of its limit a rule bites. Laws differ: a limit without its operator is half a rule.
type Op string

// Operators.
const (
	Above     Op = ">"
	AtOrAbove Op = ">="
	Below     Op = "<"
	AtOrBelow Op = "<="
)

// Limit is one published limit: it bites where a quantity stands in relation Op to it.
type Limit struct {
	Of          []string // quantities, each held against the limit, or their sum where Together
	Together    bool
	Op          Op
	Thousandths int64 // of Unit: 0.5 mg/kg is 500
	Unit        string
	From        string // day from which this limit holds, where later than its rule
}

// Measure is one measured quantity: 12 mg/kg of lead is {"lead", 12000, "mg/kg"}. What was not found is 0.
type Measure struct {
	Quantity    string
	Thousandths int64
	Unit        string
}

// maxThousandths keeps a sum of measures in the finest unit inside 64 bits.
const maxThousandths = 10_000_000_000

// scales tells which units can be compared, and how many of the finest unit one of each is.
var scales = map[string]struct {
	kind string
	fine int64
}{
	"ppb": {"mass share", 1}, "mg/kg": {"mass share", 1000}, "%": {"mass share", 10_000_000},
	"um": {"length", 1}, "mm": {"length", 1000}, "in": {"length", 25_400},
	"s": {"time", 1}, "in/s": {"speed", 1}, "ug/cm2/week": {"release", 1},
	"ppm area": {"area share", 1}, "% area": {"area share", 10_000},
}

// bites reports whether the measures break the limit, and the quantity that does. Measures of other quantities, or
// in units of another kind, do not count.
func (l Limit) bites(measures []Measure) (quantity string, bites bool) {
	var sum int64
	found := false
	for _, m := range measures {
		if !slices.Contains(l.Of, m.Quantity) || scales[m.Unit].kind != scales[l.Unit].kind {
			continue
		}
		fine := m.Thousandths * scales[m.Unit].fine
		sum, found = sum+fine, true
		if !l.Together && l.Op.holds(fine, l.Thousandths*scales[l.Unit].fine) {
			return m.Quantity, true
		}
	}
	return "the sum", l.Together && found && l.Op.holds(sum, l.Thousandths*scales[l.Unit].fine)
}

func (o Op) holds(v, limit int64) bool {
	switch o {
	case Above:
		return v > limit
	case AtOrAbove:
		return v >= limit
	case Below:
		return v < limit
	}
	return v <= limit
}

// String is the limit as a person reads it: "> 100 mg/kg".
func (l Limit) String() string { return fmt.Sprintf("%s %s %s", l.Op, decimal(l.Thousandths), l.Unit) }

// String is the measure as a person reads it: "lead 12 mg/kg".
func (m Measure) String() string {
	return fmt.Sprintf("%s %s %s", m.Quantity, decimal(m.Thousandths), m.Unit)
}

func decimal(thousandths int64) string {
	if thousandths%1000 == 0 {
		return fmt.Sprint(thousandths / 1000)
	}
	return fmt.Sprintf("%d.%03d", thousandths/1000, thousandths%1000)
}

// Bites reports whether one rule's limits are broken by the measures, whatever the situation.
// NotFound RULE_UNKNOWN for a rule that the table lacks or that has no limit.
func Bites(rule string, measures ...Measure) (bool, error) {
	for _, r := range table {
		if r.ID != rule || len(r.Limits) == 0 {
			continue
		}
		for _, l := range r.Limits {
			if _, bites := l.bites(measures); bites {
				return true, nil
			}
		}
		return false, nil
	}
	return false, fault.New(fault.NotFound, room, RuleUnknown, "No rule %q with a limit is held here. Look it up in the rule table.", rule)
}

// Quantities are all quantities that some limit names, sorted; a certificate's results use these words.
func Quantities() []string { return slices.Clone(quantities) }

var quantities = func() []string {
	var all []string
	for _, r := range table {
		for _, l := range r.Limits {
			all = append(all, l.Of...)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}()
