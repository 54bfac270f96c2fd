package rpc

import (
	"context"
	"math"
	"runtime"
	"time"

	"google.golang.org/grpc"

	"evenpeel/branches/orders"
	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

func choicesOf(m *ordersv1.LayoutChoices) orders.Choices {
	c := orders.Choices{TrueOutlines: m.GetTrueOutlines(), Grouped: m.GetGrouped(), UseRemnants: m.GetUseRemnants()}
	of := func(v *int64) *units.Micrometres {
		if v == nil {
			return nil
		}
		um := units.Micrometres(*v)
		return &um
	}
	if m != nil {
		c.WeedBorder, c.Gap = of(m.WeedBorderUm), of(m.GapUm)
	}
	return c
}

func choicesMessage(c orders.Choices) *ordersv1.LayoutChoices {
	of := func(v *units.Micrometres) *int64 {
		if v == nil {
			return nil
		}
		um := int64(*v)
		return &um
	}
	return &ordersv1.LayoutChoices{TrueOutlines: c.TrueOutlines, Grouped: c.Grouped, UseRemnants: c.UseRemnants, WeedBorderUm: of(c.WeedBorder), GapUm: of(c.Gap)}
}

func heldOf(list []*ordersv1.KeptLayout) (out []orders.Held) {
	for _, m := range list {
		h := orders.Held{Layout: int(m.GetLayout())}
		for _, p := range m.GetPlaces() {
			at := orders.Place{Outline: int(p.GetOutline()), Cut: int(p.GetCut()), X: units.Micrometres(p.GetXUm()), Y: units.Micrometres(p.GetYUm()), Angle: layout.Millidegrees(p.GetAngleMdeg()), Locked: p.GetLocked()}
			if p.GetTurned() && at.Angle == 0 {
				at.Angle = 90_000
			}
			h.Places = append(h.Places, at)
		}
		for _, c := range m.GetCuts() {
			h.Rolls = append(h.Rolls, c.GetRoll())
		}
		out = append(out, h)
	}
	return out
}

// layoutMessage is a layout without what stays the same while it is improved: outlines, designs and card.
func layoutMessage(l orders.Layout) *ordersv1.Layout {
	m := &ordersv1.Layout{
		Film: l.Film, FilmTitle: l.FilmTitle, Colour: l.Colour, RollWidthUm: int64(l.RollWidth), LengthUm: int64(l.Length), BoundUm: int64(l.Bound), EdgeMarginUm: int64(l.EdgeMargin),
		DesignAreaMm2: int64(l.DesignArea), EdgeAreaMm2: int64(l.EdgeArea), LayoutAreaMm2: int64(l.LayoutArea), CuttingSeconds: int64(orders.Seconds(l.Cutting.Total)),
		CutLengthMm: int64(math.Round(l.Cutting.CutLength)), TravelMm: int64(math.Round(l.Cutting.TravelLength)), TravelUnorderedMm: int64(math.Round(l.Cutting.TravelUnordered)),
		WeedingSeconds: int64(orders.Seconds(l.Weeding)), Roll: l.Roll, RollWords: l.RollWords, Band: int32(l.Band), PiecesCount: int64(len(l.Places)),
		RowsLengthUm: int64(l.RowsLength), SavedUm: int64(l.Saved()), SavedMinor: l.SavedMoney, Turns: ordersv1.Turns(l.Turns), GapUm: int64(l.Gap), WeedBorderUm: int64(l.WeedBorder),
		TrueOutlines: l.TrueOutlines,
	}
	for _, c := range l.Cuts {
		m.Cuts = append(m.Cuts, &ordersv1.Cut{Roll: c.Roll, RollWords: c.Words, LengthUm: int64(c.Length), RollWidthUm: int64(c.RollWidth), Lot: c.Lot, LeftMm: int64(c.Left), RemnantMm: int64(c.Remnant)})
	}
	for _, at := range l.Places {
		m.Places = append(m.Places, &ordersv1.Place{
			Line: int32(at.Line), Size: at.Size, XUm: int64(at.X), YUm: int64(at.Y), WidthUm: int64(at.Width), HeightUm: int64(at.Height), Turned: at.Angle == 90_000,
			Outline: int32(at.Outline), AngleMdeg: int32(at.Angle), Locked: at.Locked, Cut: int32(at.Cut), OriginXUm: int64(at.OriginX), OriginYUm: int64(at.OriginY),
		})
	}
	return m
}

// SearchesTaken says that the server searches for others just now.
const SearchesTaken fault.Reason = "SEARCHES_TAKEN"

// newSearching holds one token for each search that may run at once: all cores but one, so that a server that searches
// still answers.
func newSearching() chan struct{} { return make(chan struct{}, max(runtime.GOMAXPROCS(0)-1, 1)) }

// longestSearch bounds a search on a machine that is slow or busy; the efforts are meant to end well before.
var longestSearch = map[orders.Effort]time.Duration{orders.Short: 10 * time.Second, orders.Long: 90 * time.Second}

func (s *ordersService) ImprovePlan(req *ordersv1.ImprovePlanRequest, stream grpc.ServerStreamingServer[ordersv1.ImprovePlanResponse]) error {
	select {
	case s.searching <- struct{}{}:
		defer func() { <-s.searching }()
	default:
		return fault.New(fault.TooLarge, "orders", SearchesTaken, "This server searches for others just now. Try again in a moment; the layout shown is good to cut as it is.")
	}
	effort := orders.Short
	if req.GetEffort() == ordersv1.SearchEffort_SEARCH_EFFORT_LONG {
		effort = orders.Long
	}
	now := s.h.Now()
	b, in, err := s.h.inForce(stream.Context(), req.GetBranch(), now)
	if err != nil {
		return err
	}
	ctx, stop := context.WithTimeout(stream.Context(), longestSearch[effort])
	defer stop()
	return s.h.Planner.Improve(ctx, b, in, orderOf(req.GetOrder()), heldOf(req.GetKeep()), int(req.GetLayout()), effort, dayAt(b, now), func(step orders.Step) error {
		if err := stream.Context().Err(); err != nil { // the client has what it wants
			return err
		}
		m := &ordersv1.ImprovePlanResponse{DonePermille: int32(step.Permille)}
		if step.Layout != nil {
			m.Layout = layoutMessage(*step.Layout)
		}
		if step.Quote != nil {
			m.Quote = quoteMessage(*step.Quote)
		}
		return stream.Send(m)
	})
}
