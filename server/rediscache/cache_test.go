package rediscache_test

import (
	"context"
	"errors"
	"net"
	"os/exec"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/redis/go-redis/v9"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/server/rediscache"
)

// shelf is an inner catalog in memory that counts how often it is asked.
type shelf struct {
	recipes.Catalog // what these tests never ask
	mu              sync.Mutex
	bytes           map[recipes.Digest]recipes.Sealed
	releases        []recipes.SignedRelease
	asked           atomic.Int64
	hold            chan struct{} // if set, NewestRelease answers what it read only after this closes
	reading         chan struct{} // told when it has read
}

func (s *shelf) Sealed(_ context.Context, d recipes.Digest) (recipes.Sealed, error) {
	s.asked.Add(1)
	s.mu.Lock()
	defer s.mu.Unlock()
	b, ok := s.bytes[d]
	if !ok {
		return b, fault.New(fault.NotFound, "recipes", "REVISION_NOT_FOUND", "There is none.")
	}
	return b, nil
}

func (s *shelf) Revision(_ context.Context, record recipes.RecordName, number int64) (recipes.RevisionRow, error) {
	s.asked.Add(1)
	return recipes.RevisionRow{Record: record, Number: number}, nil
}

func (s *shelf) Releases(_ context.Context, above int64) ([]recipes.SignedRelease, error) {
	s.asked.Add(1)
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.releases[above:], nil
}

func (s *shelf) NewestRelease(context.Context) (int64, error) {
	s.asked.Add(1)
	s.mu.Lock()
	n := int64(len(s.releases))
	s.mu.Unlock()
	if s.hold != nil {
		s.reading <- struct{}{}
		<-s.hold
	}
	return n, nil
}

func (s *shelf) add(text string) recipes.Sealed {
	b := recipes.SealBytes([]byte(text))
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.bytes == nil {
		s.bytes = map[recipes.Digest]recipes.Sealed{}
	}
	s.bytes[b.Digest()] = b
	return b
}

func (s *shelf) release() int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := int64(len(s.releases) + 1)
	s.releases = append(s.releases, recipes.SignedRelease{Release: recipes.Release{Number: n}, Sealed: recipes.SealBytes([]byte{byte(n)})})
	return n
}

// commands counts what a client sends.
type commands struct{ n atomic.Int64 }

func (c *commands) DialHook(next redis.DialHook) redis.DialHook { return next }
func (c *commands) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		c.n.Add(1)
		return next(ctx, cmd)
	}
}
func (c *commands) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return next
}

func connect(t testing.TB, url string) *redis.Client {
	t.Helper()
	c, err := rediscache.Connect(url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

// realRedis starts a server of its own on a socket; the test is skipped where Redis is not installed.
func realRedis(t testing.TB) string {
	t.Helper()
	program, err := exec.LookPath("redis-server")
	if err != nil {
		t.Skip("redis-server is not installed, so the cache is not tested against it here.")
	}
	socket := filepath.Join(t.TempDir(), "s")
	server := exec.Command(program, "--port", "0", "--unixsocket", socket, "--save", "", "--dir", filepath.Dir(socket))
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		server.Process.Kill()
		server.Wait()
	})
	ready := redis.NewClient(&redis.Options{Network: "unix", Addr: socket, MaxRetries: 200, MinRetryBackoff: 10 * time.Millisecond, MaxRetryBackoff: 50 * time.Millisecond})
	defer ready.Close()
	if err := ready.Ping(t.Context()).Err(); err != nil {
		t.Fatal(err)
	}
	return "unix://" + socket
}

// deadRedis is an address where nobody listens.
func deadRedis(t testing.TB) string {
	t.Helper()
	return "unix://" + filepath.Join(t.TempDir(), "nobody")
}

func TestWarm_asksNeitherSQLNorRedis(t *testing.T) {
	inner, sent := &shelf{}, &commands{}
	client := connect(t, "redis://"+miniredis.RunT(t).Addr())
	client.AddHook(sent)
	c := rediscache.NewCatalog(inner, rediscache.Options{Redis: client, Now: func() time.Time { return time.Unix(1, 0) }})
	b := inner.add("glimmer")
	inner.release()
	pull := func() {
		t.Helper()
		s, err := c.Sealed(t.Context(), b.Digest())
		_, err2 := c.Revision(t.Context(), "recipes/glimmer", 3)
		n, err3 := c.NewestRelease(t.Context())
		list, err4 := c.Releases(t.Context(), 0)
		if err := errors.Join(err, err2, err3, err4); err != nil || s != b || n != 1 || len(list) != 1 {
			t.Fatalf("got %v, release %d, %d releases, %v", s, n, len(list), err)
		}
	}
	pull()
	asked, commanded := inner.asked.Load(), sent.n.Load()
	if asked != 4 || commanded < 2 { // a read and a write, beside what a new connection says
		t.Fatalf("cold: the store was asked %d times, redis %d; want 4 and at least 2", asked, commanded)
	}
	for range 100 {
		pull()
	}
	if inner.asked.Load() != asked || sent.n.Load() != commanded {
		t.Fatalf("warm: the store was asked %d times more, redis %d; want 0", inner.asked.Load()-asked, sent.n.Load()-commanded)
	}
}

func TestSealed_isSharedThroughRedisAndCheckedOnTheWay(t *testing.T) {
	server, registry := miniredis.RunT(t), prometheus.NewRegistry()
	inner := &shelf{}
	b := inner.add("150 degrees")
	fresh := func() *rediscache.Catalog {
		return rediscache.NewCatalog(inner, rediscache.Options{Redis: connect(t, "redis://"+server.Addr()), Registry: registry})
	}
	read := func(wantAsked int64) {
		t.Helper()
		if s, err := fresh().Sealed(t.Context(), b.Digest()); err != nil || s != b {
			t.Fatalf("got %v, %v", s, err)
		}
		if n := inner.asked.Load(); n != wantAsked {
			t.Fatalf("the store was asked %d times, want %d", n, wantAsked)
		}
	}
	read(1)
	read(1) // another process: from Redis
	key := "recipes:sealed:sha256:" + b.Digest().String()
	if ttl := server.TTL(key); ttl != 0 {
		t.Fatalf("the key lives %v; bytes under their digest never grow old", ttl)
	}
	if err := server.Set(key, "280 degrees"); err != nil {
		t.Fatal(err)
	}
	read(2) // altered: dropped and read from the store
	if mended, err := server.Get(key); err != nil || mended != "150 degrees" {
		t.Fatalf("redis holds %q, %v; want the true bytes", mended, err)
	}
	read(2)
	for labels, want := range map[[2]string]float64{{"redis", "altered"}: 1, {"redis", "hit"}: 2, {"redis", "miss"}: 1, {"store", "hit"}: 2, {"memory", "miss"}: 4} {
		if got := counterOf(t, registry, labels); got != want {
			t.Errorf("counted %v %v times, want %v", labels, got, want)
		}
	}
	if n, err := testutil.GatherAndCount(registry, "recipes_cache_reads_total"); err != nil || n == 0 {
		t.Fatalf("the metric is not registered: %v", err)
	}
}

func counterOf(t *testing.T, registry *prometheus.Registry, labels [2]string) float64 {
	t.Helper()
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range families {
		for _, m := range f.GetMetric() {
			if l := m.GetLabel(); l[0].GetValue() == labels[0] && l[1].GetValue() == labels[1] {
				return m.GetCounter().GetValue()
			}
		}
	}
	return 0
}

func TestSealed_thatIsNotThereIsAskedAgain(t *testing.T) {
	inner := &shelf{}
	c := rediscache.NewCatalog(inner, rediscache.Options{})
	late := recipes.SealBytes([]byte("late"))
	if _, err := c.Sealed(t.Context(), late.Digest()); !fault.Is(err, fault.NotFound) {
		t.Fatalf("got %v, want NotFound", err)
	}
	inner.add("late")
	if _, err := c.Sealed(t.Context(), late.Digest()); err != nil {
		t.Fatal(err)
	}
}

func TestDeadRedis_isLeftAlone_andSaidOnceAMinute(t *testing.T) {
	inner := &shelf{}
	core, lines := observer.New(zap.WarnLevel)
	clock := time.Unix(1000, 0)
	client, dialled := redis.NewClient(&redis.Options{MaxRetries: -1, DialerRetries: 1, Dialer: nil}), 0
	client.Options().Dialer = func(context.Context, string, string) (net.Conn, error) {
		dialled++
		return nil, errors.New("nobody there")
	}
	t.Cleanup(func() { client.Close() })
	c := rediscache.NewCatalog(inner, rediscache.Options{Redis: client, Log: zap.New(core), Now: func() time.Time { return clock }})
	read := func(text string) {
		t.Helper()
		b := inner.add(text)
		if s, err := c.Sealed(t.Context(), b.Digest()); err != nil || s != b {
			t.Fatalf("got %v, %v", s, err)
		}
	}
	for i := range 20 {
		read(string(rune('a' + i)))
	}
	if dialled != 1 {
		t.Fatalf("a dead redis was dialled %d times, want 1", dialled)
	}
	clock = clock.Add(10 * time.Second)
	read("later")
	read("later still")
	if dialled != 2 || lines.Len() != 1 {
		t.Fatalf("dialled %d times, said %d times; want 2 and 1", dialled, lines.Len())
	}
	clock = clock.Add(time.Minute)
	read("a minute later")
	if lines.Len() != 2 {
		t.Fatalf("said %d times, want 2", lines.Len())
	}
}

func TestNewestRelease_readBeforeTheNewsIsNotBelievedAfterIt(t *testing.T) {
	inner := &shelf{hold: make(chan struct{}), reading: make(chan struct{}, 9)}
	c := rediscache.NewCatalog(inner, rediscache.Options{PointerLife: time.Hour})
	old := make(chan int64)
	go func() {
		n, err := c.NewestRelease(context.Background())
		if err != nil {
			t.Error(err)
		}
		old <- n
	}()
	<-inner.reading // it has read 0, and is on its way back
	n := inner.release()
	c.Announce(t.Context(), n)
	close(inner.hold)
	if got := <-old; got != 0 {
		t.Fatalf("got %d, want the 0 that was read", got)
	}
	if got, err := c.NewestRelease(t.Context()); err != nil || got != 1 {
		t.Fatalf("got %d, %v after the news, want 1", got, err)
	}
}

func TestNewestRelease_isReadAnewAfterPointerLife(t *testing.T) {
	inner, clock := &shelf{}, time.Unix(1, 0)
	c := rediscache.NewCatalog(inner, rediscache.Options{PointerLife: time.Second, Now: func() time.Time { return clock }})
	for _, step := range []struct {
		after time.Duration
		want  int64
	}{{0, 0}, {999 * time.Millisecond, 0}, {time.Millisecond, 2}} {
		clock = clock.Add(step.after)
		if n, err := c.NewestRelease(t.Context()); err != nil || n != step.want {
			t.Fatalf("got %d, %v, want %d", n, err, step.want)
		}
		inner.release()
	}
}

func TestReleases_beyondTheirRoomAreReadFromTheStore(t *testing.T) {
	inner := &shelf{}
	for range 50 {
		inner.release()
	}
	c := rediscache.NewCatalog(inner, rediscache.Options{MemoryBytes: 1})
	for _, above := range []int64{0, 49, 50, -3} {
		list, err := c.Releases(t.Context(), above)
		if want := 50 - int(max(above, 0)); err != nil || len(list) != want {
			t.Fatalf("above %d: got %d, %v, want %d", above, len(list), err, want)
		}
	}
}

func TestConnect_refusesAnAddressWithoutRepeatingIt(t *testing.T) {
	_, err := rediscache.Connect("secret@nowhere")
	if f, ok := fault.As(err); !ok || f.Kind != fault.Invalid || f.Cause != nil {
		t.Fatalf("got %v, want Invalid without a cause", err)
	}
}

func BenchmarkSealed(b *testing.B) {
	inner := &shelf{}
	s := inner.add(string(make([]byte, 8<<10)))
	b.Run("memory", func(b *testing.B) {
		c := rediscache.NewCatalog(inner, rediscache.Options{})
		b.ReportAllocs()
		for b.Loop() {
			if _, err := c.Sealed(b.Context(), s.Digest()); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("redis", func(b *testing.B) {
		client := connect(b, realRedis(b))
		key, warm := s.Digest(), rediscache.NewCatalog(inner, rediscache.Options{Redis: client})
		if _, err := warm.Sealed(b.Context(), key); err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			// A new catalog knows nothing yet; making it costs a few microseconds that are counted too.
			if _, err := rediscache.NewCatalog(inner, rediscache.Options{Redis: client}).Sealed(b.Context(), key); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func TestNewestRelease_doesNotWaitLongerThanItsAsker(t *testing.T) {
	inner := &shelf{hold: make(chan struct{}), reading: make(chan struct{}, 1)}
	c := rediscache.NewCatalog(inner, rediscache.Options{})
	done := make(chan error)
	go func() {
		_, err := c.NewestRelease(context.Background())
		done <- err
	}()
	<-inner.reading
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := c.NewestRelease(ctx); !fault.Is(err, fault.Unavailable) || !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v, want Unavailable because of the end of the context", err)
	}
	close(inner.hold)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
}
