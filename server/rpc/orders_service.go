package rpc

import (
	"context"
	"math"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	"evenpeel/branches/orders"
	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/sealed"
	"evenpeel/recipes/units"
)

type ordersService struct {
	ordersv1.UnimplementedOrdersServiceServer
	h         *House
	searching chan struct{} // full where no further search may begin
}

func (s *ordersService) ReadDrawing(ctx context.Context, req *ordersv1.ReadDrawingRequest) (*ordersv1.ReadDrawingResponse, error) {
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	o := cut.ReadOptions{Width: units.Micrometres(req.GetWidthUm()), Height: units.Micrometres(req.GetHeightUm())}
	if nm := req.GetUnitNm(); nm > 0 {
		o.UnitsPerMM = 1e6 / float64(nm)
	}
	name, d, err := s.h.Planner.Read(ctx, req.GetBranch(), req.GetTitle(), req.GetSvg(), o)
	if err != nil {
		return nil, err
	}
	limits := cut.Limits{}
	if req.GetRecipe() != "" {
		_, in, err := s.h.inForce(ctx, req.GetBranch(), s.h.Now())
		if err != nil {
			return nil, err
		}
		if approved, ok := in.Recipes[recipes.RecordName(req.GetRecipe())]; ok {
			f := approved.Recipe.Film
			limits = cut.Limits{MinStroke: f.MinStroke, MinGap: f.MinGap, SmallestPiece: f.SmallestPiece}
		}
	}
	m := &ordersv1.Drawing{Name: name, WidthUm: um(d.Width), HeightUm: um(d.Height), Findings: findingMessages(cut.Inspect(d, limits))}
	for _, colour := range d.Colours() {
		figure := &ordersv1.Figure{Colour: colour}
		var rings []cut.Ring
		area := 0.0
		for _, shape := range d.Shapes {
			if shape.Colour == colour {
				rings, area = append(rings, shape.Rings...), area+shape.Area
				figure.PiecesCount++
			}
		}
		figure.Path, figure.AreaMm2 = orders.Path(rings), int64(math.Round(area))
		m.Figures = append(m.Figures, figure)
	}
	return &ordersv1.ReadDrawingResponse{Drawing: m}, nil
}

// um is whole micrometres of millimetres.
func um(mm float64) int64 { return int64(math.Round(mm * 1000)) }

func findingMessages(list []cut.Finding) (out []*ordersv1.DrawingFinding) {
	for _, f := range list {
		kind := strings.ReplaceAll(strings.ToLower(string(f.Kind)), "_", "-")
		out = append(out, &ordersv1.DrawingFinding{Kind: kind, Words: f.Words, XUm: um(f.At.X), YUm: um(f.At.Y), PassesAtPercent: int32(f.PassesAt)})
	}
	return out
}

func orderOf(m *ordersv1.Order) orders.Order {
	o := orders.Order{
		Title: m.GetTitle(), Age: units.Months(m.GetAgeMonths()), SoldAs: m.GetSoldAs(), Ownership: m.GetOwnership(), Cutter: m.GetCutter(), Press: m.GetPress(),
		Cloth: units.GramsPerSquareMetre(m.GetFabricGramsPerM2()), Lot: m.GetLot(), Choices: choicesOf(m.GetChoices()),
	}
	if m.GetGarmentCare() != nil {
		label := sealed.CareOf(m.GetGarmentCare())
		o.GarmentCare = &label
	}
	for _, l := range m.GetLines() {
		line := orders.Line{Drawing: l.GetDrawing(), Figure: l.GetFigure(), Recipe: recipes.RecordName(l.GetRecipe()), Colour: l.GetColour(), Garment: l.GetGarment(), Placement: l.GetPlacement(), Kind: l.GetGarmentKind(), Turns: orders.Turns(l.GetTurns()), Registered: l.GetRegistered()}
		for _, size := range l.GetSizes() {
			line.Sizes = append(line.Sizes, orders.SizeCount{Size: size.GetSize(), Count: size.GetCount(), Width: units.Micrometres(size.GetWidthUm())})
		}
		o.Lines = append(o.Lines, line)
	}
	return o
}

func orderMessage(o orders.Order, created time.Time) *ordersv1.Order {
	m := &ordersv1.Order{Name: o.Name, Title: o.Title, AgeMonths: int64(o.Age), SoldAs: o.SoldAs, Ownership: o.Ownership, Cutter: o.Cutter, Press: o.Press, FabricGramsPerM2: int64(o.Cloth), Lot: o.Lot, Choices: choicesMessage(o.Choices)}
	if !created.IsZero() {
		m.CreateTime = timestamppb.New(created)
	}
	if o.GarmentCare != nil {
		m.GarmentCare = sealed.CareMessage(*o.GarmentCare)
	}
	for _, l := range o.Lines {
		line := &ordersv1.OrderLine{Drawing: l.Drawing, Figure: l.Figure, Recipe: string(l.Recipe), Colour: l.Colour, Garment: l.Garment, Placement: l.Placement, GarmentKind: l.Kind, Turns: ordersv1.Turns(l.Turns), Registered: l.Registered}
		for _, size := range l.Sizes {
			line.Sizes = append(line.Sizes, &ordersv1.SizeCount{Size: size.Size, Count: size.Count, WidthUm: int64(size.Width)})
		}
		m.Lines = append(m.Lines, line)
	}
	return m
}

func planMessage(p orders.Plan) *ordersv1.Plan {
	m := &ordersv1.Plan{
		Findings: findingMessages(p.Findings), CareWords: strings.Join(p.CareWords, "\n"), PressingSeconds: int64(p.Pressing), GarmentsCount: p.Garments, Blocks: p.Blocks, Release: p.Release,
		Verdict: verdictMessage(p.Verdict),
	}
	for _, r := range p.Revisions {
		m.Revisions = append(m.Revisions, string(r))
	}
	if p.Quote != nil {
		m.Quote = quoteMessage(*p.Quote)
	}
	for _, l := range p.Layouts {
		lm := layoutMessage(l)
		lm.Card = cardMessage(l.Card)
		for _, o := range l.Outlines {
			lm.Outlines = append(lm.Outlines, orders.Path(o.Rings))
			lm.Designs = append(lm.Designs, &ordersv1.Design{Line: int32(o.Line), Size: o.Size, WidthUm: int64(o.Width), HeightUm: int64(o.Height), RegisterXUm: int64(o.RegisterX), RegisterYUm: int64(o.RegisterY)})
		}
		m.Layouts = append(m.Layouts, lm)
	}
	return m
}

func (s *ordersService) PlanOrder(ctx context.Context, req *ordersv1.PlanOrderRequest) (*ordersv1.PlanOrderResponse, error) {
	now := s.h.Now()
	b, in, err := s.h.inForce(ctx, req.GetBranch(), now)
	if err != nil {
		return nil, err
	}
	plan, err := s.h.Planner.Plan(ctx, b, in, orderOf(req.GetOrder()), heldOf(req.GetKeep()), dayAt(b, now))
	if err != nil {
		return nil, err
	}
	return &ordersv1.PlanOrderResponse{Plan: planMessage(plan)}, nil
}

// dayAt is the day at the branch; a zone that can not be read (it was checked when the branch was kept) is taken as UTC.
func dayAt(b branches.Branch, at time.Time) string {
	if zone, err := time.LoadLocation(b.TimeZone); err == nil {
		at = at.In(zone)
	}
	return at.Format(time.DateOnly)
}

func (s *ordersService) CreateOrder(ctx context.Context, req *ordersv1.CreateOrderRequest) (*ordersv1.CreateOrderResponse, error) {
	now := s.h.Now()
	b, in, err := s.h.inForce(ctx, req.GetBranch(), now)
	if err != nil {
		return nil, err
	}
	o, plan, created, err := s.h.Planner.Keep(ctx, b, in, orderOf(req.GetOrder()), heldOf(req.GetKeep()), req.GetId(), dayAt(b, now), now)
	if err != nil {
		return nil, err
	}
	return &ordersv1.CreateOrderResponse{Order: orderMessage(o, created), Plan: planMessage(plan)}, nil
}

func (s *ordersService) GetOrder(ctx context.Context, req *ordersv1.GetOrderRequest) (*ordersv1.GetOrderResponse, error) {
	o, plan, created, err := s.h.Planner.Kept(ctx, req.GetName())
	if err != nil {
		return nil, err
	}
	return &ordersv1.GetOrderResponse{Order: orderMessage(o, created), Plan: planMessage(plan)}, nil
}

// mostOrders bounds a list of orders.
const mostOrders = 200

func (s *ordersService) ListOrders(ctx context.Context, req *ordersv1.ListOrdersRequest) (*ordersv1.ListOrdersResponse, error) {
	if _, err := s.h.Register.Branch(ctx, req.GetBranch()); err != nil {
		return nil, err
	}
	kept, err := s.h.Planner.Book.Orders(ctx, req.GetBranch(), mostOrders)
	if err != nil {
		return nil, err
	}
	answer := &ordersv1.ListOrdersResponse{}
	for _, k := range kept {
		answer.Orders = append(answer.Orders, &ordersv1.Order{Name: k.Name, Title: k.Title, CreateTime: timestamppb.New(k.Created)})
	}
	return answer, nil
}

var formats = map[ordersv1.CutFormat]orders.Format{
	ordersv1.CutFormat_CUT_FORMAT_SVG: orders.SVG, ordersv1.CutFormat_CUT_FORMAT_HPGL: orders.HPGL, ordersv1.CutFormat_CUT_FORMAT_DXF: orders.DXF, ordersv1.CutFormat_CUT_FORMAT_PDF: orders.PDF,
	ordersv1.CutFormat_CUT_FORMAT_PNG: orders.PNG,
}

func (s *ordersService) GetCutFile(ctx context.Context, req *ordersv1.GetCutFileRequest) (*ordersv1.GetCutFileResponse, error) {
	f, err := s.h.Planner.CutFile(ctx, req.GetOrder(), int(req.GetLayout()), int(req.GetCut()), formats[req.GetFormat()])
	if err != nil {
		return nil, err
	}
	return &ordersv1.GetCutFileResponse{FileName: f.Name, MediaType: f.MediaType, Content: f.Content}, nil
}
