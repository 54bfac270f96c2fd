package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/server/client"
	"evenpeel/server/demo"
)

// words is a writer that many goroutines may use.
type words struct {
	mu   sync.Mutex
	text strings.Builder
}

func (w *words) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.Write(b)
}

func (w *words) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.text.String()
}

// house is a whole running program.
type house struct {
	conn   *grpc.ClientConn
	native string
	web    string
	folder string
	stop   func() error
}

func freeAddress(t testing.TB) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// started runs the program as a person would, on a folder and addresses of its own.
func started(t testing.TB, folder string, args ...string) *house {
	t.Helper()
	h := &house{native: freeAddress(t), web: freeAddress(t), folder: folder}
	ctx, cancel := context.WithCancel(context.Background())
	out, ended := &words{}, make(chan error, 1)
	go func() {
		ended <- run(ctx, append([]string{"--data", folder, "--grpc-address", h.native, "--web-address", h.web, "--log-format", "json", "--grace", "5s"}, args...), out)
	}()
	h.stop = sync.OnceValue(func() error { cancel(); return <-ended })
	t.Cleanup(func() {
		if err := h.stop(); err != nil {
			t.Error("stopping:", err)
		}
	})
	conn, err := grpc.NewClient(h.native, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	h.conn = conn
	// Waiting for the door: the call blocks until the listener is there; the demo may take its time under -race.
	ctx2, end := context.WithTimeout(ctx, 5*time.Minute)
	defer end()
	_, err = accessv1.NewAccessServiceClient(conn).WhoAmI(ctx2, &accessv1.WhoAmIRequest{}, grpc.WaitForReady(true))
	if s, _ := status.FromError(err); s.Code().String() != "Unauthenticated" {
		t.Fatalf("the server did not come up: %v\n%s", err, out)
	}
	return h
}

// as signs somebody of the demo in.
func (h *house) as(t testing.TB, email string) context.Context {
	t.Helper()
	return metadata.AppendToOutgoingContext(t.Context(), "authorization", "Bearer "+h.token(t, email))
}

func (h *house) token(t testing.TB, email string) string {
	t.Helper()
	for _, s := range demo.SignIns() {
		if s.Email == email {
			answer, err := accessv1.NewAccessServiceClient(h.conn).SignIn(t.Context(), &accessv1.SignInRequest{Email: email, Password: s.Password})
			if err != nil {
				t.Fatal(email, err)
			}
			return answer.GetToken()
		}
	}
	t.Fatal("the demo has nobody called", email)
	return ""
}

// reason is the stable word of a refusal; "" where there was none.
func reason(err error) string {
	s, _ := status.FromError(err)
	for _, d := range s.Details() {
		if f, ok := d.(*recordv1.Fault); ok {
			return f.GetReason()
		}
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

func id(n int) string { return fmt.Sprintf("00000000-0000-4000-8000-%012d", n) }

// TestHouse carries one change and one order through the whole house, over native gRPC, on the demo franchise.
func TestHouse(t *testing.T) {
	h := started(t, t.TempDir(), "--demo")
	desk, catalog := recipesv1.NewDeskServiceClient(h.conn), recipesv1.NewCatalogServiceClient(h.conn)
	editor, approver := h.as(t, "editor@evenpeel.example"), h.as(t, "approver@evenpeel.example")
	bench, other := h.as(t, "operator.eu@evenpeel.example"), h.as(t, "operator.uk@evenpeel.example")

	// A branch watches before anything happens.
	before, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold})
	if err != nil {
		t.Fatal(err)
	}
	watching, stopWatching := context.WithTimeout(bench, time.Minute)
	defer stopWatching()
	watch, err := catalog.WatchReleases(watching, &recipesv1.WatchReleasesRequest{Branch: demo.Cold, AfterRelease: before.GetNewestRelease()})
	if err != nil {
		t.Fatal(err)
	}

	record := "recipes/glimmer-cotton"
	var number int64
	t.Run("a draft is saved, looked at by another, and sealed", func(t *testing.T) {
		rows, err := catalog.ListRevisions(editor, &recipesv1.ListRevisionsRequest{Record: record})
		if err != nil {
			t.Fatal(err)
		}
		created, err := desk.CreateDraft(editor, &recipesv1.CreateDraftRequest{Record: record, BaseNumber: rows.GetRevisions()[0].GetNumber(), RequestId: id(1)})
		if err != nil {
			t.Fatal(err)
		}
		d := created.GetDraft()
		if again, err := desk.CreateDraft(editor, &recipesv1.CreateDraftRequest{Record: record, BaseNumber: rows.GetRevisions()[0].GetNumber(), RequestId: id(1)}); err != nil || again.GetDraft().GetName() != d.GetName() {
			t.Error("asking twice did not answer the first draft:", err)
		}
		change := proto.Clone(d.GetContent()).(*recordv1.Content)
		dwell := change.GetRecipe().GetDwellSeconds()
		dwell.Set++
		dwell.High = max(dwell.High, dwell.Set)
		change.GetRecipe().Title = "not in the mask"
		saved, err := desk.UpdateDraft(editor, &recipesv1.UpdateDraftRequest{Name: d.GetName(), Content: change, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"dwell_seconds"}}, Etag: d.GetEtag(), Reason: "edges lift on rib"})
		if err != nil {
			t.Fatal(err)
		}
		if got := saved.GetDraft().GetContent().GetRecipe(); got.GetTitle() == "not in the mask" || got.GetDwellSeconds().GetSet() != dwell.Set {
			t.Errorf("the mask was not kept to: %v", got)
		}
		// Two editors: the second save comes late and loses nothing of the first.
		if _, err := desk.UpdateDraft(approver, &recipesv1.UpdateDraftRequest{Name: d.GetName(), Content: change, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"title"}}, Etag: d.GetEtag()}); reason(err) != "DRAFT_MOVED_ON" {
			t.Error("a late save:", err)
		}
		asked, err := desk.AskSecondLook(editor, &recipesv1.AskSecondLookRequest{Name: d.GetName(), Etag: saved.GetDraft().GetEtag()})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := desk.ApproveDraft(editor, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: asked.GetDraft().GetContentSha256()}); reason(err) != "NOT_YOUR_ROLE" {
			t.Error("an editor approved:", err)
		}
		if _, err := desk.ApproveDraft(approver, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: d.GetContentSha256()}); reason(err) != "CHANGED_SINCE_SEEN" {
			t.Error("old content was approved:", err)
		}
		approved, err := desk.ApproveDraft(approver, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: asked.GetDraft().GetContentSha256()})
		if err != nil {
			t.Fatal(err)
		}
		number = approved.GetRevision().GetNumber()
	})
	t.Run("an approver can not approve what they wrote in", func(t *testing.T) {
		created, err := desk.CreateDraft(approver, &recipesv1.CreateDraftRequest{Record: "notes/own-draft", RequestId: id(2), Content: &recordv1.Content{Content: &recordv1.Content_Note{Note: &recordv1.Note{Title: "A note", Market: "EU", Papers: []string{"A paper"}}}}})
		if err != nil {
			t.Fatal(err)
		}
		asked, err := desk.AskSecondLook(approver, &recipesv1.AskSecondLookRequest{Name: created.GetDraft().GetName(), Etag: created.GetDraft().GetEtag()})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := desk.ApproveDraft(approver, &recipesv1.ApproveDraftRequest{Name: asked.GetDraft().GetName(), SeenSha256: asked.GetDraft().GetContentSha256()}); reason(err) != "OWN_DRAFT" {
			t.Error(err)
		}
	})
	t.Run("a price list with breaks out of order is told where", func(t *testing.T) {
		created, err := desk.CreateDraft(editor, &recipesv1.CreateDraftRequest{Record: "prices/broken", RequestId: id(3), Content: &recordv1.Content{Content: &recordv1.Content_PriceList{PriceList: &recordv1.PriceList{Title: "Broken", Market: "EU", CurrencyCode: "EUR", TaxName: "VAT", RoundToMinor: 1,
			FilmPrices: []*recordv1.FilmPrice{{Film: "glimmer", Breaks: []*recordv1.PriceBreak{{FromMm: 0, PerMetreMinor: 100}, {FromMm: 10000, PerMetreMinor: 90}, {FromMm: 5000, PerMetreMinor: 80}}}}}}}})
		if err != nil {
			t.Fatal(err)
		}
		_, err = desk.AskSecondLook(editor, &recipesv1.AskSecondLookRequest{Name: created.GetDraft().GetName(), Etag: created.GetDraft().GetEtag()})
		if reason(err) != "CONTENT_INVALID" || !strings.Contains(strings.Join(created.GetDraft().GetFaults(), "\n"), "film_prices[0].breaks[2]") {
			t.Errorf("%v; faults %v", err, created.GetDraft().GetFaults())
		}
	})

	t.Run("a release reaches the watching branch and its sheet", func(t *testing.T) {
		revision := fmt.Sprintf("%s/revisions/%d", record, number)
		req := &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{"EU", "UK"}, Reason: "longer dwell", RequestId: id(4)}
		made, err := desk.CreateRelease(approver, req)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := desk.CreateRelease(approver, req); err != nil || again.GetRelease().GetNumber() != made.GetRelease().GetNumber() {
			t.Error("releasing twice made two:", err)
		}
		if _, err := desk.CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{"EU"}, RequestId: id(5), EffectiveTime: timestamppb.New(time.Now().Add(-time.Hour))}); reason(err) != "EFFECTIVE_IN_THE_PAST" {
			t.Error(err)
		}
		for {
			news, err := watch.Recv()
			if err != nil {
				t.Fatal("the watch ended before the release came:", err)
			}
			if news.GetRelease() == made.GetRelease().GetNumber() {
				break
			}
		}
		sheet, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold, HeldRelease: before.GetNewestRelease()})
		if err != nil {
			t.Fatal(err)
		}
		if len(sheet.GetRecords()) != 1 || sheet.GetRecords()[0].GetName() != revision {
			t.Errorf("a delta of one change holds %d records", len(sheet.GetRecords()))
		}
		if !slices.ContainsFunc(sheet.GetCurrent().GetEntries(), func(e *recipesv1.SheetEntry) bool { return e.GetRevision() == revision }) {
			t.Error("the new revision is not in force")
		}
		same, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold, HeldRelease: sheet.GetNewestRelease()})
		if err != nil || !same.GetNotModified() || len(same.GetRecords()) != 0 {
			t.Error("nothing changed, yet something was sent:", err)
		}
	})

	machines, err := branchesv1.NewBranchesServiceClient(h.conn).ListMachines(bench, &branchesv1.ListMachinesRequest{Branch: demo.Cold})
	if err != nil {
		t.Fatal(err)
	}
	order := &ordersv1.Order{Title: "Class tees", AgeMonths: -1, SoldAs: "t-shirt", Ownership: "customer-own-use"}
	for _, m := range machines.GetMachines() {
		if m.GetKind() == branchesv1.MachineKind_MACHINE_KIND_CUTTER {
			order.Cutter = m.GetName()
		} else {
			order.Press = m.GetName()
		}
	}
	var kept *ordersv1.CreateOrderResponse
	t.Run("an order goes from a real drawing to a cut file", func(t *testing.T) {
		ordersClient := ordersv1.NewOrdersServiceClient(h.conn)
		svg, err := os.ReadFile("../recipes/cut/testdata/badge.svg")
		if err != nil {
			t.Fatal(err)
		}
		read, err := ordersClient.ReadDrawing(bench, &ordersv1.ReadDrawingRequest{Branch: demo.Cold, Svg: svg, Title: "badge", Recipe: record})
		if err != nil {
			t.Fatal(err)
		}
		if len(read.GetDrawing().GetFindings()) == 0 {
			t.Error("a badge with a 0.4 mm line has nothing that the blade can not do")
		}
		sheet, err := catalog.GetRevision(bench, &recipesv1.GetRevisionRequest{Record: record})
		if err != nil {
			t.Fatal(err)
		}
		var rev recordv1.Revision
		if err := proto.Unmarshal(sheet.GetSealed().GetContent(), &rev); err != nil {
			t.Fatal(err)
		}
		order.Lines = []*ordersv1.OrderLine{{Drawing: read.GetDrawing().GetName(), Recipe: record, Colour: rev.GetContent().GetRecipe().GetFilm().GetColours()[0], Sizes: []*ordersv1.SizeCount{{Size: "M", Count: 7, WidthUm: 120_000}, {Size: "L", Count: 5, WidthUm: 130_000}}}}
		if kept, err = ordersClient.CreateOrder(bench, &ordersv1.CreateOrderRequest{Branch: demo.Cold, Order: order, Id: id(6)}); err != nil {
			t.Fatal(err)
		}
		l := kept.GetPlan().GetLayouts()[0]
		if l.GetPiecesCount() != 12 || kept.GetPlan().GetQuote().GetPayableMinor() <= 0 || l.GetCuttingSeconds() <= 0 || kept.GetPlan().GetPressingSeconds() < 12*10 {
			t.Errorf("pieces %d, payable %d, cutting %d s, pressing %d s", l.GetPiecesCount(), kept.GetPlan().GetQuote().GetPayableMinor(), l.GetCuttingSeconds(), kept.GetPlan().GetPressingSeconds())
		}
		file, err := ordersClient.GetCutFile(bench, &ordersv1.GetCutFileRequest{Order: kept.GetOrder().GetName(), Format: ordersv1.CutFormat_CUT_FORMAT_HPGL})
		if err != nil || !strings.HasPrefix(string(file.GetContent()), "IN;") {
			t.Error("cut file:", err)
		}
		if _, err := ordersClient.GetOrder(other, &ordersv1.GetOrderRequest{Name: kept.GetOrder().GetName()}); reason(err) != "NOT_YOUR_BRANCH" {
			t.Error("another branch read the order:", err)
		}
		for name, bad := range map[string]string{"UNKNOWN_FORMAT": "hello", "NOT_SVG": "<hello>", "NO_SIZE": `<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0h9v9z"/></svg>`, "HOSTILE": `<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"/>`} {
			if _, err := ordersClient.ReadDrawing(bench, &ordersv1.ReadDrawingRequest{Branch: demo.Cold, Svg: []byte(bad)}); reason(err) != name {
				t.Errorf("%s: got %v", name, err)
			}
		}
		if _, err := ordersClient.ReadDrawing(bench, &ordersv1.ReadDrawingRequest{Branch: demo.Cold, Svg: make([]byte, 2<<20)}); err == nil {
			t.Error("2 MiB were read")
		}
	})

	t.Run("a plan is improved, kept as it was improved, and refused when spoiled", func(t *testing.T) { improvesPlan(t, h, bench, order) })
	t.Run("searches take turns", func(t *testing.T) { takesTurns(t, h, bench, order) })
	t.Run("a design lands on the garment", func(t *testing.T) { placesDesigns(t, h, bench, other) })
	t.Run("head office moves a place", func(t *testing.T) { movesPlaces(t, h, editor, approver, bench) })
	t.Run("stock is counted, cut and listed", func(t *testing.T) { keepsStock(t, h, bench, other) })

	t.Run("a run is reported once, however often it is sent", func(t *testing.T) {
		runs := branchesv1.NewRunsServiceClient(h.conn)
		l := kept.GetPlan().GetLayouts()[0]
		area := l.GetRollWidthUm() * l.GetLengthUm() / 1_000_000
		run := &branchesv1.Run{Id: id(7), Branch: demo.Cold, Order: kept.GetOrder().GetName(), Recipe: l.GetCard().GetRevision(), RecipeSha256: l.GetCard().GetSha256(), Film: l.GetFilm(), Fabric: l.GetCard().GetFabric(), Colour: l.GetColour(),
			Cutter: order.GetCutter(), Press: order.GetPress(), Band: l.GetBand(), PiecesCount: 12, GoodCount: 12, Reprints: []*branchesv1.Reprint{{Cause: "edge-lift", Count: 1, FilmAreaMm2: 9000}}, DrawnAreaMm2: area + 30_000, DrawnMm: l.GetLengthUm() / 1000,
			DecoratedAreaMm2: l.GetDesignAreaMm2(), EdgeLossMm2: l.GetEdgeAreaMm2(), LayoutLossMm2: l.GetLayoutAreaMm2(), AchievableAreaMm2: area, StartTime: timestamppb.New(time.Now().Add(-30 * time.Minute)), EndTime: timestamppb.New(time.Now())}
		for i, want := range []struct{ stored, known int32 }{{1, 0}, {0, 1}} {
			got, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{run}})
			if err != nil || got.GetStoredCount() != want.stored || got.GetKnownCount() != want.known {
				t.Errorf("sent %d times: %v, %v", i+1, got, err)
			}
		}
		changed := proto.CloneOf(run)
		changed.PiecesCount++
		if _, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{changed}}); reason(err) != "RUN_ID_REUSED" {
			t.Error("the same id with other content:", err)
		}
		better := proto.CloneOf(run)
		better.Id, better.Corrects, better.GoodCount = id(12), run.GetId(), 11
		manager := h.as(t, "manager.eu@evenpeel.example")
		for range 2 { // sent twice, it corrects once
			if _, err := runs.CorrectRun(manager, &branchesv1.CorrectRunRequest{Run: better}); err != nil {
				t.Error("correcting:", err)
			}
		}
		listed, err := runs.ListRuns(manager, &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 2})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range listed.GetRuns() {
			if r.GetId() == run.GetId() && r.GetCorrectedBy() != better.GetId() || r.GetId() == better.GetId() && (r.GetCorrects() != run.GetId() || r.GetReceivedTime().AsTime().Before(r.GetEndTime().AsTime())) {
				t.Errorf("listed: %v", r)
			}
		}
		never := proto.Clone(run).(*branchesv1.Run)
		never.Id, never.Recipe = id(8), record+"/revisions/99"
		if _, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{never}}); reason(err) != "REVISION_NEVER_IN_FORCE" {
			t.Error(err)
		}
		foreign := proto.Clone(run).(*branchesv1.Run)
		foreign.Id, foreign.Branch = id(9), demo.Wasteful
		if _, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{run, foreign}}); reason(err) != "NOT_YOUR_BRANCH" {
			t.Error(err)
		}
		broken := proto.Clone(run).(*branchesv1.Run)
		broken.Id, broken.PiecesCount, broken.DrawnAreaMm2 = id(10), -1, 0
		good := proto.Clone(run).(*branchesv1.Run)
		good.Id = id(11)
		if _, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{good, broken}}); reason(err) != "RUN_INVALID" {
			t.Error(err)
		}
		list, err := runs.ListRuns(bench, &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 5})
		if err != nil || len(list.GetRuns()) != 5 || list.GetRuns()[0].GetId() != better.GetId() || list.GetNextPageToken() == "" {
			t.Errorf("the newest run is %v, %v", list.GetRuns()[0].GetId(), err)
		}
	})

	t.Run("a branch is added, and keeps its market", func(t *testing.T) {
		service := branchesv1.NewBranchesServiceClient(h.conn)
		b := &branchesv1.Branch{Name: "branches/new-lane", Title: "New Lane", Market: "EU", TimeZone: "Europe/Vienna"}
		if _, err := service.SaveBranch(approver, &branchesv1.SaveBranchRequest{Branch: b}); err != nil {
			t.Fatal(err)
		}
		b.Market = "UK"
		if _, err := service.SaveBranch(approver, &branchesv1.SaveBranchRequest{Branch: b}); reason(err) != "MARKET_FIXED" {
			t.Error(err)
		}
		if _, err := service.SaveBranch(approver, &branchesv1.SaveBranchRequest{Branch: &branchesv1.Branch{Name: "nowhere"}}); reason(err) != "BRANCH_INVALID" {
			t.Error(err)
		}
	})

	t.Run("the planted causes are found", func(t *testing.T) { findPlanted(t, h) })

	t.Run("the command line does the same", func(t *testing.T) {
		t.Setenv("EVENPEEL_SERVER", h.native)
		t.Setenv("EVENPEEL_EMAIL", "operator.eu@evenpeel.example")
		for _, s := range demo.SignIns() {
			if s.Email == "operator.eu@evenpeel.example" {
				t.Setenv("EVENPEEL_PASSWORD", s.Password)
			}
		}
		out := &words{}
		if err := client.Run(t.Context(), []string{"pull", demo.Cold}, out); err != nil || !strings.Contains(out.String(), "every digest and signature is right") {
			t.Errorf("%v\n%s", err, out)
		}
		folder := t.TempDir()
		for _, want := range []string{"every digest and signature is right", "0 sent now"} { // kept, the second pull brings nothing
			out = &words{}
			if err := client.Run(t.Context(), []string{"pull", demo.Cold, "--keep", folder}, out); err != nil || !strings.Contains(out.String(), want) {
				t.Errorf("%v\n%s", err, out)
			}
		}
		out = &words{}
		if err := client.Run(t.Context(), []string{"watch", demo.Cold, "--count", "1"}, out); err != nil || !strings.Contains(out.String(), "release 1,") {
			t.Errorf("%v\n%s", err, out)
		}
		out = &words{}
		day := time.Now().UTC().Format(time.DateOnly)
		if err := client.Run(t.Context(), []string{"runs", demo.Cold, "--from", day, "--to", day}, out); err != nil {
			t.Fatal(err)
		}
		table, err := csv.NewReader(strings.NewReader(out.String())).ReadAll()
		if err != nil || len(table) < 2 || table[0][1] != "id" {
			t.Fatalf("%v\n%s", err, out)
		}
		seen := false
		for _, row := range table[1:] {
			seen = seen || row[1] == id(7) && row[16] == "1" && strings.HasPrefix(row[17], "edge-lift 1 ")
			if row[0] != demo.Cold || !strings.HasPrefix(row[28], day) {
				t.Errorf("a run that was not asked for: %v", row)
			}
		}
		if !seen {
			t.Errorf("the run reported today is not in the table\n%s", out)
		}
		if err := client.Run(t.Context(), []string{"runs", demo.Cold, "--from", "yesterday"}, &words{}); err == nil || !strings.Contains(err.Error(), "is no day") {
			t.Error(err)
		}
		if err := client.Run(t.Context(), []string{"pull", demo.Wasteful}, &words{}); err == nil || !strings.Contains(err.Error(), "ref ") {
			t.Errorf("pulling for another branch: %v", err)
		}
	})

	t.Run("starting again keeps everything", func(t *testing.T) {
		newest, err := catalog.ListReleases(approver, &recipesv1.ListReleasesRequest{PageSize: 1})
		if err != nil {
			t.Fatal(err)
		}
		if err := h.stop(); err != nil {
			t.Fatal(err)
		}
		again := started(t, h.folder, "--demo")
		got, err := recipesv1.NewCatalogServiceClient(again.conn).ListReleases(again.as(t, "approver@evenpeel.example"), &recipesv1.ListReleasesRequest{PageSize: 1})
		if err != nil || got.GetReleases()[0].GetNumber() != newest.GetReleases()[0].GetNumber() {
			t.Errorf("%v, %v", got, err)
		}
	})
}

// findPlanted finds what the demo hides, as a manager would: by what the comparison says.
func findPlanted(t *testing.T, h *house) {
	manager := h.as(t, "franchise@evenpeel.example")
	compare := comparev1.NewCompareServiceClient(h.conn)
	span := &comparev1.Span{FromDay: time.Now().UTC().AddDate(-1, 0, 0).Format(time.DateOnly), ToDay: time.Now().UTC().Format(time.DateOnly)}
	view, err := compare.CompareBranches(manager, &comparev1.CompareBranchesRequest{Metric: comparev1.Metric_METRIC_REPRINTS, MixAdjusted: true, Span: span})
	if err != nil {
		t.Fatal(err)
	}
	if len(view.GetStandings()) < 24 || len(view.GetLimits()) == 0 {
		t.Fatalf("%d standings, %d points of limits", len(view.GetStandings()), len(view.GetLimits()))
	}
	for _, s := range view.GetStandings() {
		if high := s.GetMark() == comparev1.Mark_MARK_HIGH_998; high != (s.GetBranch() == demo.Cold) {
			t.Errorf("%s: mark %s, ratio %.2f; only %s was planted", s.GetBranch(), s.GetMark(), s.GetRatio(), demo.Cold)
		}
	}
	cold, err := compare.GetBranchReport(manager, &comparev1.GetBranchReportRequest{Branch: demo.Cold, Span: span})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(cold.GetFinding(), "edge lift") {
		t.Errorf("a press that reads low lifts edges, but the report says: %s", cold.GetFinding())
	}
	if len(cold.GetChart()) < 20 || len(cold.GetReleases()) == 0 {
		t.Errorf("%d weeks and %d releases on the chart", len(cold.GetChart()), len(cold.GetReleases()))
	}
	waste, err := compare.GetBranchReport(manager, &comparev1.GetBranchReportRequest{Branch: demo.Wasteful, Span: span})
	if err != nil {
		t.Fatal(err)
	}
	var drawn, parts int64
	for _, l := range waste.GetLosses() {
		switch l.GetKey() {
		case "drawn":
			drawn = l.GetAreaMm2()
		default:
			parts += l.GetAreaMm2()
		}
		if l.GetKey() == "roll-ends" && l.GetShare() < 3*l.GetOverallShare() {
			t.Errorf("roll ends: %.3f here, %.3f overall", l.GetShare(), l.GetOverallShare())
		}
	}
	if drawn != parts {
		t.Errorf("the losses add up to %d of %d mm²", parts, drawn)
	}
	if !strings.Contains(waste.GetFinding(), "roll ends") {
		t.Errorf("the report says: %s", waste.GetFinding())
	}
	change, err := compare.CompareRevisions(manager, &comparev1.CompareRevisionsRequest{Record: string(demo.Short), Span: span})
	if err != nil {
		t.Fatal(err)
	}
	rev := map[int64]*comparev1.RevisionRate{}
	for _, r := range change.GetRevisions() {
		rev[r.GetNumber()] = r
	}
	if rev[2].GetDifferenceLow() <= 0 || rev[3].GetDifferenceHigh() >= 0 || !strings.Contains(change.GetFinding(), "helped") {
		t.Errorf("revision 2 %+.3f, revision 3 %+.3f; %s", rev[2].GetDifference(), rev[3].GetDifference(), change.GetFinding())
	}
	// The same of a branch's own manager: they see how they stand, and nobody else's name.
	own, err := compare.CompareBranches(h.as(t, "manager.uk@evenpeel.example"), &comparev1.CompareBranchesRequest{Metric: comparev1.Metric_METRIC_YIELD, Span: span})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range own.GetStandings() {
		if s.GetBranch() != "" && s.GetBranch() != demo.Wasteful {
			t.Error("a branch manager sees", s.GetBranch())
		}
	}
}

// An empty house prints a link with a word that makes the first person, once.
func TestHouse_emptyStartsWithOnePerson(t *testing.T) {
	h := started(t, t.TempDir())
	people := accessv1.NewAccessServiceClient(h.conn)
	if _, err := people.CreateFirstPerson(t.Context(), &accessv1.CreateFirstPersonRequest{Word: "guess", Email: "first@example.org", Title: "First", Password: "a long enough one"}); reason(err) != "WORD_WRONG" {
		t.Error(err)
	}
}
