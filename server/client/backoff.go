package client

import (
	"math/rand/v2"
	"time"
)

// Backoff says how long to wait before trying again. The wait is drawn evenly from nothing up to a bound that doubles
// (full jitter): when a server restarts, its thousands of clients come back spread out, not all at the same instant.
type Backoff struct {
	First time.Duration // bound of the first wait; 0 is half a second
	Most  time.Duration // largest bound; 0 is eight seconds
	Rand  *rand.Rand    // must be there
	tries int
}

// Next is how long to wait now.
func (b *Backoff) Next() time.Duration {
	first, most := b.First, b.Most
	if first <= 0 {
		first = time.Second / 2
	}
	if most <= 0 {
		most = 8 * time.Second
	}
	bound := most
	if b.tries < 30 && first<<b.tries < most {
		bound = first << b.tries
	}
	b.tries++
	return time.Duration(b.Rand.Int64N(int64(bound) + 1))
}

// Well says that it worked: the next wait begins small again.
func (b *Backoff) Well() { b.tries = 0 }
