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
)

var (
	reprintKeys = []string{"standardised", "garwood", "funnel", "wilson", "clopper-pearson", "shrinkage", "needed", "benjamini-hochberg", "late"}
	yieldKeys   = []string{"yield", "achievable", "linearised", "late"}
)

// asked are a span's branches, by title, so that findings read well, and the instant that is answered for.
type asked struct {
	span     compare.Span
	asOf     time.Time
	branches []branches.Branch
	in       map[string]bool
	every    bool // branches of all markets
}

// asked reads what was asked for. An instant still to come is now: what will be received by then is not known.
func (s *compareService) asked(ctx context.Context, m *comparev1.Span, asOf *timestamppb.Timestamp) (asked, error) {
	a := asked{span: compare.Span{From: m.GetFromDay(), To: m.GetToDay(), Film: m.GetFilm(), Fabric: m.GetFabric()}, in: map[string]bool{}, every: m.GetMarket() == ""}
	a.asOf = s.h.Now().UTC().Truncate(time.Microsecond)
	if asOf != nil && asOf.AsTime().Before(a.asOf) {
		a.asOf = asOf.AsTime()
		a.span.AsOf = a.asOf
	}
	all, err := s.h.Register.Branches(ctx)
	if err != nil {
		return a, err
	}
	for _, b := range all {
		if a.every || string(b.Market) == m.GetMarket() {
			a.branches, a.in[b.Name] = append(a.branches, b), true
		}
	}
	return a, nil
}

// within leaves out the cells of other markets.
func (a asked) within(cells []compare.Cell, err error) ([]compare.Cell, error) {
	if a.every {
		return cells, err
	}
	return slices.DeleteFunc(cells, func(c compare.Cell) bool { return !a.in[c.Branch] }), err
}

func (a asked) names() (names []string) {
	for _, b := range a.branches {
		names = append(names, b.Name)
	}
	return names
}

func (a asked) title(branch string) string {
	for _, b := range a.branches {
		if b.Name == branch {
			return b.Title
		}
	}
	return ""
}

func (a asked) stamp() *timestamppb.Timestamp { return timestamppb.New(a.asOf) }

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

func dispersionOf(d comparev1.Dispersion, over bool) compare.Dispersion {
	switch {
	case d == comparev1.Dispersion_DISPERSION_MULTIPLICATIVE:
		return compare.Multiplicative
	case d == comparev1.Dispersion_DISPERSION_ADDITIVE, d == comparev1.Dispersion_DISPERSION_UNSPECIFIED && over:
		return compare.Additive
	}
	return compare.PoissonOnly
}

var dispersions = map[compare.Dispersion]comparev1.Dispersion{
	compare.PoissonOnly: comparev1.Dispersion_DISPERSION_NONE, compare.Multiplicative: comparev1.Dispersion_DISPERSION_MULTIPLICATIVE, compare.Additive: comparev1.Dispersion_DISPERSION_ADDITIVE,
}

// mix is what the branches asked for did.
func (s *compareService) mix(ctx context.Context, a asked) (compare.Mix, error) {
	m, err := s.h.Source.Mix(ctx, a.span)
	if err != nil || a.every {
		return m, err
	}
	return m.Keep(func(branch string) bool { return a.in[branch] }), nil
}

func (a asked) reprints(m compare.Mix, adjusted bool, d compare.Dispersion) (compare.View, error) {
	if !adjusted { // one stratum: everybody's work is taken to be the same
		m = m.Together()
	}
	return compare.FairReprintsOf(m, compare.Options{Branches: a.names(), Dispersion: d})
}

func reprintStanding(x compare.Standing) *comparev1.Standing {
	return &comparev1.Standing{
		Branch: x.Branch, PiecesCount: x.Pieces, ReprintsCount: x.Reprints, Rate: x.Rate, RateLow: x.Wilson95.Low, RateHigh: x.Wilson95.High, Expected: x.Expected, Ratio: x.Ratio,
		RatioLow: x.Ratio95.Low, RatioHigh: bounded(x.Ratio95.High), Shrunk: x.Shrunk, Mark: marks[x.Mark], NeededCount: needed(x), PAdjusted: x.BHAdjusted,
		ExactLow: x.Exact95.Low, ExactHigh: x.Exact95.High, RatioLow_998: x.Ratio998.Low, RatioHigh_998: bounded(x.Ratio998.High), ShrunkLow: x.Shrunk95.Low, ShrunkHigh: x.Shrunk95.High,
		Discovery: x.Discovery, AloneCount: x.PiecesAlone,
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
		Expected: bounded(x.ExpectedDrawn), Ratio: x.OfAchievable, RatioLow: x.Of95.Low, RatioHigh: x.Of95.High, RatioLow_998: x.Of998.Low, RatioHigh_998: x.Of998.High, Shrunk: x.OfAchievable,
		Mark: marks[x.Mark], PAdjusted: 1, AchievableAreaMm2: int64(x.Achievable), Known: x.Known,
	}
}

func limitPoints(funnel []compare.FunnelPoint) (list []*comparev1.LimitPoint) {
	for _, p := range funnel {
		list = append(list, &comparev1.LimitPoint{Size: p.Expected, Low_95: p.Low95, High_95: bounded(p.High95), Low_998: p.Low998, High_998: bounded(p.High998)})
	}
	return list
}

// yields compares yields from two sums of the runs.
func (s *compareService) yields(ctx context.Context, a asked, m compare.Mix) (compare.YieldView, error) {
	months, err := a.within(s.h.Source.Months(ctx, a.span))
	if err != nil {
		return compare.YieldView{}, err
	}
	return compare.FairYieldOf(m, months, compare.Options{Branches: a.names()})
}

func (s *compareService) CompareBranches(ctx context.Context, req *comparev1.CompareBranchesRequest) (*comparev1.CompareBranchesResponse, error) {
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	mix, err := s.mix(ctx, a)
	if err != nil {
		return nil, err
	}
	answer := &comparev1.CompareBranchesResponse{Caveat: caveat, AsOf: a.stamp()}
	if req.GetMetric() == comparev1.Metric_METRIC_YIELD {
		v, err := s.yields(ctx, a, mix)
		if err != nil {
			return nil, err
		}
		answer.Finding, answer.Overall, answer.Method, answer.MethodKeys = v.Finding, v.Yield, yieldMethod, yieldKeys
		for _, x := range v.Standings {
			answer.Standings = append(answer.Standings, yieldStanding(x))
		}
	} else {
		v, err := a.reprints(mix, req.GetMixAdjusted(), dispersionOf(req.GetDispersion(), req.GetOverDispersion()))
		if err != nil {
			return nil, err
		}
		answer.Finding, answer.Overall, answer.Method, answer.MethodKeys = v.Finding, v.Rate, reprintMethod, slices.Clone(reprintKeys)
		if !req.GetMixAdjusted() {
			answer.Method = rawMethod
		}
		answer.Spread = &comparev1.Spread{Phi: v.Dispersion.Phi, Tau2: v.Dispersion.Tau2, BranchesCount: int32(v.Dispersion.Branches), Applied: dispersions[v.Dispersion.Applied]}
		switch v.Dispersion.Applied {
		case compare.Additive:
			answer.Method += fmt.Sprintf(" Limits are widened for over-dispersion (additive, winsorised; τ² = %.4f).", v.Dispersion.Tau2)
		case compare.Multiplicative:
			answer.Method += fmt.Sprintf(" Limits are widened for over-dispersion (multiplicative, winsorised; φ = %.2f).", v.Dispersion.Phi)
		}
		if v.Dispersion.Applied != compare.PoissonOnly {
			answer.MethodKeys = append(answer.MethodKeys, "over-dispersion")
		}
		for _, x := range v.Standings {
			answer.Standings = append(answer.Standings, reprintStanding(x))
		}
		answer.Limits = limitPoints(v.Funnel)
	}
	if err := s.reported(ctx, a, answer.Standings); err != nil {
		return nil, err
	}
	answer.Standings = a.shown(ctx, answer.Standings)
	answer.Finding = a.readable(answer.Finding)
	if ofBranch(ctx) != "" {
		answer.Finding = "How this branch stands among the others"
	}
	return answer, nil
}

// reported notes how and when each branch reported, so that silence and lateness are seen.
func (s *compareService) reported(ctx context.Context, a asked, standings []*comparev1.Standing) error {
	last, err := s.h.Source.LastDays(ctx)
	if err != nil {
		return err
	}
	list, err := s.h.Source.Reporting(ctx, a.span)
	if err != nil {
		return err
	}
	by := make(map[string]compare.Reporting, len(list))
	for _, r := range list {
		by[r.Branch] = r
	}
	for _, x := range standings {
		r := by[x.GetBranch()]
		x.LastDay, x.RunsCount, x.LateCount, x.CorrectedCount = last[x.GetBranch()], r.Runs, r.Late, r.Corrected
	}
	return nil
}

// shown gives titles, by which it sorts; a branch sees how it stands among others, not who they are.
func (a asked) shown(ctx context.Context, standings []*comparev1.Standing) []*comparev1.Standing {
	own := ofBranch(ctx)
	for _, x := range standings {
		x.Title = a.title(x.GetBranch())
		if own != "" && x.GetBranch() != own {
			x.Branch, x.Title, x.LastDay, x.RunsCount, x.LateCount, x.CorrectedCount = "", "another branch", "", 0, 0, 0
		}
	}
	slices.SortStableFunc(standings, func(x, y *comparev1.Standing) int { return strings.Compare(x.GetTitle(), y.GetTitle()) })
	return standings
}

func (s *compareService) ListMethods(context.Context, *comparev1.ListMethodsRequest) (*comparev1.ListMethodsResponse, error) {
	answer := &comparev1.ListMethodsResponse{}
	for _, m := range compare.Methods() {
		answer.Methods = append(answer.Methods, &comparev1.Method{Key: m.Key, Title: m.Title, Words: m.Words, Source: m.Source})
	}
	return answer, nil
}
