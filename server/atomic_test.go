package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/server/demo"
)

// TestReleaseIsWhole kills the server at random instants while releases put one set of revisions in force and then the
// other: no branch ever sees some of one and some of the other. EVENPEEL_CRASHES=200 makes it long.
func TestReleaseIsWhole(t *testing.T) {
	crashes := 6
	if n, err := strconv.Atoi(os.Getenv("EVENPEEL_CRASHES")); err == nil {
		crashes = n
	}
	c := newChild(t, t.TempDir(), "--demo")
	c.start(t)
	approver, bench := c.as(t, "approver@evenpeel.example"), c.as(t, "operator.eu@evenpeel.example")
	desk, catalog := recipesv1.NewDeskServiceClient(c.conn), recipesv1.NewCatalogServiceClient(c.conn)
	records := []string{"recipes/plainfold-cotton", "recipes/plainfold-blend", "recipes/plainfold-nylon", "recipes/plainfold-polyester", "recipes/paddle-cotton", "recipes/paddle-blend"}
	set := func(revision int) (names []string) {
		for _, record := range records {
			names = append(names, fmt.Sprintf("%s/revisions/%d", record, revision))
		}
		return names
	}
	chance := rand.New(rand.NewPCG(2, 8))
	made, both := 0, map[string]bool{}
	for round := range crashes {
		ctx, cut := context.WithCancel(t.Context())
		begun := make(chan struct{})
		var work sync.WaitGroup
		work.Go(func() {
			as, stop := joined(approver, ctx)
			defer stop()
			for n := 0; ctx.Err() == nil; n++ {
				if _, err := desk.CreateRelease(as, &recipesv1.CreateReleaseRequest{Revisions: set(1 + n%2), Markets: []string{"EU"}, Reason: "whole", RequestId: id(9_000_000 + round*10_000 + n)}); err != nil {
					return
				}
				if made++; n == 4 {
					close(begun)
				}
			}
		})
		select {
		case <-begun:
		case <-time.After(time.Minute):
			t.Fatalf("round %d: not five releases in a minute, so the crash proves nothing\n%s", round, c.out)
		}
		time.Sleep(time.Duration(chance.IntN(30_000)) * time.Microsecond) // an instant that the program can not know
		c.kill()
		cut()
		work.Wait()
		c.start(t)
		sheet, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold})
		if err != nil {
			t.Fatal(err)
		}
		seen := revisionsOf(sheet.GetCurrent(), records)
		if len(seen) != 1 {
			t.Fatalf("after crash %d a sheet holds some of one release and some of the other: %v", round+1, seen)
		}
		both[seen[0]] = true
	}
	t.Logf("%d crashes among %d releases; sets seen: %d", crashes, made, len(both))
	// The checker must be able to fail: a mixed sheet is told apart.
	mixed := &recipesv1.Sheet{Entries: []*recipesv1.SheetEntry{{Revision: records[0] + "/revisions/1"}, {Revision: records[1] + "/revisions/2"}}}
	if len(revisionsOf(mixed, records)) != 2 {
		t.Error("a mixed sheet passes")
	}
}

// revisionsOf are the numbers under which records are in force.
func revisionsOf(sheet *recipesv1.Sheet, records []string) (numbers []string) {
	for _, e := range sheet.GetEntries() {
		record, n, _ := strings.Cut(e.GetRevision(), "/revisions/")
		if slices.Contains(records, record) && !slices.Contains(numbers, n) {
			numbers = append(numbers, n)
		}
	}
	return numbers
}
