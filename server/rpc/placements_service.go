package rpc

import (
	"context"
	"strings"

	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/placement"
	"evenpeel/recipes/units"
)

// placements is the table of places that a branch works by.
func (h *House) placements(ctx context.Context, branch string) (placement.Table, error) {
	_, in, err := h.inForce(ctx, branch, h.Now())
	return in.Places, err
}

func (s *ordersService) ListPlacements(ctx context.Context, req *ordersv1.ListPlacementsRequest) (*ordersv1.ListPlacementsResponse, error) {
	table, err := s.h.placements(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	answer := &ordersv1.ListPlacementsResponse{Source: table.Source}
	for _, g := range table.Garments {
		m := &ordersv1.GarmentKind{Kind: g.Kind, Title: g.Title, Child: g.Child, Bag: g.Bag, Source: g.Source}
		for _, size := range g.Sizes {
			m.Sizes = append(m.Sizes, &ordersv1.GarmentSize{Name: size.Name, WidthMm: int64(size.Width), LengthMm: int64(size.Length)})
		}
		answer.GarmentKinds = append(answer.GarmentKinds, m)
	}
	for _, p := range table.Places {
		answer.Places = append(answer.Places, placeMessage(p))
	}
	return answer, nil
}

func placeMessage(p placement.Place) *ordersv1.NamedPlace {
	m := &ordersv1.NamedPlace{
		Name: p.Name, Title: p.Title, Face: string(p.Face), Landmark: string(p.Landmark), OffsetMm: int64(p.Offset), AcrossMm: int64(p.Across), ClearMm: int64(p.Clear),
		GarmentKinds: p.Garments, Source: p.Source,
	}
	for _, b := range p.Bands {
		m.Widths = append(m.Widths, usualMessage(b))
	}
	return m
}

func usualMessage(b placement.Band) *ordersv1.UsualWidth {
	return &ordersv1.UsualWidth{UpToMm: int64(b.UpTo), LeastMm: int64(b.Least), UsualMm: int64(b.Usual), MostMm: int64(b.Most), TallestMm: int64(b.Tallest)}
}

func boxMessage(b placement.Box) *ordersv1.FaceBox {
	return &ordersv1.FaceBox{XMm: int64(b.X), YMm: int64(b.Y), WidthMm: int64(b.Width), HeightMm: int64(b.Height)}
}

// wholeMM rounds to whole millimetres.
func wholeMM(um int64) units.Millimetres { return units.Millimetres(units.MulDiv(um, 1, 1000)) }

func (s *ordersService) LandDesign(ctx context.Context, req *ordersv1.LandDesignRequest) (*ordersv1.LandDesignResponse, error) {
	table, err := s.h.placements(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	answer := &ordersv1.LandDesignResponse{}
	for _, g := range table.Garments {
		if g.Kind == req.GetGarmentKind() {
			answer.GarmentTitle = g.Title
		}
	}
	place, ok := table.Place(req.GetPlace())
	if ok {
		answer.Place = placeMessage(place)
	}
	for _, d := range req.GetDesigns() {
		m, err := landing(table, req.GetGarmentKind(), place, req.GetPlace(), d)
		if err != nil {
			return nil, err
		}
		answer.Landings = append(answer.Landings, m)
	}
	return answer, nil
}

// landing says where one design lies; a fault of the request's own is its refusal.
func landing(table placement.Table, kind string, place placement.Place, name string, d *ordersv1.SizedDesign) (*ordersv1.Landing, error) {
	m := &ordersv1.Landing{Size: d.GetSize()}
	l, err := table.Landed(kind, d.GetSize(), name, wholeMM(d.GetWidthUm()), wholeMM(d.GetHeightUm()))
	if f, ok := fault.As(err); ok && (f.Kind == fault.NotFound || f.Kind == fault.Invalid) {
		m.Refusal = f.Words
		return m, nil
	} else if err != nil {
		return nil, err
	}
	path, around, err := table.Outlined(kind, d.GetSize(), place.Face)
	if err != nil {
		return nil, err
	}
	m.FaceBox, m.Design, m.Outline, m.Drawn, m.Usual = boxMessage(l.On), boxMessage(l.Design), path, boxMessage(around), usualMessage(l.Band)
	for _, w := range l.Warnings {
		m.Warnings = append(m.Warnings, &ordersv1.PlacingWarning{Kind: strings.ReplaceAll(strings.ToLower(string(w.Kind)), "_", "-"), Words: w.Words})
	}
	return m, nil
}

func (s *ordersService) GradeDesign(ctx context.Context, req *ordersv1.GradeDesignRequest) (*ordersv1.GradeDesignResponse, error) {
	table, err := s.h.placements(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	widths, err := table.Graded(req.GetGarmentKind(), req.GetPlace(), req.GetBaseSize(), wholeMM(req.GetWidthUm()), req.GetSizes())
	if err != nil {
		return nil, err
	}
	answer := &ordersv1.GradeDesignResponse{}
	for _, w := range widths {
		answer.Widths = append(answer.Widths, &ordersv1.GradedWidth{Size: w.Size, WidthUm: int64(w.Width) * 1000, Held: w.Held})
	}
	return answer, nil
}
