package rpc

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	"evenpeel/branches/runs"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

type runsService struct {
	branchesv1.UnimplementedRunsServiceServer
	h *House
}

func runOf(m *branchesv1.Run) (runs.Run, error) {
	r := runs.Run{
		ID: m.GetId(), Branch: m.GetBranch(), Order: m.GetOrder(), Recipe: recipes.RevisionName(m.GetRecipe()), Film: m.GetFilm(), Fabric: recipes.Fabric(m.GetFabric()),
		Colour: m.GetColour(), Lot: m.GetLot(), Cutter: m.GetCutter(), Press: m.GetPress(), Band: int(m.GetBand()), Pieces: m.GetPiecesCount(), Good: m.GetGoodCount(),
		Drawn: units.SquareMillimetres(m.GetDrawnAreaMm2()), DrawnLength: units.Millimetres(m.GetDrawnMm()), Decorated: units.SquareMillimetres(m.GetDecoratedAreaMm2()),
		LayoutLoss: units.SquareMillimetres(m.GetLayoutLossMm2()), EdgeLoss: units.SquareMillimetres(m.GetEdgeLossMm2()), TestCutLoss: units.SquareMillimetres(m.GetTestCutLossMm2()),
		WeedingLoss: units.SquareMillimetres(m.GetWeedingLossMm2()), RollEndLoss: units.SquareMillimetres(m.GetRollEndLossMm2()), Achievable: units.SquareMillimetres(m.GetAchievableAreaMm2()),
		TimedDwell: units.Seconds(m.GetTimedDwellSeconds()), Corrects: m.GetCorrects(),
	}
	if m.GetStartTime() != nil && m.GetEndTime() != nil {
		r.Start, r.End = m.GetStartTime().AsTime(), m.GetEndTime().AsTime()
	}
	for _, p := range m.GetReprints() {
		r.Reprints = append(r.Reprints, runs.Reprint{Cause: p.GetCause(), Count: p.GetCount(), Film: units.SquareMillimetres(p.GetFilmAreaMm2())})
	}
	var err error
	r.RecipeDigest, err = recipes.ParseDigest(m.GetRecipeSha256())
	return r, err
}

func runMessage(r runs.Run) *branchesv1.Run {
	m := &branchesv1.Run{
		Id: r.ID, Branch: r.Branch, Order: r.Order, Recipe: string(r.Recipe), RecipeSha256: r.RecipeDigest[:], Film: r.Film, Fabric: string(r.Fabric), Colour: r.Colour, Lot: r.Lot,
		Cutter: r.Cutter, Press: r.Press, Band: int32(r.Band), PiecesCount: r.Pieces, GoodCount: r.Good, DrawnAreaMm2: int64(r.Drawn), DrawnMm: int64(r.DrawnLength), DecoratedAreaMm2: int64(r.Decorated),
		LayoutLossMm2: int64(r.LayoutLoss), EdgeLossMm2: int64(r.EdgeLoss), TestCutLossMm2: int64(r.TestCutLoss), WeedingLossMm2: int64(r.WeedingLoss), RollEndLossMm2: int64(r.RollEndLoss),
		AchievableAreaMm2: int64(r.Achievable), StartTime: timestamppb.New(r.Start), EndTime: timestamppb.New(r.End), TimedDwellSeconds: int64(r.TimedDwell), Corrects: r.Corrects, Reporter: r.Reporter,
		CorrectedBy: r.CorrectedBy, ReceivedTime: timestamppb.New(r.Received),
	}
	for _, p := range r.Reprints {
		m.Reprints = append(m.Reprints, &branchesv1.Reprint{Cause: p.Cause, Count: p.Count, FilmAreaMm2: int64(p.Film)})
	}
	return m
}

// checked finds every fault of every run of a report, so that nothing is stored where anything is wrong.
func (s *runsService) checked(ctx context.Context, ms []*branchesv1.Run) ([]runs.Run, error) {
	now := s.h.Now()
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	var fs fault.Fields
	list := make([]runs.Run, 0, len(ms))
	for i, m := range ms {
		path := fmt.Sprintf("runs[%d]", i)
		b, err := s.h.Register.Branch(ctx, m.GetBranch())
		if err != nil {
			return nil, err
		}
		r, err := runOf(m)
		if err != nil {
			fs.Add(path+".recipe_sha256", "is no digest; send the one of the card that was worked by")
			continue
		}
		r.Reporter, r.Received = person(ctx), now
		fs.Under(path, r.Check(now))
		if r.Order != "" && branches.Of(r.Order) != r.Branch {
			fs.Add(path+".order", "is an order of another branch")
		}
		if err := s.workedBy(ctx, releases, b, r); err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, fs.Fault("runs", "RUN_INVALID", "Nothing of this report was stored. Mend the fields named, then send it again.")
}

// workedBy checks that the revision was in force at the branch when the run ended, and that its digest is the true one.
func (s *runsService) workedBy(ctx context.Context, releases []recipes.Release, b branches.Branch, r runs.Run) error {
	never := func() error {
		return fault.New(fault.Invalid, "runs", "REVISION_NEVER_IN_FORCE", "The run names %s, which was not in force at %s by then. Pull the newest sheet and report by the card that was worked by.", string(r.Recipe), b.Title)
	}
	record, number, err := r.Recipe.Parts()
	if err != nil {
		return never()
	}
	row, err := s.h.Office.Catalog.Revision(ctx, record, number)
	if fault.Is(err, fault.NotFound) || err == nil && (row.Digest != r.RecipeDigest || !recipes.EverInForce(releases, b.Name, b.Market, r.Recipe, r.End)) {
		return never()
	}
	return err
}

func (s *runsService) ReportRuns(ctx context.Context, req *branchesv1.ReportRunsRequest) (*branchesv1.ReportRunsResponse, error) {
	for _, m := range req.GetRuns() {
		if m.GetCorrects() != "" {
			return nil, fault.New(fault.Invalid, "runs", "RUN_INVALID", "A correction is sent by itself. Correct the run instead of reporting it.")
		}
	}
	list, err := s.checked(ctx, req.GetRuns())
	if err != nil {
		return nil, err
	}
	stored, known, err := s.h.Ledger.Append(ctx, list)
	return &branchesv1.ReportRunsResponse{StoredCount: int32(stored), KnownCount: int32(known)}, err
}

func (s *runsService) CorrectRun(ctx context.Context, req *branchesv1.CorrectRunRequest) (*branchesv1.CorrectRunResponse, error) {
	if req.GetRun().GetCorrects() == "" {
		return nil, fault.New(fault.Invalid, "runs", "RUN_INVALID", "A correction names the run that it takes the place of.")
	}
	list, err := s.checked(ctx, []*branchesv1.Run{req.GetRun()})
	if err != nil {
		return nil, err
	}
	stored, _, err := s.h.Ledger.Append(ctx, list)
	if err != nil {
		return nil, err
	}
	if stored > 0 { // sent again, it is no second act
		s.h.audit(ctx, "CorrectRun", list[0].Branch+"/runs/"+list[0].ID)
	}
	r, err := s.h.Ledger.Run(ctx, list[0].Branch, list[0].ID) // as it was kept, also when it is sent again
	return &branchesv1.CorrectRunResponse{Run: runMessage(r)}, err
}

// runsToken is where a page of runs ended, bound to the branch that was asked for; it carries no rights.
type runsToken struct {
	Version int    `json:"v"`
	Branch  string `json:"b"`
	Before  int64  `json:"t"` // unix microseconds
	ID      string `json:"i"`
}

func (s *runsService) ListRuns(ctx context.Context, req *branchesv1.ListRunsRequest) (*branchesv1.ListRunsResponse, error) {
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	var before time.Time
	var id string
	if req.GetPageToken() != "" {
		token, err := parseRunsToken(req.GetPageToken(), req.GetBranch())
		if err != nil {
			return nil, err
		}
		before, id = time.UnixMicro(token.Before), token.ID
	}
	most := pageSize(req.GetPageSize())
	list, err := s.h.Ledger.Runs(ctx, req.GetBranch(), before, id, most)
	if err != nil {
		return nil, err
	}
	answer := &branchesv1.ListRunsResponse{}
	for _, r := range list {
		answer.Runs = append(answer.Runs, runMessage(r))
	}
	if len(list) == most {
		last := list[len(list)-1]
		text, err := json.Marshal(runsToken{1, req.GetBranch(), last.End.UnixMicro(), last.ID})
		if err != nil {
			return nil, err
		}
		answer.NextPageToken = base64.RawURLEncoding.EncodeToString(text)
	}
	return answer, nil
}

func parseRunsToken(s, branch string) (runsToken, error) {
	var t runsToken
	text, err := base64.RawURLEncoding.DecodeString(s)
	if err == nil {
		err = json.Unmarshal(text, &t)
	}
	if err != nil || t.Version != 1 || t.Branch != branch || strings.ContainsRune(t.ID, 0) {
		return t, fault.New(fault.Invalid, "runs", "PAGE_TOKEN_INVALID", "This page token is not of this list. Start at the first page.").Because(err)
	}
	return t, nil
}
