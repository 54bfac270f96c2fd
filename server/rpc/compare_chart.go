package rpc

import (
	"context"
	"fmt"
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

var (
	chartMethods = map[comparev1.ChartKind]string{
		comparev1.ChartKind_CHART_KIND_P:     "p chart: limits three standard deviations from the mean, wider in small periods.",
		comparev1.ChartKind_CHART_KIND_U:     "u chart: reprints per square metre drawn, limits three standard deviations from the mean.",
		comparev1.ChartKind_CHART_KIND_XMR:   "XmR chart: limits of the values and of their moves from the mean move (1.128, 3.267).",
		comparev1.ChartKind_CHART_KIND_LANEY: "Laney's p′ chart: limits of a p chart times how much neighbouring periods really differ.",
		comparev1.ChartKind_CHART_KIND_EWMA:  "EWMA chart: weight 0.2 for the newest period, limits of three standard deviations, narrower at the start.",
		comparev1.ChartKind_CHART_KIND_CUSUM: "Risk-adjusted cumulative sum: looks for twice the odds of a reprint that the work explains (and, below, for half); threshold 4.5.",
	}
	chartKeys = map[comparev1.ChartKind]string{
		comparev1.ChartKind_CHART_KIND_P: "p-chart", comparev1.ChartKind_CHART_KIND_U: "u-chart", comparev1.ChartKind_CHART_KIND_XMR: "xmr",
		comparev1.ChartKind_CHART_KIND_LANEY: "laney", comparev1.ChartKind_CHART_KIND_EWMA: "ewma", comparev1.ChartKind_CHART_KIND_CUSUM: "cusum",
	}
	periods = map[comparev1.Every]compare.Every{comparev1.Every_EVERY_DAY: compare.Day, comparev1.Every_EVERY_MONTH: compare.Month}
)

// suspicion is what a cumulative sum looks for: usual values (Steiner and others 2000).
var suspicion = compare.Suspicion{Worse: 2, Better: 0.5, Threshold: 4.5}

// weeks are a branch's p chart as its report shows it.
func (s *compareService) weeks(ctx context.Context, a asked, branch string) (out []*comparev1.ChartPoint, err error) {
	days, err := s.h.Source.Days(ctx, branch, a.span)
	if err != nil || len(days) == 0 {
		return nil, err
	}
	weeks, err := compare.Grouped(days, compare.Week)
	if err != nil {
		return nil, err
	}
	samples := compare.Proportions(weeks)
	chart, err := compare.PChart(samples)
	if err != nil {
		return nil, err
	}
	for i, p := range chart.Points {
		out = append(out, &comparev1.ChartPoint{Day: p.Label, PiecesCount: samples[i].Size, ReprintsCount: samples[i].Count, Rate: p.Value, Low: p.Low, High: p.High, Outside: p.Out})
	}
	return out, nil
}

func (s *compareService) GetChart(ctx context.Context, req *comparev1.GetChartRequest) (*comparev1.GetChartResponse, error) {
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	var b *branches.Branch
	if req.GetBranch() != "" {
		found, err := s.h.Register.Branch(ctx, req.GetBranch())
		if err != nil {
			return nil, err
		}
		b = &found
	}
	subject := "All branches"
	if b != nil {
		subject = b.Title
	}
	if req.GetRecord() != "" {
		recipe, err := s.recipe(ctx, recipes.RecordName(req.GetRecord()))
		if err != nil {
			return nil, err
		}
		a.span.Film, a.span.Fabric = recipe.Film.Code, string(recipe.Fabric)
		subject += ", " + recipe.Film.Title + " on " + a.span.Fabric
	}
	kind, yield := chartKind(req.GetKind(), req.GetMetric())
	if kind == comparev1.ChartKind_CHART_KIND_CUSUM && b == nil {
		return nil, fault.New(fault.Invalid, "compare", compare.SeriesInvalid, "A risk-adjusted cumulative sum sets one branch against the others. Choose a branch.")
	}
	answer := &comparev1.GetChartResponse{Kind: kind, Method: chartMethods[kind], MethodKey: chartKeys[kind], AsOf: a.stamp()}
	days, err := s.days(ctx, a, b)
	if err != nil {
		return nil, err
	}
	grouped, err := compare.Grouped(days, periods[req.GetEvery()])
	if err != nil {
		return nil, err
	}
	var works []compare.Work
	if b != nil {
		if works, err = s.works(ctx, a, b.Name); err != nil {
			return nil, err
		}
	}
	if kind == comparev1.ChartKind_CHART_KIND_CUSUM {
		err = s.cusum(ctx, a, b.Name, works, answer)
	} else if len(grouped) > 0 {
		err = drawn(grouped, kind, yield, answer)
	}
	if err != nil {
		return nil, err
	}
	if answer.Marks, err = s.chartMarks(ctx, a, b, req.GetRecord(), works); err != nil {
		return nil, err
	}
	answer.Finding = chartFinding(subject, yield, answer.GetPoints())
	if kind == comparev1.ChartKind_CHART_KIND_CUSUM {
		answer.Finding = sumFinding(subject, answer.GetPoints())
	}
	return answer, nil
}

func chartKind(kind comparev1.ChartKind, metric comparev1.Metric) (comparev1.ChartKind, bool) {
	yield := metric == comparev1.Metric_METRIC_YIELD
	switch {
	case yield && kind != comparev1.ChartKind_CHART_KIND_EWMA: // a yield is no count
		return comparev1.ChartKind_CHART_KIND_XMR, true
	case kind == comparev1.ChartKind_CHART_KIND_UNSPECIFIED:
		return comparev1.ChartKind_CHART_KIND_P, false
	}
	return kind, yield
}

// days are those of one branch, or of all of them added up.
func (s *compareService) days(ctx context.Context, a asked, b *branches.Branch) ([]compare.DayCount, error) {
	if b != nil {
		return s.h.Source.Days(ctx, b.Name, a.span)
	}
	list, err := s.h.Source.AllDays(ctx, a.span)
	if err != nil {
		return nil, err
	}
	sums := map[string]*compare.DayCount{}
	for _, d := range list {
		if !a.in[d.Branch] {
			continue
		}
		x := sums[d.Day]
		if x == nil {
			x = &compare.DayCount{Day: d.Day}
			sums[d.Day] = x
		}
		x.Pieces += d.Pieces
		x.Reprints += d.Reprints
		x.Drawn += d.Drawn
		x.Decorated += d.Decorated
	}
	days := make([]compare.DayCount, 0, len(sums))
	for _, x := range sums {
		days = append(days, *x)
	}
	slices.SortFunc(days, func(x, y compare.DayCount) int { return strings.Compare(x.Day, y.Day) })
	return days, nil
}

// drawn charts periods; a u chart's rates are told per square metre.
func drawn(grouped []compare.DayCount, kind comparev1.ChartKind, yield bool, answer *comparev1.GetChartResponse) error {
	var chart, ranges compare.Chart
	var err error
	scale := 1.0
	switch kind {
	case comparev1.ChartKind_CHART_KIND_U:
		chart, err = compare.UChart(compare.PerArea(grouped))
		scale = compare.PerSquareMetre
	case comparev1.ChartKind_CHART_KIND_XMR:
		chart, ranges, err = compare.XmR(compare.Readings(grouped, yield))
		answer.SecondHigh = ranges.Centre + 3*ranges.Sigma
	case comparev1.ChartKind_CHART_KIND_LANEY:
		chart, err = compare.LaneyP(compare.Proportions(grouped))
	case comparev1.ChartKind_CHART_KIND_EWMA:
		chart, err = compare.Smoothed(compare.Readings(grouped, yield))
	default:
		chart, err = compare.PChart(compare.Proportions(grouped))
	}
	if err != nil {
		return err
	}
	answer.Centre, answer.Sigma = scale*chart.Centre, chart.Sigma
	answer.Points = seriesPoints(chart, grouped, scale)
	for i, p := range ranges.Points { // the first value has no move
		answer.Points[i+1].Second, answer.Points[i+1].SecondOutside = p.Value, p.Out
	}
	return nil
}

func seriesPoints(chart compare.Chart, grouped []compare.DayCount, scale float64) (list []*comparev1.SeriesPoint) {
	by := map[string]compare.DayCount{}
	for _, g := range grouped {
		by[g.Day] = g
	}
	for _, p := range chart.Points {
		g := by[p.Label]
		list = append(list, &comparev1.SeriesPoint{Day: p.Label, PiecesCount: g.Pieces, ReprintsCount: g.Reprints, DrawnAreaMm2: int64(g.Drawn), Value: scale * p.Value, Centre: scale * p.Centre,
			Low: scale * p.Low, High: scale * p.High, Outside: p.Out})
	}
	return list
}

// cusum sums day by day, whatever the period: a sum over weeks would hide where it began to climb.
func (s *compareService) cusum(ctx context.Context, a asked, branch string, works []compare.Work, answer *comparev1.GetChartResponse) error {
	others, err := a.within(s.h.Source.Strata(ctx, a.span))
	if err != nil {
		return err
	}
	lots, err := compare.RiskByDay(works, others, branch)
	if err != nil {
		return err
	}
	steps, err := compare.RiskAdjustedCUSUM(lots, suspicion)
	if err != nil {
		return err
	}
	for i, x := range steps {
		answer.Points = append(answer.Points, &comparev1.SeriesPoint{Day: x.Label, PiecesCount: lots[i].Pieces, ReprintsCount: lots[i].Reprints, Value: x.Up, High: suspicion.Threshold, Outside: x.UpOut,
			Second: x.Down, SecondOutside: x.DownOut})
	}
	answer.SecondHigh = suspicion.Threshold
	return nil
}

// sumFinding says when the sums first crossed: once beyond, they stay there for long.
func sumFinding(subject string, points []*comparev1.SeriesPoint) string {
	crossed := func(out func(*comparev1.SeriesPoint) bool) string {
		if i := slices.IndexFunc(points, out); i >= 0 {
			return points[i].GetDay()
		}
		return ""
	}
	up, down := crossed((*comparev1.SeriesPoint).GetOutside), crossed((*comparev1.SeriesPoint).GetSecondOutside)
	switch {
	case len(points) == 0:
		return subject + ": nothing in these days can be set against other branches"
	case up != "" && down != "":
		return fmt.Sprintf("%s: more reprints than its work explains by %s, fewer by %s", subject, up, down)
	case up != "":
		return fmt.Sprintf("%s: more reprints than its work explains, clear by %s", subject, up)
	case down != "":
		return fmt.Sprintf("%s: fewer reprints than its work explains, clear by %s; check that they are recorded", subject, down)
	}
	return subject + ": no more and no fewer reprints than its work explains"
}

func chartFinding(subject string, yield bool, points []*comparev1.SeriesPoint) string {
	if len(points) == 0 {
		return subject + ": nothing was reported in these days"
	}
	what := "reprints"
	if yield {
		what = "yield"
	}
	out, first := 0, ""
	for _, p := range points {
		if p.GetOutside() || p.GetSecondOutside() {
			out++
			if first == "" {
				first = p.GetDay()
			}
		}
	}
	switch out {
	case 0:
		return fmt.Sprintf("%s: %s move within what chance allows", subject, what)
	case 1:
		return fmt.Sprintf("%s: %s lay outside the limits once, in the period from %s", subject, what, first)
	}
	return fmt.Sprintf("%s: %s lay outside the limits %d times, first in the period from %s", subject, what, out, first)
}

func (s *compareService) releaseMarks(ctx context.Context, b branches.Branch, span compare.Span) ([]*comparev1.ReleaseMark, error) {
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
