package compliance

import (
	"fmt"
	"slices"
)

// standing is how well the documents on file cover one film on one topic, best last.
type standing int

const (
	none standing = iota
	notInForce
	otherMarket
	otherColour
	otherLot
	good
)

// evidence says what follows where a film lacks a document on the rule's topic. A document for another lot or colour
// is a material change: 16 CFR 1109.5(a)(2) wants the tested part identical in all material respects.
func (j *judgement) evidence(r *Rule, f Film) {
	best, number := none, ""
	for _, c := range j.certificates {
		if st := j.standing(r, f, c); st > best {
			best, number = st, c.Number
		}
	}
	code, words := "NO_REPORT", fmt.Sprintf("No document on %s is on file for film %s. Ask its supplier.", r.evidence, f.Film)
	switch best {
	case good:
		return
	case otherLot, otherColour:
		change := map[standing]string{otherLot: "lot " + f.Lot, otherColour: "colour " + f.Colour}[best]
		code, words = "MATERIAL_CHANGE", fmt.Sprintf("%s does not cover %s of film %s. A new document for it comes first, and a new certificate that names it.", number, change, f.Film)
		if r.Market == US {
			j.put(papers, Item{Code: "COMPONENT_CERTIFICATE", Rule: "US-016", Words: "New component certificate for the changed film.", Citation: "16 CFR 1109.5(a),(b)", Seen: Read})
		}
	case otherMarket:
		code, words = "OTHER_MARKET", fmt.Sprintf("%s does not hold for the %s market (film %s).", number, j.s.Market, f.Film)
	case notInForce:
		code, words = "NOT_IN_FORCE", fmt.Sprintf("%s is not in force on %s (film %s). Ask for the renewed one.", number, j.s.On, f.Film)
	}
	j.put(r.missing, j.item(r, code, words))
}

func (j *judgement) standing(r *Rule, f Film, c Certificate) standing {
	switch {
	case c.Film != f.Film || !c.covers(r.evidence):
		return none
	case r.Market == US && !c.ofLots():
		return none // a scheme's certificate or a declaration is no third-party test of the lot
	case j.s.On < c.ValidFrom || c.ValidUntil != "" && j.s.On > c.ValidUntil:
		return notInForce
	case len(c.Markets) > 0 && !slices.Contains(c.Markets, j.s.Market):
		return otherMarket
	case !names(c.Colours, f.Colour):
		return otherColour
	case !names(c.Lots, f.Lot):
		return otherLot
	}
	return good
}

// classes warns where a film's document is of a laxer product class than the garment: class 1 for babies to 36
// months, 2 on the skin, 3 for outerwear.
func (j *judgement) classes() {
	class := 2
	switch {
	case j.s.months() < 36:
		class = 1
	case j.s.is([]string{"jacket", "coat", "bag", "apron"}):
		class = 3
	}
	for _, f := range j.s.Films {
		for _, c := range j.certificates {
			if c.Film == f.Film && c.Class > class {
				j.put(warnings, Item{Code: "CLASS", Rule: "class", Words: fmt.Sprintf("%s is of product class %d, and this garment asks for class %d or stricter (film %s).", c.Number, c.Class, class, f.Film),
					Citation: "product classes 1 to 4, public description (shared reference compliance.md §6)", Seen: Read})
			}
		}
	}
}
