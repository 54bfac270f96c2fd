package compliance

import (
	"slices"

	"evenpeel/recipes/units"
)

// Seen says how far a rule's source was read.
type Seen string

// How far.
const (
	Read     Seen = "read"     // the text, or a page quoting it
	Memory   Seen = "memory"   // not seen: verify before relying on it
	Mixed    Seen = "mixed"    // part of each
	Practice Seen = "practice" // common practice, no source
)

// Rule is one row of the rule table: facts of a law or standard in our own words. Its ID is that of the shared
// reference; a letter behind it marks a part that has its own conditions.
type Rule struct {
	ID       string
	Market   Market
	AlsoUK   bool         // kept in UK law as it stood at the end of 2020 (UK-021)
	From     string       // first day, YYYY-MM-DD; empty: before any day that matters
	AgeFrom  units.Months // ages of at least this
	AgeBelow units.Months // and below this; 0: no upper end, adults too
	SoldAs   []string     // empty: whatever it is sold as
	Words    string
	Limits   []Limit // broken by a measure: blocks, unless over says otherwise
	Citation string
	Seen     Seen

	part     part                  // what Limits are held against
	when     func(*Situation) bool // further facts; nil: always
	gives    []give                // what follows where the rule applies
	over     []give                // what follows where a limit is broken, instead of a block
	evidence string                // topic that each film must have a document on
	missing  section               // what follows where it has none: blocks or warnings
}

// part is what a rule's limits are held against.
type part int

const (
	anyPart part = iota // documents of films and of the garment, and the garment's own measures
	filmPart
	garmentPart
)

// section is a part of the verdict.
type section int

const (
	blocks section = iota
	warnings
	labels
	papers
	records
	spared
	cautions
)

// give is one consequence of a rule.
type give struct {
	to       section
	code     string
	words    string // empty: the rule's words
	exact    string // exact label text, where the law fixes it
	language string
	film     bool // only where there is a film
}

// table is every rule held here, by market.
var table = slices.Concat(rulesUS, rulesUSSleepwear, rulesEU, rulesEUSubstances, rulesUK, rulesCA, rulesAU)

// Rules are all rules held here, for a person to look through.
func Rules() []Rule { return slices.Clone(table) }

// applies reports whether the rule speaks of the situation.
func (r *Rule) applies(s *Situation) bool {
	if !r.inMarket(s) || s.On < r.From {
		return false
	}
	age := s.months()
	if age < r.AgeFrom || r.AgeBelow > 0 && age >= r.AgeBelow {
		return false
	}
	return (len(r.SoldAs) == 0 || s.is(r.SoldAs)) && (r.when == nil || r.when(s))
}

// inMarket: Northern Ireland follows the EU's rules for goods (UK-022) and the UK's nightwear rules; Great Britain
// keeps the EU's restrictions of the end of 2020 (UK-021).
func (r *Rule) inMarket(s *Situation) bool {
	if s.Market != UK {
		return r.Market == s.Market
	}
	if s.NorthernIreland {
		return r.Market == EU || r.Market == UK && (r.ID == "UK-022" || isNightwearUK(r))
	}
	return r.Market == UK && r.ID != "UK-022" || r.AlsoUK
}

func isNightwearUK(r *Rule) bool {
	return slices.ContainsFunc(rulesUKNightwear, func(n Rule) bool { return n.ID == r.ID })
}

// Facts that several rules ask for.

func all(facts ...func(*Situation) bool) func(*Situation) bool {
	return func(s *Situation) bool {
		for _, fact := range facts {
			if !fact(s) {
				return false
			}
		}
		return true
	}
}

func hasFilm(s *Situation) bool   { return len(s.Films) > 0 }
func ownUse(s *Situation) bool    { return s.Ownership == CustomerOwnUse }
func forSale(s *Situation) bool   { return s.Ownership != CustomerOwnUse }
func tight(s *Situation) bool     { return s.Tight }
func online(s *Situation) bool    { return s.Online }
func garment(s *Situation) bool   { return !s.is(notGarments) }
func hoodCord(s *Situation) bool  { return s.Cords.Hood }
func waistCord(s *Situation) bool { return s.Cords.Waist > 0 }
func glitter(s *Situation) bool {
	return slices.ContainsFunc(s.Films, func(f Film) bool { return f.Glitter })
}
func mouthable(s *Situation) bool {
	return slices.ContainsFunc(s.Films, func(f Film) bool { return f.Mouthable })
}
func pvc(s *Situation) bool {
	return slices.ContainsFunc(s.Films, func(f Film) bool { return f.Chemistry == "PVC" })
}

// maker: the workshop's own name or mark makes it the manufacturer; for decorated stock the same is taken to be safe.
func maker(s *Situation) bool { return forSale(s) && (s.OwnLabel || s.Ownership == Stock) }

// textile: at least 80 % textile fibres by weight; not stated is taken as a textile.
func textile(s *Situation) bool {
	return garment(s) && (s.Fabric.TextileShare == 0 || s.Fabric.TextileShare >= 800_000)
}
