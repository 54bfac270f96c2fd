package rpc

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"
	"testing"
	"time"

	"go.uber.org/zap"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

// listening is one watcher's stream: what it is sent goes into a channel, as slowly as somebody reads it.
type listening struct {
	grpc.ServerStream
	ctx context.Context
	got chan int64
}

func (l *listening) Context() context.Context { return l.ctx }

func (l *listening) Send(*recipesv1.WatchReleasesResponse) error {
	return errors.New("what everybody is sent is encoded once, not here")
}

func (l *listening) SendMsg(m any) error {
	var one recipesv1.WatchReleasesResponse
	for _, part := range m.(*Raw).Parts {
		if err := proto.Unmarshal(part, &one); err != nil {
			return err
		}
	}
	select {
	case l.got <- one.GetRelease():
		return nil
	case <-l.ctx.Done():
		return l.ctx.Err()
	}
}

// watching starts a watcher; ended gives what its stream ends with.
func watching(t *testing.T, s *catalogService, branch string, after int64) (got <-chan int64, ended <-chan error) {
	l := &listening{ctx: t.Context(), got: make(chan int64)}
	end := make(chan error, 1)
	go func() {
		end <- s.WatchReleases(&recipesv1.WatchReleasesRequest{Branch: branch, AfterRelease: after}, l)
	}()
	return l.got, end
}

// numbers reads until that many releases came, and gives them without heartbeats.
func numbers(got <-chan int64, count int) (list []int64) {
	for len(list) < count {
		if n := <-got; n > 0 {
			list = append(list, n)
		}
	}
	return list
}

func (a *archive) watched(t *testing.T) *catalogService {
	s := a.service(time.Now)
	s.h.Hub = NewHub(a, zap.NewNop())
	go s.h.Hub.Run(t.Context())
	return s
}

var toAll = recipes.Release{Effective: noon, Markets: []recipes.Market{"EU", "UK"}}

func TestWatch_aThousandAreToldByOneReading(t *testing.T) {
	a := newArchive()
	a.release(toAll)
	s := a.watched(t)
	var watchers []<-chan int64
	for range 1000 {
		got, _ := watching(t, s, "branches/a", 0)
		watchers = append(watchers, got)
	}
	for _, got := range watchers {
		if n := <-got; n != 0 {
			t.Fatalf("release %d came before the first heartbeat", n)
		}
		if list := numbers(got, 1); list[0] != 1 {
			t.Fatal(list)
		}
	}
	before := a.asked.Load()
	for n := int64(2); n < 5; n++ {
		a.release(toAll)
		s.h.Hub.Tell()
		for _, got := range watchers {
			if list := numbers(got, 1); list[0] != n {
				t.Fatalf("told %v, want %d", list, n)
			}
		}
	}
	if n := a.asked.Load() - before; n != 3 {
		t.Errorf("three releases were read %d times", n)
	}
}

func TestWatch_resumesAndHearsOnlyWhatReachesIt(t *testing.T) {
	a := newArchive()
	for _, r := range []recipes.Release{toAll, {Markets: []recipes.Market{"UK"}}, {Markets: []recipes.Market{"EU"}, Branches: []string{"branches/b"}}, toAll} {
		a.release(r)
	}
	s := a.watched(t)
	for _, row := range []struct {
		branch string
		after  int64
		want   []int64
	}{
		{"", 0, []int64{1, 2, 3, 4}}, {"", 2, []int64{3, 4}},
		{"branches/a", 0, []int64{1, 4}}, {"branches/b", 0, []int64{1, 3, 4}}, {"branches/c", 0, []int64{1, 2, 4}},
		{"branches/b", 3, []int64{4}}, {"branches/a", 99, nil},
	} {
		got, _ := watching(t, s, row.branch, row.after)
		if list := numbers(got, len(row.want)); !slices.Equal(list, row.want) {
			t.Errorf("%q after %d: told %v, want %v", row.branch, row.after, list, row.want)
		}
	}
	_, ended := watching(t, s, "branches/nowhere", 0)
	if err := <-ended; !fault.Is(err, fault.NotFound) {
		t.Error(err)
	}
}

// A watcher that reads nothing for a while holds nobody up and misses nothing.
func TestWatch_aSlowOneHoldsNobodyUp(t *testing.T) {
	a := newArchive()
	s := a.watched(t)
	slow, _ := watching(t, s, "", 0)
	quick, _ := watching(t, s, "", 0)
	var want []int64
	for n := int64(1); n <= 50; n++ {
		a.release(toAll)
		s.h.Hub.Tell()
		want = append(want, n)
		if list := numbers(quick, 1); list[0] != n {
			t.Fatal(list)
		}
	}
	if list := numbers(slow, 50); !slices.Equal(list, want) {
		t.Error(list)
	}
}

func TestWatch_beatsAndEndsWithTheHub(t *testing.T) {
	a := newArchive()
	s := a.watched(t)
	got, ended := watching(t, s, "", 0)
	<-got // the first
	for range 3 {
		for i := range s.h.Hub.bench {
			s.h.Hub.bench[i].beats.Add(1)
			s.h.Hub.bench[i].ring()
		}
		if n := <-got; n != 0 {
			t.Fatal(n)
		}
	}
	s.h.Hub.Close()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// A catalog that can not be read just now costs time, never a release.
func TestWatch_asksAgainWhereTheCatalogIsAway(t *testing.T) {
	a := newArchive()
	s := a.service(time.Now)
	away := &awayCatalog{archive: a, away: 1}
	s.h.Hub = NewHub(away, zap.NewNop())
	a.release(toAll)
	go s.h.Hub.Run(t.Context())
	got, _ := watching(t, s, "", 0)
	if list := numbers(got, 1); list[0] != 1 {
		t.Fatal(list)
	}
}

type awayCatalog struct {
	*archive
	mu   sync.Mutex
	away int
}

func (a *awayCatalog) Releases(ctx context.Context, above int64) ([]recipes.SignedRelease, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.away--; a.away >= 0 {
		return nil, fmt.Errorf("away: %w", io.ErrUnexpectedEOF)
	}
	return a.archive.Releases(ctx, above)
}
