package rediscache

import (
	"context"
	"time"

	"github.com/redis/go-redis/v9"
)

// Announce says that a release was made: this process asks for the newest number anew, and so do all others that can
// be reached. It is no fault if none can: the others look for themselves every PointerLife.
func (c *Catalog) Announce(ctx context.Context, number int64) {
	c.news.Add(1)
	c.far.publish(ctx, number)
}

// Subscribe gives the number of each newest release that this process learns of, from wherever it was made, until ctx
// ends; then the channel closes. Numbers rise, and a slow reader misses all but the last. With a Redis that is away, or
// none, news takes up to twice PointerLife. The first number is the one that stands at the start, if there is any.
func (c *Catalog) Subscribe(ctx context.Context) <-chan int64 {
	out := make(chan int64, 1)
	go c.listen(ctx, out)
	return out
}

func (c *Catalog) listen(ctx context.Context, out chan int64) {
	defer close(out)
	var heard <-chan any // stays nil, and silent, without Redis
	if c.far.redis != nil {
		sub := c.far.redis.Subscribe(ctx, channel)
		defer sub.Close()
		heard = sub.ChannelWithSubscriptions()
	}
	look := time.NewTicker(c.life)
	defer look.Stop()
	var last int64
	for {
		// The number that was heard is only a reason to look: anybody who reaches Redis could have said it.
		if newest, err := c.NewestRelease(ctx); err == nil && newest > last {
			last = newest
			select {
			case <-out: // a number that nobody fetched yet gives way
			default:
			}
			out <- newest // never waits: nobody else sends, and there is room for one
		}
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		case event, ok := <-heard:
			if !ok {
				heard = nil
				continue
			}
			switch event.(type) {
			// A subscription is told at the start and after every lost connection; what was said in between is lost, so
			// it counts as news. Everything but the newest number never changes and needs no invalidation.
			case *redis.Message, *redis.Subscription:
				c.news.Add(1)
			}
		}
	}
}
