package main

import (
	"context"
	"fmt"
	"io"
	"runtime"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	"evenpeel/server/demo"
)

// improvesPlan searches for a better layout of an order over the wire, keeps it, and has a spoiled one refused.
func improvesPlan(t *testing.T, h *house, bench context.Context, order *ordersv1.Order) {
	orders := ordersv1.NewOrdersServiceClient(h.conn)
	plan, err := orders.PlanOrder(bench, &ordersv1.PlanOrderRequest{Branch: demo.Cold, Order: order})
	if err != nil {
		t.Fatal(err)
	}
	first := plan.GetPlan().GetLayouts()[0]
	loose := &ordersv1.KeptLayout{}
	for _, at := range first.GetPlaces() {
		moved := proto.Clone(at).(*ordersv1.Place)
		moved.YUm += 250_000
		loose.Places = append(loose.Places, moved)
	}
	stream, err := orders.ImprovePlan(bench, &ordersv1.ImprovePlanRequest{Branch: demo.Cold, Order: order, Keep: []*ordersv1.KeptLayout{loose}})
	if err != nil {
		t.Fatal(err)
	}
	var best *ordersv1.Layout
	done := int32(-1)
	for {
		m, err := stream.Recv()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		done = m.GetDonePermille()
		if l := m.GetLayout(); l != nil {
			if best != nil && l.GetLengthUm() >= best.GetLengthUm() || m.GetQuote().GetPayableMinor() <= 0 || len(l.GetCuts()) != 1 || l.GetRowsLengthUm() <= 0 {
				t.Fatalf("a layout of %d µm after %d, for %d", l.GetLengthUm(), best.GetLengthUm(), m.GetQuote().GetPayableMinor())
			}
			best = l
		}
	}
	if done != 1000 || best.GetLengthUm() > first.GetLengthUm() {
		t.Fatalf("ended at %d of 1000 with %d µm; the first answer had %d", done, best.GetLengthUm(), first.GetLengthUm())
	}
	kept, err := orders.CreateOrder(bench, &ordersv1.CreateOrderRequest{Branch: demo.Cold, Order: order, Id: id(60), Keep: []*ordersv1.KeptLayout{{Places: best.GetPlaces()}}})
	if err != nil {
		t.Fatal(err)
	}
	if l := kept.GetPlan().GetLayouts()[0]; l.GetLengthUm() != best.GetLengthUm() || len(l.GetOutlines()) == 0 || len(l.GetDesigns()) != len(l.GetOutlines()) {
		t.Errorf("kept %d µm of %d, %d outlines", l.GetLengthUm(), best.GetLengthUm(), len(l.GetOutlines()))
	}
	best.Places[1].XUm, best.Places[1].YUm = best.Places[0].XUm, best.Places[0].YUm
	spoiled := []*ordersv1.KeptLayout{{Places: best.GetPlaces()}}
	if _, err := orders.CreateOrder(bench, &ordersv1.CreateOrderRequest{Branch: demo.Cold, Order: order, Id: id(61), Keep: spoiled}); reason(err) != "LAYOUT_INVALID" {
		t.Error("a spoiled layout was kept:", err)
	}
	if _, err := orders.PlanOrder(bench, &ordersv1.PlanOrderRequest{Branch: demo.Cold, Order: order, Keep: spoiled}); reason(err) != "LAYOUT_INVALID" {
		t.Error("a spoiled layout was priced:", err)
	}
	stream, err = orders.ImprovePlan(bench, &ordersv1.ImprovePlanRequest{Branch: demo.Cold, Order: order, Layout: 7})
	if err == nil {
		_, err = stream.Recv()
	}
	if reason(err) != "LAYOUT_NOT_FOUND" {
		t.Error("layout 8 was improved:", err)
	}
	if _, err := orders.GetCutFile(bench, &ordersv1.GetCutFileRequest{Order: kept.GetOrder().GetName(), Format: ordersv1.CutFormat_CUT_FORMAT_SVG, Cut: 1}); reason(err) != "CUT_NOT_FOUND" {
		t.Error("cut 2 was written:", err)
	}
}

// takesTurns fills the server's searches and is refused in words until one ends.
func takesTurns(t *testing.T, h *house, bench context.Context, order *ordersv1.Order) {
	orders := ordersv1.NewOrdersServiceClient(h.conn)
	large := proto.Clone(order).(*ordersv1.Order)
	large.Lines[0].Sizes = nil
	for i := range 40 { // many sizes, so that no search is through at once
		large.Lines[0].Sizes = append(large.Lines[0].Sizes, &ordersv1.SizeCount{Size: fmt.Sprint(i), Count: 4, WidthUm: int64(41_000 + 1_700*i)})
	}
	search := func(ctx context.Context) (grpc.ServerStreamingClient[ordersv1.ImprovePlanResponse], error) {
		stream, err := orders.ImprovePlan(ctx, &ordersv1.ImprovePlanRequest{Branch: demo.Cold, Order: large, Effort: ordersv1.SearchEffort_SEARCH_EFFORT_LONG})
		if err == nil {
			_, err = stream.Recv()
		}
		return stream, err
	}
	ctx, stop := context.WithTimeout(bench, time.Minute)
	for range max(runtime.GOMAXPROCS(0)-1, 1) {
		if _, err := search(ctx); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := search(ctx); reason(err) != "SEARCHES_TAKEN" || status.Code(err) != codes.ResourceExhausted {
		t.Error("one search too many:", err)
	}
	stop()
	again, end := context.WithTimeout(bench, time.Minute)
	defer end()
	_, err := search(again)
	for reason(err) == "SEARCHES_TAKEN" { // until the server has noticed that nobody listens any more
		_, err = search(again)
	}
	if err != nil {
		t.Error("no search begins after the others ended:", err)
	}
}

// keepsStock counts, cuts and lists over the wire.
func keepsStock(t *testing.T, h *house, bench, other context.Context) {
	stock := branchesv1.NewStockServiceClient(h.conn)
	rolls, err := stock.ListRolls(bench, &branchesv1.ListRollsRequest{Branch: demo.Cold})
	if err != nil {
		t.Fatal(err)
	}
	if len(rolls.GetPaces()) == 0 || len(rolls.GetPaces()) > len(rolls.GetRolls()) || rolls.GetPaces()[0].GetWords() == "" {
		t.Errorf("%d paces of %d rolls", len(rolls.GetPaces()), len(rolls.GetRolls()))
	}
	roll := rolls.GetRolls()[0]
	for _, r := range rolls.GetRolls() {
		if !r.GetRemnant() {
			roll = r
		}
	}
	for range 2 { // sent twice, stored once
		counted, err := stock.CountRoll(bench, &branchesv1.CountRollRequest{Roll: roll.GetName(), CountedMm: roll.GetLengthMm() - 120, Id: id(70)})
		if err != nil || counted.GetRoll().GetLengthMm() != roll.GetLengthMm()-120 || counted.GetMovement().GetChangeMm() != -120 {
			t.Fatal(counted, err)
		}
	}
	for range 2 {
		cut, err := stock.CutRemnant(bench, &branchesv1.CutRemnantRequest{Roll: roll.GetName(), LengthMm: 500, Place: "drawer 2", Id: id(71)})
		if err != nil || cut.GetRoll().GetLengthMm() != roll.GetLengthMm()-620 || cut.GetRemnant().GetLengthMm() != 500 || !cut.GetRemnant().GetRemnant() || cut.GetRemnant().GetCutFrom() != roll.GetName() || cut.GetRemnant().GetPlace() != "drawer 2" {
			t.Fatal(cut, err)
		}
	}
	var listed []*branchesv1.Movement
	for token := ""; ; {
		page, err := stock.ListMovements(bench, &branchesv1.ListMovementsRequest{Of: roll.GetName(), PageSize: 2, PageToken: token})
		if err != nil {
			t.Fatal(err)
		}
		listed = append(listed, page.GetMovements()...)
		if token = page.GetNextPageToken(); token == "" {
			break
		}
	}
	if len(listed) < 3 || listed[0].GetWhy() != "remnant" || listed[1].GetWhy() != "count" || listed[0].GetLeftMm() != roll.GetLengthMm()-620 || listed[len(listed)-1].GetWhy() != "receive" {
		t.Errorf("listed %v", listed)
	}
	for call, got := range map[string]error{
		"ROLL_NOT_FOUND":     second(stock.CountRoll(bench, &branchesv1.CountRollRequest{Roll: demo.Cold + "/rolls/none", Id: id(72)})),
		"ROLL_TOO_SHORT":     second(stock.CutRemnant(bench, &branchesv1.CutRemnantRequest{Roll: roll.GetName(), LengthMm: 1_000_000, Id: id(73)})),
		"REMNANT_INVALID":    second(stock.CutRemnant(bench, &branchesv1.CutRemnantRequest{Roll: roll.GetName(), LengthMm: 10, WidthMm: 3, Id: id(74)})),
		"NOT_YOUR_BRANCH":    second(stock.ListMovements(other, &branchesv1.ListMovementsRequest{Of: roll.GetName()})),
		"PAGE_TOKEN_INVALID": second(stock.ListMovements(bench, &branchesv1.ListMovementsRequest{Of: roll.GetName(), PageToken: "x"})),
		"DIAMETERS_INVALID":  second(stock.EstimateLength(bench, &branchesv1.EstimateLengthRequest{Branch: demo.Cold, OuterUm: 70_000, CoreUm: 76_000, ThicknessUm: 250})),
		"MOVEMENT_ID_REUSED": second(stock.CountRoll(bench, &branchesv1.CountRollRequest{Roll: roll.GetName(), CountedMm: 5, Id: id(71)})),
	} {
		if reason(got) != call {
			t.Errorf("%s: got %v", call, got)
		}
	}
	// 110 on 76 mm at 0.25 mm: 19.867 m (L = π(D² − d²)/(4t); see branches/stock).
	length, err := stock.EstimateLength(bench, &branchesv1.EstimateLengthRequest{Branch: demo.Cold, OuterUm: 110_000, CoreUm: 76_000, ThicknessUm: 250})
	if err != nil || length.GetLengthMm() != 19_867 || length.GetDoubtful() {
		t.Error(length, err)
	}
	own, err := stock.EstimateLength(bench, &branchesv1.EstimateLengthRequest{Branch: demo.Cold, OuterUm: 77_000, CoreUm: 76_000, Roll: roll.GetName()})
	if err != nil || own.GetThicknessUm() <= 0 || !own.GetDoubtful() {
		t.Error(own, err)
	}
}

func second[T any](_ T, err error) error { return err }
