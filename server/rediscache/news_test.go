package rediscache_test

import (
	"context"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"

	"evenpeel/server/rediscache"
)

func TestSubscribe_hearsOfAReleaseMadeElsewhere(t *testing.T) {
	for name, start := range map[string]func(testing.TB) string{
		"real": realRedis, "mini": func(t testing.TB) string { return "redis://" + miniredis.RunT(t).Addr() },
	} {
		t.Run(name, func(t *testing.T) {
			url, inner := start(t), &shelf{}
			here := rediscache.NewCatalog(inner, rediscache.Options{Redis: connect(t, url), PointerLife: time.Hour})
			there := rediscache.NewCatalog(inner, rediscache.Options{Redis: connect(t, url), PointerLife: time.Hour})
			inner.release()
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			heard := there.Subscribe(ctx)
			if n := <-heard; n != 1 {
				t.Fatalf("heard %d first, want the 1 that stands", n)
			}
			here.Announce(t.Context(), inner.release())
			if n := <-heard; n != 2 {
				t.Fatalf("heard %d, want 2", n)
			}
			if n, err := there.NewestRelease(t.Context()); err != nil || n != 2 {
				t.Fatalf("got %d, %v, want 2", n, err)
			}
			cancel()
			for range heard {
			}
		})
	}
}

func TestSubscribe_missesNothingWhileTheConnectionWasLost(t *testing.T) {
	url, inner := realRedis(t), &shelf{}
	c := rediscache.NewCatalog(inner, rediscache.Options{Redis: connect(t, url), PointerLife: time.Hour})
	inner.release()
	heard := c.Subscribe(t.Context())
	if n := <-heard; n != 1 {
		t.Fatalf("heard %d, want 1", n)
	}
	direct := connect(t, url)
	for subscribed := false; !subscribed; { // until the subscription stands, so that there is something to cut
		n, err := direct.PubSubNumSub(t.Context(), "recipes:released").Result()
		if err != nil {
			t.Fatal(err)
		}
		subscribed = n["recipes:released"] == 1
	}
	inner.release() // and its announcement is lost
	if err := direct.Do(t.Context(), "CLIENT", "KILL", "TYPE", "pubsub").Err(); err != nil {
		t.Fatal(err)
	}
	if n := <-heard; n != 2 {
		t.Fatalf("heard %d after the connection came back, want 2", n)
	}
}

func TestSubscribe_worksWithoutRedis(t *testing.T) {
	for name, client := range map[string]*redis.Client{"none": nil, "dead": connect(t, deadRedis(t))} {
		t.Run(name, func(t *testing.T) {
			inner := &shelf{}
			c := rediscache.NewCatalog(inner, rediscache.Options{Redis: client, PointerLife: time.Millisecond})
			heard := c.Subscribe(t.Context())
			inner.release()
			if n := <-heard; n != 1 {
				t.Fatalf("heard %d, want 1", n)
			}
		})
	}
}
