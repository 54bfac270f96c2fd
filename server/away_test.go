package main

import (
	"cmp"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/server/demo"
	"evenpeel/server/storetest/postgrestest"
)

// TestStoreAway takes PostgreSQL away under load. Pulls and watches of a branch go on as if nothing were (R10), whoever
// wants something kept is told plainly that the store is away, and when it is back, the same server goes on, and what it
// acknowledged is there. EVENPEEL_AWAY=60s keeps it away for so long.
func TestStoreAway(t *testing.T) {
	postgres := postgrestest.Begin(t, nil)
	c := newChild(t, t.TempDir(), "--demo", "--store", postgres.Database(t))
	c.start(t)
	bench, approver := c.as(t, "operator.eu@evenpeel.example"), c.as(t, "approver@evenpeel.example")
	pattern := someRun(t, c, bench)
	runs, catalog := branchesv1.NewRunsServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	send := func(n int) error {
		r := proto.CloneOf(pattern)
		r.Id = id(n)
		_, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{r}})
		return err
	}
	pull := func() (*recipesv1.PullSheetResponse, error) {
		m, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold})
		return m, errors.Join(err, trueBytes(m))
	}
	before, err := pull()
	if err != nil {
		t.Fatal(err)
	}
	told := watched(t, c, bench, before.GetNewestRelease())

	var mu sync.Mutex
	kept, odd, refused := []int{}, map[string]int{}, 0
	slowest := time.Duration(0)
	ctx, stop := context.WithCancel(t.Context())
	enough := make(chan struct{})
	var pulls atomic.Int64
	var people sync.WaitGroup
	for worker := range 4 {
		people.Go(func() {
			for n := worker; ctx.Err() == nil; n += 4 {
				begun := time.Now()
				err := send(n)
				took := time.Since(begun)
				_, failed := pull()
				mu.Lock()
				pulls.Add(1)
				switch {
				case err == nil:
					if kept = append(kept, n); len(kept) == 100 {
						close(enough)
					}
				case status.Code(err) == codes.Unavailable && (reason(err) == "STORE_AWAY" || reason(err) == "SESSION_UNCONFIRMED"):
					refused++
					slowest = max(slowest, took)
				default:
					odd[reason(err)]++
				}
				if failed != nil {
					odd["a pull: "+failed.Error()]++
				}
				mu.Unlock()
			}
		})
	}
	<-enough
	postgres.Stop(t)
	for { // until somebody noticed
		if err := send(1 << 20); err != nil {
			break
		}
	}
	if err := send(1<<20 + 1); reason(err) != "STORE_AWAY" || status.Code(err) != codes.Unavailable {
		t.Errorf("with the store away a report is answered %v", err)
	}
	long, err := time.ParseDuration(cmp.Or(os.Getenv("EVENPEEL_AWAY"), "4s")) // longer than anything is kept without asking
	if err != nil {
		t.Fatal(err)
	}
	gone, first := time.Now(), pulls.Load()
	for time.Since(gone) < long || pulls.Load() < first+100 {
		if m, err := pull(); err != nil || m.GetNewestRelease() != before.GetNewestRelease() {
			t.Fatalf("%s after the store went: release %d, %v", time.Since(gone), m.GetNewestRelease(), err)
		}
	}
	during := pulls.Load() - first
	toldLate := watched(t, c, bench, before.GetNewestRelease()-1) // a watch that begins now
	if n, err := toldLate(); err != nil || n != before.GetNewestRelease() {
		t.Errorf("a watch that began while the store was away: %d, %v", n, err)
	}
	if code, said := ready(t, c); code != http.StatusOK || !strings.Contains(said, `"state":"degraded"`) || !strings.Contains(said, `{"name":"store","state":"down"}`) {
		t.Errorf("/readyz says %d, %s", code, said)
	}
	if said := c.out.String(); !strings.Contains(said, "sheets are answered from memory") {
		t.Error("the log does not say that sheets are answered from memory")
	}
	if _, err := accessv1.NewAccessServiceClient(c.conn).WhoAmI(metadata.AppendToOutgoingContext(t.Context(), "authorization", "Bearer "+strings.Repeat("A", 43)), &accessv1.WhoAmIRequest{}); status.Code(err) != codes.Unavailable {
		t.Error("a stranger, with the store away:", err)
	}
	postgres.Again(t)
	back := func() bool {
		for end := time.Now().Add(time.Minute); time.Now().Before(end); {
			if err := send(1<<20 + 2); err == nil {
				return true
			}
		}
		return false
	}
	if !back() {
		t.Error("the store is back, and a minute later the server has not noticed")
	}
	stop()
	people.Wait()
	if len(odd) > 0 {
		t.Errorf("answers that tell nobody what to do: %v\n%s", odd, c.out)
	}
	if refused == 0 {
		t.Error("nobody was refused, so the store was never away")
	}
	// Sent again, everything that was acknowledged is known.
	for _, n := range kept {
		r := proto.CloneOf(pattern)
		r.Id = id(n)
		got, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{r}})
		if err != nil || got.GetKnownCount() != 1 {
			t.Fatalf("run %d was acknowledged; sent again: %v, %v", n, got, err)
		}
	}
	// Both watches outlived it, and hear of the next release.
	next, err := recipesv1.NewDeskServiceClient(c.conn).CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{before.GetCurrent().GetEntries()[0].GetRevision()}, Markets: []string{before.GetMarket()}, Reason: "back", RequestId: id(1)})
	if err != nil {
		t.Fatal(err)
	}
	for _, watch := range []func() (int64, error){told, toldLate} {
		if n, err := watch(); err != nil || n != next.GetRelease().GetNumber() {
			t.Errorf("after the store was away a watch says %d, %v; want %d", n, err, next.GetRelease().GetNumber())
		}
	}
	t.Logf("%d acknowledged, %d refused while the store was away (the slowest after %s), %d pulls in that time, none failed", len(kept), refused, slowest, during)
}

// watched opens a watch on a process, and gives the next release that it is told of.
func watched(t *testing.T, c *child, who context.Context, after int64) func() (int64, error) {
	t.Helper()
	stream, err := recipesv1.NewCatalogServiceClient(c.conn).WatchReleases(who, &recipesv1.WatchReleasesRequest{Branch: demo.Cold, AfterRelease: after})
	if err != nil {
		t.Fatal(err)
	}
	next := func() (int64, error) {
		for {
			news, err := stream.Recv()
			if err != nil || news.GetRelease() > 0 {
				return news.GetRelease(), err
			}
		}
	}
	if _, err := stream.Recv(); err != nil { // the first heartbeat: it is listened to
		t.Fatal(err)
	}
	return next
}

// ready is what a balancer is told.
func ready(t *testing.T, c *child) (int, string) {
	t.Helper()
	got, err := http.Get("http://" + c.web + "/readyz")
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	said, err := io.ReadAll(got.Body)
	if err != nil {
		t.Fatal(err)
	}
	return got.StatusCode, string(said)
}

// TestDiskFull fills the disk under the store. Reports are refused with the reason, sheets are still pulled, nothing
// that was acknowledged is lost, and the server goes on by itself when there is room again.
func TestDiskFull(t *testing.T) {
	folder := t.TempDir()
	if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, "size=96m"); err != nil {
		t.Skipf("A small disk can not be mounted here (%v), so a full one is not tested.", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(folder, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	c := newChild(t, folder, "--demo")
	t.Cleanup(c.kill) // before the disk goes
	c.start(t)
	bench := c.as(t, "operator.eu@evenpeel.example")
	pattern := someRun(t, c, bench)
	runs, catalog := branchesv1.NewRunsServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	batch := func(n int) *branchesv1.ReportRunsRequest {
		req := &branchesv1.ReportRunsRequest{}
		for i := range 50 {
			r := proto.CloneOf(pattern)
			r.Id = id(n*50 + i)
			req.Runs = append(req.Runs, r)
		}
		return req
	}
	filler := filepath.Join(folder, "filler")
	if err := os.WriteFile(filler, make([]byte, room(t, folder)-256<<10), 0o600); err != nil {
		t.Fatal(err)
	}
	kept := 0
	var full error
	for ; full == nil && kept < 2000; kept++ {
		_, full = runs.ReportRuns(bench, batch(kept))
	}
	kept--
	if status.Code(full) != codes.Unavailable || reason(full) != "STORE_FULL" {
		t.Fatalf("after %d batches on a full disk: %v", kept, full)
	}
	if _, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold}); err != nil {
		t.Errorf("a full disk keeps a sheet from being pulled: %v", err)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	for n := range kept + 2 { // known, known, …, and the refused one and one more are new
		got, err := runs.ReportRuns(bench, batch(n))
		if err != nil || (got.GetKnownCount() == 50) != (n < kept) {
			t.Fatalf("batch %d of %d after there was room again: %v, %v", n, kept, got, err)
		}
	}
}

// room is what a disk has left, in bytes.
func room(t *testing.T, folder string) int64 {
	t.Helper()
	var s syscall.Statfs_t
	if err := syscall.Statfs(folder, &s); err != nil {
		t.Fatal(err)
	}
	return int64(s.Bavail) * s.Bsize
}
