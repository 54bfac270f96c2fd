package client

import (
	"math/rand/v2"
	"time"
)

// comeBackWithin is how long after a break the last client comes back. When a server restarts, ten thousand of them are
// a thousand a second, which leaves it time for everybody else.
const comeBackWithin = 10 * time.Second

// Backoff says how long to wait before trying again: the wait is drawn evenly from nothing up to a bound (full jitter),
// so that the thousands of clients of a server that restarts come back spread out, not all at the same instant.
type Backoff struct {
	Within time.Duration // the bound; 0 is ten seconds
	Rand   *rand.Rand    // must be there
}

// Next is how long to wait now.
func (b *Backoff) Next() time.Duration {
	within := b.Within
	if within <= 0 {
		within = comeBackWithin
	}
	return time.Duration(b.Rand.Int64N(int64(within) + 1))
}
