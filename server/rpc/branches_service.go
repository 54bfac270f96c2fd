package rpc

import (
	"context"
	"slices"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	"evenpeel/branches/machines"
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
		LongNumbers: m.LongNumbers, OvercutUm: int64(m.Overcut),
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
		LongNumbers: m.GetLongNumbers(), Overcut: units.Micrometres(m.GetOvercutUm()),
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
