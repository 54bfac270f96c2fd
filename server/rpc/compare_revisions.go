package rpc

import (
	"context"
	"fmt"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const revisionsMethod = "Rates with Wilson limits; differences with Newcombe's method 10; less what all other recipes changed over the same months (difference in differences, intervals squared and added). An association: other things may have changed too."

// used is what was done by one revision, and by all other recipes over the same months.
type used struct {
	number         int64
	tally, control compare.Tally
	months         []string
	branches       int
	change         *compare.Difference // against the revision before; nil for the first
}

// usedBy adds up each revision of one recipe from its own cells, with a control from everybody's months.
func usedBy(own, months []compare.Cell) ([]used, error) {
	byMonth := map[string]compare.Tally{}
	add := func(month string, pieces, reprints int64) {
		t := byMonth[month]
		byMonth[month] = compare.Tally{Pieces: t.Pieces + pieces, Reprints: t.Reprints + reprints}
	}
	for _, c := range months {
		add(c.Period, c.Pieces, c.Reprints)
	}
	seen := map[int64]map[string]bool{}
	at := map[int64]map[string]bool{}
	for _, c := range own {
		if c.Pieces == 0 {
			continue
		}
		add(c.Period, -c.Pieces, -c.Reprints)
		if seen[c.Revision] == nil {
			seen[c.Revision], at[c.Revision] = map[string]bool{}, map[string]bool{}
		}
		seen[c.Revision][c.Period], at[c.Revision][c.Branch] = true, true
	}
	var list []used
	for number, in := range seen {
		u := used{number: number, branches: len(at[number]), tally: compare.TallyOf(own, func(c compare.Cell) bool { return c.Revision == number })}
		for month := range in {
			u.months = append(u.months, month)
			u.control.Pieces += byMonth[month].Pieces
			u.control.Reprints += byMonth[month].Reprints
		}
		slices.Sort(u.months)
		list = append(list, u)
	}
	slices.SortFunc(list, func(a, b used) int { return int(a.number - b.number) })
	for i := 1; i < len(list); i++ {
		d, err := compare.BeforeAfter(list[i-1].tally, list[i].tally, list[i-1].control, list[i].control)
		if err != nil {
			return nil, err
		}
		list[i].change = &d
	}
	return list, nil
}

// everybody are the months of all films and fabrics, the control of every recipe.
func (s *compareService) everybody(ctx context.Context, a asked) ([]compare.Cell, error) {
	a.span.Film, a.span.Fabric = "", ""
	return a.within(s.h.Source.Months(ctx, a.span))
}

// revisions reads what was done by each revision of a recipe.
func (s *compareService) revisions(ctx context.Context, a asked, recipe recipes.Recipe, months []compare.Cell) ([]used, error) {
	a.span.Film, a.span.Fabric = recipe.Film.Code, string(recipe.Fabric)
	own, err := a.within(s.h.Source.Cells(ctx, a.span))
	if err != nil {
		return nil, err
	}
	return usedBy(own, months)
}

func (s *compareService) CompareRevisions(ctx context.Context, req *comparev1.CompareRevisionsRequest) (*comparev1.CompareRevisionsResponse, error) {
	recipe, err := s.recipe(ctx, recipes.RecordName(req.GetRecord()))
	if err != nil {
		return nil, err
	}
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	months, err := s.everybody(ctx, a)
	if err != nil {
		return nil, err
	}
	list, err := s.revisions(ctx, a, recipe, months)
	if err != nil {
		return nil, err
	}
	answer := &comparev1.CompareRevisionsResponse{Method: revisionsMethod, Finding: "No run used this recipe in these days", AsOf: a.stamp()}
	for _, u := range list {
		limits := compare.Wilson(float64(u.tally.Reprints), float64(u.tally.Pieces), compare.Level95)
		m := &comparev1.RevisionRate{Number: u.number, PiecesCount: u.tally.Pieces, ReprintsCount: u.tally.Reprints, Rate: u.tally.Rate(), RateLow: limits.Low, RateHigh: limits.High,
			FirstDay: u.months[0], LastDay: u.months[len(u.months)-1], ControlPiecesCount: u.control.Pieces}
		answer.Finding = fmt.Sprintf("Revision %d: %.1f %% reprints (%.1f to %.1f)", u.number, 100*m.Rate, 100*m.RateLow, 100*m.RateHigh)
		if d := u.change; d != nil {
			m.Difference, m.DifferenceLow, m.DifferenceHigh, m.NetDifference, m.Verdict = d.Change, d.Change95.Low, d.Change95.High, d.Net, string(d.Verdict)
			if d.Controlled {
				m.NetLow, m.NetHigh = d.Net95.Low, d.Net95.High
			}
			answer.Finding = changeWords(u.number, *d)
		}
		answer.Revisions = append(answer.Revisions, m)
	}
	return answer, nil
}

func changeWords(n int64, d compare.Difference) string {
	points := fmt.Sprintf("%+.1f points (%+.1f to %+.1f)", 100*d.Net, 100*d.Net95.Low, 100*d.Net95.High)
	if d.Controlled {
		points += " beyond what other recipes did"
	}
	switch d.Verdict {
	case compare.Fewer:
		return fmt.Sprintf("Revision %d helped: %s", n, points)
	case compare.More:
		return fmt.Sprintf("Revision %d made it worse: %s", n, points)
	}
	return fmt.Sprintf("Revision %d can not be told from the one before: %s", n, points)
}

// evidenceDays is how far back evidence is looked for: two years.
const evidenceDays = 730

func (s *compareService) ListEvidence(ctx context.Context, req *comparev1.ListEvidenceRequest) (*comparev1.ListEvidenceResponse, error) {
	a, err := s.asked(ctx, &comparev1.Span{}, req.GetAsOf())
	if err != nil {
		return nil, err
	}
	a.span.From, a.span.To = a.asOf.AddDate(0, 0, -evidenceDays).Format(time.DateOnly), a.asOf.Format(time.DateOnly)
	answer := &comparev1.ListEvidenceResponse{Caveat: caveat, AsOf: timestamppb.New(a.asOf)}
	months, err := s.everybody(ctx, a)
	if err != nil {
		return nil, err
	}
	known := map[recipes.RecordName][]used{}
	for _, name := range req.GetRevisions() {
		record, number, err := recipes.RevisionName(name).Parts()
		if err != nil {
			return nil, err
		}
		if kind, ok := record.Kind(); !ok || kind != recipes.KindRecipe {
			continue // nothing that is run
		}
		list, ok := known[record]
		if !ok {
			recipe, err := s.recipe(ctx, record)
			if err != nil {
				return nil, err
			}
			if list, err = s.revisions(ctx, a, recipe, months); err != nil {
				return nil, err
			}
			known[record] = list
		}
		answer.Evidence = append(answer.Evidence, evidence(name, number, list))
	}
	return answer, nil
}

func evidence(name string, number int64, list []used) *comparev1.Evidence {
	e := &comparev1.Evidence{Revision: name, Verdict: "not run yet", Sentence: "No branch has run this revision yet."}
	i := slices.IndexFunc(list, func(u used) bool { return u.number == number })
	if i < 0 {
		if n := len(list); n > 0 {
			last := list[n-1]
			e.Sentence = fmt.Sprintf("No branch has run this revision yet; revision %d made %.1f %% reprints in %d pieces.", last.number, 100*last.tally.Rate(), last.tally.Pieces)
		}
		return e
	}
	u := list[i]
	limits := compare.Wilson(float64(u.tally.Reprints), float64(u.tally.Pieces), compare.Level95)
	e.PiecesCount, e.ReprintsCount, e.Rate, e.RateLow, e.RateHigh, e.BranchesCount = u.tally.Pieces, u.tally.Reprints, u.tally.Rate(), limits.Low, limits.High, int32(u.branches)
	e.Verdict = string(compare.NotTold)
	e.Sentence = fmt.Sprintf("%.1f %% reprints (%.1f to %.1f) in %d pieces at %s; there is no earlier revision to set it against.", 100*e.Rate, 100*e.RateLow, 100*e.RateHigh, e.PiecesCount, branchesWords(u.branches))
	if d := u.change; d != nil {
		e.Verdict, e.Net, e.NetLow, e.NetHigh = string(d.Verdict), d.Net, d.Net95.Low, d.Net95.High
		e.Sentence = fmt.Sprintf("%s, from %d pieces at %s.", changeWords(number, *d), e.PiecesCount, branchesWords(u.branches))
	}
	return e
}

func branchesWords(n int) string {
	if n == 1 {
		return "one branch"
	}
	return fmt.Sprintf("%d branches", n)
}

// recipe opens the newest revision of a recipe.
func (s *compareService) recipe(ctx context.Context, record recipes.RecordName) (recipes.Recipe, error) {
	row, err := s.h.Office.Catalog.Revision(ctx, record, 0)
	if fault.Is(err, fault.NotFound) {
		return recipes.Recipe{}, fault.New(fault.NotFound, "compare", "RECORD_NOT_FOUND", "There is no recipe %s.", string(record))
	}
	if err != nil {
		return recipes.Recipe{}, err
	}
	content, err := s.h.Opener.Content(ctx, row.Digest)
	if err != nil {
		return recipes.Recipe{}, err
	}
	recipe, ok := content.(recipes.Recipe)
	if !ok {
		return recipe, fault.New(fault.Invalid, "compare", "RECORD_NOT_FOUND", "%s is no recipe.", string(record))
	}
	return recipe, nil
}
