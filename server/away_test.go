package main

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/server/demo"
	"evenpeel/server/storetest/postgrestest"
)

// TestStoreAway takes PostgreSQL away under load. Whoever calls meanwhile is answered from memory or told plainly that
// the store is away; when it is back, the same server goes on, and what it acknowledged is there.
func TestStoreAway(t *testing.T) {
	postgres := postgrestest.Begin(t, nil)
	c := newChild(t, t.TempDir(), "--demo", "--store", postgres.Database(t))
	c.start(t)
	bench := c.as(t, "operator.eu@evenpeel.example")
	pattern := someRun(t, c, bench)
	runs, catalog := branchesv1.NewRunsServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	send := func(n int) error {
		r := proto.CloneOf(pattern)
		r.Id = id(n)
		_, err := runs.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{r}})
		return err
	}
	var mu sync.Mutex
	kept, odd, refused := []int{}, map[string]int{}, 0
	ctx, stop := context.WithCancel(t.Context())
	enough := make(chan struct{})
	var people sync.WaitGroup
	for worker := range 4 {
		people.Go(func() {
			for n := worker; ctx.Err() == nil; n += 4 {
				err := send(n)
				if _, pulled := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold}); err == nil && pulled != nil {
					err = pulled
				}
				mu.Lock()
				switch {
				case err == nil:
					if kept = append(kept, n); len(kept) == 100 {
						close(enough)
					}
				case status.Code(err) == codes.Unavailable && reason(err) == "STORE_AWAY":
					refused++
				default:
					odd[reason(err)]++
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
	t.Logf("%d acknowledged, %d refused while the store was away", len(kept), refused)
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
