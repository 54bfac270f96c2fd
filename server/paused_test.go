package main

import (
	"cmp"
	"context"
	"os"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"
)

// pausedRedis stops Redis where it stands, so that it takes what is sent and answers nothing, as a network that swallows
// everything would, while branches pull, a process starts cold and a release is made. EVENPEEL_PAUSE=30s is the long test
// of R4. It gives the newest release.
func (f *fleet) pausedRedis(t *testing.T, at []*member, note string, newest int64) int64 {
	pause, err := time.ParseDuration(cmp.Or(os.Getenv("EVENPEEL_PAUSE"), "5s"))
	if err != nil {
		t.Fatal(err)
	}
	direct := f.direct()
	defer direct.Close()
	if err := direct.Ping(t.Context()).Err(); err != nil { // it is back, and will be paused while it is in use
		t.Fatal(err)
	}
	f.holds(f.start(), newest) // fills Redis
	keys, err := direct.Keys(t.Context(), "recipes:sealed:*").Result()
	if err != nil || len(keys) == 0 {
		t.Fatal("nothing is in Redis, so pausing it proves nothing:", err)
	}

	ctx, end := context.WithCancel(t.Context())
	var mu sync.Mutex
	var before, during []time.Duration
	paused, enough := false, make(chan struct{})
	var all sync.WaitGroup
	for _, m := range at {
		for range 2 {
			all.Go(func() {
				for ctx.Err() == nil {
					begun := time.Now()
					_, err := f.pull(m)
					took := time.Since(begun)
					if err != nil {
						t.Error("a pull failed:", err)
						return
					}
					mu.Lock()
					if paused {
						during = append(during, took)
					} else if before = append(before, took); len(before) == 300 {
						close(enough)
					}
					mu.Unlock()
				}
			})
		}
	}
	<-enough
	if err := f.redis.Process.Signal(syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	mu.Lock()
	paused = true
	mu.Unlock()
	begun := time.Now()
	if newest, err = f.release(at[0], note); err != nil {
		t.Error("a release while Redis is paused:", err)
	}
	released := time.Since(begun)
	begun = time.Now()
	f.holds(f.start(), newest) // has nothing in memory, and Redis does not answer
	cold := time.Since(begun)
	for _, m := range at { // nobody tells them of the release; they look
		f.holds(m, newest)
	}
	for time.Since(begun) < pause {
		f.holds(at[0], newest)
	}
	if err := f.redis.Process.Signal(syscall.SIGCONT); err != nil {
		t.Fatal(err)
	}
	end()
	all.Wait()
	if len(during) < 300 {
		t.Errorf("%d pulls while Redis was paused, which proves nothing", len(during))
	}
	t.Logf("paused %s: %d pulls before, the slowest hundredth %s; %d during, %s; a release took %s, a cold start with its first pull %s", pause, len(before), hundredth(before), len(during), hundredth(during), released, cold)
	return newest
}

// hundredth is the time that all but the slowest hundredth kept.
func hundredth(list []time.Duration) time.Duration {
	slices.Sort(list)
	return list[len(list)*99/100]
}
