package rpc

import "sync"

// Hub tells watchers that a release exists. It carries numbers only and may lose them: a watcher asks the catalog for
// whatever is above the number it knows, so a lost message costs time, never a release.
type Hub struct {
	mu      sync.Mutex
	waiting map[chan int64]struct{}
	closed  bool
}

// Tell wakes every watcher; it never blocks.
func (h *Hub) Tell(number int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.waiting {
		select {
		case c <- number:
		default: // it is awake already
		}
	}
}

// Listen gives a channel of numbers and the act that ends it. The channel closes when the hub does.
func (h *Hub) Listen() (<-chan int64, func()) {
	c := make(chan int64, 1)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		close(c)
		return c, func() {}
	}
	if h.waiting == nil {
		h.waiting = map[chan int64]struct{}{}
	}
	h.waiting[c] = struct{}{}
	return c, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.waiting, c)
	}
}

// Close ends every watch, so that a server that stops does not cut its streams.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for c := range h.waiting {
		close(c)
	}
	h.waiting = nil
}
