package compliance

import (
	"strings"
	"unicode"

	"evenpeel/recipes/fault"
)

// RecallHeadline is fixed by law. Source: Reg (EU) 2023/988 Art 36(2)(a).
const RecallHeadline = "Product safety recall"

// RecallNotice is the text of a recall in the EU. Source of its parts: Reg (EU) 2023/988 Art 36(2)(a)-(g).
type RecallNotice struct {
	Headline       string
	Product        string // picture reference, name and brand
	Identification string // batch or serial, and where it stands on the product
	Sold           string // when, where, by whom; may be empty if not known
	Hazard         string
	Action         string // with the instruction to stop using the product at once
	Remedies       []string
	Contact        string // free telephone number or interactive online service
	Share          string // may be empty
}

// softeners are words that lower a reader's sense of risk, as stems. Source: Reg (EU) 2023/988 Art 36(2)(c).
var softeners = []string{"voluntar", "precaution", "discretionar", "in rare situations", "in specific situations", "no reported accidents"}

// Check reports every fault of the notice at once: missing parts, softening words, fewer than two remedies
// (Art 37: at least two of repair, replacement and refund).
func (n RecallNotice) Check() fault.Fields {
	var fs fault.Fields
	if n.Headline != RecallHeadline {
		fs.Add("headline", "is %q; it must be %q", n.Headline, RecallHeadline)
	}
	for _, part := range []struct {
		path, words string
		mayBeEmpty  bool
	}{
		{"product", n.Product, false}, {"identification", n.Identification, false}, {"sold", n.Sold, true}, {"hazard", n.Hazard, false},
		{"action", n.Action, false}, {"contact", n.Contact, false}, {"share", n.Share, true},
	} {
		text(&fs, part.path, part.words, part.mayBeEmpty)
		soft(&fs, part.path, part.words)
	}
	switch {
	case tooMany(&fs, "remedies", len(n.Remedies), maxEntries):
	case len(n.Remedies) < 2:
		fs.Add("remedies", "has %d; offer at least two of repair, replacement and refund", len(n.Remedies))
	default:
		for i, r := range n.Remedies {
			text(&fs, at("remedies", i), r, false)
			soft(&fs, at("remedies", i), r)
		}
	}
	return fs
}

// soft faults each softening word that starts a word of the text.
func soft(fs *fault.Fields, path, words string) {
	lower := " " + strings.Join(strings.FieldsFunc(strings.ToLower(words), func(r rune) bool { return !unicode.IsLetter(r) }), " ")
	for _, s := range softeners {
		if strings.Contains(lower, " "+s) {
			fs.Add(path, "says %q, which makes the risk sound smaller; take it out", s)
		}
	}
}
