package rpc

import (
	"context"
	"hash/maphash"
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
	// breath is how long news waits once nobody releases any more: the answer is on its way before ten thousand others
	// want the processor, and releases made one after the other are told together.
	breath = 10 * time.Millisecond
	// longestAct is how long news waits at most for those who release.
	longestAct = 250 * time.Millisecond
	// lookAgain is how soon the catalog is read again after it could not be.
	lookAgain = time.Second
)

// Hub tells watchers when a release exists. What it is told itself is only a reason to look: it reads the catalog once
// for all watchers, from the number that it knows, so a lost message costs time, never a release. All watchers look at
// the same list, and one that is slow finds there whatever it missed.
type Hub struct {
	catalog recipes.Catalog
	log     *zap.Logger
	told    chan struct{} // holds one reason to look
	acts    atomic.Int64  // releases being made now
	acted   chan struct{} // told when there are none any more
	line    atomic.Pointer[[]announced]
	closed  atomic.Bool
	seed    maphash.Seed
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

// NewHub makes a hub; it does nothing until Run.
func NewHub(catalog recipes.Catalog, log *zap.Logger) *Hub {
	h := &Hub{catalog: catalog, log: log, told: make(chan struct{}, 1), acted: make(chan struct{}, 1), seed: maphash.MakeSeed()}
	h.Tell()
	return h
}

// Tell says that there may be a new release; it never blocks.
func (h *Hub) Tell() { nudge(h.told) }

// nudge leaves a word in a channel that holds one; where one lies there already it says enough.
func nudge(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}

// act says that somebody is making a release: until done they are served first, and news waits.
func (h *Hub) act() (done func()) {
	h.acts.Add(1)
	return func() {
		if h.acts.Add(-1) == 0 {
			nudge(h.acted)
		}
	}
}

// settle waits until nobody makes a release, and a breath more.
func (h *Hub) settle(ctx context.Context) error {
	most := time.After(longestAct)
	for waiting := true; waiting && h.acts.Load() > 0; {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-h.acted:
		case <-most:
			waiting = false
		}
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(breath):
		return nil
	}
}

// Close ends every watch, so that a server that stops does not cut its streams.
func (h *Hub) Close() {
	h.closed.Store(true)
	for i := range h.bench {
		for _, w := range h.bench[i].all() {
			w.stop(nil)
		}
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
			if h.settle(ctx) != nil {
				return
			}
			if err := h.look(ctx); err != nil && ctx.Err() == nil {
				h.log.Warn("watchers can not be told of releases, since the catalog can not be read; it is tried again", zap.String("room", room), zap.Error(err))
				time.AfterFunc(lookAgain, h.Tell)
			}
		case <-tick.C:
			h.bench[turn%benches].tell(true)
			turn++
		}
	}
}

// look reads what is new, once, and tells everybody.
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
	for i := range h.bench {
		h.bench[i].tell(false)
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
