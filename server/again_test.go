package main

import (
	"context"
	"fmt"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/server/demo"
)

// request is one act that may be sent again: what its sender sends, what it is about when it is a slip, and how many
// things there are of its kind.
type request struct {
	name   string
	send   func() (proto.Message, error)
	slips  map[string]func() error // the same id with something else in it
	reused string                  // what a slip is told
	count  func() int
}

// atOnce sends one request many times at the same moment, and gives an answer that all agree on.
func atOnce(times int, send func() (proto.Message, error)) (proto.Message, error) {
	answers, errs := make([]proto.Message, times), make([]error, times)
	var all sync.WaitGroup
	begin := make(chan struct{})
	for i := range times {
		all.Go(func() {
			<-begin
			answers[i], errs[i] = send()
		})
	}
	close(begin)
	all.Wait()
	return answers[0], agree(answers, errs)
}

// agree checks that every one of many got the same answer.
func agree(answers []proto.Message, errs []error) error {
	for i := range answers {
		if errs[i] != nil {
			return fmt.Errorf("answer %d: %w", i, errs[i])
		}
		if diff := cmp.Diff(answers[0], answers[i], protocmp.Transform()); diff != "" {
			return fmt.Errorf("answer %d differs: %s", i, diff)
		}
	}
	return nil
}

// TestAgain sends every act that has an id several times at once, and again after the server was killed: it is done once
// and answered alike; the same id with something else in it is refused (R12).
func TestAgain(t *testing.T) {
	c := newChild(t, t.TempDir(), "--demo")
	c.start(t)
	requests := c.requests(t)
	before, done, answered := map[string]int{}, map[string]int{}, map[string]proto.Message{}
	for i, r := range requests {
		t.Run(r.name, func(t *testing.T) {
			before[r.name] = r.count()
			answer, err := atOnce(2+i%9, r.send)
			if err != nil {
				t.Fatal(err)
			}
			done[r.name], answered[r.name] = r.count(), answer
			if n := done[r.name] - before[r.name]; n != 1 {
				t.Errorf("sent %d times, done %d times", 2+i%9, n)
			}
		})
	}
	if t.Failed() {
		return
	}
	c.kill()
	c.start(t)
	for _, r := range requests {
		t.Run(r.name+", after a restart", func(t *testing.T) {
			now := r.count() // others of its kind may have been made since
			answer, err := atOnce(3, r.send)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(answered[r.name], answer, protocmp.Transform()); diff != "" {
				t.Error("the answer is another:", diff)
			}
			for name, slip := range r.slips {
				if err := slip(); reason(err) != r.reused || status.Code(err) != codes.InvalidArgument {
					t.Errorf("%s: %v", name, err)
				}
			}
			if n := r.count(); n != now {
				t.Errorf("done %d times more", n-now)
			}
		})
	}
	t.Run("the check itself sees a second effect and another answer", func(t *testing.T) {
		n := 0
		answer := func() (proto.Message, error) {
			n++
			return &branchesv1.Roll{Name: fmt.Sprint(n)}, nil
		}
		first, _ := answer()
		second, _ := answer()
		if agree([]proto.Message{first, second}, make([]error, 2)) == nil {
			t.Error("two answers that differ went unseen")
		}
		if agree([]proto.Message{first, first}, []error{nil, context.Canceled}) == nil {
			t.Error("a failed answer went unseen")
		}
	})
}

// requests are all acts with an id of their own.
func (c *child) requests(t *testing.T) []request {
	t.Helper()
	editor, approver, bench := c.as(t, "editor@evenpeel.example"), c.as(t, "approver@evenpeel.example"), c.as(t, "operator.eu@evenpeel.example")
	desk, acts, catalog := recipesv1.NewDeskServiceClient(c.conn), recipesv1.NewReleaseServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	stock, runs, orders := branchesv1.NewStockServiceClient(c.conn), branchesv1.NewRunsServiceClient(c.conn), ordersv1.NewOrdersServiceClient(c.conn)
	pattern := someRun(t, c, bench)
	rolls := func() *branchesv1.ListRollsResponse {
		list, err := stock.ListRolls(bench, &branchesv1.ListRollsRequest{Branch: demo.Cold})
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	var roll *branchesv1.Roll
	for _, r := range rolls().GetRolls() {
		if r.GetLengthMm() > 2000 {
			roll = r
		}
	}
	if roll == nil {
		t.Fatal("the demo's branch has no roll with two metres on it")
	}
	movements := func() int {
		list, err := stock.ListMovements(bench, &branchesv1.ListMovementsRequest{Of: roll.GetName(), PageSize: 200})
		if err != nil {
			t.Fatal(err)
		}
		return len(list.GetMovements())
	}
	releases := func() int {
		list, err := catalog.ListReleases(approver, &recipesv1.ListReleasesRequest{PageSize: 1})
		if err != nil {
			t.Fatal(err)
		}
		return int(list.GetReleases()[0].GetNumber())
	}
	rows, err := catalog.ListRevisions(editor, &recipesv1.ListRevisionsRequest{Record: "recipes/glimmer-cotton"})
	if err != nil {
		t.Fatal(err)
	}
	revision := rows.GetRevisions()[0]
	other, err := catalog.ListRevisions(editor, &recipesv1.ListRevisionsRequest{Record: "recipes/glimmer-polyester"})
	if err != nil {
		t.Fatal(err)
	}
	slip := func(send func() (proto.Message, error)) func() error {
		return func() error { _, err := send(); return err }
	}

	note := &recordv1.Content{Content: &recordv1.Content_Note{Note: &recordv1.Note{Title: "Again", Market: "EU", Papers: []string{"A paper"}}}}
	draft := func(who context.Context, change func(*recipesv1.CreateDraftRequest)) func() (proto.Message, error) {
		req := &recipesv1.CreateDraftRequest{Record: "notes/again", RequestId: id(1), Content: proto.CloneOf(note)}
		change(req)
		return func() (proto.Message, error) { return desk.CreateDraft(who, req) }
	}
	tomorrow := timestamppb.New(time.Now().Add(24 * time.Hour).Truncate(time.Second))
	plan := func(change func(*recipesv1.PlannedRelease)) *recipesv1.PlannedRelease {
		p := &recipesv1.PlannedRelease{Revisions: []string{revision.GetName()}, Markets: []string{"EU"}, EffectiveTime: tomorrow, Reason: "again"}
		change(p)
		return p
	}
	plans := map[string]func(*recipesv1.PlannedRelease){
		"other revisions": func(p *recipesv1.PlannedRelease) { p.Revisions = []string{other.GetRevisions()[0].GetName()} },
		"other markets":   func(p *recipesv1.PlannedRelease) { p.Markets = []string{"EU", "UK"} },
		"one branch":      func(p *recipesv1.PlannedRelease) { p.Branches = []string{demo.Cold} },
		"another instant": func(p *recipesv1.PlannedRelease) { p.EffectiveTime = timestamppb.New(tomorrow.AsTime().Add(time.Hour)) },
		"at once":         func(p *recipesv1.PlannedRelease) { p.EffectiveTime = nil },
		"another reason":  func(p *recipesv1.PlannedRelease) { p.Reason = "something else" },
		"something withdrawn": func(p *recipesv1.PlannedRelease) {
			p.Withdrawn = []string{"recipes/glimmer-polyester"}
		},
	}
	releaseSlips, proposalSlips := map[string]func() error{}, map[string]func() error{}
	for name, change := range plans {
		releaseSlips[name] = slip(func() (proto.Message, error) { return desk.CreateRelease(approver, created(plan(change))) })
		proposalSlips[name] = slip(func() (proto.Message, error) {
			return acts.ProposeRelease(editor, &recipesv1.ProposeReleaseRequest{Plan: plan(change), RequestId: id(3)})
		})
	}
	proposalSlips["another person"] = slip(func() (proto.Message, error) {
		return acts.ProposeRelease(approver, &recipesv1.ProposeReleaseRequest{Plan: plan(func(*recipesv1.PlannedRelease) {}), RequestId: id(3)})
	})
	scheduled := int64(releases()) + 1 // by CreateRelease below

	order := c.someOrder(t, bench)
	keep := func(change func(*ordersv1.Order)) func() (proto.Message, error) {
		o := proto.CloneOf(order)
		change(o)
		return func() (proto.Message, error) {
			return orders.CreateOrder(bench, &ordersv1.CreateOrderRequest{Branch: demo.Cold, Order: o, Id: id(5)})
		}
	}
	report := func(change func(*branchesv1.Run)) func() (proto.Message, error) {
		r := proto.CloneOf(pattern)
		r.Id = id(6)
		change(r)
		return func() (proto.Message, error) {
			got, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{r}})
			// Whether it is known now or was before is told apart on purpose; what counts is that it is there.
			return &branchesv1.ReportRunsResponse{StoredCount: got.GetStoredCount() + got.GetKnownCount()}, err
		}
	}
	receive := func(change func(*branchesv1.Roll)) func() (proto.Message, error) {
		r := &branchesv1.Roll{Film: roll.GetFilm(), Colour: roll.GetColour(), Lot: "L1", WidthMm: 500, LengthMm: 10_000, Place: "rack"}
		change(r)
		return func() (proto.Message, error) {
			return stock.ReceiveRoll(bench, &branchesv1.ReceiveRollRequest{Branch: demo.Cold, Roll: r, Id: id(7)})
		}
	}
	move := func(number int, millimetres int64, why string) func() (proto.Message, error) {
		return func() (proto.Message, error) {
			_, err := stock.MoveRoll(bench, &branchesv1.MoveRollRequest{Roll: roll.GetName(), ChangeMm: millimetres, Why: why, Id: id(number)})
			return &branchesv1.MoveRollResponse{}, err // the answer is the roll as it is by now
		}
	}
	count := func(millimetres int64) func() (proto.Message, error) {
		return func() (proto.Message, error) {
			got, err := stock.CountRoll(bench, &branchesv1.CountRollRequest{Roll: roll.GetName(), CountedMm: millimetres, Id: id(9)})
			return got.GetMovement(), err
		}
	}
	cut := func(millimetres int64, place string) func() (proto.Message, error) {
		return func() (proto.Message, error) {
			got, err := stock.CutRemnant(bench, &branchesv1.CutRemnantRequest{Roll: roll.GetName(), LengthMm: millimetres, Place: place, Id: id(10)})
			return got.GetRemnant(), err
		}
	}
	return []request{
		{"CreateDraft", draft(editor, func(*recipesv1.CreateDraftRequest) {}), map[string]func() error{
			"other content":  slip(draft(editor, func(r *recipesv1.CreateDraftRequest) { r.Content.GetNote().Title = "Other" })),
			"another record": slip(draft(editor, func(r *recipesv1.CreateDraftRequest) { r.Record = "notes/other" })),
			"another person": slip(draft(approver, func(*recipesv1.CreateDraftRequest) {})),
		}, "REQUEST_ID_REUSED", func() int {
			list, err := desk.ListDrafts(editor, &recipesv1.ListDraftsRequest{})
			if err != nil {
				t.Fatal(err)
			}
			return len(list.GetDrafts())
		}},
		{"CreateRelease", func() (proto.Message, error) {
			got, err := desk.CreateRelease(approver, created(plan(func(*recipesv1.PlannedRelease) {})))
			// Where it stands changes when it is cancelled below; what it is does not.
			return &recipesv1.ReleaseSummary{Number: got.GetRelease().GetNumber(), Sha256: got.GetRelease().GetSha256()}, err
		}, releaseSlips, "REQUEST_ID_REUSED", releases},
		{"ProposeRelease", func() (proto.Message, error) {
			return acts.ProposeRelease(editor, &recipesv1.ProposeReleaseRequest{Plan: plan(func(*recipesv1.PlannedRelease) {}), RequestId: id(3)})
		}, proposalSlips, "REQUEST_ID_REUSED", func() int {
			list, err := acts.ListProposals(editor, &recipesv1.ListProposalsRequest{})
			if err != nil {
				t.Fatal(err)
			}
			return len(list.GetProposals())
		}},
		{"CancelRelease", func() (proto.Message, error) {
			return acts.CancelRelease(approver, &recipesv1.CancelReleaseRequest{Number: scheduled, Reason: "again", RequestId: id(4)})
		}, map[string]func() error{
			"another release": slip(func() (proto.Message, error) {
				return acts.CancelRelease(approver, &recipesv1.CancelReleaseRequest{Number: scheduled - 1, Reason: "again", RequestId: id(4)})
			}),
			"a release's id": slip(func() (proto.Message, error) {
				return acts.CancelRelease(approver, &recipesv1.CancelReleaseRequest{Number: scheduled, Reason: "again", RequestId: id(2)})
			}),
		}, "REQUEST_ID_REUSED", releases},
		{"CreateOrder", keep(func(*ordersv1.Order) {}), map[string]func() error{
			"another title": slip(keep(func(o *ordersv1.Order) { o.Title = "Other" })),
			"more garments": slip(keep(func(o *ordersv1.Order) { o.Lines[0].Sizes[0].Count++ })),
		}, "REQUEST_ID_REUSED", func() int {
			list, err := orders.ListOrders(bench, &ordersv1.ListOrdersRequest{Branch: demo.Cold})
			if err != nil {
				t.Fatal(err)
			}
			return len(list.GetOrders())
		}},
		{"ReportRuns", report(func(*branchesv1.Run) {}), map[string]func() error{
			"more film": slip(report(func(r *branchesv1.Run) { r.DrawnMm++ })),
			"other lot": slip(report(func(r *branchesv1.Run) { r.Lot += "x" })),
		}, "RUN_ID_REUSED", func() int { return c.storedRuns(t, bench, id(6)) }},
		{"ReceiveRoll", receive(func(*branchesv1.Roll) {}), map[string]func() error{
			"longer":      slip(receive(func(r *branchesv1.Roll) { r.LengthMm++ })),
			"another lot": slip(receive(func(r *branchesv1.Roll) { r.Lot = "L2" })),
		}, "MOVEMENT_ID_REUSED", func() int { return len(rolls().GetRolls()) }},
		{"MoveRoll", move(8, -100, "draw"), map[string]func() error{
			"more":         slip(move(8, -101, "draw")),
			"as waste":     slip(move(8, -100, "waste")),
			"a count's id": slip(move(9, -100, "draw")),
		}, "MOVEMENT_ID_REUSED", movements},
		{"CountRoll", count(1500), map[string]func() error{"another measure": slip(count(1501))}, "MOVEMENT_ID_REUSED", movements},
		{"CutRemnant", cut(300, "drawer"), map[string]func() error{
			"longer":        slip(cut(301, "drawer")),
			"another place": slip(cut(300, "shelf")),
		}, "MOVEMENT_ID_REUSED", movements},
	}
}

func created(p *recipesv1.PlannedRelease) *recipesv1.CreateReleaseRequest {
	return &recipesv1.CreateReleaseRequest{Revisions: p.GetRevisions(), Withdrawn: p.GetWithdrawn(), Markets: p.GetMarkets(), Branches: p.GetBranches(), EffectiveTime: p.GetEffectiveTime(), Reason: p.GetReason(), RequestId: id(2)}
}

// someOrder is an order that the demo's branch can keep.
func (c *child) someOrder(t *testing.T, bench context.Context) *ordersv1.Order {
	t.Helper()
	const record = "recipes/glimmer-cotton"
	machines, err := branchesv1.NewBranchesServiceClient(c.conn).ListMachines(bench, &branchesv1.ListMachinesRequest{Branch: demo.Cold})
	if err != nil {
		t.Fatal(err)
	}
	order := &ordersv1.Order{Title: "Again", AgeMonths: -1, SoldAs: "t-shirt", Ownership: "customer-own-use"}
	for _, m := range machines.GetMachines() {
		if m.GetKind() == branchesv1.MachineKind_MACHINE_KIND_CUTTER {
			order.Cutter = m.GetName()
		} else {
			order.Press = m.GetName()
		}
	}
	svg, err := os.ReadFile("../recipes/cut/testdata/badge.svg")
	if err != nil {
		t.Fatal(err)
	}
	read, err := ordersv1.NewOrdersServiceClient(c.conn).ReadDrawing(bench, &ordersv1.ReadDrawingRequest{Branch: demo.Cold, Svg: svg, Title: "badge", Recipe: record})
	if err != nil {
		t.Fatal(err)
	}
	sealed, err := recipesv1.NewCatalogServiceClient(c.conn).GetRevision(bench, &recipesv1.GetRevisionRequest{Record: record})
	if err != nil {
		t.Fatal(err)
	}
	var rev recordv1.Revision
	if err := proto.Unmarshal(sealed.GetSealed().GetContent(), &rev); err != nil {
		t.Fatal(err)
	}
	order.Lines = []*ordersv1.OrderLine{{Drawing: read.GetDrawing().GetName(), Recipe: record, Colour: rev.GetContent().GetRecipe().GetFilm().GetColours()[0], Sizes: []*ordersv1.SizeCount{{Size: "M", Count: 3, WidthUm: 120_000}}}}
	return order
}

// storedRuns counts how often a run stands in the branch's list.
func (c *child) storedRuns(t *testing.T, bench context.Context, id string) (n int) {
	t.Helper()
	list, err := branchesv1.NewRunsServiceClient(c.conn).ListRuns(bench, &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 200})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range list.GetRuns() {
		if r.GetId() == id {
			n++
		}
	}
	return n
}
