package rpc

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"evenpeel/branches"
	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/recipes/fault"
)

const reportMethod = " Film and yield: limits from the branch's own orders drawn anew (bootstrap, bias-corrected and accelerated, seeded)."

func (s *compareService) GetBranchReport(ctx context.Context, req *comparev1.GetBranchReportRequest) (*comparev1.GetBranchReportResponse, error) {
	b, err := s.h.Register.Branch(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	all, err := a.within(s.h.Source.Strata(ctx, a.span))
	if err != nil {
		return nil, err
	}
	view, err := a.reprints(all, true, compare.PoissonOnly)
	if err != nil {
		return nil, err
	}
	yields, err := s.yields(ctx, a, all)
	if err != nil {
		return nil, err
	}
	answer := &comparev1.GetBranchReportResponse{Method: reprintMethod + reportMethod + " " + chartMethods[comparev1.ChartKind_CHART_KIND_P], AsOf: a.stamp(),
		MethodKeys: append(slices.Concat(reprintKeys, yieldKeys), "bootstrap", "waterfall", "pareto", "p-chart")}
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
	if err := s.reported(ctx, a, []*comparev1.Standing{answer.Reprints, answer.Yield}); err != nil {
		return nil, err
	}
	own, others := parted(all, func(c compare.Cell) bool { return c.Branch == b.Name })
	if answer.Losses, err = losses(own, all); err != nil {
		return nil, err
	}
	works, err := s.works(ctx, a, b.Name)
	if err != nil {
		return nil, err
	}
	if err := ofOrders(works, answer); err != nil {
		return nil, err
	}
	counts, err := s.causeCounts(ctx, a)
	if err != nil {
		return nil, err
	}
	if answer.Causes, err = causes(counts, func(c compare.Cause) bool { return c.Branch == b.Name }, pieces(own), pieces(others)); err != nil {
		return nil, err
	}
	if answer.Chart, err = s.weeks(ctx, a, b.Name); err != nil {
		return nil, err
	}
	if answer.Releases, err = s.releaseMarks(ctx, b, a.span); err != nil {
		return nil, err
	}
	if answer.Marks, err = s.chartMarks(ctx, a, &b, "", works); err != nil {
		return nil, err
	}
	answer.Strata = strata(own, others, filmOnFabric)
	answer.Finding = branchFinding(b, answer)
	return answer, nil
}

// parted tells one side of a comparison from the other.
func parted(cells []compare.Cell, here func(compare.Cell) bool) (own, others []compare.Cell) {
	for _, c := range cells {
		if here(c) {
			own = append(own, c)
		} else {
			others = append(others, c)
		}
	}
	return own, others
}

// works are one branch's runs; none where there are too many to look at one by one: what comes from them is then left out.
func (s *compareService) works(ctx context.Context, a asked, branch string) ([]compare.Work, error) {
	list, err := s.h.Source.Works(ctx, branch, a.span)
	if fault.Is(err, fault.TooLarge) {
		return nil, nil
	}
	return list, err
}

// ofOrders puts limits on the branch's yield and losses from its own orders. Without them the limits of the months stay, and
// the losses have none.
func ofOrders(works []compare.Work, answer *comparev1.GetBranchReportResponse) error {
	film, err := compare.FilmOfOrders(works, compare.Options{})
	if err != nil {
		return err
	}
	answer.OrdersCount = int64(film.Orders)
	if film.Yield95 == (compare.Interval{}) {
		return nil
	}
	answer.Yield.RateLow, answer.Yield.RateHigh = film.Yield95.Low, film.Yield95.High
	for i, l := range answer.GetLosses() {
		l.Low, l.High = film.Steps95[i].Low, film.Steps95[i].High
	}
	return nil
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

// causeCounts are the causes of the branches asked for.
func (s *compareService) causeCounts(ctx context.Context, a asked) ([]compare.Cause, error) {
	rows, err := s.h.Source.CauseCounts(ctx, a.span)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(rows, func(c compare.Cause) bool { return !a.in[c.Branch] }), nil
}

// causes sets each cause's count here against what the rate per piece elsewhere would give; the limits are those of
// counting here alone (Garwood), the others being many.
func causes(rows []compare.Cause, isHere func(compare.Cause) bool, here, there int64) ([]*comparev1.CauseShare, error) {
	var mine []compare.Cause
	elsewhere := map[string]int64{}
	for _, c := range rows {
		if isHere(c) {
			mine = append(mine, c)
		} else {
			elsewhere[c.Cause] += c.Count
		}
	}
	shares, err := compare.Pareto(mine)
	if err != nil {
		return nil, err
	}
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

// mostStrata bounds what a person is shown.
const mostStrata = 20

// stratumKey names what is set against the same elsewhere.
type stratumKey struct{ film, fabric string }

func filmOnFabric(c compare.Cell) stratumKey { return stratumKey{c.Film, c.Fabric} }
func onFabric(c compare.Cell) stratumKey     { return stratumKey{"", c.Fabric} }

// strata are films on fabrics here against the same elsewhere, those that differ by more than chance first.
func strata(own, others []compare.Cell, keyOf func(compare.Cell) stratumKey) []*comparev1.StratumRate {
	mine, theirs := map[stratumKey]compare.Tally{}, map[stratumKey]compare.Tally{}
	add := func(into map[stratumKey]compare.Tally, cells []compare.Cell) {
		for _, c := range cells {
			t := into[keyOf(c)]
			into[keyOf(c)] = compare.Tally{Pieces: t.Pieces + c.Pieces, Reprints: t.Reprints + c.Reprints}
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
