package access

import (
	"sync"
	"time"
)

// sessionCache spares the store one look per call. It lives so shortly that a session ended in another process is
// refused here within seconds.
type sessionCache struct {
	mu    sync.Mutex
	by    map[SessionHash]*cached
	drops int // counts drops: a look begun before a drop must not bring the old row back
}

type cached struct {
	person  Person
	session Session
	read    time.Time
}

func (c *sessionCache) read(hash SessionHash, now time.Time) (Person, Session, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.by[hash]
	// A clock that went back must not keep an entry for long.
	if !ok || now.Sub(e.read) >= cacheLife || now.Before(e.read) {
		return Person{}, Session{}, false
	}
	return e.person, e.session, true
}

func (c *sessionCache) mark() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.drops
}

func (c *sessionCache) keep(p Person, s Session, now time.Time, mark int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.drops != mark {
		return
	}
	if len(c.by) >= mostCached {
		clear(c.by) // rows live two seconds: starting afresh costs little
	}
	c.by[s.Hash] = &cached{p, s, now}
}

// see notes the use; false where another call has noted it just now.
func (c *sessionCache) see(hash SessionHash, now time.Time) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.by[hash]
	if !ok {
		return true
	}
	if now.Sub(e.session.Seen) < seeEvery {
		return false
	}
	e.session.Seen = now
	return true
}

func (c *sessionCache) drop(hash SessionHash) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.drops++
	delete(c.by, hash)
}

func (c *sessionCache) dropPerson(name string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.drops++
	for hash, e := range c.by {
		if e.person.Name == name {
			delete(c.by, hash)
		}
	}
}
