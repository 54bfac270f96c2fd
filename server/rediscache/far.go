package rediscache

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/redis/go-redis/v9"
	"go.uber.org/zap"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const (
	patience = 100 * time.Millisecond // for one answer of Redis: reading SQL instead takes a few
	rest     = 5 * time.Second        // how long a Redis that failed is left alone
	quiet    = time.Minute            // between two lines in the log about it
)

// Connect makes a client that gives up soon and does not try again: the inner catalog is near. url is "redis://…",
// "rediss://…" or "unix://…". Nothing is dialled yet. Fault Invalid/REDIS_ADDRESS_INVALID.
func Connect(url string) (*redis.Client, error) {
	o, err := redis.ParseURL(url)
	if err != nil {
		// The driver's error repeats the address, which may hold a password: it is dropped.
		return nil, fault.New(fault.Invalid, "rediscache", "REDIS_ADDRESS_INVALID", "The address of Redis can not be read; one looks like redis://host:6379/0.")
	}
	o.DialTimeout, o.ReadTimeout, o.WriteTimeout, o.PoolTimeout = patience, patience, patience, patience
	o.MaxRetries, o.DialerRetries, o.ContextTimeoutEnabled = -1, 1, true
	return redis.NewClient(o), nil
}

// atDoor makes a Fault of what is none yet: whoever waits for another's reading may be told to stop waiting.
func atDoor(err error) error {
	if _, ok := fault.As(err); ok || err == nil {
		return err
	}
	return fault.New(fault.Unavailable, "rediscache", "ASKED_TOO_LONG", "The answer took too long. Try again in a moment.").Because(err)
}

// far is the layer in Redis. Nothing in it is ever a fault.
type far struct {
	redis   *redis.Client
	counted counted
	log     *zap.Logger
	now     func() time.Time
	resting atomic.Int64 // unix nanoseconds until which Redis is left alone; 0 is not at all
	said    atomic.Int64 // when the log was written last
}

// sealed reads bytes and checks them; ok is false where the inner catalog has to be asked.
func (f *far) sealed(ctx context.Context, digest recipes.Digest) (s recipes.Sealed, ok bool) {
	if !f.willing() {
		return s, false
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	content, err := f.redis.Get(ctx, sealedKey(digest)).Bytes()
	switch {
	case errors.Is(err, redis.Nil):
		f.well()
		f.counted.redisMiss.Inc()
		return s, false
	case err != nil:
		f.failed("read", err)
		return s, false
	}
	f.well()
	s, err = recipes.Unseal(content, digest)
	if err != nil {
		f.counted.redisAltered.Inc()
		f.log.Warn("an altered record was dropped from redis", zap.String("room", "rediscache"), zap.Stringer("digest", digest))
		if err := f.redis.Del(ctx, sealedKey(digest)).Err(); err != nil {
			f.failed("drop", err)
		}
		return s, false
	}
	f.counted.redisHit.Inc()
	return s, true
}

// keep shares bytes with other processes. Content that stands there already is the same, or altered and dropped soon.
func (f *far) keep(ctx context.Context, s recipes.Sealed) {
	if !f.willing() {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if err := f.redis.Set(ctx, sealedKey(s.Digest()), s.Content(), 0).Err(); err != nil {
		f.failed("write", err)
		return
	}
	f.well()
}

// publish tells other processes of a release.
func (f *far) publish(ctx context.Context, number int64) {
	if !f.willing() {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if err := f.redis.Publish(ctx, channel, number).Err(); err != nil {
		f.failed("publish", err)
		return
	}
	f.well()
}

// willing reports whether Redis may be asked. After a rest one asker goes first, and the others only once it came back.
func (f *far) willing() bool {
	if f.redis == nil {
		return false
	}
	until := f.resting.Load()
	if until == 0 {
		return true
	}
	now := f.now()
	if now.UnixNano() >= until && f.resting.CompareAndSwap(until, now.Add(rest).UnixNano()) {
		return true
	}
	f.counted.redisResting.Inc()
	return false
}

func (f *far) well() {
	if f.resting.Load() != 0 {
		f.resting.Store(0)
	}
}

func (f *far) failed(act string, err error) {
	f.counted.redisAway.Inc()
	if errors.Is(err, context.Canceled) {
		return // the asker went away; that says nothing about Redis
	}
	now := f.now()
	f.resting.Store(now.Add(rest).UnixNano())
	last := f.said.Load()
	if (last == 0 || now.UnixNano()-last >= int64(quiet)) && f.said.CompareAndSwap(last, now.UnixNano()) {
		f.log.Warn("redis does not answer; everything is read from the store", zap.String("room", "rediscache"), zap.String("act", act), zap.Error(err))
	}
}

// counted is recipes_cache_reads_total{layer,result}.
type counted struct {
	memoryHit, memoryMiss, redisHit, redisMiss, redisAltered, redisAway, redisResting, store prometheus.Counter
}

func newCounted(registry prometheus.Registerer) counted {
	reads := prometheus.NewCounterVec(prometheus.CounterOpts{
		Name: "recipes_cache_reads_total",
		Help: "Reads of approved records by layer (memory, redis, store) and result (hit, miss, altered, away, resting).",
	}, []string{"layer", "result"})
	if registry != nil {
		var already prometheus.AlreadyRegisteredError
		if err := registry.Register(reads); errors.As(err, &already) {
			if same, ok := already.ExistingCollector.(*prometheus.CounterVec); ok {
				reads = same
			}
		}
	}
	return counted{
		memoryHit: reads.WithLabelValues("memory", "hit"), memoryMiss: reads.WithLabelValues("memory", "miss"),
		redisHit: reads.WithLabelValues("redis", "hit"), redisMiss: reads.WithLabelValues("redis", "miss"),
		redisAltered: reads.WithLabelValues("redis", "altered"), redisAway: reads.WithLabelValues("redis", "away"),
		redisResting: reads.WithLabelValues("redis", "resting"), store: reads.WithLabelValues("store", "hit"),
	}
}
