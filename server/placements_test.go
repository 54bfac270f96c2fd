package main

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"google.golang.org/protobuf/types/known/fieldmaskpb"

	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
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

// movesPlaces: head office's own table of places is approved and released, and then holds for its market alone.
func movesPlaces(t *testing.T, h *house, editor, approver, bench context.Context) {
	desk, orders := recipesv1.NewDeskServiceClient(h.conn), ordersv1.NewOrdersServiceClient(h.conn)
	created, err := desk.CreateDraft(editor, &recipesv1.CreateDraftRequest{Record: "placements/usual", RequestId: id(60), Content: &recordv1.Content{Content: &recordv1.Content_Placements{Placements: &recordv1.PlacementTable{}}}})
	if err != nil {
		t.Fatal(err)
	}
	draft := created.GetDraft()
	table := draft.GetContent().GetPlacements()
	if len(table.GetGarments()) < 5 || len(table.GetPlaces()) < 10 || len(draft.GetFaults()) != 0 {
		t.Fatalf("an empty table begins with %d cuts of garment, %d places, faults %v", len(table.GetGarments()), len(table.GetPlaces()), draft.GetFaults())
	}
	change := func(to int64, etag string) (*recipesv1.UpdateDraftResponse, error) {
		for _, p := range table.GetPlaces() {
			if p.GetName() == "full-front" {
				p.OffsetMm = to
			}
		}
		return desk.UpdateDraft(editor, &recipesv1.UpdateDraftRequest{Name: draft.GetName(), Content: draft.GetContent(), UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"places"}}, Etag: etag, Reason: "our platens are small"})
	}
	wrong, err := change(-1, draft.GetEtag())
	if err != nil || len(wrong.GetDraft().GetFaults()) == 0 || !strings.Contains(strings.Join(wrong.GetDraft().GetFaults(), " "), "offset_mm") {
		t.Fatalf("an offset below nothing: %v, %v", wrong.GetDraft().GetFaults(), err)
	}
	right, err := change(90, wrong.GetDraft().GetEtag())
	if err != nil {
		t.Fatal(err)
	}
	asked, err := desk.AskSecondLook(editor, &recipesv1.AskSecondLookRequest{Name: draft.GetName(), Etag: right.GetDraft().GetEtag()})
	if err != nil {
		t.Fatal(err)
	}
	approved, err := desk.ApproveDraft(approver, &recipesv1.ApproveDraftRequest{Name: draft.GetName(), SeenSha256: asked.GetDraft().GetContentSha256()})
	if err != nil {
		t.Fatal(err)
	}
	seen := func() (offset int64) {
		list, err := orders.ListPlacements(bench, &ordersv1.ListPlacementsRequest{Branch: demo.Cold})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range list.GetPlaces() {
			if p.GetName() == "full-front" {
				offset = p.GetOffsetMm()
			}
		}
		return offset
	}
	if at := seen(); at != 75 {
		t.Errorf("before the release the offset is %d mm", at)
	}
	revision := fmt.Sprintf("placements/usual/revisions/%d", approved.GetRevision().GetNumber())
	if _, err := desk.CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{"EU"}, Reason: "our platens are small", RequestId: id(61)}); err != nil {
		t.Fatal(err)
	}
	if at := seen(); at != 90 {
		t.Errorf("after the release the offset is %d mm", at)
	}
}
