package rpc

import (
	"hash/maphash"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/peer"

	"evenpeel/recipes"
)

const (
	// benches is how many groups the watchers sit in. They are told one group after the other, and each has its heartbeat
	// at its own instant: ten thousand that want the processor at once would keep everybody else waiting.
	benches = 100
	// patience is how long somebody who takes no message keeps those behind them waiting.
	patience = 5 * time.Millisecond
)

// watcher is one stream. Its call sleeps; whoever has news sends it from where they are, which spares waking ten
// thousand goroutines that would each send one message and sleep again.
type watcher struct {
	hub    *Hub
	stream grpc.ServerStream
	branch string
	market recipes.Market
	ended  chan error // holds what the stream ends with

	due  atomic.Bool // there may be something to send
	beat atomic.Bool // if it is nothing else, a heartbeat
	turn sync.Mutex  // held by whoever sends
	// known is the newest release that the watcher was told of or that does not reach it; whoever has the turn uses it.
	known int64
	place int // on the bench, under its lock
}

// tell sends what the watcher has not been told. It does not wait for somebody who sends already: they look again.
func (w *watcher) tell(beat bool) {
	if beat {
		w.beat.Store(true)
	}
	for w.due.Store(true); w.due.Load() && w.turn.TryLock(); w.turn.Unlock() {
		if !w.due.Swap(false) {
			continue
		}
		if err := w.send(); err != nil {
			w.stop(err)
		}
	}
}

func (w *watcher) send() error {
	beat := w.beat.Swap(false)
	for _, a := range w.hub.after(w.known) {
		if a.reaches(w.branch, w.market) {
			if err := a.message.send(w.stream); err != nil {
				return err
			}
			beat = false
		}
		w.known = a.number
	}
	if beat {
		return beatMessage.send(w.stream)
	}
	return nil
}

// stop ends the stream, with the first reason that comes.
func (w *watcher) stop(err error) {
	select {
	case w.ended <- err:
	default:
	}
}

// bench is a group of watchers.
type bench struct {
	mu     sync.Mutex
	seated []*watcher
}

// sit gives a watcher its bench. All of one connection sit together: what they are sent at the same time goes out in
// one write.
func (h *Hub) sit(w *watcher) *bench {
	connection := ""
	if p, ok := peer.FromContext(w.stream.Context()); ok {
		connection = p.Addr.String()
	}
	b := &h.bench[maphash.String(h.seed, connection)%benches]
	b.mu.Lock()
	defer b.mu.Unlock()
	w.place = len(b.seated)
	b.seated = append(b.seated, w)
	return b
}

// getUp takes a watcher away, for good once nobody sends to it any more: a stream must not be used after its call.
func (b *bench) getUp(w *watcher) {
	b.mu.Lock()
	last := len(b.seated) - 1
	b.seated[w.place] = b.seated[last]
	b.seated[w.place].place = w.place
	b.seated[last] = nil
	b.seated = b.seated[:last]
	b.mu.Unlock()
	w.turn.Lock() // and it stays locked
}

func (b *bench) all() []*watcher {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.seated)
}

// tell tells everybody there. It waits until all have been reached, but not for those who do not take their message:
// whoever sends to them stays behind, and others go on with the rest, twice as many each time.
func (b *bench) tell(beat bool) {
	list := b.all()
	if len(list) == 0 {
		return
	}
	var next atomic.Int64
	reached := make(chan struct{})
	send := func() {
		for {
			i := int(next.Add(1))
			if i > len(list) {
				return
			}
			list[i-1].tell(beat)
			if i == len(list) {
				close(reached)
			}
		}
	}
	timer := time.NewTimer(patience)
	defer timer.Stop()
	for senders := 1; ; senders *= 2 {
		for range senders {
			go send()
		}
		for stuck := false; !stuck; {
			before := next.Load()
			timer.Reset(patience)
			select {
			case <-reached:
				return
			case <-timer.C:
			}
			now := next.Load()
			if now >= int64(len(list)) { // the last ones are being sent to
				return
			}
			stuck = now == before
		}
	}
}
