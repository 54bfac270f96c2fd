package compliance

import (
	"slices"
	"strconv"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Limits of notes and certificates.
const (
	MaxNotes        = 2000
	MaxCertificates = 5000
	maxEntries      = 500 // labels, papers, cautions, films, colours, lots or results of one record
)

// Wording is words in one language (BCP 47, such as "en" or "fr-CA").
type Wording struct{ Language, Words string }

// Note is what head office says must stand on, or lie beside, a garment. The content of a sealed record.
type Note struct {
	Title    string
	Market   Market
	AgeBelow units.Months // applies to garments sold from below this age; 0: any age, adults too
	SoldAs   []string     // empty: all
	Films    []string     // empty: all, and garments without film
	Labels   []Wording
	Papers   []string
	Cautions []Wording
	Blocks   bool
	Reason   string // why it blocks
}

// Check reports every fault of the note at once.
func (n Note) Check() fault.Fields {
	var fs fault.Fields
	text(&fs, "title", n.Title, false)
	oneOf(&fs, "market", n.Market, markets)
	if n.AgeBelow < 0 || n.AgeBelow > maxAge {
		fs.Add("age_below_months", "is %d; it must lie from 0 to %d", n.AgeBelow, maxAge)
	}
	each := func(path string, words []string) {
		if tooMany(&fs, path, len(words), maxEntries) {
			return
		}
		for i, w := range words {
			text(&fs, at(path, i), w, false)
		}
	}
	each("films", n.Films)
	each("papers", n.Papers)
	if !tooMany(&fs, "sold_as", len(n.SoldAs), maxEntries) {
		for i, w := range n.SoldAs {
			oneOf(&fs, at("sold_as", i), w, SoldAsWords())
		}
	}
	wordings := func(path string, wordings []Wording) {
		if tooMany(&fs, path, len(wordings), maxEntries) {
			return
		}
		for i, w := range wordings {
			text(&fs, at(path, i)+".language", w.Language, false)
			text(&fs, at(path, i)+".text", w.Words, false)
		}
	}
	wordings("labels", n.Labels)
	wordings("cautions", n.Cautions)
	text(&fs, "reason", n.Reason, !n.Blocks)
	if !n.Blocks && len(n.Labels)+len(n.Papers)+len(n.Cautions) == 0 {
		fs.Add("labels", "is empty, and so are papers and cautions; say something or block")
	}
	return fs
}

// applies reports whether the note speaks of the situation.
func (n Note) applies(s *Situation) bool {
	if n.Market != s.Market || n.AgeBelow > 0 && s.months() >= n.AgeBelow || len(n.SoldAs) > 0 && !s.is(n.SoldAs) {
		return false
	}
	return len(n.Films) == 0 || slices.ContainsFunc(s.Films, func(f Film) bool { return slices.Contains(n.Films, f.Film) })
}

// Kind is what sort of document a certificate is.
type Kind string

// Kinds. A declaration or a scheme's certificate is no third-party test of one lot.
const (
	SchemeCertificate    Kind = "certificate"
	TestReport           Kind = "test-report"
	ComponentCertificate Kind = "component-certificate"
	Declaration          Kind = "declaration"
)

var kinds = []Kind{SchemeCertificate, TestReport, ComponentCertificate, Declaration}

// Topics that a document may cover without stating a figure.
const (
	TopicLead       = "lead"
	TopicPhthalates = "phthalates"       // the four of REACH entry 51
	TopicChildCare  = "phthalates-eight" // the eight of 16 CFR 1307
	TopicCMR        = "cmr"              // all of REACH entry 72
	TopicPAH        = "pah"
	TopicCadmium    = "cadmium"
)

// topics tells which quantities, all of them, cover a topic by their figures. Entry 72 is too long for that: a
// document says that it covers it.
var topics = map[string][]string{
	TopicLead:       {"lead"},
	TopicPhthalates: {"DEHP", "DBP", "BBP", "DIBP"},
	TopicChildCare:  phthalatesUS,
	TopicCMR:        nil,
	TopicPAH:        pahs,
	TopicCadmium:    {"cadmium"},
}

// Certificate is one document about a film or a blank garment. The content of a sealed record.
type Certificate struct {
	Scheme, Number, Issuer string
	Kind                   Kind
	Film, Garment          string   // exactly one of them is named
	Colours, Lots          []string // empty: all; a test report or component certificate names its lots
	ValidFrom, ValidUntil  string   // YYYY-MM-DD; until is included, and empty for what does not expire
	Markets                []Market // empty: all
	Class                  int      // product class 1 (babies) to 4 (decoration); 0: none
	Covers                 []string // topics covered without a figure
	Results                []Measure
}

// Check reports every fault of the certificate at once.
func (c Certificate) Check() fault.Fields {
	var fs fault.Fields
	text(&fs, "scheme", c.Scheme, false)
	text(&fs, "number", c.Number, false)
	text(&fs, "issuer", c.Issuer, false)
	oneOf(&fs, "kind", c.Kind, kinds)
	text(&fs, "film", c.Film, true)
	text(&fs, "garment", c.Garment, true)
	if (c.Film == "") == (c.Garment == "") {
		fs.Add("film", "and garment: name exactly one of them")
	}
	for _, l := range []struct {
		path  string
		words []string
	}{{"colours", c.Colours}, {"lots", c.Lots}} {
		if !tooMany(&fs, l.path, len(l.words), maxEntries) {
			for i, w := range l.words {
				text(&fs, at(l.path, i), w, false)
			}
		}
	}
	if len(c.Lots) == 0 && c.ofLots() {
		fs.Add("lots", "is empty; a %s holds for the lots it names", c.Kind)
	}
	date(&fs, "valid_from", c.ValidFrom)
	if c.ValidUntil != "" {
		date(&fs, "valid_until", c.ValidUntil)
		if c.ValidUntil < c.ValidFrom {
			fs.Add("valid_until", "%s is before %s", c.ValidUntil, c.ValidFrom)
		}
	}
	if !tooMany(&fs, "markets", len(c.Markets), len(markets)) {
		for i, m := range c.Markets {
			oneOf(&fs, at("markets", i), m, markets)
		}
	}
	if c.Class < 0 || c.Class > 4 {
		fs.Add("product_class", "is %d; it must lie from 1 to 4, or be 0 for none", c.Class)
	}
	if !tooMany(&fs, "covers", len(c.Covers), len(topics)) {
		for i, w := range c.Covers {
			if _, ok := topics[w]; !ok {
				fs.Add(at("covers", i), "%q is not a topic known here", w)
			}
		}
	}
	if tooMany(&fs, "results", len(c.Results), maxEntries) {
		return fs
	}
	for i, m := range c.Results {
		if _, ok := slices.BinarySearch(quantities, m.Quantity); !ok {
			fs.Add(at("results", i)+".quantity", "%q is not a quantity known here; a misspelt name would never be checked", m.Quantity)
		}
		if m.Thousandths < 0 || m.Thousandths > maxThousandths {
			fs.Add(at("results", i)+".value_milli", "is %d; it must lie from 0 to %d", m.Thousandths, int64(maxThousandths))
		}
		if _, ok := scales[m.Unit]; !ok {
			fs.Add(at("results", i)+".unit", "%q is not a unit known here", m.Unit)
		}
	}
	return fs
}

// ofLots reports whether the document speaks of tested lots only.
func (c Certificate) ofLots() bool { return c.Kind == TestReport || c.Kind == ComponentCertificate }

// covers reports whether the document says enough on the topic.
func (c Certificate) covers(topic string) bool {
	if slices.Contains(c.Covers, topic) {
		return true
	}
	for _, quantity := range topics[topic] {
		if !slices.ContainsFunc(c.Results, func(m Measure) bool { return m.Quantity == quantity }) {
			return false
		}
	}
	return len(topics[topic]) > 0
}

func at(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]" }
