package rpc

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"go.uber.org/zap"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
)

const (
	// heartbeat is how often a quiet watch says that it lives; below the half minute after which proxies cut a stream.
	heartbeat = 20 * time.Second
	// benches is how many groups the watchers sit in. They are woken one group after the other, each once the one before
	// has sent its messages, and each has its heartbeat at its own instant: ten thousand that want the processor at once
	// would keep everybody else waiting.
	benches = 100
	// patience is how long the next group waits for one with somebody slow in it.
	patience = 5 * time.Millisecond
	// breath is how long news waits before it is told: whoever made the release gets their answer before ten thousand
	// others want the processor, and releases made one after the other are told together.
	breath = 10 * time.Millisecond
	// lookAgain is how soon the catalog is read again after it could not be.
	lookAgain = time.Second
)

// Hub wakes watchers when a release exists. What it is told is only a reason to look: it reads the catalog once for all
// watchers, from the number that it knows, so a lost message costs time, never a release. A watcher costs it nothing:
// all sleep on the same few channels and look at the same list when they wake, and one that is slow finds there
// whatever it missed.
type Hub struct {
	catalog recipes.Catalog
	log     *zap.Logger
	told    chan struct{} // holds one reason to look
	line    atomic.Pointer[[]announced]
	closed  atomic.Bool
	seated  atomic.Uint64
	bench   [benches]bench
}

// announced is one release as watchers are told of it.
type announced struct {
	number   int64
	markets  []recipes.Market
	branches map[string]bool // nil is all of the markets
	message  *message
}

// message is one that everybody is sent: encoded and framed once.
type message struct {
	raw      Raw
	once     sync.Once
	prepared grpc.PreparedMsg
	err      error
}

func (m *message) send(stream grpc.ServerStream) error {
	m.once.Do(func() { m.err = m.prepared.Encode(stream, &m.raw) })
	if m.err != nil { // not on a stream of the library's own
		return stream.SendMsg(&m.raw)
	}
	return stream.SendMsg(&m.prepared)
}

func (a *announced) reaches(branch string, market recipes.Market) bool {
	return branch == "" || slices.Contains(a.markets, market) && (a.branches == nil || a.branches[branch])
}

// bench is a group of watchers.
type bench struct {
	beats  atomic.Uint64 // heartbeats so far
	bell   atomic.Pointer[chan struct{}]
	seated atomic.Int64
	busy   atomic.Int64  // how many have not sent yet what they were woken for
	rested chan struct{} // told when that was all
}

// wake rings and waits until everybody there has sent, or has taken too long.
func (b *bench) wake(timer *time.Timer) {
	n := b.seated.Load()
	b.busy.Store(n)
	select {
	case <-b.rested:
	default:
	}
	b.ring()
	if n == 0 {
		return
	}
	timer.Reset(patience)
	select {
	case <-b.rested:
	case <-timer.C:
	}
}

// rest says that one watcher has sent what there was.
func (b *bench) rest() {
	if b.busy.Add(-1) == 0 {
		select {
		case b.rested <- struct{}{}:
		default:
		}
	}
}

// ring wakes the bench: everybody sleeps until the bell's channel closes, and whoever comes later takes the next one.
func (b *bench) ring() {
	next := make(chan struct{})
	if old := b.bell.Swap(&next); old != nil {
		close(*old)
	}
}

// NewHub makes a hub; it does nothing until Run.
func NewHub(catalog recipes.Catalog, log *zap.Logger) *Hub {
	h := &Hub{catalog: catalog, log: log, told: make(chan struct{}, 1)}
	for i := range h.bench {
		h.bench[i].rested = make(chan struct{}, 1)
		h.bench[i].ring()
	}
	h.Tell()
	return h
}

// Tell says that there may be a new release; it never blocks.
func (h *Hub) Tell() {
	select {
	case h.told <- struct{}{}:
	default: // there is a reason to look already
	}
}

// Close ends every watch, so that a server that stops does not cut its streams.
func (h *Hub) Close() {
	h.closed.Store(true)
	for i := range h.bench {
		h.bench[i].ring()
	}
}

// Run looks when told and beats, until ctx ends.
func (h *Hub) Run(ctx context.Context) {
	tick := time.NewTicker(heartbeat / benches)
	defer tick.Stop()
	for turn := 0; ; {
		select {
		case <-ctx.Done():
			return
		case <-h.told:
			select {
			case <-ctx.Done():
				return
			case <-time.After(breath):
			}
			if err := h.look(ctx); err != nil && ctx.Err() == nil {
				h.log.Warn("watchers can not be told of releases, since the catalog can not be read; it is tried again", zap.String("room", room), zap.Error(err))
				time.AfterFunc(lookAgain, h.Tell)
			}
		case <-tick.C:
			b := &h.bench[turn%benches]
			b.beats.Add(1)
			b.ring()
			turn++
		}
	}
}

// look reads what is new, once, and wakes everybody.
func (h *Hub) look(ctx context.Context) error {
	var line []announced
	var known int64
	if last := h.line.Load(); last != nil && len(*last) > 0 {
		line, known = *last, (*last)[len(*last)-1].number
	}
	signed, err := h.catalog.Releases(ctx, known)
	if err != nil {
		return err
	}
	for _, r := range signed {
		a := announced{number: r.Release.Number, markets: r.Release.Markets}
		if len(r.Release.Branches) > 0 {
			a.branches = map[string]bool{}
			for _, b := range r.Release.Branches {
				a.branches[b] = true
			}
		}
		content, err := proto.Marshal(&recipesv1.WatchReleasesResponse{Release: r.Release.Number, EffectiveTime: timestamppb.New(r.Release.Effective)})
		if err != nil {
			return err
		}
		a.message = &message{raw: Raw{Parts: [][]byte{content}}}
		line = append(line, a) // readers know how much of it is theirs
	}
	first := h.line.Swap(&line) == nil
	if len(signed) == 0 && !first {
		return nil
	}
	timer := time.NewTimer(patience)
	defer timer.Stop()
	for i := range h.bench {
		h.bench[i].wake(timer)
	}
	return nil
}

// after gives what is above a number. The list is shared.
func (h *Hub) after(number int64) []announced {
	line := h.line.Load()
	if line == nil {
		return nil
	}
	from, found := slices.BinarySearchFunc(*line, number, func(a announced, n int64) int {
		switch {
		case a.number < n:
			return -1
		case a.number > n:
			return 1
		}
		return 0
	})
	if found {
		from++
	}
	return (*line)[from:]
}

// seat gives a watcher its bench; it gets up at the end.
func (h *Hub) seat() *bench {
	b := &h.bench[h.seated.Add(1)%benches]
	b.seated.Add(1)
	return b
}

func (b *bench) getUp() { b.seated.Add(-1) }
