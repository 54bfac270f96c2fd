package rediscache_test

import (
	"context"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/server/rediscache"
)

// silent is an inner catalog that keeps silent while it is away.
type silent struct {
	recipes.Catalog
	away  atomic.Bool
	asked atomic.Int64
}

func (s *silent) NewestRelease(ctx context.Context) (int64, error) {
	s.asked.Add(1)
	if !s.away.Load() {
		return 7, nil
	}
	<-ctx.Done()
	return 0, fault.New(fault.Unavailable, "sqlstore", "STORE_AWAY", "The store keeps silent.").Because(ctx.Err())
}

// A store that keeps silent is asked by one at a time and not for long, however many want to know; nobody waits behind
// another's waiting, and when it is back it is heard at once.
func TestNewestRelease_ofASilentStore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		inner := &silent{}
		c := rediscache.NewCatalog(inner, rediscache.Options{})
		if n, err := c.NewestRelease(t.Context()); n != 7 || err != nil {
			t.Fatal(n, err)
		}
		inner.away.Store(true)
		time.Sleep(3 * time.Second) // of the test's own clock
		inner.asked.Store(0)
		begun := time.Now()
		var all sync.WaitGroup
		for range 100 {
			all.Go(func() {
				if _, err := c.NewestRelease(t.Context()); !fault.Is(err, fault.Unavailable) {
					t.Error("away, and answered:", err)
				}
			})
		}
		all.Wait()
		if took := time.Since(begun); took > 2*time.Second || inner.asked.Load() != 1 {
			t.Errorf("a hundred waited %s, and the store was asked %d times", took, inner.asked.Load())
		}
		begun = time.Now()
		for range 1000 {
			if _, err := c.NewestRelease(t.Context()); err == nil {
				t.Fatal("away, and answered")
			}
		}
		if took := time.Since(begun); took != 0 || inner.asked.Load() != 1 {
			t.Errorf("a thousand more waited %s, and the store was asked %d times", took, inner.asked.Load())
		}
		inner.away.Store(false)
		time.Sleep(time.Second)
		if n, err := c.NewestRelease(t.Context()); n != 7 || err != nil {
			t.Error("it is back:", n, err)
		}
	})
}
