package rpc

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	"evenpeel/branches/stock"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func movementMessage(m stock.Movement) *branchesv1.Movement {
	return &branchesv1.Movement{Id: m.ID, Roll: m.Roll, ChangeMm: int64(m.Change), Why: m.Why, Person: m.Person, MakeTime: timestamppb.New(m.Made), CountedMm: int64(m.Counted), OtherRoll: m.Other, LeftMm: int64(m.Left)}
}

func (s *stockService) CountRoll(ctx context.Context, req *branchesv1.CountRollRequest) (*branchesv1.CountRollResponse, error) {
	m, err := s.h.Shelf.Count(ctx, stock.Movement{ID: req.GetId(), Roll: req.GetRoll(), Counted: units.Millimetres(req.GetCountedMm()), Person: person(ctx), Made: s.h.Now()})
	if err != nil {
		return nil, err
	}
	r, err := s.h.Shelf.Roll(ctx, req.GetRoll())
	return &branchesv1.CountRollResponse{Roll: rollMessage(r), Movement: movementMessage(m)}, err
}

func (s *stockService) CutRemnant(ctx context.Context, req *branchesv1.CutRemnantRequest) (*branchesv1.CutRemnantResponse, error) {
	piece := stock.Piece{
		ID: req.GetId(), Roll: req.GetRoll(), Remnant: branches.Of(req.GetRoll()) + "/rolls/" + req.GetId(), Length: units.Millimetres(req.GetLengthMm()),
		Width: units.Millimetres(req.GetWidthMm()), Place: req.GetPlace(), Person: person(ctx), Made: s.h.Now(),
	}
	if err := piece.Check().Fault("stock", "REMNANT_INVALID", "Nothing was cut off. Mend the fields named."); err != nil {
		return nil, err
	}
	if err := s.h.Shelf.Cut(ctx, piece); err != nil {
		return nil, err
	}
	roll, err := s.h.Shelf.Roll(ctx, piece.Roll)
	if err != nil {
		return nil, err
	}
	remnant, err := s.h.Shelf.Roll(ctx, piece.Remnant)
	return &branchesv1.CutRemnantResponse{Roll: rollMessage(roll), Remnant: rollMessage(remnant)}, err
}

// movementsToken is where a page of movements ended, bound to what was asked for; it carries no rights.
type movementsToken struct {
	Version int    `json:"v"`
	Of      string `json:"o"`
	Before  int64  `json:"t"` // unix microseconds
	ID      string `json:"i"`
}

func (s *stockService) ListMovements(ctx context.Context, req *branchesv1.ListMovementsRequest) (*branchesv1.ListMovementsResponse, error) {
	of := req.GetOf()
	if _, err := s.h.Register.Branch(ctx, branches.Of(of)); err != nil {
		return nil, err
	}
	if of != branches.Of(of) {
		if _, err := s.h.Shelf.Roll(ctx, of); err != nil {
			return nil, err
		}
	}
	var before time.Time
	var id string
	if req.GetPageToken() != "" {
		token, err := parseMovementsToken(req.GetPageToken(), of)
		if err != nil {
			return nil, err
		}
		before, id = time.UnixMicro(token.Before), token.ID
	}
	most := pageSize(req.GetPageSize())
	list, err := s.h.Shelf.Movements(ctx, of, before, id, most)
	if err != nil {
		return nil, err
	}
	answer := &branchesv1.ListMovementsResponse{}
	for _, m := range list {
		answer.Movements = append(answer.Movements, movementMessage(m))
	}
	if len(list) == most {
		last := list[len(list)-1]
		text, err := json.Marshal(movementsToken{1, of, last.Made.UnixMicro(), last.ID})
		if err != nil {
			return nil, err
		}
		answer.NextPageToken = base64.RawURLEncoding.EncodeToString(text)
	}
	return answer, nil
}

func parseMovementsToken(s, of string) (movementsToken, error) {
	var t movementsToken
	text, err := base64.RawURLEncoding.DecodeString(s)
	if err == nil {
		err = json.Unmarshal(text, &t)
	}
	if err != nil || t.Version != 1 || t.Of != of || strings.ContainsRune(t.ID, 0) {
		return t, fault.New(fault.Invalid, "stock", "PAGE_TOKEN_INVALID", "This page token is not of this list. Start at the first page.").Because(err)
	}
	return t, nil
}

func (s *stockService) EstimateLength(ctx context.Context, req *branchesv1.EstimateLengthRequest) (*branchesv1.EstimateLengthResponse, error) {
	thickness, account := units.Micrometres(req.GetThicknessUm()), units.Millimetres(-1)
	if req.GetRoll() != "" {
		r, err := s.h.Shelf.Roll(ctx, req.GetRoll())
		if err != nil {
			return nil, err
		}
		account = r.Length
		if thickness == 0 {
			if thickness, err = s.thickness(ctx, req.GetBranch(), r.Film); err != nil {
				return nil, err
			}
		}
	}
	m, err := stock.Measured(units.Micrometres(req.GetOuterUm()), units.Micrometres(req.GetCoreUm()), thickness, account)
	if err != nil {
		return nil, err
	}
	return &branchesv1.EstimateLengthResponse{LengthMm: int64(m.Length), LowMm: int64(m.Low), HighMm: int64(m.High), ThicknessUm: int64(m.Thickness), Doubtful: m.Doubtful, Words: m.Words}, nil
}

// thickness is that of a film with its carrier, by the recipes in force; 0 where none is.
func (s *stockService) thickness(ctx context.Context, branch, film string) (units.Micrometres, error) {
	_, in, err := s.h.inForce(ctx, branch, s.h.Now())
	if err != nil {
		return 0, err
	}
	for _, approved := range in.Recipes {
		if f := approved.Recipe.Film; f.Code == film {
			return f.Thickness + f.Carrier, nil
		}
	}
	return 0, nil
}
