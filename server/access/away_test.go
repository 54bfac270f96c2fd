package access

import (
	"context"
	"errors"
	"testing"
	"time"

	"evenpeel/recipes/fault"
)

// gone is a directory whose store can be taken away; hung makes it keep silent instead of refusing.
type gone struct {
	*memory
	away, hung bool
}

func (g *gone) Standings(ctx context.Context, hashes []SessionHash) ([]Standing, error) {
	if err := g.ask(ctx); err != nil {
		return nil, err
	}
	return g.memory.Standings(ctx, hashes)
}

func (g *gone) Marks(ctx context.Context, began time.Time) (Marks, error) {
	if err := g.ask(ctx); err != nil {
		return Marks{}, err
	}
	return g.memory.Marks(ctx, began)
}

func (g *gone) SeeSessions(ctx context.Context, hashes []SessionHash, seen time.Time) error {
	if err := g.ask(ctx); err != nil {
		return err
	}
	return g.memory.SeeSessions(ctx, hashes, seen)
}

func (g *gone) ask(ctx context.Context) error {
	switch {
	case g.hung:
		<-ctx.Done()
		return fault.New(fault.Unavailable, room, "STORE_AWAY", "The store keeps silent.").Because(ctx.Err())
	case g.away:
		return fault.New(fault.Unavailable, room, "STORE_AWAY", "The store is away.")
	}
	return nil
}

const (
	pulling = "/evenpeel.recipes.v1.CatalogService/PullSheet"
	writing = "/evenpeel.branches.v1.RunsService/ReportRuns"
)

func awayWith(t *testing.T) (*Guard, *gone, *clock, string, Session) {
	t.Helper()
	g, m, c, _ := guardWith(t)
	store := &gone{memory: m}
	g.directory, g.gather.read = store, store.Standings
	token, s, _, err := g.SignIn(t.Context(), "ann@example.com", password)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := g.Recognise(t.Context(), token, pulling); err != nil {
		t.Fatal(err)
	}
	return g, store, c, token, s
}

// Whoever was known goes on pulling while the store is away, for AwayLife and not an instant longer; nothing else goes on.
func TestRecognise_whileTheStoreIsAway(t *testing.T) {
	g, store, c, token, s := awayWith(t)
	stranger, _, _, err := g.SignIn(t.Context(), "ann@example.com", password)
	if err != nil {
		t.Fatal(err)
	}
	store.away = true
	c.forward(2 * time.Minute) // no call for long; a refresh must not forget who may come back
	for range 2 {
		if err := g.Refresh(t.Context()); !fault.Is(err, fault.Unavailable) {
			t.Fatal("the store is away, and a refresh says", err)
		}
		if p, _, err := g.Recognise(t.Context(), token, pulling); err != nil || p.Email != "ann@example.com" {
			t.Fatalf("a known session: %v, %v", p, err)
		}
	}
	for name, try := range map[string]func() error{
		"a write":                   func() error { _, _, err := g.Recognise(t.Context(), token, writing); return err },
		"a method nobody knows":     func() error { _, _, err := g.Recognise(t.Context(), token, "/evenpeel.New/Thing"); return err },
		"a session not looked up":   func() error { _, _, err := g.Recognise(t.Context(), stranger, pulling); return err },
		"a token that nobody has":   func() error { _, _, err := g.Recognise(t.Context(), token[1:]+"A", pulling); return err },
		"a stream with no known id": func() error { ended, _ := g.Ended(t.Context(), []SessionHash{{1}}); return ended[SessionHash{1}] },
	} {
		if err := try(); !fault.Is(err, fault.Unavailable) {
			t.Errorf("%s: %v", name, err)
		}
	}
	c.forward(AwayLife - 2*time.Minute - time.Nanosecond)
	if _, _, err := g.Recognise(t.Context(), token, pulling); err != nil {
		t.Error("just within the bound:", err)
	}
	if ended, err := g.Ended(t.Context(), []SessionHash{s.Hash}); err == nil || len(ended) > 0 {
		t.Error("a stream just within the bound:", ended, err)
	}
	c.forward(time.Nanosecond) // asking in between prolonged nothing
	if _, _, err := g.Recognise(t.Context(), token, pulling); !fault.Is(err, fault.Unavailable) {
		t.Error("at the bound:", err)
	}
	ended, _ := g.Ended(t.Context(), []SessionHash{s.Hash})
	wantReason(t, ended[s.Hash], fault.Unavailable, SessionUnconfirmed)
	if g.Holding() {
		t.Error("the guard says that sessions go on")
	}
	store.away = false
	if _, _, err := g.Recognise(t.Context(), token, pulling); err != nil {
		t.Error("the store is back:", err)
	}
	if err := g.Refresh(t.Context()); err != nil || !g.Holding() {
		t.Error("the store is back:", err)
	}
}

// A session that ended before the store went away, or ends by its own time, does not come back to life.
func TestRecognise_endedStaysEndedWhileTheStoreIsAway(t *testing.T) {
	t.Run("signed out here", func(t *testing.T) {
		g, store, _, token, s := awayWith(t)
		if err := g.SignOut(t.Context(), s.Hash); err != nil {
			t.Fatal(err)
		}
		store.away = true
		if _, _, err := g.Recognise(t.Context(), token, pulling); err == nil {
			t.Error("signed out, and let in")
		}
	})
	t.Run("barred here", func(t *testing.T) {
		g, store, _, token, s := awayWith(t)
		if _, err := g.EndSessions(t.Context(), s.Person, true); err != nil {
			t.Fatal(err)
		}
		store.away = true
		if _, _, err := g.Recognise(t.Context(), token, pulling); err == nil {
			t.Error("barred, and let in")
		}
	})
	t.Run("its time is over", func(t *testing.T) {
		g, store, c, token, s := awayWith(t)
		g.idle = time.Minute
		store.away = true
		c.forward(time.Minute)
		_, _, err := g.Recognise(t.Context(), token, pulling)
		wantReason(t, err, fault.NotSignedIn, SessionEnded)
		ended, _ := g.Ended(t.Context(), []SessionHash{s.Hash})
		wantReason(t, ended[s.Hash], fault.NotSignedIn, SessionEnded)
	})
	t.Run("the clock went back", func(t *testing.T) {
		g, store, c, token, _ := awayWith(t)
		store.away = true
		c.forward(-time.Hour)
		if _, _, err := g.Recognise(t.Context(), token, pulling); !fault.Is(err, fault.Unavailable) {
			t.Error(err)
		}
	})
	t.Run("ended elsewhere, seen before the store went away", func(t *testing.T) {
		g, store, c, token, s := awayWith(t)
		if err := g.Refresh(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := store.EndSession(t.Context(), s.Hash); err != nil { // another process
			t.Fatal(err)
		}
		c.forward(time.Second)
		if err := g.Refresh(t.Context()); err != nil {
			t.Fatal(err)
		}
		store.away = true
		if _, _, err := g.Recognise(t.Context(), token, pulling); err == nil {
			t.Error("ended, and let in")
		}
	})
}

// A store that keeps silent is waited for a moment once; after a refresh found it so, not at all.
func TestRecognise_doesNotWaitForASilentStore(t *testing.T) {
	g, store, c, token, _ := awayWith(t)
	store.hung = true
	c.forward(time.Minute)
	waiting, stop := context.WithCancel(t.Context())
	stop()
	if err := g.Refresh(waiting); err == nil {
		t.Fatal("the store is silent, and a refresh succeeds")
	}
	if _, _, err := g.Recognise(waiting, token, pulling); err != nil {
		t.Error("asked a store that was known to be silent:", err)
	}
	if _, _, err := g.Recognise(waiting, token, writing); !errors.Is(err, context.Canceled) {
		t.Error("a write did not ask:", err)
	}
	g.away.Store(false)
	if _, _, err := g.Recognise(t.Context(), token, pulling); err != nil {
		t.Error("not known to be silent yet:", err)
	}
}
