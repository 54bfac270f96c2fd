package access

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"evenpeel/recipes/fault"
)

// Lives of a session where nothing else is set.
const (
	DefaultIdle = 12 * time.Hour
	DefaultLife = 7 * 24 * time.Hour
)

const (
	tokenBytes   = 32
	seeEvery     = time.Minute            // how often it is written down that a session was used
	tokenText    = (tokenBytes*8 + 5) / 6 // characters of a token
	cacheLife    = 4 * time.Second        // Refresh comes more often
	mostCached   = 50_000
	longestEmail = 254 // RFC 5321 4.5.3.1.3: a path has at most 256 octets, two of them the brackets
)

// strict takes each token in one way of writing only.
var strict = base64.RawURLEncoding.Strict()

// Guard signs people in and says whose session a token is.
type Guard struct {
	directory  Directory
	now        func() time.Time
	random     io.Reader
	idle, life time.Duration

	places  chan struct{}
	waiting atomic.Int32
	tries   tries
	cache   sessionCache
	gather  gatherer
	whole   refreshed    // Refresh alone uses it
	away    atomic.Bool  // whether the last Refresh could not ask
	heard   atomic.Int64 // when the last Refresh could, in Unix nanoseconds

	wordMu sync.Mutex
	word   *[sha256.Size]byte // hash of the first person's one-time word; nil where there is none
}

// Parts are what a Guard is made of.
type Parts struct {
	Directory Directory
	Now       func() time.Time
	Rand      io.Reader     // for tokens, salts and ids: crypto/rand.Reader
	Idle      time.Duration // a session unused this long has ended; 0 is DefaultIdle
	Life      time.Duration // a session ends at the latest after this; 0 is DefaultLife
}

// NewGuard makes a Guard.
func NewGuard(p Parts) *Guard {
	g := &Guard{directory: p.Directory, now: p.Now, random: p.Rand, idle: p.Idle, life: p.Life}
	if g.idle <= 0 {
		g.idle = DefaultIdle
	}
	if g.life <= 0 {
		g.life = DefaultLife
	}
	g.places = make(chan struct{}, mostHashesAtOnce)
	g.tries = tries{by: map[string]*try{}, limit: mostAddresses}
	g.cache = sessionCache{by: map[SessionHash]*cached{}}
	g.gather.read = g.directory.Standings
	return g
}

// SignIn opens a session and returns its token, which is kept nowhere. Faults NotSignedIn/SIGN_IN_REFUSED alike for
// an unknown address, a wrong password and a barred person; NotReady/SIGN_IN_SLOWED with the fact wait_seconds
// after repeated failures; Unavailable/SIGN_IN_BUSY.
func (g *Guard) SignIn(ctx context.Context, email, password string) (string, Session, Person, error) {
	refused := fault.New(fault.NotSignedIn, room, SignInRefused, "Address and password do not fit. Check both and try again.")
	email = tidyEmail(email)
	if len(email) > longestEmail || len(password) > 4*longestPassword {
		return "", Session{}, Person{}, refused
	}
	now := g.now()
	if wait := g.tries.begin(email, now); wait > 0 {
		seconds := int((wait + time.Second - 1) / time.Second)
		return "", Session{}, Person{}, fault.New(fault.NotReady, room, SignInSlowed,
			"Too many tries with a wrong password. Wait %d seconds and try again.", seconds).With("wait_seconds", strconv.Itoa(seconds))
	}
	p, err := g.directory.PersonByEmail(ctx, email)
	known := err == nil
	if err != nil && !fault.Is(err, fault.NotFound) {
		g.tries.takeBack(email)
		return "", Session{}, Person{}, err
	}
	stored := nobody
	if known {
		stored = p.Password
	}
	h, err := parsePHC(stored)
	if err != nil {
		return "", Session{}, Person{}, fmt.Errorf("person %s: %w", p.Name, err)
	}
	matches := false
	if err := g.hashing(ctx, func() { matches = h.matches(password) }); err != nil {
		g.tries.takeBack(email)
		return "", Session{}, Person{}, err
	}
	if !known || !matches || p.Barred {
		return "", Session{}, Person{}, refused
	}
	g.tries.right(email)
	raw := make([]byte, tokenBytes)
	if _, err := io.ReadFull(g.random, raw); err != nil {
		return "", Session{}, Person{}, fmt.Errorf("token: %w", err)
	}
	token := base64.RawURLEncoding.EncodeToString(raw)
	s := Session{Hash: sha256.Sum256([]byte(token)), Person: p.Name, Started: now, Seen: now, Ends: now.Add(g.life)}
	if err := g.directory.AddSession(ctx, s); err != nil {
		return "", Session{}, Person{}, err
	}
	return token, s, withoutPassword(p), nil
}

// Authenticate says whose session a token is, and notes at most once a minute that it was used, which the next Refresh
// writes down. Fault
// NotSignedIn/SESSION_ENDED where it is unknown, ended, unused too long, or its person is barred.
func (g *Guard) Authenticate(ctx context.Context, token string) (Person, Session, error) {
	hash, ok := hashOf(token)
	if !ok {
		return Person{}, Session{}, sessionEnded()
	}
	now := g.now()
	p, s, err := g.look(ctx, hash, now)
	if err != nil {
		return Person{}, Session{}, err
	}
	if now.Sub(s.Seen) >= seeEvery {
		g.cache.see(s.Hash, now)
		s.Seen = now
	}
	return p, s, nil
}

// hashOf is what a session is known by; ok is false for what is no token.
func hashOf(token string) (hash SessionHash, ok bool) {
	var raw [tokenBytes]byte
	if len(token) != tokenText {
		return hash, false
	}
	if _, err := strict.Decode(raw[:], []byte(token)); err != nil {
		return hash, false
	}
	return sha256.Sum256([]byte(token)), true
}

// Still asks whether a session goes on, without counting as use: open streams ask it now and then, so that they
// close within seconds of a sign-out. Fault NotSignedIn/SESSION_ENDED.
func (g *Guard) Still(ctx context.Context, hash SessionHash) error {
	_, _, err := g.look(ctx, hash, g.now())
	return err
}

// Ended asks of many sessions at once which have ended, as Still does of one; the faults stand by session. An error is
// that they could not all be read; those that were read less than AwayLife ago go on, and the others have ended.
func (g *Guard) Ended(ctx context.Context, hashes []SessionHash) (map[SessionHash]error, error) {
	now := g.now()
	ended := map[SessionHash]error{}
	var unread []SessionHash
	for _, hash := range hashes {
		if p, s, ok := g.cache.read(hash, now); !ok {
			unread = append(unread, hash)
		} else if g.over(p, s, now) {
			ended[hash] = g.end(ctx, hash)
		}
	}
	if len(unread) == 0 {
		return ended, nil
	}
	mark := g.cache.mark()
	list, err := g.directory.Standings(ctx, unread)
	if err != nil {
		g.overWhileAway(unread, now, ended)
		return ended, err
	}
	found := make(map[SessionHash]bool, len(list))
	for _, s := range list {
		found[s.Session.Hash] = true
		p := withoutPassword(s.Person)
		g.cache.keep(p, s.Session, now, mark)
		if g.over(p, s.Session, now) {
			ended[s.Session.Hash] = g.end(ctx, s.Session.Hash)
		}
	}
	for _, hash := range unread {
		if !found[hash] {
			ended[hash] = sessionEnded()
		}
	}
	return ended, nil
}

func (g *Guard) over(p Person, s Session, now time.Time) bool {
	return p.Barred || !now.Before(s.Ends) || now.Sub(s.Seen) >= g.idle
}

// end removes a session that is over.
func (g *Guard) end(ctx context.Context, hash SessionHash) error {
	g.cache.drop(hash)
	// The row is of no use any more; where it can not be removed just now, the next look tries again.
	return sessionEnded().Because(g.directory.EndSession(ctx, hash))
}

func (g *Guard) look(ctx context.Context, hash SessionHash, now time.Time) (Person, Session, error) {
	p, s, ok := g.cache.read(hash, now)
	if !ok {
		before := g.cache.mark()
		standing, err := g.gather.standing(ctx, hash)
		if err != nil {
			return Person{}, Session{}, err
		}
		p, s = withoutPassword(standing.Person), standing.Session
		g.cache.keep(p, s, now, before)
	}
	if g.over(p, s, now) {
		return Person{}, Session{}, g.end(ctx, hash)
	}
	return p, s, nil
}

// SignOut ends one session; an unknown one is no fault.
func (g *Guard) SignOut(ctx context.Context, hash SessionHash) error {
	err := g.directory.EndSession(ctx, hash)
	g.cache.drop(hash)
	return err
}

// EndSessions ends all sessions of a person, keeps them out from now on where bar is set, and says how many ended.
// Faults NotFound/PERSON_NOT_FOUND, Invalid/NOT_YOURSELF where somebody would bar themselves: the last approver
// could let nobody in again.
func (g *Guard) EndSessions(ctx context.Context, person string, bar bool) (int, error) {
	p, err := g.directory.Person(ctx, person)
	if err != nil {
		return 0, err
	}
	if bar {
		if self, ok := PersonFrom(ctx); ok && self.Name == person {
			return 0, fault.New(fault.Invalid, room, NotYourself, "You can not keep yourself out. Ask another approver.")
		}
		p.Barred = true
		if err := g.directory.PutPerson(ctx, p); err != nil {
			return 0, err
		}
	}
	n, err := g.directory.EndSessions(ctx, person)
	g.cache.dropPerson(person)
	return n, err
}

func tidyEmail(email string) string { return strings.ToLower(strings.TrimSpace(email)) }

// withoutPassword keeps the hash inside this room.
func withoutPassword(p Person) Person { p.Password = ""; return p }
