package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"testing"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
)

// TestSeveralServers starts three processes on one PostgreSQL and one Redis: they behave as one.
func TestSeveralServers(t *testing.T) {
	f := newFleet(t)
	a, b, c := f.start(), f.start(), f.start()

	t.Run("of two approvals at once in two processes one wins", func(t *testing.T) {
		for n := range 6 {
			d := f.asked(a, c, fmt.Sprintf("notes/at-once-%d", n))
			var won atomic.Int64
			var both sync.WaitGroup
			for _, try := range []struct {
				by context.Context
				at *member
			}{{f.first, a}, {f.second, b}} {
				both.Go(func() {
					_, err := recipesv1.NewDeskServiceClient(try.at.conn).ApproveDraft(try.by, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: d.GetContentSha256()})
					if err == nil {
						won.Add(1)
					} else if why := reason(err); why != "NOT_ASKED" && why != "DRAFT_MOVED_ON" && why != "DRAFT_CLOSED" {
						t.Errorf("the other is told %q: %v", why, err)
					}
				})
			}
			both.Wait()
			if won.Load() != 1 {
				t.Errorf("%d approvals won", won.Load())
			}
		}
	})
	note := "notes/at-once-0/revisions/1"
	heard := f.watching(c)
	newest := int64(0)

	t.Run("releases made at once in three processes are numbered without a gap", func(t *testing.T) {
		const each = 4
		var all sync.WaitGroup
		var mu sync.Mutex
		seen := map[int64]bool{}
		for _, at := range []*member{a, b, c} {
			all.Go(func() {
				for range each {
					n, err := f.release(at, note)
					if err != nil {
						t.Error(err)
						return
					}
					mu.Lock()
					seen[n] = true
					mu.Unlock()
				}
			})
		}
		all.Wait()
		for newest = 0; seen[newest+1]; newest++ {
		}
		if len(seen) != 3*each || newest != 3*each {
			t.Fatalf("the numbers are %v", seen)
		}
		for want := int64(1); want <= newest; want++ {
			if n := heard(); n != want {
				t.Fatalf("told of release %d, want %d", n, want)
			}
		}
	})

	t.Run("a release made at one is pulled from the others", func(t *testing.T) {
		var err error
		if newest, err = f.release(a, note); err != nil {
			t.Fatal(err)
		}
		f.holds(a, newest)
		f.holds(b, newest)
		if n := heard(); n != newest {
			t.Fatalf("told of %d, want %d", n, newest)
		}
		f.holds(c, newest)
	})

	t.Run("a message lost with Redis loses no release", func(t *testing.T) {
		f.stopRedis()
		var err error
		if newest, err = f.release(b, note); err != nil {
			t.Fatal(err)
		}
		if n := heard(); n != newest {
			t.Fatalf("told of %d, want %d", n, newest)
		}
		f.holds(a, newest)
	})

	t.Run("Redis gone, flushed, and full of wrong bytes: no wrong byte, no failed pull", func(t *testing.T) {
		ctx, end := context.WithCancel(t.Context())
		var pulls atomic.Int64
		pulled, gone := make(chan struct{}), make(chan struct{})
		var all sync.WaitGroup
		for _, at := range []*member{a, b, c} {
			for range 2 {
				all.Go(func() {
					for ctx.Err() == nil {
						if _, err := f.pull(at); err != nil {
							t.Errorf("after %d pulls: %v", pulls.Load(), err)
							return
						}
						pulls.Add(1)
						select {
						case pulled <- struct{}{}:
						default:
						}
					}
				})
			}
		}
		go func() { all.Wait(); close(gone) }()
		under := func(more int) { // a fault counts only under load
			for range more {
				select {
				case <-pulled:
				case <-gone:
					return
				}
			}
		}
		under(100) // Redis is gone
		f.startRedis("redis-server")
		direct := f.direct()
		defer direct.Close()
		under(100)
		// A process that starts now has nothing in memory: it fills Redis, and the next one reads from there.
		fresh := f.start()
		f.holds(fresh, newest)
		keys, err := direct.Keys(t.Context(), "recipes:sealed:*").Result()
		if err != nil || len(keys) == 0 {
			t.Error("there was nothing in Redis to poison:", err)
		}
		for _, key := range keys {
			if err := direct.Set(t.Context(), key, "not what was approved", 0).Err(); err != nil {
				t.Fatal(err)
			}
		}
		if err := direct.Publish(t.Context(), "recipes:released", "999999").Err(); err != nil {
			t.Fatal(err)
		}
		another := f.start()
		f.holds(another, newest)
		under(100)
		if err := direct.FlushAll(t.Context()).Err(); err != nil {
			t.Fatal(err)
		}
		under(100)
		f.stopRedis()
		under(100)
		if newest, err = f.release(c, note); err != nil {
			t.Fatal(err)
		}
		for _, at := range []*member{a, b, c, fresh, another} {
			f.holds(at, newest)
		}
		end()
		<-gone
	})

	t.Run("the check itself sees a wrong byte", func(t *testing.T) {
		m, err := f.pull(a)
		if err != nil {
			t.Fatal(err)
		}
		m.Records[0].Content[3] ^= 1
		if trueBytes(m) == nil {
			t.Error("a changed byte went unseen")
		}
	})

	f.startRedis("redis-server")
	t.Run("Redis paused under load: no wrong byte, no failed pull, and nobody waits for it", func(t *testing.T) {
		newest = f.pausedRedis(t, []*member{a, b, c}, note, newest)
	})

	t.Run("two hundred watchers who break off and come back are told every release once and in order", func(t *testing.T) {
		made, watchers := 100, 200
		if os.Getenv("EVENPEEL_PAUSE") != "" { // the long test
			made = 300
		}
		list := f.watchAll(watchers, []*member{a, b, c}, newest, func() int64 {
			for i := range made {
				switch i {
				case made / 4: // what is said from now on is lost
					f.stopRedis()
				case made / 2:
					f.startRedis("redis-server")
				case made * 3 / 4: // said, and heard by nobody
					direct := f.direct()
					err := direct.Do(t.Context(), "CLIENT", "KILL", "TYPE", "pubsub").Err()
					if err := errors.Join(err, direct.Close()); err != nil {
						t.Error(err)
					}
				}
				var err error
				if newest, err = f.release([]*member{a, b, c}[i%3], note); err != nil {
					t.Error(err)
					break
				}
			}
			return newest
		}, func() int64 {
			var err error
			if newest, err = f.release(b, note); err != nil {
				t.Error(err)
			}
			return newest
		})
		events, connections := 0, 0
		for i, h := range list {
			if err := h.wrong(newest); err != nil {
				t.Errorf("watcher %d: %v", i, err)
			}
			events, connections = events+len(h.told), connections+h.connections
		}
		if connections < 2*watchers {
			t.Errorf("%d connections of %d watchers, so coming back was not tested", connections, watchers)
		}
		t.Logf("%d messages over %d connections", events, connections)
	})

	t.Run("who signs out at one is out at the others", func(t *testing.T) {
		if _, err := accessv1.NewAccessServiceClient(a.conn).SignOut(f.bench, &accessv1.SignOutRequest{}); err != nil {
			t.Fatal(err)
		}
		for _, at := range []*member{a, b, c} {
			for {
				if _, err := f.pull(at); reason(err) == "SESSION_ENDED" {
					break
				} else if err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}
