package rpc

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

type compareService struct {
	comparev1.UnimplementedCompareServiceServer
	h *House
}

// How the numbers are made, in the words that screens show beside them.
const (
	reprintMethod = "Observed reprints over those that the same work (film × fabric × difficulty) would have had at all branches' rate (indirect standardisation); exact Poisson limits at 95 % and 99.8 %, by observation; p-values adjusted after Benjamini and Hochberg."
	rawMethod     = "Reprints over pieces as recorded, with no allowance for the work; exact Poisson limits at 95 % and 99.8 %, by observation."
	yieldMethod   = "Decorated area on good garments over film drawn, as a sum over a sum. Judged is the film that the plans said was enough over film drawn, so that awkward drawings are not blamed; limits from the spread between a branch's own months."
	caveat        = "It can not show what was not recorded. A silent branch is not a good branch. A difference is an association, not a cause."
	chartMethod   = "p chart by week: limits three standard deviations from the branch's own mean, wider in small weeks."
)

// asked are a span's cells with the branches they may come from, by title, so that findings read well.
type asked struct {
	span     compare.Span
	branches []branches.Branch
	cells    []compare.Cell
}

func (s *compareService) asked(ctx context.Context, m *comparev1.Span) (asked, error) {
	a := asked{span: compare.Span{From: m.GetFromDay(), To: m.GetToDay(), Film: m.GetFilm(), Fabric: m.GetFabric()}}
	all, err := s.h.Register.Branches(ctx)
	if err != nil {
		return a, err
	}
	in := map[string]bool{}
	for _, b := range all {
		if m.GetMarket() == "" || string(b.Market) == m.GetMarket() {
			a.branches, in[b.Name] = append(a.branches, b), true
		}
	}
	cells, err := s.h.Source.Cells(ctx, a.span)
	if err != nil {
		return a, err
	}
	for _, c := range cells {
		if in[c.Branch] {
			a.cells = append(a.cells, c)
		}
	}
	return a, nil
}

func (a asked) names() (names []string) {
	for _, b := range a.branches {
		names = append(names, b.Name)
	}
	return names
}

// readable puts titles where the comparison wrote resource names.
func (a asked) readable(sentence string) string {
	var pairs []string
	byLength := slices.Clone(a.branches) // a longer name first: it may begin with a shorter one
	slices.SortFunc(byLength, func(x, y branches.Branch) int { return len(y.Name) - len(x.Name) })
	for _, b := range byLength {
		pairs = append(pairs, b.Name, b.Title)
	}
	return strings.NewReplacer(pairs...).Replace(sentence)
}

var marks = map[compare.Mark]comparev1.Mark{
	compare.Inside: comparev1.Mark_MARK_INSIDE, compare.High95: comparev1.Mark_MARK_HIGH_95, compare.High998: comparev1.Mark_MARK_HIGH_998, compare.Low95: comparev1.Mark_MARK_LOW_95,
	compare.Low998: comparev1.Mark_MARK_LOW_998, compare.CannotTell: comparev1.Mark_MARK_CANNOT_TELL, compare.Silent: comparev1.Mark_MARK_SILENT,
}

func (a asked) reprints(adjusted, overDispersion bool) (compare.View, error) {
	o := compare.Options{Branches: a.names()}
	if overDispersion {
		o.Dispersion = compare.Additive
	}
	cells := a.cells
	if !adjusted { // one stratum: everybody's work is taken to be the same
		cells = slices.Clone(cells)
		for i := range cells {
			cells[i].Film, cells[i].Fabric, cells[i].Band = "all", "all", 0
		}
	}
	return compare.FairReprints(cells, o)
}

func reprintStanding(x compare.Standing) *comparev1.Standing {
	return &comparev1.Standing{
		Branch: x.Branch, PiecesCount: x.Pieces, ReprintsCount: x.Reprints, Rate: x.Rate, RateLow: x.Wilson95.Low, RateHigh: x.Wilson95.High, Expected: x.Expected, Ratio: x.Ratio,
		RatioLow: x.Ratio95.Low, RatioHigh: bounded(x.Ratio95.High), Shrunk: x.Shrunk, Mark: marks[x.Mark], NeededCount: needed(x), PAdjusted: x.BHAdjusted,
	}
}

func needed(x compare.Standing) int64 {
	if x.Mark != compare.CannotTell {
		return 0
	}
	return max(x.PiecesNeeded-x.Pieces, 0)
}

// bounded keeps what is infinite off the wire: a screen can not draw it.
func bounded(v float64) float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	return v
}

func yieldStanding(x compare.YieldStanding) *comparev1.Standing {
	return &comparev1.Standing{
		Branch: x.Branch, PiecesCount: x.Pieces, DrawnAreaMm2: int64(x.Drawn), DecoratedAreaMm2: int64(x.Decorated), Rate: x.Yield, RateLow: x.Yield95.Low, RateHigh: x.Yield95.High,
		Expected: bounded(x.ExpectedDrawn), Ratio: x.OfAchievable, RatioLow: x.Of95.Low, RatioHigh: x.Of95.High, Shrunk: x.OfAchievable, Mark: marks[x.Mark], PAdjusted: 1,
	}
}

func (s *compareService) CompareBranches(ctx context.Context, req *comparev1.CompareBranchesRequest) (*comparev1.CompareBranchesResponse, error) {
	a, err := s.asked(ctx, req.GetSpan())
	if err != nil {
		return nil, err
	}
	answer := &comparev1.CompareBranchesResponse{Caveat: caveat}
	if req.GetMetric() == comparev1.Metric_METRIC_YIELD {
		v, err := compare.FairYield(a.cells, compare.Options{Branches: a.names()})
		if err != nil {
			return nil, err
		}
		answer.Finding, answer.Overall, answer.Method = v.Finding, v.Yield, yieldMethod
		for _, x := range v.Standings {
			answer.Standings = append(answer.Standings, yieldStanding(x))
		}
	} else {
		v, err := a.reprints(req.GetMixAdjusted(), req.GetOverDispersion())
		if err != nil {
			return nil, err
		}
		answer.Finding, answer.Overall, answer.Method = v.Finding, v.Rate, reprintMethod
		if !req.GetMixAdjusted() {
			answer.Method = rawMethod
		}
		if req.GetOverDispersion() {
			answer.Method += fmt.Sprintf(" Limits are widened for over-dispersion (additive, winsorised; τ² = %.4f).", v.Dispersion.Tau2)
		}
		for _, x := range v.Standings {
			answer.Standings = append(answer.Standings, reprintStanding(x))
		}
		for _, p := range v.Funnel {
			answer.Limits = append(answer.Limits, &comparev1.LimitPoint{Size: p.Expected, Low_95: p.Low95, High_95: bounded(p.High95), Low_998: p.Low998, High_998: bounded(p.High998)})
		}
	}
	last, err := s.h.Source.LastDays(ctx)
	if err != nil {
		return nil, err
	}
	own := ofBranch(ctx)
	for _, x := range answer.Standings {
		for _, b := range a.branches {
			if b.Name == x.Branch {
				x.Title = b.Title
			}
		}
		x.LastDay = last[x.Branch]
		if own != "" && x.Branch != own { // a branch sees how it stands among others, not who they are
			x.Branch, x.Title, x.LastDay = "", "another branch", ""
		}
	}
	slices.SortFunc(answer.Standings, func(x, y *comparev1.Standing) int { return strings.Compare(x.GetTitle(), y.GetTitle()) })
	answer.Finding = a.readable(answer.Finding)
	if own != "" {
		answer.Finding = "How this branch stands among the others"
	}
	return answer, nil
}

func (s *compareService) GetBranchReport(ctx context.Context, req *comparev1.GetBranchReportRequest) (*comparev1.GetBranchReportResponse, error) {
	b, err := s.h.Register.Branch(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	a, err := s.asked(ctx, req.GetSpan())
	if err != nil {
		return nil, err
	}
	view, err := a.reprints(true, false)
	if err != nil {
		return nil, err
	}
	yields, err := compare.FairYield(a.cells, compare.Options{Branches: a.names()})
	if err != nil {
		return nil, err
	}
	answer := &comparev1.GetBranchReportResponse{Method: reprintMethod + " " + chartMethod}
	for _, x := range view.Standings {
		if x.Branch == b.Name {
			answer.Reprints = reprintStanding(x)
			answer.Reprints.Title = b.Title
		}
	}
	for _, x := range yields.Standings {
		if x.Branch == b.Name {
			answer.Yield = yieldStanding(x)
			answer.Yield.Title = b.Title
		}
	}
	var own, others []compare.Cell
	for _, c := range a.cells {
		if c.Branch == b.Name {
			own = append(own, c)
		} else {
			others = append(others, c)
		}
	}
	if answer.Losses, err = losses(own, a.cells); err != nil {
		return nil, err
	}
	if answer.Causes, err = s.causes(ctx, a, b.Name, own, others); err != nil {
		return nil, err
	}
	if answer.Chart, err = s.chart(ctx, b.Name, a.span); err != nil {
		return nil, err
	}
	if answer.Releases, err = s.marks(ctx, b, a.span); err != nil {
		return nil, err
	}
	answer.Strata = strata(own, others)
	answer.Finding = branchFinding(b, answer)
	return answer, nil
}

// branchFinding says the one thing that a visit should begin with.
func branchFinding(b branches.Branch, r *comparev1.GetBranchReportResponse) string {
	x := r.GetReprints()
	switch x.GetMark() {
	case comparev1.Mark_MARK_SILENT:
		return b.Title + " sent nothing in these days"
	case comparev1.Mark_MARK_CANNOT_TELL:
		return fmt.Sprintf("%s can not be told from the others yet: about %d more pieces are needed", b.Title, x.GetNeededCount())
	case comparev1.Mark_MARK_HIGH_95, comparev1.Mark_MARK_HIGH_998:
		sentence := fmt.Sprintf("%s has %.1f times the reprints that its work explains (%.1f to %.1f)", b.Title, x.GetRatio(), x.GetRatioLow(), x.GetRatioHigh())
		var stands *comparev1.CauseShare
		for _, c := range r.GetCauses() {
			if c.GetAgainstLow() > 1 && (stands == nil || c.GetAgainstOthers() > stands.GetAgainstOthers()) {
				stands = c
			}
		}
		if stands != nil {
			sentence += fmt.Sprintf("; what stands out is %s", strings.ReplaceAll(stands.GetCause(), "-", " "))
		}
		return sentence
	case comparev1.Mark_MARK_LOW_95, comparev1.Mark_MARK_LOW_998:
		return b.Title + " has fewer reprints than its work explains: check that they are recorded"
	}
	most := &comparev1.Loss{}
	for _, l := range r.GetLosses() {
		if l.GetKey() != "drawn" && l.GetKey() != "decorated" && l.GetShare()-l.GetOverallShare() > most.GetShare()-most.GetOverallShare() {
			most = l
		}
	}
	// Two hundredths of the film drawn is the least that a visit is worth. Common practice, no source.
	if most.GetShare()-most.GetOverallShare() >= 0.02 {
		return fmt.Sprintf("%s loses %.1f %% of its film to %s; all branches together %.1f %%", b.Title, 100*most.GetShare(), strings.ReplaceAll(most.GetKey(), "-", " "), 100*most.GetOverallShare())
	}
	return b.Title + " lies within what chance allows"
}

func losses(own, all []compare.Cell) ([]*comparev1.Loss, error) {
	mine, err := compare.Waterfall(own)
	if err != nil {
		return nil, err
	}
	every, err := compare.Waterfall(all)
	if err != nil {
		return nil, err
	}
	var out []*comparev1.Loss
	for i, l := range mine {
		m := &comparev1.Loss{Key: strings.ReplaceAll(l.Step, " ", "-"), AreaMm2: int64(l.Area)}
		if mine[0].Area > 0 {
			m.Share = float64(l.Area) / float64(mine[0].Area)
		}
		if every[0].Area > 0 {
			m.OverallShare = float64(every[i].Area) / float64(every[0].Area)
		}
		out = append(out, m)
	}
	return out, nil
}

func pieces(cells []compare.Cell) (n int64) {
	for _, c := range cells {
		n += c.Pieces
	}
	return n
}

// causes sets each cause's count against what the other branches' rate per piece would give here; the limits are those
// of counting here alone (Garwood), the others being many.
func (s *compareService) causes(ctx context.Context, a asked, branch string, own, others []compare.Cell) ([]*comparev1.CauseShare, error) {
	rows, err := s.h.Source.CauseCounts(ctx, a.span)
	if err != nil {
		return nil, err
	}
	in := map[string]bool{}
	for _, b := range a.branches {
		in[b.Name] = true
	}
	var mine []compare.Cause
	elsewhere := map[string]int64{}
	for _, c := range rows {
		switch {
		case c.Branch == branch:
			mine = append(mine, c)
		case in[c.Branch]:
			elsewhere[c.Cause] += c.Count
		}
	}
	shares, err := compare.Pareto(mine)
	if err != nil {
		return nil, err
	}
	here, there := pieces(own), pieces(others)
	var out []*comparev1.CauseShare
	for _, x := range shares {
		m := &comparev1.CauseShare{Cause: x.Cause, Count: x.Count, Share: x.Percent / 100, Running: x.CumulativePercent / 100}
		if n := elsewhere[x.Cause]; n > 0 && there > 0 && here > 0 {
			expected := float64(n) / float64(there) * float64(here)
			limits := compare.Garwood(x.Count, compare.Level95)
			m.AgainstOthers, m.AgainstLow, m.AgainstHigh = float64(x.Count)/expected, limits.Low/expected, limits.High/expected
		}
		out = append(out, m)
	}
	return out, nil
}

func (s *compareService) chart(ctx context.Context, branch string, span compare.Span) ([]*comparev1.ChartPoint, error) {
	days, err := s.h.Source.Days(ctx, branch, span)
	if err != nil || len(days) == 0 {
		return nil, err
	}
	var weeks []compare.Sample
	for _, d := range days {
		day, err := time.Parse(time.DateOnly, d.Day)
		if err != nil {
			return nil, fault.New(fault.Broken, "compare", "DAY_UNREADABLE", "A day of this branch can not be read.").Because(err)
		}
		monday := day.AddDate(0, 0, -(int(day.Weekday())+6)%7).Format(time.DateOnly)
		if n := len(weeks); n == 0 || weeks[n-1].Label != monday {
			weeks = append(weeks, compare.Sample{Label: monday})
		}
		w := &weeks[len(weeks)-1]
		w.Count, w.Size = w.Count+d.Reprints, w.Size+d.Pieces
	}
	weeks = slices.DeleteFunc(weeks, func(w compare.Sample) bool { return w.Size == 0 })
	chart, err := compare.PChart(weeks)
	if err != nil {
		return nil, err
	}
	var out []*comparev1.ChartPoint
	for i, p := range chart.Points {
		out = append(out, &comparev1.ChartPoint{Day: p.Label, PiecesCount: weeks[i].Size, ReprintsCount: weeks[i].Count, Rate: p.Value, Low: p.Low, High: p.High, Outside: p.Out})
	}
	return out, nil
}

func (s *compareService) marks(ctx context.Context, b branches.Branch, span compare.Span) ([]*comparev1.ReleaseMark, error) {
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	var out []*comparev1.ReleaseMark
	for _, r := range releases {
		day := r.Effective.UTC().Format(time.DateOnly)
		if !r.Reaches(b.Name, b.Market) || day < span.From || day > span.To {
			continue
		}
		m := &comparev1.ReleaseMark{Release: r.Number, EffectiveTime: timestamppb.New(r.Effective)}
		for _, rev := range r.Revisions {
			m.Revisions = append(m.Revisions, string(rev.Revision))
		}
		out = append(out, m)
	}
	return out, nil
}

// mostStrata bounds what a person is shown.
const mostStrata = 20

// strata are films on fabrics at this branch against the same at the others, those that differ by more than chance first.
func strata(own, others []compare.Cell) []*comparev1.StratumRate {
	type key struct{ film, fabric string }
	mine, theirs := map[key]compare.Tally{}, map[key]compare.Tally{}
	add := func(into map[key]compare.Tally, cells []compare.Cell) {
		for _, c := range cells {
			t := into[key{c.Film, c.Fabric}]
			into[key{c.Film, c.Fabric}] = compare.Tally{Pieces: t.Pieces + c.Pieces, Reprints: t.Reprints + c.Reprints}
		}
	}
	add(mine, own)
	add(theirs, others)
	var out []*comparev1.StratumRate
	for k, t := range mine {
		o := theirs[k]
		if o.Reprints == 0 || t.Pieces == 0 {
			continue
		}
		expected := float64(o.Reprints) / float64(o.Pieces) * float64(t.Pieces)
		limits := compare.Garwood(t.Reprints, compare.Level95)
		out = append(out, &comparev1.StratumRate{Film: k.film, Fabric: k.fabric, PiecesCount: t.Pieces, ReprintsCount: t.Reprints, Ratio: float64(t.Reprints) / expected, RatioLow: limits.Low / expected, RatioHigh: limits.High / expected})
	}
	slices.SortFunc(out, func(a, b *comparev1.StratumRate) int {
		switch {
		case a.RatioLow != b.RatioLow && a.RatioLow > b.RatioLow:
			return -1
		case a.RatioLow != b.RatioLow:
			return 1
		}
		return strings.Compare(a.Film+a.Fabric, b.Film+b.Fabric)
	})
	return out[:min(len(out), mostStrata)]
}

func (s *compareService) CompareRevisions(ctx context.Context, req *comparev1.CompareRevisionsRequest) (*comparev1.CompareRevisionsResponse, error) {
	recipe, err := s.recipe(ctx, recipes.RecordName(req.GetRecord()))
	if err != nil {
		return nil, err
	}
	span := &comparev1.Span{FromDay: req.GetSpan().GetFromDay(), ToDay: req.GetSpan().GetToDay(), Market: req.GetSpan().GetMarket()}
	a, err := s.asked(ctx, span)
	if err != nil {
		return nil, err
	}
	of := func(c compare.Cell) bool { return c.Film == recipe.Film.Code && c.Fabric == string(recipe.Fabric) }
	periods := map[int64]map[string]bool{} // months in which a revision was worked by
	for _, c := range a.cells {
		if of(c) && c.Pieces > 0 {
			if periods[c.Revision] == nil {
				periods[c.Revision] = map[string]bool{}
			}
			periods[c.Revision][c.Period] = true
		}
	}
	numbers := make([]int64, 0, len(periods))
	for n := range periods {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	answer := &comparev1.CompareRevisionsResponse{Method: "Rates with Wilson limits; differences with Newcombe's method 10; less what all other recipes changed over the same months (difference in differences). An association: other things may have changed too.", Finding: "No run used this recipe in these days"}
	var before, controlBefore compare.Tally
	for i, n := range numbers {
		tally := compare.TallyOf(a.cells, func(c compare.Cell) bool { return of(c) && c.Revision == n })
		control := compare.TallyOf(a.cells, func(c compare.Cell) bool { return !of(c) && periods[n][c.Period] })
		limits := compare.Wilson(float64(tally.Reprints), float64(tally.Pieces), compare.Level95)
		months := make([]string, 0, len(periods[n]))
		for p := range periods[n] {
			months = append(months, p)
		}
		slices.Sort(months)
		m := &comparev1.RevisionRate{Number: n, PiecesCount: tally.Pieces, ReprintsCount: tally.Reprints, Rate: tally.Rate(), RateLow: limits.Low, RateHigh: limits.High, FirstDay: months[0], LastDay: months[len(months)-1]}
		answer.Finding = fmt.Sprintf("Revision %d: %.1f %% reprints (%.1f to %.1f)", n, 100*m.Rate, 100*m.RateLow, 100*m.RateHigh)
		if i > 0 {
			d, err := compare.BeforeAfter(before, tally, controlBefore, control)
			if err != nil {
				return nil, err
			}
			m.Difference, m.DifferenceLow, m.DifferenceHigh, m.NetDifference = d.Change, d.Change95.Low, d.Change95.High, d.Net
			answer.Finding = changeWords(n, d)
		}
		answer.Revisions = append(answer.Revisions, m)
		before, controlBefore = tally, control
	}
	return answer, nil
}

func changeWords(n int64, d compare.Difference) string {
	points := fmt.Sprintf("%+.1f points (%+.1f to %+.1f) beyond what other recipes did", 100*d.Net, 100*d.Net95.Low, 100*d.Net95.High)
	switch d.Verdict {
	case compare.Fewer:
		return fmt.Sprintf("Revision %d helped: %s", n, points)
	case compare.More:
		return fmt.Sprintf("Revision %d made it worse: %s", n, points)
	}
	return fmt.Sprintf("Revision %d can not be told from the one before: %s", n, points)
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
