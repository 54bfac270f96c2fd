package main

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/server/demo"
)

// fairHouse is a demo house as a franchise manager sees it.
type fairHouse struct {
	*house
	manager context.Context
	compare comparev1.CompareServiceClient
	span    *comparev1.Span
}

func TestFair(t *testing.T) {
	h := started(t, t.TempDir(), "--demo")
	today := time.Now().UTC()
	f := fairHouse{h, h.as(t, "franchise@evenpeel.example"), comparev1.NewCompareServiceClient(h.conn),
		&comparev1.Span{FromDay: today.AddDate(-1, 0, 0).Format(time.DateOnly), ToDay: today.Format(time.DateOnly)}}
	t.Run("causes", f.causes)
	t.Run("charts", f.charts)
	t.Run("film", f.film)
	t.Run("trial", f.trial)
	t.Run("evidence", f.evidence)
	t.Run("costs", f.costs)
	t.Run("methods", f.methods)
	t.Run("instant", f.instant)
}

// The planted causes of reprints are found; of the rest, whose dice fall anew each day, at most one by chance. With fixed dice
// nothing else is: see the demo's own test.
func (f fairHouse) causes(t *testing.T) {
	got, err := f.compare.FindCauses(f.manager, &comparev1.FindCausesRequest{Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(got.GetFinding(), got.GetTestedCount(), "looked at in", got.GetRunsCount(), "runs")
	var cold, short, brittle bool
	chance := 0
	for _, a := range got.GetAssociations() {
		work := a.GetFactor() == "film" || a.GetFactor() == "fabric" || a.GetFactor() == "band"
		if !a.GetDiscovery() || work && a.GetWithFactor() == "" {
			continue
		}
		t.Log(a.GetSentence())
		switch {
		case a.GetLevel() == demo.Cold && a.GetWithFactor() == "":
			cold = cold || a.GetCause() == "edge-lift" && a.GetRatioLow() > 2
		case a.GetLevel() == string(demo.Short.Revision(2)):
			short = short || a.GetCause() == "edge-lift" && a.GetRatioLow() > 2
		case a.GetLevel() == "dewfall "+demo.Brittle:
			brittle = brittle || a.GetCause() == "weeding-tear" && a.GetRatioLow() > 1.5
		default:
			if chance++; chance > 1 {
				t.Errorf("not planted: %s, p %.3g", a.GetSentence(), a.GetPAdjusted())
			}
		}
		if strings.Contains(a.GetSentence(), "because") || !strings.Contains(a.GetSentence(), "associated with") {
			t.Error(a.GetSentence())
		}
	}
	if !cold || !short || !brittle {
		t.Errorf("cold press found: %v, short dwell found: %v, brittle lot found: %v", cold, short, brittle)
	}
	if n := len(got.GetCauses()); n < 8 || math.Abs(got.GetCauses()[n-1].GetRunning()-1) > 1e-9 {
		t.Errorf("%d causes", n)
	}
	one, err := f.compare.FindCauses(f.manager, &comparev1.FindCausesRequest{Span: f.span, Branch: demo.Cold, Cause: "edge-lift"})
	if err != nil || one.GetRunsCount() == 0 || one.GetRunsCount() >= got.GetRunsCount() {
		t.Error(err, one.GetRunsCount())
	}
	if _, err := f.compare.FindCauses(f.manager, &comparev1.FindCausesRequest{Span: f.span, Branch: "branches/nowhere"}); reason(err) != "BRANCH_NOT_FOUND" {
		t.Error(err)
	}
}

func (f fairHouse) charts(t *testing.T) {
	kinds := []comparev1.ChartKind{comparev1.ChartKind_CHART_KIND_P, comparev1.ChartKind_CHART_KIND_U, comparev1.ChartKind_CHART_KIND_XMR, comparev1.ChartKind_CHART_KIND_LANEY, comparev1.ChartKind_CHART_KIND_EWMA, comparev1.ChartKind_CHART_KIND_CUSUM}
	for _, kind := range kinds {
		got, err := f.compare.GetChart(f.manager, &comparev1.GetChartRequest{Branch: demo.Cold, Kind: kind, Span: f.span})
		if err != nil {
			t.Fatal(kind, err)
		}
		if len(got.GetPoints()) < 40 || got.GetMethod() == "" || got.GetKind() != kind {
			t.Errorf("%s: %d points", kind, len(got.GetPoints()))
		}
		t.Log(got.GetFinding())
		if kind == comparev1.ChartKind_CHART_KIND_CUSUM && !got.GetPoints()[len(got.GetPoints())-1].GetOutside() {
			t.Error("nine months of a cold press do not show in the cumulative sum")
		}
	}
	got, err := f.compare.GetChart(f.manager, &comparev1.GetChartRequest{Branch: demo.Cold, Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, m := range got.GetMarks() {
		seen[m.GetKind()]++
		if m.GetWords() == "" || m.GetDay() < f.span.GetFromDay() || m.GetDay() > f.span.GetToDay() {
			t.Errorf("%+v", m)
		}
	}
	if seen["release"] < 3 || seen["lot"] < 3 || seen["calibration"] < 1 {
		t.Errorf("marks: %v", seen)
	}
	recipe, err := f.compare.GetChart(f.manager, &comparev1.GetChartRequest{Record: string(demo.Short), Span: f.span, Every: comparev1.Every_EVERY_MONTH})
	if err != nil || len(recipe.GetPoints()) < 11 || len(recipe.GetMarks()) != 2 {
		t.Errorf("%v: %d points, marks %+v", err, len(recipe.GetPoints()), recipe.GetMarks())
	}
	if _, err := f.compare.GetChart(f.manager, &comparev1.GetChartRequest{Span: f.span, Kind: comparev1.ChartKind_CHART_KIND_CUSUM}); reason(err) != "COMPARE_SERIES_INVALID" {
		t.Error(err)
	}
	many, err := f.compare.ListCharts(f.manager, &comparev1.ListChartsRequest{Metric: comparev1.Metric_METRIC_REPRINTS, Span: f.span, Every: comparev1.Every_EVERY_MONTH})
	if err != nil || len(many.GetCharts()) < 24 {
		t.Fatal(err, len(many.GetCharts()))
	}
	for _, c := range many.GetCharts() {
		for _, p := range c.GetPoints() {
			if p.GetDay() < many.GetFirstDay() || p.GetDay() > many.GetLastDay() || p.GetValue() > many.GetHighest() || p.GetValue() < many.GetLowest() {
				t.Errorf("%s lies off the common axis: %+v", c.GetTitle(), p)
			}
		}
	}
	t.Log(many.GetFinding())
	// A branch's manager charts their own branch only.
	own := f.as(t, "manager.uk@evenpeel.example")
	if _, err := f.compare.GetChart(own, &comparev1.GetChartRequest{Branch: demo.Wasteful, Metric: comparev1.Metric_METRIC_YIELD, Span: f.span}); err != nil {
		t.Error(err)
	}
	for _, branch := range []string{"", demo.Cold} {
		if _, err := f.compare.GetChart(own, &comparev1.GetChartRequest{Branch: branch, Span: f.span}); reason(err) != "NOT_YOUR_BRANCH" {
			t.Error(err)
		}
	}
}

func (f fairHouse) film(t *testing.T) {
	got, err := f.compare.GetFilmReport(f.manager, &comparev1.GetFilmReportRequest{Film: "glimmer", Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(got.GetFinding())
	if len(got.GetReprints()) < 24 || len(got.GetYields()) != len(got.GetReprints()) || len(got.GetCauses()) == 0 || len(got.GetFabrics()) == 0 {
		t.Errorf("%d reprints, %d causes, %d fabrics", len(got.GetReprints()), len(got.GetCauses()), len(got.GetFabrics()))
	}
	var drawn, rest int64
	for _, l := range got.GetLosses() {
		if l.GetKey() == "drawn" {
			drawn = l.GetAreaMm2()
		} else {
			rest += l.GetAreaMm2()
		}
	}
	if drawn == 0 || drawn != rest {
		t.Errorf("%d of %d mm²", rest, drawn)
	}
	own, err := f.compare.GetFilmReport(f.as(t, "manager.uk@evenpeel.example"), &comparev1.GetFilmReportRequest{Film: "glimmer", Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range append(own.GetReprints(), own.GetYields()...) {
		if s.GetBranch() != "" && s.GetBranch() != demo.Wasteful || s.GetBranch() == "" && s.GetLastDay() != "" {
			t.Error("a branch manager sees", s)
		}
	}
	if strings.Contains(own.GetFinding(), "Row") {
		t.Error(own.GetFinding())
	}
}

func (f fairHouse) trial(t *testing.T) {
	releases := f.trialRelease(t)
	got, err := f.compare.WatchTrial(f.manager, &comparev1.WatchTrialRequest{Release: releases})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(got.GetFinding())
	t.Log(got.GetRule())
	if got.GetVerdict() != "go on" || got.GetNeededCount() == 0 || len(got.GetLooks()) != 5 || got.GetBaseline() <= 0 || got.GetControlSince().GetPiecesCount() == 0 {
		t.Errorf("%+v", got)
	}
	if _, err := f.compare.WatchTrial(f.manager, &comparev1.WatchTrialRequest{Release: 9999}); reason(err) != "RELEASE_NOT_FOUND" {
		t.Error(err)
	}
	if _, err := f.compare.WatchTrial(f.manager, &comparev1.WatchTrialRequest{}); reason(err) != "NOT_A_TRIAL" {
		t.Error(err)
	}
	if _, err := f.compare.WatchTrial(f.manager, &comparev1.WatchTrialRequest{Release: 1}); reason(err) != "NOT_A_TRIAL" {
		t.Error(err)
	}
}

// trialRelease is the number of the release that went to a few branches.
func (f fairHouse) trialRelease(t *testing.T) int64 {
	t.Helper()
	chart, err := f.compare.GetChart(f.manager, &comparev1.GetChartRequest{Record: "recipes/sieve-stretch", Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range chart.GetMarks() {
		if strings.Contains(m.GetWords(), "Trial") {
			return m.GetRelease()
		}
	}
	t.Fatal("no trial among", chart.GetMarks())
	return 0
}

func (f fairHouse) evidence(t *testing.T) {
	got, err := f.compare.ListEvidence(f.manager, &comparev1.ListEvidenceRequest{Revisions: []string{string(demo.Short.Revision(2)), string(demo.Short.Revision(3)), "prices/eu/revisions/1", "recipes/feather-cotton/revisions/9"}})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"more", "fewer", "not run yet"}
	if len(got.GetEvidence()) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, e := range got.GetEvidence() {
		t.Log(e.GetSentence())
		if e.GetVerdict() != want[i] || e.GetSentence() == "" {
			t.Errorf("%+v", e)
		}
	}
	change, err := f.compare.CompareRevisions(f.manager, &comparev1.CompareRevisionsRequest{Record: string(demo.Short), Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	last := change.GetRevisions()[len(change.GetRevisions())-1]
	if last.GetVerdict() != "fewer" || last.GetNetHigh() >= 0 || last.GetControlPiecesCount() == 0 {
		t.Errorf("%+v", last)
	}
}

func (f fairHouse) costs(t *testing.T) {
	got, err := f.compare.CompareCosts(f.manager, &comparev1.CompareCostsRequest{Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(got.GetFinding())
	if len(got.GetTotals()) != 2 || got.GetTotals()[0].GetCurrency() != "EUR" || got.GetTotals()[1].GetCurrency() != "GBP" {
		t.Fatalf("%+v", got.GetTotals())
	}
	sum := map[string]int64{}
	for _, c := range got.GetCosts() {
		sum[c.GetCurrency()] += c.GetReprints().GetMinor()
		if c.GetPriced() < 0.999 || c.GetReprints().GetLowMinor() > c.GetReprints().GetMinor() || c.GetReprints().GetHighMinor() < c.GetReprints().GetMinor() {
			t.Errorf("%+v", c)
		}
		if c.GetBranch() == demo.Cold && c.GetReprintsBeyond().GetLowMinor() <= 0 || c.GetBranch() == demo.Wasteful && c.GetFilmBeyond().GetLowMinor() <= 0 {
			t.Errorf("what was planted costs nothing: %+v", c)
		}
	}
	for _, x := range got.GetTotals() {
		if sum[x.GetCurrency()] != x.GetReprintsMinor() || x.GetReprintsMinor() == 0 {
			t.Errorf("%+v against %d", x, sum[x.GetCurrency()])
		}
	}
}

// Every key that an answer names is explained.
func (f fairHouse) methods(t *testing.T) {
	got, err := f.compare.ListMethods(f.manager, &comparev1.ListMethodsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, m := range got.GetMethods() {
		known[m.GetKey()] = m.GetWords() != "" && m.GetSource() != ""
	}
	report, err := f.compare.GetBranchReport(f.manager, &comparev1.GetBranchReportRequest{Branch: demo.Cold, Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	view, err := f.compare.CompareBranches(f.manager, &comparev1.CompareBranchesRequest{Metric: comparev1.Metric_METRIC_REPRINTS, MixAdjusted: true, Dispersion: comparev1.Dispersion_DISPERSION_MULTIPLICATIVE, Span: f.span})
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range append(report.GetMethodKeys(), view.GetMethodKeys()...) {
		if !known[k] {
			t.Error("not explained:", k)
		}
	}
	if view.GetSpread().GetApplied() != comparev1.Dispersion_DISPERSION_MULTIPLICATIVE || view.GetSpread().GetPhi() <= 0 || view.GetStandings()[0].GetRunsCount() == 0 {
		t.Errorf("%+v", view.GetSpread())
	}
	if report.GetOrdersCount() == 0 || report.GetLosses()[1].GetHigh() <= report.GetLosses()[1].GetLow() || report.GetYield().GetRateHigh() <= report.GetYield().GetRateLow() {
		t.Errorf("%d orders, %+v", report.GetOrdersCount(), report.GetLosses()[1])
	}
}

// The answer for an instant stays that instant's, whatever is corrected later; an instant still to come is now.
func (f fairHouse) instant(t *testing.T) {
	cold := func(asOf *timestamppb.Timestamp) (*comparev1.Standing, *comparev1.CompareBranchesResponse) {
		got, err := f.compare.CompareBranches(f.manager, &comparev1.CompareBranchesRequest{Metric: comparev1.Metric_METRIC_REPRINTS, MixAdjusted: true, Span: f.span, AsOf: asOf})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range got.GetStandings() {
			if s.GetBranch() == demo.Cold {
				return s, got
			}
		}
		t.Fatal("no standing of", demo.Cold)
		return nil, nil
	}
	_, before := cold(nil)
	then := before.GetAsOf()
	f.correctOne(t)
	a, again := cold(then)
	_, twice := cold(then)
	if !proto.Equal(again, twice) || !again.GetAsOf().AsTime().Equal(then.AsTime()) {
		t.Error("two answers for one instant differ, or name another")
	}
	before.AsOf = again.AsOf
	if !proto.Equal(before, again) {
		t.Errorf("a later correction changed what was known then:\n%v", a)
	}
	now, _ := cold(nil)
	if now.GetReprintsCount() != a.GetReprintsCount()+7 || now.GetCorrectedCount() != a.GetCorrectedCount()+1 || now.GetRunsCount() != a.GetRunsCount() {
		t.Errorf("then %v\nnow %v", a, now)
	}
	if _, later := cold(timestamppb.New(time.Now().Add(100 * time.Hour))); later.GetAsOf().AsTime().After(time.Now()) {
		t.Error("an answer for an instant to come")
	}
}

// correctOne corrects a run of the branch with the cold press: seven more pieces were made again than was said.
func (f fairHouse) correctOne(t *testing.T) {
	t.Helper()
	manager, ledger := f.as(t, "manager.eu@evenpeel.example"), branchesv1.NewRunsServiceClient(f.conn)
	list, err := ledger.ListRuns(manager, &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 50})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list.GetRuns() {
		if len(r.GetReprints()) == 0 || r.GetCorrects() != "" {
			continue
		}
		r.Corrects, r.Id = r.GetId(), id(7001)
		r.Reprints[0].Count += 7
		if _, err := ledger.CorrectRun(manager, &branchesv1.CorrectRunRequest{Run: r}); err != nil {
			t.Fatal(err)
		}
		return
	}
	t.Fatal("no run with reprints to correct")
}
