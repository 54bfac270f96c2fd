package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
)

// history is what one watcher was told, in the order in which it was told, over all of its connections.
type history struct {
	after       int64 // where it began
	told        []int64
	connections int
}

// wrong says what breaks the promise of a watch: every release above the one named, once, in the order of numbers,
// whatever happened to the connection.
func (h history) wrong(newest int64) error {
	want := h.after + 1
	for i, n := range h.told {
		switch {
		case n < want:
			return fmt.Errorf("message %d is release %d, told before or out of order; %d was due", i, n, want)
		case n > want:
			return fmt.Errorf("message %d is release %d, so %d was left out", i, n, want)
		}
		want++
	}
	if want != newest+1 {
		return fmt.Errorf("it was told up to release %d of %d", want-1, newest)
	}
	return nil
}

// TestHistory_theCheckCanFail plants faults into a good history; every one has to be found (R30).
func TestHistory_theCheckCanFail(t *testing.T) {
	good := history{after: 2, told: []int64{3, 4, 5, 6, 7, 8}}
	if err := good.wrong(8); err != nil {
		t.Fatal(err)
	}
	for name, plant := range map[string]func(*history){
		"the first is left out":            func(h *history) { h.told = h.told[1:] },
		"one in the middle is left out":    func(h *history) { h.told = slices.Delete(h.told, 2, 3) },
		"the last is left out":             func(h *history) { h.told = h.told[:5] },
		"nothing came":                     func(h *history) { h.told = nil },
		"one came twice":                   func(h *history) { h.told = slices.Insert(h.told, 3, h.told[2]) },
		"the last came twice":              func(h *history) { h.told = append(h.told, 8) },
		"two are swapped":                  func(h *history) { h.told[1], h.told[2] = h.told[2], h.told[1] },
		"all are in the wrong order":       func(h *history) { slices.Reverse(h.told) },
		"a new connection began too early": func(h *history) { h.told = slices.Insert(h.told, 4, 5, 6) },
		"a new connection began too late":  func(h *history) { h.told = slices.Delete(h.told, 3, 5) },
		"one was told that it held":        func(h *history) { h.told = slices.Insert(h.told, 0, 2) },
		"one was told that nobody made":    func(h *history) { h.told = append(h.told, 9) },
		"one of another office":            func(h *history) { h.told[5] = 999 },
		"a heartbeat taken for a release":  func(h *history) { h.told = slices.Insert(h.told, 2, 0) },
	} {
		planted := history{after: good.after, told: slices.Clone(good.told)}
		plant(&planted)
		if planted.wrong(8) == nil {
			t.Errorf("%s, and the check finds nothing", name)
		}
	}
}

// watchAll lets many watch over several processes, breaking off and coming back at random, while act makes releases. One makes
// the last one. It gives what each was told up to that.
func (f *fleet) watchAll(watchers int, at []*member, after int64, act func() int64, one func() int64) []history {
	f.t.Helper()
	var newest atomic.Int64
	done := make(chan struct{}) // closed once act is through
	list := make([]history, watchers)
	var all, listening sync.WaitGroup
	for i := range list {
		listening.Add(1)
		open := sync.OnceFunc(listening.Done)
		h, chance := &list[i], rand.New(rand.NewPCG(3, uint64(i)))
		h.after = after
		all.Go(func() {
			defer open()
			slow, last := i == 0, after
			for newest.Load() == 0 || last < newest.Load() {
				connection, hangUp := context.WithTimeout(f.benches[i%len(f.benches)], 2*time.Minute)
				stream, err := recipesv1.NewCatalogServiceClient(at[chance.IntN(len(at))].conn).WatchReleases(connection, &recipesv1.WatchReleasesRequest{Branch: lane, AfterRelease: last})
				if err == nil {
					_, err = stream.Recv() // the first heartbeat
				}
				if err != nil {
					f.t.Error("a watch can not be opened:", err)
					hangUp()
					return
				}
				h.connections++
				open()
				if slow { // reads nothing until everything was made, and then everything
					<-done
				}
				for left := 1 + chance.IntN(80); slow || left > 0; left-- {
					if n := newest.Load(); n > 0 && last >= n {
						break
					}
					news, err := stream.Recv()
					if err != nil {
						f.t.Error("a watch broke off by itself:", err)
						hangUp()
						return
					}
					if n := news.GetRelease(); n > 0 {
						h.told, last = append(h.told, n), n
					}
				}
				hangUp()
			}
		})
	}
	listening.Wait()
	newest.Store(act() + 1)
	close(done)
	one() // wakes whoever knew everything already
	all.Wait()
	return list
}
