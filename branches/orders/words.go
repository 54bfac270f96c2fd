package orders

import (
	"cmp"
	"slices"

	"evenpeel/branches"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/units"
)

// judged asks the rules, the notes and the certificates in force.
func (plan *Plan) judged(b branches.Branch, in InForce, o Order, day string) error {
	s := compliance.Situation{
		Market: compliance.Market(b.Market), On: day, Adult: o.Age < 0, Age: max(o.Age, 0), SoldAs: o.SoldAs, Ownership: compliance.Ownership(o.Ownership),
		MakerInUnion: b.Market == "EU",
	}
	for _, l := range plan.Layouts {
		f := l.Card.Recipe.Film
		s.Fabric = compliance.Fabric{Family: string(l.Card.Recipe.Fabric), Weight: o.Cloth}
		s.Films = append(s.Films, compliance.Film{Film: f.Code, Colour: l.Colour, Lot: cmp.Or(o.Lot, l.Lot), Chemistry: f.Chemistry, Glitter: f.Glitter})
	}
	verdict, err := compliance.Judged(s, in.Notes, in.Certificates)
	if err != nil {
		return err
	}
	plan.Verdict = verdict
	for _, block := range verdict.Blocks {
		plan.Blocks = append(plan.Blocks, block.Words)
	}
	plan.Revisions = append(plan.Revisions, in.NoteNames...)
	return nil
}

// cared takes the most restrictive of garment and films on each axis.
func (plan *Plan) cared(o Order) {
	label, known := care.Label{}, o.GarmentCare != nil
	if known {
		label = *o.GarmentCare
	}
	for _, l := range plan.Layouts {
		film := l.Card.Recipe.Film.Care
		if !known {
			label, known = film, true
			continue
		}
		met, result := care.Meet(label, film)
		if result.Blocks {
			plan.Blocks = append(plan.Blocks, result.Reason)
		}
		label = met
	}
	plan.Care = label
	for _, phrase := range append(care.Words(label), care.Decorated(label)...) {
		plan.CareWords = append(plan.CareWords, phrase.Words)
	}
	if o.GarmentCare == nil {
		plan.CareWords = append(plan.CareWords, "Where the garment's own label is stricter, it decides")
	}
}

// priced asks the price list in force; without one there is no quote, and the plan says so.
func (plan *Plan) priced(in InForce, o Order) error {
	if in.ListRevision == "" {
		plan.Blocks = append(plan.Blocks, "No price list is in force for this branch. Ask head office to release one.")
		return nil
	}
	work := prices.Work{Pressing: plan.Pressing, Designs: 0}
	films := map[string]int{}
	var cutting, weeding units.Milliseconds
	for _, l := range plan.Layouts {
		at, ok := films[l.Film]
		if !ok {
			at = len(work.Film)
			films[l.Film], work.Film = at, append(work.Film, prices.FilmUse{Film: l.Film})
		}
		work.Film[at].Length += mm(l.Length)
		cutting, weeding = cutting+l.Cutting.Total, weeding+l.Weeding
		work.Designs += len(l.Outlines)
	}
	work.Cutting, work.Weeding = units.Seconds((cutting+999)/1000), units.Seconds((weeding+999)/1000)
	counts := map[string]int{}
	for _, l := range o.Lines {
		if l.Garment == SameGarment {
			continue
		}
		for _, s := range l.Sizes {
			if counts[l.Garment] == 0 {
				work.Garments = append(work.Garments, prices.GarmentUse{Garment: l.Garment})
			}
			counts[l.Garment] += int(s.Count)
		}
	}
	for i := range work.Garments {
		work.Garments[i].Count = counts[work.Garments[i].Garment]
	}
	quote, err := prices.Priced(in.List, work)
	if err != nil {
		return err
	}
	plan.Quote = &quote
	for i, l := range plan.Layouts { // what plain rows would have cost, one layout at a time
		if l.Saved() == 0 {
			continue
		}
		rows := work
		rows.Film = slices.Clone(work.Film)
		rows.Film[films[l.Film]].Length += mm(l.RowsLength) - mm(l.Length)
		dearer, err := prices.Priced(in.List, rows)
		if err != nil {
			return err
		}
		plan.Layouts[i].SavedMoney = max(dearer.Net.Minor-quote.Net.Minor, 0)
	}
	plan.Revisions = append(plan.Revisions, in.ListRevision)
	return nil
}
