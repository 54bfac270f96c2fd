package main

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/server/access"
	"evenpeel/server/demo"
	"evenpeel/server/sqlstore"

	"go.uber.org/zap"
)

// acknowledged is what the server said is kept, and must have after every crash.
type acknowledged struct {
	mu        sync.Mutex
	acts      int               // answers since the server started: a round with few proves nothing
	drafts    map[string]int64  // etag by draft
	revisions map[string][]byte // digest by revision
	releases  map[int64][]byte  // digest by number
	runs      map[string]bool
}

func (a *acknowledged) note(f func()) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.acts++
	f()
}

// leastActs is how many answers a round needs before its crash counts.
const leastActs = 20

// TestCrash kills the server again and again while people write drafts, approve, release and report runs: nothing that
// was acknowledged is lost, nothing is there twice, release numbers have no gap, and the audit chain is whole.
// EVENPEEL_CRASHES=200 makes it the long test of R1.
func TestCrash(t *testing.T) {
	crashes := 6
	if n, err := strconv.Atoi(os.Getenv("EVENPEEL_CRASHES")); err == nil {
		crashes = n
	}
	folder := t.TempDir()
	c := newChild(t, folder, "--demo")
	c.start(t)
	editor, approver, bench := c.as(t, "editor@evenpeel.example"), c.as(t, "approver@evenpeel.example"), c.as(t, "operator.eu@evenpeel.example")
	kept := &acknowledged{drafts: map[string]int64{}, revisions: map[string][]byte{}, releases: map[int64][]byte{}, runs: map[string]bool{}}
	pattern := someRun(t, c, bench)
	chance := rand.New(rand.NewPCG(25, 11))
	begun := time.Now()
	for round := range crashes {
		kept.acts = 0
		ctx, cut := context.WithCancel(t.Context())
		var people sync.WaitGroup
		for i, record := range []string{"recipes/glimmer-cotton", "recipes/glimmer-polyester"} {
			people.Go(func() { writes(ctx, c, kept, editor, approver, record, round*1000+i) })
		}
		people.Go(func() { reports(ctx, c, kept, bench, pattern) })
		wait := time.Duration(100+chance.IntN(500)) * time.Millisecond
		for end := time.Now().Add(time.Minute); time.Now().Before(end); {
			time.Sleep(wait) // the crash comes at a time that the program can not know
			kept.mu.Lock()
			enough := kept.acts >= leastActs
			kept.mu.Unlock()
			if enough {
				break
			}
		}
		c.kill()
		cut()
		people.Wait()
		if kept.acts < leastActs {
			t.Fatalf("round %d: only %d acts were acknowledged in a minute, so the crash proves nothing\n%s", round, kept.acts, c.out)
		}
		c.start(t)
		for _, wrong := range missing(t, c, kept, editor) {
			t.Errorf("after crash %d: %s", round+1, wrong)
		}
		if t.Failed() {
			return
		}
	}
	t.Logf("%d crashes in %s: %d drafts, %d revisions, %d releases, %d runs acknowledged and kept", crashes, time.Since(begun).Round(time.Second), len(kept.drafts), len(kept.revisions), len(kept.releases), len(kept.runs))
	// The checker must be able to fail: it is given one thing more of each kind than was ever kept.
	kept.drafts["drafts/never"], kept.revisions["recipes/glimmer-cotton/revisions/1"], kept.releases[1] = 1, []byte("x"), []byte("x")
	if found := missing(t, c, kept, editor); len(found) != 3 {
		t.Errorf("three planted losses, and the checker finds %q", found)
	}
	c.kill()

	store, err := sqlstore.Open(t.Context(), "sqlite:"+filepath.Join(folder, "evenpeel.db"), zap.NewNop())
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if checked, broken, err := access.VerifyAudit(t.Context(), store); err != nil || broken != nil || checked < int64(len(kept.revisions)) {
		t.Errorf("the audit chain: %d entries checked, %v, %v", checked, broken, err)
	}
	db, err := sql.Open("sqlite", filepath.Join(folder, "evenpeel.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if got := column(t, db, "PRAGMA integrity_check"); !slices.Equal(got, []string{"ok"}) {
		t.Errorf("the file is not whole: %q", got)
	}
	there := map[string]bool{}
	for _, id := range column(t, db, "SELECT id FROM runs_run") {
		there[id] = true
	}
	for id := range kept.runs {
		if !there[id] {
			t.Errorf("run %s was acknowledged and is gone", id)
		}
	}
	before := rollUps(t, db)
	if err := store.RebuildRollUps(t.Context()); err != nil {
		t.Fatal(err)
	}
	if after := rollUps(t, db); !slices.Equal(before, after) {
		t.Errorf("roll-ups are not what the runs give: %d rows before, %d after", len(before), len(after))
	}
}

// writes carries one record from draft to release, over and over.
func writes(ctx context.Context, c *child, kept *acknowledged, editor, approver context.Context, record string, seed int) {
	desk, catalog := recipesv1.NewDeskServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	editor, stopEditor := joined(editor, ctx)
	defer stopEditor()
	approver, stopApprover := joined(approver, ctx)
	defer stopApprover()
	// What an earlier crash left half written is discarded, as a person would.
	if open, err := desk.ListDrafts(editor, &recipesv1.ListDraftsRequest{}); err == nil {
		for _, d := range open.GetDrafts() {
			if d.GetRecord() == record {
				if _, err := desk.DiscardDraft(editor, &recipesv1.DiscardDraftRequest{Name: d.GetName(), Etag: d.GetEtag()}); err == nil {
					kept.note(func() { delete(kept.drafts, d.GetName()) })
				}
			}
		}
	}
	for n := seed; ctx.Err() == nil; n += 10 {
		rows, err := catalog.ListRevisions(editor, &recipesv1.ListRevisionsRequest{Record: record})
		if err != nil {
			return
		}
		created, err := desk.CreateDraft(editor, &recipesv1.CreateDraftRequest{Record: record, BaseNumber: rows.GetRevisions()[0].GetNumber(), RequestId: id(n)})
		if err != nil {
			return
		}
		d := created.GetDraft()
		for i := range 3 {
			change := proto.CloneOf(d.GetContent())
			change.GetRecipe().Title = fmt.Sprintf("Crash %d.%d", n, i)
			saved, err := desk.UpdateDraft(editor, &recipesv1.UpdateDraftRequest{Name: d.GetName(), Content: change, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"title"}}, Etag: d.GetEtag(), Reason: "crash"})
			if err != nil {
				return
			}
			d = saved.GetDraft()
			kept.note(func() { kept.drafts[d.GetName()] = number(d.GetEtag()) })
		}
		asked, err := desk.AskSecondLook(editor, &recipesv1.AskSecondLookRequest{Name: d.GetName(), Etag: d.GetEtag()})
		if err != nil {
			return
		}
		kept.note(func() { kept.drafts[d.GetName()] = number(asked.GetDraft().GetEtag()) })
		approved, err := desk.ApproveDraft(approver, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: asked.GetDraft().GetContentSha256()})
		if err != nil {
			return
		}
		revision := fmt.Sprintf("%s/revisions/%d", record, approved.GetRevision().GetNumber())
		kept.note(func() { kept.revisions[revision] = approved.GetRevision().GetSha256() })
		released, err := desk.CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{"EU"}, Reason: "crash", RequestId: id(n + 5)})
		if err != nil {
			return
		}
		kept.note(func() { kept.releases[released.GetRelease().GetNumber()] = released.GetRelease().GetSha256() })
	}
}

// reports sends runs, each batch twice: a tablet that got no answer sends again.
func reports(ctx context.Context, c *child, kept *acknowledged, bench context.Context, pattern *branchesv1.Run) {
	client := branchesv1.NewRunsServiceClient(c.conn)
	bench, stop := joined(bench, ctx)
	defer stop()
	for ctx.Err() == nil {
		batch := &branchesv1.ReportRunsRequest{}
		for range 10 {
			r := proto.CloneOf(pattern)
			r.Id = fmt.Sprintf("%08x-0000-4000-8000-%012x", rand.Uint32(), rand.Uint64()>>16)
			batch.Runs = append(batch.Runs, r)
		}
		for range 2 {
			if _, err := client.ReportRuns(bench, batch); err != nil {
				return
			}
			kept.note(func() {
				for _, r := range batch.GetRuns() {
					kept.runs[r.GetId()] = true
				}
			})
		}
	}
}

// missing says what was acknowledged and is not there any more.
func missing(t *testing.T, c *child, kept *acknowledged, reader context.Context) (wrong []string) {
	t.Helper()
	desk, catalog := recipesv1.NewDeskServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	for _, name := range slices.Sorted(maps.Keys(kept.drafts)) {
		got, err := desk.GetDraft(reader, &recipesv1.GetDraftRequest{Name: name})
		if err != nil || number(got.GetDraft().GetEtag()) < kept.drafts[name] {
			wrong = append(wrong, fmt.Sprintf("%s is at %q, acknowledged %d: %v", name, got.GetDraft().GetEtag(), kept.drafts[name], err))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(kept.revisions)) {
		record, n, _ := strings.Cut(name, "/revisions/")
		got, err := catalog.GetRevision(reader, &recipesv1.GetRevisionRequest{Record: record, Number: number(n)})
		if err != nil || !bytes.Equal(got.GetSealed().GetSha256(), kept.revisions[name]) {
			wrong = append(wrong, fmt.Sprintf("%s is not what was acknowledged: %v", name, err))
		}
	}
	var below, last int64
	seen := map[int64][]byte{}
	for {
		page, err := catalog.ListReleases(reader, &recipesv1.ListReleasesRequest{PageSize: 200, BelowNumber: below})
		if err != nil {
			t.Fatal(err)
		}
		if len(page.GetReleases()) == 0 {
			break
		}
		for _, r := range page.GetReleases() {
			if last != 0 && r.GetNumber() != last-1 {
				wrong = append(wrong, fmt.Sprintf("release %d follows %d", last, r.GetNumber()))
			}
			last, seen[r.GetNumber()] = r.GetNumber(), r.GetSha256()
		}
		below = last
	}
	if last != 1 {
		wrong = append(wrong, fmt.Sprintf("the first release is %d", last))
	}
	for n, digest := range kept.releases {
		if !bytes.Equal(seen[n], digest) {
			wrong = append(wrong, fmt.Sprintf("release %d is not what was acknowledged", n))
		}
	}
	return wrong
}

// someRun is a run like one that the demo's branch reported last.
func someRun(t *testing.T, c *child, bench context.Context) *branchesv1.Run {
	t.Helper()
	list, err := branchesv1.NewRunsServiceClient(c.conn).ListRuns(bench, &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	r := proto.CloneOf(list.GetRuns()[0])
	r.Corrects, r.Reporter = "", ""
	r.StartTime, r.EndTime = timestamppb.New(r.GetStartTime().AsTime().Add(time.Second)), timestamppb.New(r.GetEndTime().AsTime().Add(time.Second))
	return r
}

// joined ends when either context does, and keeps the metadata of the first.
func joined(carries, ends context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancel(carries)
	stop := context.AfterFunc(ends, cancel)
	return ctx, func() { stop(); cancel() }
}

func number(s string) int64 {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return -1
	}
	return n
}

func column(t *testing.T, db *sql.DB, query string) (list []string) {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			t.Fatal(err)
		}
		list = append(list, s)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return list
}

// rollUps is every derived row, as text, in order.
func rollUps(t *testing.T, db *sql.DB) (list []string) {
	t.Helper()
	for _, table := range column(t, db, `SELECT name FROM sqlite_schema WHERE type = 'table' AND name LIKE 'compare\_%' ESCAPE '\' AND name <> 'compare_building' ORDER BY name`) {
		names := strings.Join(column(t, db, "SELECT 'quote(' || name || ')' FROM pragma_table_info('"+table+"')"), " || '|' || ")
		list = append(list, column(t, db, "SELECT '"+table+"|' || "+names+" AS line FROM "+table+" ORDER BY line")...)
	}
	return list
}
