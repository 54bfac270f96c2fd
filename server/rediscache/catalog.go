// Package rediscache is a recipes.Catalog in front of another one. It serves sealed bytes that were checked once from
// this process's memory, shares them between processes through Redis, and hears of new releases.
//
// Redis never changes an answer, only its speed. It holds nothing but bytes under their own digest, and every byte that
// comes from it is checked against that digest. Pointers, such as the number of the newest release, are kept in this
// process only and read from the inner catalog: a pointer in Redis that somebody altered could not be told from a true
// one, and branches would wait for a release that is there, or ask for one that is not.
//
// Room: rediscache
// Holds: Catalog, the keys in Redis
// May touch: recipes, recipes/fault, go.uber.org/zap, github.com/redis/go-redis/v9, github.com/maypok86/otter/v2, github.com/prometheus/client_golang
// Never: SQL, RPC, an answer that the inner catalog would not give, a clock it was not handed
package rediscache

import (
	"context"
	"slices"
	"sync/atomic"
	"time"

	"github.com/maypok86/otter/v2"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/redis/go-redis/v9"
	"go.uber.org/zap"

	"evenpeel/recipes"
)

// Options are what a Catalog is made with; all have a default.
type Options struct {
	Redis       *redis.Client         // nil: memory alone
	MemoryBytes int64                 // for sealed bytes; 64 MiB
	PointerLife time.Duration         // how long the newest number is believed without news; 2 s
	Log         *zap.Logger           // none
	Registry    prometheus.Registerer // none
	Now         func() time.Time      // time.Now
}

const (
	defaultMemory      = 64 << 20
	defaultPointerLife = 2 * time.Second
	entryOverhead      = 160   // bytes that an entry takes beside its content: digest, headers, the cache's own node
	rowsKept           = 4_096 // revision rows, a few hundred bytes each
	releasesShare      = 4     // releases may take a quarter of MemoryBytes on top
)

// Catalog is a recipes.Catalog with two layers in front of the inner one.
type Catalog struct {
	inner    recipes.Catalog
	sealed   *otter.Cache[recipes.Digest, recipes.Sealed]
	rows     *otter.Cache[rowKey, recipes.RevisionRow]
	far      *far
	counted  counted
	log      *zap.Logger
	now      func() time.Time
	life     time.Duration
	roomFor  int64         // bytes of releases
	turn     chan struct{} // holds one token: who has it may ask the inner catalog for releases
	news     atomic.Int64  // rises with every piece of news; see pointer
	newest   atomic.Pointer[pointer]
	silent   silence
	releases atomic.Pointer[[]recipes.SignedRelease] // 1, 2, 3 … as far as known; they never change
}

type rowKey struct {
	record recipes.RecordName
	number int64
}

// pointer is the newest number as it was read. News is what Catalog.news was before the reading began: a number that was
// read before news came, and arrives after it, is thereby old the moment it is stored.
type pointer struct {
	number int64
	news   int64
	read   time.Time
}

var _ recipes.Catalog = (*Catalog)(nil)

// NewCatalog puts a cache in front of a catalog.
func NewCatalog(inner recipes.Catalog, o Options) *Catalog {
	if o.MemoryBytes <= 0 {
		o.MemoryBytes = defaultMemory
	}
	if o.PointerLife <= 0 {
		o.PointerLife = defaultPointerLife
	}
	if o.Log == nil {
		o.Log = zap.NewNop()
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	c := &Catalog{
		inner: inner, counted: newCounted(o.Registry), log: o.Log, now: o.Now, life: o.PointerLife,
		roomFor: o.MemoryBytes / releasesShare, turn: make(chan struct{}, 1),
		sealed: otter.Must(&otter.Options[recipes.Digest, recipes.Sealed]{
			MaximumWeight: uint64(o.MemoryBytes),
			Weigher:       func(_ recipes.Digest, s recipes.Sealed) uint32 { return uint32(min(s.Size()+entryOverhead, 1<<31)) },
			Logger:        &otter.NoopLogger{},
		}),
		rows: otter.Must(&otter.Options[rowKey, recipes.RevisionRow]{MaximumSize: rowsKept, Logger: &otter.NoopLogger{}}),
	}
	c.far = &far{redis: o.Redis, counted: c.counted, log: o.Log, now: o.Now}
	c.releases.Store(&[]recipes.SignedRelease{})
	return c
}

// Sealed reads bytes by digest: from memory, else from Redis, else from the inner catalog. Many that ask for the same
// bytes at once cause one reading.
func (c *Catalog) Sealed(ctx context.Context, digest recipes.Digest) (recipes.Sealed, error) {
	if s, ok := c.sealed.GetIfPresent(digest); ok {
		c.counted.memoryHit.Inc()
		return s, nil
	}
	c.counted.memoryMiss.Inc()
	s, err := c.sealed.Get(ctx, digest, otter.LoaderFunc[recipes.Digest, recipes.Sealed](func(ctx context.Context, digest recipes.Digest) (recipes.Sealed, error) {
		if s, ok := c.far.sealed(ctx, digest); ok {
			return s, nil
		}
		c.counted.store.Inc()
		s, err := c.inner.Sealed(ctx, digest)
		if err == nil {
			c.far.keep(ctx, s)
		}
		return s, err
	}))
	return s, atDoor(err)
}

// Revision reads one row. One that has a number never changes and is kept; the newest is asked anew every time.
func (c *Catalog) Revision(ctx context.Context, record recipes.RecordName, number int64) (recipes.RevisionRow, error) {
	if number <= 0 {
		return c.inner.Revision(ctx, record, number)
	}
	key := rowKey{record, number}
	if row, ok := c.rows.GetIfPresent(key); ok {
		c.counted.memoryHit.Inc()
		return row, nil
	}
	c.counted.memoryMiss.Inc()
	row, err := c.rows.Get(ctx, key, otter.LoaderFunc[rowKey, recipes.RevisionRow](func(ctx context.Context, key rowKey) (recipes.RevisionRow, error) {
		c.counted.store.Inc()
		return c.inner.Revision(ctx, key.record, key.number)
	}))
	return row, atDoor(err)
}

// Revisions asks the inner catalog: whoever approved something wants to see it there at once.
func (c *Catalog) Revisions(ctx context.Context, record recipes.RecordName) ([]recipes.RevisionRow, error) {
	return c.inner.Revisions(ctx, record)
}

// Records asks the inner catalog, as Revisions does.
func (c *Catalog) Records(ctx context.Context, kind recipes.Kind) ([]recipes.RevisionRow, error) {
	return c.inner.Records(ctx, kind)
}

// NewestRelease is the number that was read last, as long as no news came and PointerLife has not passed. An inner catalog
// that is away is asked once a second, by one asker; the others are told at once that it is.
func (c *Catalog) NewestRelease(ctx context.Context) (int64, error) {
	if n, ok := c.known(); ok {
		c.counted.memoryHit.Inc()
		return n, nil
	}
	c.counted.memoryMiss.Inc()
	known, err := c.silent.mind(c.now())
	if err != nil {
		return 0, err
	}
	if err := c.take(ctx); err != nil {
		return 0, err
	}
	defer c.give()
	if n, ok := c.known(); ok { // somebody else asked while this one waited
		return n, nil
	}
	if err := c.silent.since(known); err != nil { // who had the turn waited in vain
		return 0, err
	}
	p := pointer{news: c.news.Load(), read: c.now()}
	c.counted.store.Inc()
	asking, stop := context.WithTimeout(ctx, storePatience)
	defer stop()
	if p.number, err = c.inner.NewestRelease(asking); err != nil {
		if ctx.Err() == nil {
			c.silent.note(err, c.now())
		}
		return 0, err
	}
	c.silent.over()
	c.newest.Store(&p)
	return p.number, nil
}

func (c *Catalog) known() (int64, bool) {
	p := c.newest.Load()
	if p == nil || p.news != c.news.Load() || c.now().Sub(p.read) >= c.life {
		return 0, false
	}
	return p.number, true
}

// Releases lists every release above a number. The list and what it points to are shared: only read them.
func (c *Catalog) Releases(ctx context.Context, above int64) ([]recipes.SignedRelease, error) {
	newest, err := c.NewestRelease(ctx)
	if err != nil {
		return nil, err
	}
	above = max(above, 0)
	if above >= newest {
		return nil, nil
	}
	list := *c.releases.Load()
	if int64(len(list)) < newest {
		c.counted.memoryMiss.Inc()
		if list, err = c.more(ctx, newest); err != nil {
			return nil, err
		}
	} else {
		c.counted.memoryHit.Inc()
	}
	if int64(len(list)) < newest { // more than may be kept
		c.counted.store.Inc()
		return c.inner.Releases(ctx, above)
	}
	return slices.Clone(list[above:]), nil
}

// more adds what is missing to the known releases, if there is room for them.
func (c *Catalog) more(ctx context.Context, newest int64) ([]recipes.SignedRelease, error) {
	if err := c.take(ctx); err != nil {
		return nil, err
	}
	defer c.give()
	list := *c.releases.Load()
	if int64(len(list)) >= newest || weight(list) >= c.roomFor {
		return list, nil
	}
	c.counted.store.Inc()
	asking, stop := context.WithTimeout(ctx, storePatience)
	defer stop()
	added, err := c.inner.Releases(asking, int64(len(list)))
	if err != nil {
		return nil, err
	}
	longer := slices.Concat(list, added)
	for i, r := range longer {
		if r.Release.Number != int64(i+1) {
			return list, nil // an inner catalog with gaps is not for keeping; it is asked every time
		}
	}
	if weight(longer) < c.roomFor {
		c.releases.Store(&longer)
	}
	return longer, nil
}

func weight(list []recipes.SignedRelease) (bytes int64) {
	for _, r := range list {
		// Opened, a release takes about as much once more as its sealed bytes.
		bytes += int64(2*r.Sealed.Size() + len(r.Signature) + entryOverhead)
	}
	return bytes
}

// take waits for the turn, or for the end of ctx.
func (c *Catalog) take(ctx context.Context) error {
	select {
	case c.turn <- struct{}{}:
		return nil
	case <-ctx.Done():
		return atDoor(ctx.Err())
	}
}

func (c *Catalog) give() { <-c.turn }
