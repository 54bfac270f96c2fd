package main

import (
	"context"
	"testing"

	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	"evenpeel/server/demo"
)

// placesDesigns checks a design's place by hand: an M t-shirt's collar ends 99 mm down in front (520 · 190/1000), and
// full front begins 75 mm below it, in the middle. Measures: recipes/placement, common practice, no source.
func placesDesigns(t *testing.T, h *house, bench, other context.Context) {
	orders := ordersv1.NewOrdersServiceClient(h.conn)
	table, err := orders.ListPlacements(bench, &ordersv1.ListPlacementsRequest{Branch: demo.Cold})
	if err != nil || len(table.GetGarmentKinds()) < 5 || len(table.GetPlaces()) < 10 || table.GetSource() == "" {
		t.Fatalf("%d cuts of garment, %d places, %v", len(table.GetGarmentKinds()), len(table.GetPlaces()), err)
	}
	land := &ordersv1.LandDesignRequest{Branch: demo.Cold, GarmentKind: "t-shirt", Place: "full-front", Designs: []*ordersv1.SizedDesign{
		{Size: "M", WidthUm: 280_400, HeightUm: 199_600}, {Size: "XS", WidthUm: 400_000, HeightUm: 200_000}, {Size: "116", WidthUm: 100_000, HeightUm: 100_000},
	}}
	got, err := orders.LandDesign(bench, land)
	if err != nil {
		t.Fatal(err)
	}
	m, xs, child := got.GetLandings()[0], got.GetLandings()[1], got.GetLandings()[2]
	if d := m.GetDesign(); d.GetXMm() != 120 || d.GetYMm() != 174 || d.GetWidthMm() != 280 || d.GetHeightMm() != 200 || len(m.GetWarnings()) != 0 || m.GetOutline() == "" || m.GetDrawn().GetWidthMm() <= 520 {
		t.Errorf("M: %v", m)
	}
	if w := xs.GetWarnings(); len(w) == 0 || w[0].GetKind() != "too-wide" || w[0].GetWords() == "" {
		t.Errorf("400 mm on XS: %v", w)
	}
	if child.GetRefusal() == "" || child.GetOutline() != "" {
		t.Errorf("size 116 of a t-shirt for adults: %v", child)
	}
	if got.GetGarmentTitle() != "t-shirt" || got.GetPlace().GetLandmark() != "collar" || got.GetPlace().GetOffsetMm() != 75 {
		t.Errorf("%q, %v", got.GetGarmentTitle(), got.GetPlace())
	}
	graded, err := orders.GradeDesign(bench, &ordersv1.GradeDesignRequest{Branch: demo.Cold, GarmentKind: "t-shirt", Place: "full-front", BaseSize: "M", WidthUm: 280_000, Sizes: []string{"XS", "M", "3XL"}})
	if err != nil || len(graded.GetWidths()) != 3 || graded.GetWidths()[0].GetWidthUm() != 235_000 || graded.GetWidths()[1].GetWidthUm() != 280_000 || !graded.GetWidths()[2].GetHeld() { // 280 · 440/520 = 236.9
		t.Errorf("%v, %v", graded.GetWidths(), err)
	}
	if _, err := orders.GradeDesign(bench, &ordersv1.GradeDesignRequest{Branch: demo.Cold, GarmentKind: "t-shirt", Place: "full-front", BaseSize: "M", WidthUm: 600_000}); reason(err) != "SIZES_DO_NOT_GRADE" {
		t.Error("600 mm on M:", err)
	}
	if _, err := orders.LandDesign(other, land); reason(err) != "NOT_YOUR_BRANCH" {
		t.Error("another branch asked:", err)
	}
}
