package access

import (
	"sync"
	"time"
)

// sessionCache spares the store one look per call. What it holds grows old within seconds, so that a session ended in
// another process is refused here within seconds; Refresh makes it young again.
type sessionCache struct {
	mu    sync.Mutex
	by    map[SessionHash]*cached
	drops int // counts drops: a look begun before a drop must not bring the old row back
}

type cached struct {
	person  Person
	session Session
	first   time.Time // read from the store
	read    time.Time // the same, or known since then to have stayed the same
	asked   time.Time // by a call or an open stream
	used    bool      // since it was last written down, if that is longer ago than seeEvery
}

func (c *sessionCache) read(hash SessionHash, now time.Time) (Person, Session, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.by[hash]
	// A clock that went back must not keep an entry for long.
	if !ok || now.Sub(e.read) >= cacheLife || now.Before(e.read) {
		return Person{}, Session{}, false
	}
	e.asked = now
	return e.person, e.session, true
}

// lastKnown gives what is known from less than AwayLife ago, for when nothing better is to be had.
func (c *sessionCache) lastKnown(hash SessionHash, now time.Time) (Person, Session, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.by[hash]
	if !ok || !e.recent(now) {
		return Person{}, Session{}, false
	}
	e.asked = now
	return e.person, e.session, true
}

// recent reports whether an entry may still stand in for the store. A clock that went back proves nothing.
func (e *cached) recent(now time.Time) bool {
	return now.Sub(e.read) < AwayLife && !now.Before(e.read)
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
	e := c.by[s.Hash]
	if e == nil {
		if len(c.by) >= mostCached {
			clear(c.by) // rows live some seconds: starting afresh costs little
		}
		e = &cached{first: now}
		c.by[s.Hash] = e
	}
	if s.Seen.Before(e.session.Seen) {
		s.Seen = e.session.Seen // used since; it is written down with the next Refresh
	}
	e.person, e.session, e.first, e.read, e.asked = p, s, now, now, now
}

// keepAll keeps what a refresh read, and drops what it did not find.
func (c *sessionCache) keepAll(list []Standing, asked []SessionHash, now time.Time, mark int) {
	found := make(map[SessionHash]*Standing, len(list))
	for i := range list {
		found[list[i].Session.Hash] = &list[i]
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.drops != mark {
		return // the next refresh comes soon
	}
	for _, hash := range asked {
		e, ok := c.by[hash]
		s := found[hash]
		switch {
		case !ok:
		case s == nil:
			delete(c.by, hash)
		default:
			if s.Session.Seen.Before(e.session.Seen) {
				s.Session.Seen = e.session.Seen
			}
			e.person, e.session, e.first, e.read = withoutPassword(s.Person), s.Session, now, now
		}
	}
}

// see notes a use, for the next Refresh to write down.
func (c *sessionCache) see(hash SessionHash, now time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if e, ok := c.by[hash]; ok && now.Sub(e.session.Seen) >= seeEvery {
		e.session.Seen, e.used = now, true
	}
}

// stay keeps what was read for longer, since nothing has changed.
func (c *sessionCache) stay(hashes []SessionHash, now time.Time, mark int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.drops != mark {
		return
	}
	for _, hash := range hashes {
		if e, ok := c.by[hash]; ok {
			e.read = now
		}
	}
}

// due gives the sessions whose use is to be written down, and those that calls and streams ask for, as they began up to
// an instant or after it; the others are forgotten.
func (c *sessionCache) due(now, began time.Time) (seen, old, young []SessionHash) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for hash, e := range c.by {
		if e.used {
			seen, e.used = append(seen, hash), false
		}
		if now.Sub(e.asked) >= forgetAfter || now.Before(e.asked) {
			if !e.recent(now) {
				delete(c.by, hash)
			}
			continue // it is kept for lastKnown, and read anew when somebody asks for it
		}
		// What was first read after the instant may have changed before the marks were taken.
		if e.session.Started.After(began) || e.first.After(began) {
			young = append(young, hash)
		} else {
			old = append(old, hash)
		}
	}
	return seen, old, young
}

// unsee takes back that uses were written down.
func (c *sessionCache) unsee(seen []SessionHash) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, hash := range seen {
		if e, ok := c.by[hash]; ok {
			e.used = true
		}
	}
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
