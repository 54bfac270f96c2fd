package rpc

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/branches/runs"
	"evenpeel/branches/stock"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

type branchesService struct {
	branchesv1.UnimplementedBranchesServiceServer
	h *House
}

func (s *branchesService) ListBranches(ctx context.Context, _ *branchesv1.ListBranchesRequest) (*branchesv1.ListBranchesResponse, error) {
	all, err := s.h.Register.Branches(ctx)
	if err != nil {
		return nil, err
	}
	own := ofBranch(ctx)
	answer := &branchesv1.ListBranchesResponse{}
	for _, b := range all {
		if own == "" || own == b.Name {
			answer.Branches = append(answer.Branches, branchMessage(b))
		}
	}
	return answer, nil
}

func branchMessage(b branches.Branch) *branchesv1.Branch {
	return &branchesv1.Branch{Name: b.Name, Title: b.Title, Place: b.Place, Market: string(b.Market), TimeZone: b.TimeZone}
}

func (s *branchesService) SaveBranch(ctx context.Context, req *branchesv1.SaveBranchRequest) (*branchesv1.SaveBranchResponse, error) {
	m := req.GetBranch()
	b := branches.Branch{Name: m.GetName(), Title: m.GetTitle(), Place: m.GetPlace(), Market: recipes.Market(m.GetMarket()), TimeZone: m.GetTimeZone()}
	if err := b.Check().Fault("branches", "BRANCH_INVALID", "The branch is not saved yet. Mend the fields named."); err != nil {
		return nil, err
	}
	before, err := s.h.Register.Branch(ctx, b.Name)
	switch {
	case err == nil && before.Market != b.Market:
		// Its runs, sheets and prices were made in that market's law and money.
		return nil, fault.New(fault.NotReady, "branches", "MARKET_FIXED", "%s belongs to the market %s for good. Add a new branch for another market.", before.Title, before.Market)
	case err != nil && !fault.Is(err, fault.NotFound):
		return nil, err
	}
	if err := s.h.Register.PutBranch(ctx, b); err != nil {
		return nil, err
	}
	s.h.audit(ctx, "SaveBranch", b.Name)
	return &branchesv1.SaveBranchResponse{Branch: branchMessage(b)}, nil
}

var quantities = map[machines.Quantity]branchesv1.Quantity{
	machines.Force: branchesv1.Quantity_QUANTITY_FORCE, machines.Speed: branchesv1.Quantity_QUANTITY_SPEED, machines.Temperature: branchesv1.Quantity_QUANTITY_TEMPERATURE,
	machines.Pressure: branchesv1.Quantity_QUANTITY_PRESSURE, machines.Time: branchesv1.Quantity_QUANTITY_TIME, machines.Blade: branchesv1.Quantity_QUANTITY_BLADE,
}
var machineKinds = map[machines.Kind]branchesv1.MachineKind{machines.Cutter: branchesv1.MachineKind_MACHINE_KIND_CUTTER, machines.Press: branchesv1.MachineKind_MACHINE_KIND_PRESS}

// word turns a table of words and numbers round; a number that stands for nothing gives the empty word.
func word[W, N comparable](table map[W]N, n N) (w W) {
	for k, v := range table {
		if v == n {
			return k
		}
	}
	return w
}

func machineMessage(m machines.Machine) *branchesv1.Machine {
	out := &branchesv1.Machine{
		Name: m.Name, Kind: machineKinds[m.Kind], Title: m.Title, WidthMm: int64(m.Width), EdgeMarginMm: int64(m.EdgeMargin), LeadMm: int64(m.Lead), TailMm: int64(m.Tail),
		LongestCutMm: int64(m.LongestCut), BladeOffsetUm: int64(m.BladeOffset), AccelerationMmPerSecond2: m.Acceleration, TravelMmPerSecond: int64(m.Travel), UnitsPerMetre: m.UnitsPerM,
		PlatenWidthMm: int64(m.PlatenWidth), PlatenDepthMm: int64(m.PlatenDepth), Count: m.Count, CalibratedOn: m.CalibratedOn, Etag: etagOf(m.Etag),
	}
	for _, d := range m.Dials {
		dial := &branchesv1.Dial{Quantity: quantities[d.Quantity], Scale: d.Scale, StepMilli: int64(d.Step), LowMilli: int64(d.Low), HighMilli: int64(d.High)}
		for _, p := range d.Points {
			dial.Points = append(dial.Points, &branchesv1.DialPoint{DialMilli: int64(p.Dial), TrueMilli: int64(p.True)})
		}
		out.Dials = append(out.Dials, dial)
	}
	return out
}

func machineOf(m *branchesv1.Machine) machines.Machine {
	out := machines.Machine{
		Name: m.GetName(), Kind: word(machineKinds, m.GetKind()), Title: m.GetTitle(), Width: units.Millimetres(m.GetWidthMm()), EdgeMargin: units.Millimetres(m.GetEdgeMarginMm()),
		Lead: units.Millimetres(m.GetLeadMm()), Tail: units.Millimetres(m.GetTailMm()), LongestCut: units.Millimetres(m.GetLongestCutMm()), BladeOffset: units.Micrometres(m.GetBladeOffsetUm()),
		Acceleration: m.GetAccelerationMmPerSecond2(), Travel: units.MillimetresPerSecond(m.GetTravelMmPerSecond()), UnitsPerM: m.GetUnitsPerMetre(),
		PlatenWidth: units.Millimetres(m.GetPlatenWidthMm()), PlatenDepth: units.Millimetres(m.GetPlatenDepthMm()), Count: m.GetCount(), CalibratedOn: m.GetCalibratedOn(),
	}
	for _, d := range m.GetDials() {
		dial := machines.Dial{Quantity: word(quantities, d.GetQuantity()), Scale: d.GetScale(), Step: machines.Milli(d.GetStepMilli()), Low: machines.Milli(d.GetLowMilli()), High: machines.Milli(d.GetHighMilli())}
		for _, p := range d.GetPoints() {
			dial.Points = append(dial.Points, machines.Point{Dial: machines.Milli(p.GetDialMilli()), True: machines.Milli(p.GetTrueMilli())})
		}
		out.Dials = append(out.Dials, dial)
	}
	return out
}

func (s *branchesService) ListMachines(ctx context.Context, req *branchesv1.ListMachinesRequest) (*branchesv1.ListMachinesResponse, error) {
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	ms, err := s.h.Workshop.Machines(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	answer := &branchesv1.ListMachinesResponse{}
	for _, m := range ms {
		answer.Machines = append(answer.Machines, machineMessage(m))
	}
	return answer, nil
}

func (s *branchesService) SaveMachine(ctx context.Context, req *branchesv1.SaveMachineRequest) (*branchesv1.SaveMachineResponse, error) {
	m := machineOf(req.GetMachine())
	if err := m.Check().Fault("machines", "MACHINE_INVALID", "The machine is not saved yet. Mend the fields named."); err != nil {
		return nil, err
	}
	if _, err := s.h.Register.Branch(ctx, m.Branch()); err != nil {
		return nil, err
	}
	m.Etag = 1
	if etag := req.GetMachine().GetEtag(); etag != "" {
		m.Etag = parseEtag(etag) + 1
	}
	if err := s.h.Workshop.PutMachine(ctx, m); err != nil {
		return nil, err
	}
	s.h.audit(ctx, "SaveMachine", m.Name)
	return &branchesv1.SaveMachineResponse{Machine: machineMessage(m)}, nil
}

func (s *branchesService) ListCards(ctx context.Context, req *branchesv1.ListCardsRequest) (*branchesv1.ListCardsResponse, error) {
	at := s.h.Now()
	if req.GetAtTime() != nil {
		at = req.GetAtTime().AsTime()
	}
	_, in, err := s.h.inForce(ctx, req.GetBranch(), at)
	if err != nil {
		return nil, err
	}
	ms, err := s.h.Workshop.Machines(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	names := make([]recipes.RecordName, 0, len(in.Recipes))
	for name := range in.Recipes {
		names = append(names, name)
	}
	slices.Sort(names)
	answer := &branchesv1.ListCardsResponse{Release: in.Sheet.Release}
	for _, name := range names {
		approved := in.Recipes[name]
		for _, cutter := range ms {
			if cutter.Kind != machines.Cutter {
				continue
			}
			for _, platen := range ms {
				if platen.Kind == machines.Press {
					answer.Cards = append(answer.Cards, cardMessage(machines.Worked(approved.Entry, approved.Recipe, cutter, platen, s.h.Heat)))
				}
			}
		}
	}
	return answer, nil
}

var peelWords = map[recipes.Peel]string{recipes.Hot: "PEEL_HOT", recipes.Warm: "PEEL_WARM", recipes.Cold: "PEEL_COLD"}

func cardMessage(c machines.Card) *branchesv1.Card {
	r := c.Recipe
	m := &branchesv1.Card{
		Revision: string(c.Revision), Sha256: c.Digest[:], Cutter: c.Cutter, Press: c.Press, Title: r.Title, Film: r.Film.Code, FilmTitle: r.Film.Title, Fabric: string(r.Fabric),
		Peel: peelWords[r.Peel], PeelWaitSeconds: int64(r.PeelWait), SecondPressSeconds: int64(r.SecondPress), PrePressSeconds: int64(r.PrePress), DwellSeconds: int64(r.Dwell.Set),
		CoverSheet: r.CoverSheet, Advice: r.Advice, Refusals: c.Refusals, Passes: r.Passes, Release: c.Release,
		BondLineDecicelsius: 10 * int64(c.BondLine.Likely), BondLineLowDecicelsius: 10 * int64(c.BondLine.Low), BondLineHighDecicelsius: 10 * int64(c.BondLine.High),
	}
	if !c.Effective.IsZero() {
		m.EffectiveTime = timestamppb.New(c.Effective)
	}
	for _, w := range c.Warnings {
		m.Warnings = append(m.Warnings, &branchesv1.Warning{Key: string(w.Key), Words: w.Words})
	}
	settings := func(list []machines.Setting) (out []*branchesv1.Setting) {
		for _, x := range list {
			out = append(out, &branchesv1.Setting{
				Quantity: quantities[x.Quantity], Key: x.Key, WantedMilli: int64(x.Wanted), DialMilli: int64(x.Dial), Scale: x.Scale, GivenMilli: int64(x.Given),
				LowMilli: int64(x.Low), HighMilli: int64(x.High), Refusal: x.Refusal, Decimals: int32(x.Decimals),
			})
		}
		return out
	}
	m.Cut, m.PressSettings = settings(c.Cut), settings(c.Pressing)
	return m
}

type stockService struct {
	branchesv1.UnimplementedStockServiceServer
	h *House
}

func rollMessage(r stock.Roll) *branchesv1.Roll {
	return &branchesv1.Roll{Name: r.Name, Film: r.Film, Colour: r.Colour, Lot: r.Lot, WidthMm: int64(r.Width), LengthMm: int64(r.Length), Remnant: r.Remnant, Place: r.Place, ReceiveTime: timestamppb.New(r.Received)}
}

func (s *stockService) ListRolls(ctx context.Context, req *branchesv1.ListRollsRequest) (*branchesv1.ListRollsResponse, error) {
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	rolls, err := s.h.Shelf.Rolls(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	answer := &branchesv1.ListRollsResponse{}
	for _, r := range rolls {
		answer.Rolls = append(answer.Rolls, rollMessage(r))
	}
	return answer, nil
}

func (s *stockService) ReceiveRoll(ctx context.Context, req *branchesv1.ReceiveRollRequest) (*branchesv1.ReceiveRollResponse, error) {
	m := req.GetRoll()
	r := stock.Roll{
		Name: req.GetBranch() + "/rolls/" + req.GetId(), Film: m.GetFilm(), Colour: m.GetColour(), Lot: m.GetLot(), Width: units.Millimetres(m.GetWidthMm()),
		Length: units.Millimetres(m.GetLengthMm()), Remnant: m.GetRemnant(), Place: m.GetPlace(), Received: s.h.Now(),
	}
	if err := r.Check().Fault("stock", "ROLL_INVALID", "The roll is not taken in yet. Mend the fields named."); err != nil {
		return nil, err
	}
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	if err := s.h.Shelf.AddRoll(ctx, r, stock.Movement{ID: req.GetId(), Roll: r.Name, Change: r.Length, Why: "receive", Person: person(ctx), Made: r.Received}); err != nil {
		return nil, err
	}
	kept, err := s.h.Shelf.Roll(ctx, r.Name)
	return &branchesv1.ReceiveRollResponse{Roll: rollMessage(kept)}, err
}

func (s *stockService) MoveRoll(ctx context.Context, req *branchesv1.MoveRollRequest) (*branchesv1.MoveRollResponse, error) {
	move := stock.Movement{ID: req.GetId(), Roll: req.GetRoll(), Change: units.Millimetres(req.GetChangeMm()), Why: req.GetWhy(), Person: person(ctx), Made: s.h.Now()}
	if err := move.Check().Fault("stock", "MOVEMENT_INVALID", "Nothing was moved. Mend the fields named."); err != nil {
		return nil, err
	}
	if err := s.h.Shelf.Move(ctx, move); err != nil {
		return nil, err
	}
	r, err := s.h.Shelf.Roll(ctx, req.GetRoll())
	return &branchesv1.MoveRollResponse{Roll: rollMessage(r)}, err
}

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
		r.Reporter = person(ctx)
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
	if _, _, err := s.h.Ledger.Append(ctx, list); err != nil {
		return nil, err
	}
	s.h.audit(ctx, "CorrectRun", list[0].Branch+"/runs/"+list[0].ID)
	return &branchesv1.CorrectRunResponse{Run: runMessage(list[0])}, nil
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
