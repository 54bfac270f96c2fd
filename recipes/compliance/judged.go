package compliance

import (
	"fmt"
	"slices"

	"evenpeel/recipes/fault"
)

// Help is the sentence that every verdict carries and every screen and print shows.
const Help = "This is a help, not legal advice. Local law and the reports of accredited laboratories decide."

// Item is one thing a verdict says.
type Item struct {
	Code     string // stable, for programs: "CPC"
	Rule     string // rule id, or "note" for head office's own; a letter at the end is our own part of a rule
	Words    string
	Exact    string // label text whose wording the law fixes, or head office's label; empty otherwise
	Language string // of Exact
	Citation string
	Seen     Seen
}

// Verdict is what the rules, notes and certificates say about one situation. Nothing may be sold while Blocks holds
// anything. Spared says what need not be asked, and why.
type Verdict struct {
	Blocks, Warnings, Labels, Papers, Records, Spared, Cautions []Item
	Help                                                        string
}

// Judged holds the situation against the rule table, head office's notes and the certificates on file.
// Invalid SITUATION_INVALID and PAPERS_INVALID name every field; TooLarge PAPERS_TOO_MANY names the limits.
func Judged(s Situation, notes []Note, certificates []Certificate) (Verdict, error) {
	if len(notes) > MaxNotes || len(certificates) > MaxCertificates || len(s.Films) > MaxFilms {
		return Verdict{}, fault.New(fault.TooLarge, room, PapersTooMany, "There are more than %d notes, %d certificates or %d films. Hand over only those in force.", MaxNotes, MaxCertificates, MaxFilms)
	}
	if err := s.Check().Fault(room, SituationInvalid, "The garment cannot be judged as it is described. Mend the fields named."); err != nil {
		return Verdict{}, err
	}
	var fs fault.Fields
	for i, n := range notes {
		fs.Under(at("notes", i), n.Check())
	}
	for i, c := range certificates {
		fs.Under(at("certificates", i), c.Check())
	}
	if err := fs.Fault(room, PapersInvalid, "Some notes or certificates cannot be read. Mend the fields named."); err != nil {
		return Verdict{}, err
	}
	j := judgement{s: &s, certificates: certificates, verdict: Verdict{Help: Help}}
	for i := range table {
		if table[i].applies(&s) {
			j.rule(&table[i])
		}
	}
	j.notes(notes)
	j.classes()
	j.cautions()
	return j.verdict, nil
}

type judgement struct {
	s            *Situation
	certificates []Certificate
	verdict      Verdict
}

func (j *judgement) put(to section, item Item) {
	list := map[section]*[]Item{
		blocks: &j.verdict.Blocks, warnings: &j.verdict.Warnings, labels: &j.verdict.Labels, papers: &j.verdict.Papers,
		records: &j.verdict.Records, spared: &j.verdict.Spared, cautions: &j.verdict.Cautions,
	}[to]
	if !slices.Contains(*list, item) {
		*list = append(*list, item)
	}
}

// item speaks for a rule, saying in Great Britain where a European row comes from.
func (j *judgement) item(r *Rule, code, words string) Item {
	citation := r.Citation
	if j.s.Market == UK && r.Market == EU && !j.s.NorthernIreland {
		citation += "; kept in UK law (UK-021)"
	}
	if words == "" {
		words = r.Words
	}
	return Item{Code: code, Rule: r.ID, Words: words, Citation: citation, Seen: r.Seen}
}

func (j *judgement) give(r *Rule, gives []give) {
	for _, g := range gives {
		if g.film && !hasFilm(j.s) {
			continue
		}
		item := j.item(r, g.code, g.words)
		item.Exact, item.Language = g.exact, g.language
		j.put(g.to, item)
	}
}

func (j *judgement) rule(r *Rule) {
	j.give(r, r.gives)
	for _, l := range r.Limits {
		if j.s.On < l.From {
			continue
		}
		if r.part != garmentPart {
			for _, f := range j.s.Films {
				j.ofFilm(r, l, f)
			}
		}
		if r.part != filmPart {
			j.ofGarment(r, l)
		}
	}
	if r.evidence != "" {
		for _, f := range j.s.Films {
			j.evidence(r, f)
		}
	}
}

func (j *judgement) ofFilm(r *Rule, l Limit, f Film) {
	for _, c := range j.certificates {
		if c.Film == f.Film && names(c.Colours, f.Colour) && names(c.Lots, f.Lot) {
			if quantity, bites := l.bites(c.Results); bites {
				j.over(r, l, quantity, fmt.Sprintf("film %s in %s", f.Film, c.Number))
			}
		}
	}
}

func (j *judgement) ofGarment(r *Rule, l Limit) {
	for _, c := range j.certificates {
		if c.Garment != "" && c.Garment == j.s.Garment {
			if quantity, bites := l.bites(c.Results); bites {
				j.over(r, l, quantity, fmt.Sprintf("garment %s in %s", c.Garment, c.Number))
			}
		}
	}
	if quantity, bites := l.bites(j.s.measured()); bites {
		j.over(r, l, quantity, "the garment as described")
	}
}

func (j *judgement) over(r *Rule, l Limit, quantity, where string) {
	if len(r.over) > 0 {
		j.give(r, r.over)
		return
	}
	j.put(blocks, j.item(r, "LIMIT", fmt.Sprintf("%s of %s is %s, where the rule bites: %s", quantity, where, l, r.Words)))
}

// measured are the quantities that the situation itself states.
func (s *Situation) measured() []Measure {
	textileShare := s.Fabric.TextileShare
	if textileShare == 0 {
		textileShare = 1_000_000
	}
	return []Measure{
		{"textile-share", int64(textileShare) * 1000, "mg/kg"}, // 1 part per million of weight is 1 mg/kg
		{"component-weight", int64(s.Fabric.LargestOther) * 1000, "mg/kg"},
		{"embroidery-area", int64(s.Fabric.EmbroideryArea) * 1000, "ppm area"},
		{"waist-cord", int64(s.Cords.Waist) * 1000, "um"},
	}
}

// notes adds head office's own words.
func (j *judgement) notes(notes []Note) {
	for _, n := range notes {
		if !n.applies(j.s) {
			continue
		}
		item := func(code, words string) Item {
			return Item{Code: code, Rule: "note", Words: words, Citation: "head office: " + n.Title, Seen: Practice}
		}
		if n.Blocks {
			j.put(blocks, item("NOTE", n.Reason))
		}
		for _, p := range n.Papers {
			j.put(papers, item("NOTE", p))
		}
		for _, l := range n.Labels {
			label := item("NOTE", n.Title)
			label.Exact, label.Language = l.Words, l.Language
			j.put(labels, label)
		}
		for _, c := range n.Cautions {
			caution := item("NOTE", c.Words)
			caution.Language = c.Language
			j.put(cautions, caution)
		}
	}
}

// cautions are the usual ones; they come from practice and are no rule.
func (j *judgement) cautions() {
	caution := func(code, words, citation string, seen Seen) {
		j.put(cautions, Item{Code: code, Rule: "caution", Words: words, Citation: citation, Seen: seen})
	}
	if hasFilm(j.s) && j.s.months() < 36 {
		caution("LOOSE_PIECES", "For a child under 3: try every edge after cooling. A piece of film that comes off can be swallowed.", "common practice, no source", Practice)
	}
	if hasFilm(j.s) && j.s.is(nightwear) {
		caution("NIGHTWEAR", "Film can change how nightwear burns: the blank's own report may no longer hold. Ask an accredited laboratory.", "common practice, no source", Practice)
	}
	if pvc(j.s) {
		caution("PVC_FUMES", "PVC that is overheated gives off hydrogen chloride: keep to the recipe's temperature and air the room.", "workplace limit 5 ppm over 8 h in the EU (shared reference compliance.md §5)", Read)
	}
	if j.s.Market == EU && j.s.On < gpsr {
		j.put(warnings, Item{Code: "BEFORE_TABLE", Rule: "EU-001", Words: "The rules of product safety before 13 December 2024 are not held here. Look them up.", Citation: "Reg (EU) 2023/988", Seen: Read})
	}
}

// names reports whether a list that is empty for "all" names the word.
func names(list []string, word string) bool { return len(list) == 0 || slices.Contains(list, word) }
