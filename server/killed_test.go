package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
	accessv1 "evenpeel/proto/evenpeel/access/v1"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	"evenpeel/server/demo"
	"evenpeel/server/sqlstore"
	"evenpeel/server/storetest/postgrestest"
)

var kills = flag.Int("kills", 3, "how often TestKilled kills the server; 200 takes some minutes")

// childArgs is how the test asks its own binary, started anew, to be the server.
const childArgs = "EVENPEEL_TEST_CHILD"

// TestServedToBeKilled is the server that TestKilled kills; by itself it does nothing.
func TestServedToBeKilled(t *testing.T) {
	args := os.Getenv(childArgs)
	if args == "" {
		t.Skip("only TestKilled runs this")
	}
	if err := run(context.Background(), strings.Split(args, "\n"), os.Stdout); err != nil {
		t.Fatal(err)
	}
}

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
	for range *kills {
		kill, h := child(t, folder, store)
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
		kill()
		end()
		sending.Wait()
	}
	settled(t, folder, store, queues)
}

// settled sends everything that waits, and checks what the store holds.
func settled(t *testing.T, folder, store string, queues []*queue) {
	kill, h := child(t, folder, store)
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
	kill()
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

// child starts the server as a process of its own. kill ends it as a power cut would, and waits until it is gone.
func child(t *testing.T, folder, store string) (kill func(), h *house) {
	t.Helper()
	h = &house{native: freeAddress(t), web: freeAddress(t), folder: folder}
	c := exec.Command(os.Args[0], "-test.run=^TestServedToBeKilled$")
	c.Env = append(os.Environ(), childArgs+"="+strings.Join([]string{"--data", folder, "--store", store, "--grpc-address", h.native, "--web-address", h.web, "--log-format", "json", "--demo"}, "\n"))
	var said bytes.Buffer
	c.Stdout, c.Stderr = &said, &said
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	kill = sync.OnceFunc(func() {
		if err := c.Process.Kill(); err != nil {
			t.Error(err)
		}
		var exit *exec.ExitError
		if err := c.Wait(); !errors.As(err, &exit) {
			t.Error("the server ended by itself:", err, said.String())
		}
	})
	t.Cleanup(kill)
	conn, err := grpc.NewClient(h.native, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	h.conn = conn
	ctx, end := context.WithTimeout(t.Context(), 5*time.Minute)
	defer end()
	if _, err := accessv1.NewAccessServiceClient(conn).WhoAmI(ctx, &accessv1.WhoAmIRequest{}, grpc.WaitForReady(true)); status.Code(err) != codes.Unauthenticated {
		t.Fatalf("the server did not come up: %v", err)
	}
	return kill, h
}
