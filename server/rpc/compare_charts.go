package rpc

import (
	"context"
	"fmt"
	"math"

	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
)

func (s *compareService) ListCharts(ctx context.Context, req *comparev1.ListChartsRequest) (*comparev1.ListChartsResponse, error) {
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	list, err := s.h.Source.AllDays(ctx, a.span)
	if err != nil {
		return nil, err
	}
	by := map[string][]compare.DayCount{}
	for _, d := range list {
		by[d.Branch] = append(by[d.Branch], d.DayCount)
	}
	kind := comparev1.ChartKind_CHART_KIND_P
	yield := req.GetMetric() == comparev1.Metric_METRIC_YIELD
	switch {
	case yield:
		kind = comparev1.ChartKind_CHART_KIND_XMR
	case req.GetLaney():
		kind = comparev1.ChartKind_CHART_KIND_LANEY
	}
	every := periods[req.GetEvery()]
	answer := &comparev1.ListChartsResponse{Method: chartMethods[kind] + " One axis for all.", AsOf: a.stamp(), Lowest: math.Inf(1), Highest: math.Inf(-1)}
	if answer.FirstDay, err = every.First(a.span.From); err != nil {
		return nil, err
	}
	if answer.LastDay, err = every.First(a.span.To); err != nil {
		return nil, err
	}
	for _, b := range a.branches {
		one, err := branchChart(by[b.Name], every, kind, yield)
		if err != nil {
			return nil, err
		}
		one.Branch, one.Title = b.Name, b.Title
		for _, p := range one.GetPoints() {
			answer.Lowest, answer.Highest = math.Min(answer.Lowest, p.GetValue()), math.Max(answer.Highest, p.GetValue())
		}
		answer.Charts = append(answer.Charts, one)
	}
	answer.Lowest, answer.Highest = bounded(answer.Lowest), bounded(answer.Highest)
	answer.Finding = chartsFinding(answer.Charts)
	return answer, nil
}

func branchChart(days []compare.DayCount, every compare.Every, kind comparev1.ChartKind, yield bool) (*comparev1.BranchChart, error) {
	grouped, err := compare.Grouped(days, every)
	if err != nil {
		return nil, err
	}
	if len(grouped) == 0 {
		return &comparev1.BranchChart{Silent: true}, nil
	}
	var one comparev1.GetChartResponse
	if err := drawn(grouped, kind, yield, &one); err != nil {
		return nil, err
	}
	chart := &comparev1.BranchChart{Centre: one.GetCentre(), Points: one.GetPoints()}
	for _, p := range one.GetPoints() {
		if p.GetOutside() {
			chart.OutsideCount++
		}
	}
	return chart, nil
}

// chartsFinding expects some points outside by chance: about 27 in 10 000 on each chart's normal approximation.
func chartsFinding(charts []*comparev1.BranchChart) string {
	points, out, branches, silent := 0, 0, 0, 0
	for _, c := range charts {
		points += len(c.GetPoints())
		out += int(c.GetOutsideCount())
		if c.GetOutsideCount() > 0 {
			branches++
		}
		if c.GetSilent() {
			silent++
		}
	}
	sentence := fmt.Sprintf("%d of %d points lie outside the limits, at %s; about %.0f would by chance alone", out, points, branchesWords(branches), math.Ceil(0.0027*float64(points)))
	if out == 0 {
		sentence = fmt.Sprintf("None of %d points lies outside its limits", points)
	}
	if silent > 0 {
		sentence += fmt.Sprintf("; silent: %d", silent)
	}
	return sentence
}
