package rpc

import (
	"context"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches/stock"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	"evenpeel/recipes/units"
)

type stockService struct {
	branchesv1.UnimplementedStockServiceServer
	h *House
}

func rollMessage(r stock.Roll) *branchesv1.Roll {
	return &branchesv1.Roll{Name: r.Name, Film: r.Film, Colour: r.Colour, Lot: r.Lot, WidthMm: int64(r.Width), LengthMm: int64(r.Length), Remnant: r.Remnant, Place: r.Place, ReceiveTime: timestamppb.New(r.Received), CutFrom: r.CutFrom}
}

func (s *stockService) ListRolls(ctx context.Context, req *branchesv1.ListRollsRequest) (*branchesv1.ListRollsResponse, error) {
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	rolls, err := s.h.Shelf.Rolls(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	now := s.h.Now()
	uses, err := s.h.Shelf.Uses(ctx, req.GetBranch(), now.AddDate(0, 0, -stock.PaceDays))
	if err != nil {
		return nil, err
	}
	answer := &branchesv1.ListRollsResponse{}
	for _, r := range rolls {
		answer.Rolls = append(answer.Rolls, rollMessage(r))
	}
	for _, p := range stock.Paced(rolls, uses, now.Unix()/86400) {
		answer.Paces = append(answer.Paces, &branchesv1.Pace{
			Film: p.Film, Colour: p.Colour, LeftMm: int64(p.Left), UsedMm: int64(p.Used), Known: p.Known, DaysLeft: p.Days, DaysLow: p.DaysLow, DaysHigh: p.DaysHigh,
			Low: p.Low, ReorderMm: int64(p.Reorder), Words: p.Words,
		})
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
