package main

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	"evenpeel/server/demo"
	"evenpeel/server/sqlstore"
	"evenpeel/server/storetest/postgrestest"
)

var kills = flag.Int("kills", 3, "how often TestKilled kills the server; 200 takes some minutes")

// TestKilled kills a server with SIGKILL again and again while four branches' tablets send runs to it, as their queues do:
// what was not confirmed is sent again. In the end every confirmed run is there, none is there twice, and the roll-ups
// are what the raw runs add up to. A round only ends once reports were confirmed in it.
func TestKilled(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) { killed(t, "sqlite:"+t.TempDir()+"/house.db") })
	t.Run("postgres", func(t *testing.T) { killed(t, postgrestest.Start(t, nil)(t)) })
}

// queue is what one tablet has sent and is still to send.
type queue struct {
	confirmed [][]*branchesv1.Run
	waiting   []*branchesv1.Run // sent, not confirmed
	made      int
}

func killed(t *testing.T, store string) {
	folder := t.TempDir()
	rnd := rand.New(rand.NewPCG(3, 4))
	var pattern *branchesv1.Run
	queues := make([]*queue, 4)
	for i := range queues {
		queues[i] = &queue{}
	}
	next := func(tablet int, q *queue) []*branchesv1.Run {
		var list []*branchesv1.Run
		for range 1 + q.made%37 {
			r := proto.Clone(pattern).(*branchesv1.Run)
			r.Id = fmt.Sprintf("%08d-0000-4000-8000-%012d", tablet, q.made)
			q.made++
			list = append(list, r)
		}
		return list
	}
	h := newChild(t, folder, "--store", store, "--demo")
	for range *kills {
		h.start(t)
		bench := h.as(t, "operator.eu@evenpeel.example")
		client := branchesv1.NewRunsServiceClient(h.conn)
		if pattern == nil {
			listed, err := client.ListRuns(h.as(t, "manager.eu@evenpeel.example"), &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 1})
			if err != nil || len(listed.GetRuns()) == 0 {
				t.Fatal("the demo has no run to copy:", err)
			}
			pattern = listed.GetRuns()[0]
			pattern.Corrects = ""
		}
		confirmed := make(chan struct{})
		var sending sync.WaitGroup
		ctx, end := context.WithCancel(bench)
		for tablet, q := range queues {
			sending.Go(func() {
				for ctx.Err() == nil {
					if q.waiting == nil {
						q.waiting = next(tablet, q)
					}
					got, err := client.ReportRuns(ctx, &branchesv1.ReportRunsRequest{Runs: q.waiting})
					if err != nil {
						return // the server is gone; the queue keeps what was not confirmed
					}
					if int(got.GetStoredCount()+got.GetKnownCount()) != len(q.waiting) {
						t.Errorf("of %d runs %d were stored and %d known", len(q.waiting), got.GetStoredCount(), got.GetKnownCount())
					}
					q.confirmed, q.waiting = append(q.confirmed, q.waiting), nil
					select {
					case confirmed <- struct{}{}:
					case <-ctx.Done():
					}
				}
			})
		}
		for range 5 + rnd.IntN(30) {
			<-confirmed
		}
		h.kill()
		end()
		sending.Wait()
	}
	settled(t, h, store, queues)
}

// settled sends everything that waits, and checks what the store holds.
func settled(t *testing.T, h *child, store string, queues []*queue) {
	h.start(t)
	bench := h.as(t, "operator.eu@evenpeel.example")
	client := branchesv1.NewRunsServiceClient(h.conn)
	sent := map[string]bool{}
	for _, q := range queues {
		for _, list := range q.confirmed {
			got, err := client.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: list})
			if err != nil || got.GetStoredCount() != 0 {
				t.Errorf("%d of %d confirmed runs were lost: %v", got.GetStoredCount(), len(list), err)
			}
		}
		if q.waiting != nil {
			if _, err := client.ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: q.waiting}); err != nil {
				t.Error("sending what was not confirmed:", err)
			}
		}
		for _, r := range slices.Concat(append(q.confirmed, q.waiting)...) {
			sent[r.GetId()] = true
		}
	}
	h.kill()
	s, err := sqlstore.Open(t.Context(), store, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	found := 0
	var before runs.Run
	for {
		list, err := s.Runs(t.Context(), demo.Cold, before.End, before.ID, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if len(list) == 0 {
			break
		}
		for _, r := range list {
			if sent[r.ID] {
				found++
			}
		}
		before = list[len(list)-1]
	}
	if found != len(sent) || found == 0 {
		t.Errorf("%d of the %d runs that were sent are in the ledger", found, len(sent))
	}
	for _, span := range []compare.Span{{From: "2015-01-01", To: "2034-12-31"}, {From: "2015-01-02", To: time.Now().UTC().Format(time.DateOnly)}} {
		cells, err := s.Cells(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		raw, _, err := s.Anew(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		order := func(a, b compare.Cell) int { return strings.Compare(fmt.Sprint(a), fmt.Sprint(b)) }
		slices.SortFunc(cells, order)
		slices.SortFunc(raw, order)
		if !slices.Equal(cells, raw) {
			t.Errorf("the roll-ups of %s to %s differ from the runs", span.From, span.To)
		}
	}
	t.Logf("%d kills, %d runs sent, %d found, roll-ups as the runs", *kills+1, len(sent), found)
}
