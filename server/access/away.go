package access

import (
	"context"
	"errors"
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// AwayLife bounds how long a session goes on that can not be asked for, since the store is away: so long at most does
// one that was ended elsewhere in the meantime still pull sheets and watch for releases.
const AwayLife = 15 * time.Minute

// awayPatience is how long a call that can be answered from memory waits for a store that keeps silent.
const awayPatience = 500 * time.Millisecond

// fromMemory are the methods whose answer needs no store. They change nothing.
var fromMemory = []string{
	"/evenpeel.recipes.v1.CatalogService/PullSheet",
	"/evenpeel.recipes.v1.CatalogService/WatchReleases",
}

// Recognise is Authenticate for a call of a method. Where the directory does not answer, the few methods that are
// answered from memory go on for whoever it knew less than AwayLife ago; nobody else is let in.
func (g *Guard) Recognise(ctx context.Context, token, method string) (Person, Session, error) {
	if !slices.Contains(fromMemory, method) {
		return g.Authenticate(ctx, token)
	}
	if g.away.Load() { // the last Refresh could not ask either, so this call need not wait to find out
		if p, s, err := g.lastKnown(token); err == nil {
			return p, s, nil
		}
	}
	waiting, stop := context.WithTimeout(ctx, awayPatience)
	defer stop()
	p, s, err := g.Authenticate(waiting, token)
	if ctx.Err() != nil || !fault.Is(err, fault.Unavailable) && !errors.Is(err, context.DeadlineExceeded) {
		return p, s, err
	}
	return g.lastKnown(token)
}

// Holding reports whether sessions would go on without the store: until AwayLife after it was last asked.
func (g *Guard) Holding() bool { return g.now().UnixNano()-g.heard.Load() < int64(AwayLife) }

// lastKnown says whose session a token was when the directory was last asked.
func (g *Guard) lastKnown(token string) (Person, Session, error) {
	hash, ok := hashOf(token)
	if !ok {
		return Person{}, Session{}, sessionEnded()
	}
	now := g.now()
	p, s, ok := g.cache.lastKnown(hash, now)
	switch {
	case !ok:
		return Person{}, Session{}, unconfirmed()
	case g.over(p, s, now):
		return Person{}, Session{}, sessionEnded() // its row goes when the store is back
	}
	return p, s, nil
}

// overWhileAway finds which sessions must not go on while the directory does not answer.
func (g *Guard) overWhileAway(hashes []SessionHash, now time.Time, ended map[SessionHash]error) {
	for _, hash := range hashes {
		switch p, s, ok := g.cache.lastKnown(hash, now); {
		case !ok:
			ended[hash] = unconfirmed()
		case g.over(p, s, now):
			ended[hash] = sessionEnded()
		}
	}
}

func unconfirmed() error {
	return fault.New(fault.Unavailable, room, SessionUnconfirmed, "The store does not answer, so this sign-in can not be looked up. It goes on when the store is back.")
}
