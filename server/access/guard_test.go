package access

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"evenpeel/recipes/fault"
)

type clock struct{ at time.Time }

func (c *clock) now() time.Time          { return c.at }
func (c *clock) forward(d time.Duration) { c.at = c.at.Add(d) }

const password = "a long way to the sea"

func guardWith(t *testing.T) (*Guard, *memory, *clock, Person) {
	t.Helper()
	m, c := newMemory(), &clock{time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)}
	g := NewGuard(Parts{Directory: m, Now: c.now, Rand: rand.Reader})
	p, err := g.AddPerson(context.Background(), Person{Email: " Ann@Example.com ", Title: "Ann", Roles: []Role{OfficeEditor}}, password)
	if err != nil {
		t.Fatal(err)
	}
	return g, m, c, p
}

func wantReason(t *testing.T, err error, kind fault.Kind, reason fault.Reason) *fault.Fault {
	t.Helper()
	f, ok := fault.As(err)
	if !ok || f.Kind != kind || f.Reason != reason {
		t.Fatalf("got %v, want %s/%s", err, kind, reason)
	}
	return f
}

func TestSignIn_keepsOnlyTheHashOfTheToken(t *testing.T) {
	g, m, c, ann := guardWith(t)
	token, s, p, err := g.SignIn(context.Background(), "ANN@example.com", password)
	if err != nil {
		t.Fatal(err)
	}
	if p.Name != ann.Name || p.Password != "" || m.people[ann.Name].Email != "ann@example.com" {
		t.Errorf("got %+v", p)
	}
	if raw, err := base64.RawURLEncoding.DecodeString(token); err != nil || len(raw) != 32 {
		t.Errorf("token %q is not 32 bytes of base64url", token)
	}
	if s.Hash != sha256.Sum256([]byte(token)) || !s.Ends.Equal(c.at.Add(7*24*time.Hour)) {
		t.Errorf("got %+v", s)
	}
	second, _, _, err := g.SignIn(context.Background(), "ann@example.com", password)
	if err != nil || second == token {
		t.Errorf("a second sign-in must open another session: %v", err)
	}
}

func TestSignIn_refusesAlike(t *testing.T) {
	g, m, _, ann := guardWith(t)
	_, _, _, unknown := g.SignIn(context.Background(), "bob@example.com", password)
	_, _, _, wrong := g.SignIn(context.Background(), "ann@example.com", "not the password")
	barred := m.people[ann.Name]
	barred.Barred = true
	m.people[ann.Name] = barred
	_, _, _, out := g.SignIn(context.Background(), "ann@example.com", password)
	for _, err := range []error{unknown, wrong, out} {
		if f := wantReason(t, err, fault.NotSignedIn, SignInRefused); f.Error() != unknown.Error() {
			t.Errorf("got %q and %q: the answer tells which", f, unknown)
		}
	}
	_, _, _, long := g.SignIn(context.Background(), strings.Repeat("x", 300), password)
	wantReason(t, long, fault.NotSignedIn, SignInRefused)
}

// An unknown address must cost the same hash as a known one; equal cost is shown by equal parameters, not by a clock.
func TestNobody_costsWhatAPersonCosts(t *testing.T) {
	stranger, err := parsePHC(nobody)
	if err != nil {
		t.Fatal(err)
	}
	text, err := hashPassword(rand.Reader, password)
	if err != nil {
		t.Fatal(err)
	}
	known, err := parsePHC(text)
	if err != nil {
		t.Fatal(err)
	}
	if stranger.memory != known.memory || stranger.rounds != known.rounds || stranger.threads != known.threads ||
		len(stranger.key) != len(known.key) || len(stranger.salt) != len(known.salt) {
		t.Errorf("got %+v and %+v", stranger, known)
	}
}

func TestSignIn_slowsDownAndForgives(t *testing.T) {
	tr := tries{by: map[string]*try{}, limit: 3}
	at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	for i := range freeFailures {
		if wait := tr.begin("a", at); wait != 0 {
			t.Fatalf("try %d waits %s", i, wait)
		}
	}
	if got := tr.begin("a", at); got != firstWait {
		t.Errorf("got %s, want %s", got, firstWait)
	}
	if got := tr.begin("b", at); got != 0 {
		t.Errorf("another address waits %s", got)
	}
	at = at.Add(firstWait)
	if got := tr.begin("a", at); got != 0 {
		t.Errorf("after the wait got %s", got)
	}
	if got := tr.begin("a", at); got != 2*firstWait {
		t.Errorf("got %s, want %s", got, 2*firstWait)
	}
	for range 20 {
		at = at.Add(longestWait)
		tr.begin("a", at)
	}
	if got := tr.begin("a", at); got != longestWait {
		t.Errorf("got %s, want %s at most", got, longestWait)
	}
	tr.begin("c", at)
	tr.begin("d", at) // b is oldest and makes room
	if _, ok := tr.by["b"]; ok || len(tr.by) != 3 {
		t.Errorf("got %d addresses", len(tr.by))
	}
	if got := tr.begin("a", at.Add(forgetFailures+time.Second)); got != 0 {
		t.Errorf("after half an hour got %s", got)
	}
	tr.right("a")
	if _, ok := tr.by["a"]; ok {
		t.Error("a right password must forget the failures")
	}
}

func TestSignIn_saysHowLongToWait(t *testing.T) {
	g, _, c, _ := guardWith(t)
	for range freeFailures {
		g.tries.begin("ann@example.com", c.at)
	}
	_, _, _, err := g.SignIn(context.Background(), "ann@example.com", password)
	if f := wantReason(t, err, fault.NotReady, SignInSlowed); f.Facts["wait_seconds"] != "2" {
		t.Errorf("got %v", f.Facts)
	}
	c.forward(2 * time.Second)
	if _, _, _, err := g.SignIn(context.Background(), "ann@example.com", password); err != nil {
		t.Errorf("got %v", err)
	}
}

func TestSignIn_turnsAwayAFlood(t *testing.T) {
	g, _, _, _ := guardWith(t)
	g.waiting.Store(mostWaiting + mostHashesAtOnce)
	_, _, _, err := g.SignIn(context.Background(), "ann@example.com", password)
	wantReason(t, err, fault.Unavailable, SignInBusy)
	if g.waiting.Load() != mostWaiting+mostHashesAtOnce {
		t.Errorf("the place in the queue was not given back")
	}
}

func TestAuthenticate_endsSessions(t *testing.T) {
	ctx := context.Background()
	for _, row := range []struct {
		name string
		end  func(g *Guard, m *memory, c *clock, s Session)
	}{
		{"unused for 12 hours", func(_ *Guard, _ *memory, c *clock, _ Session) { c.forward(DefaultIdle) }},
		{"7 days old though used", func(g *Guard, m *memory, c *clock, s Session) {
			c.forward(DefaultLife)
			s.Seen = c.at
			m.sessions[s.Hash] = s
		}},
		{"signed out", func(g *Guard, _ *memory, _ *clock, s Session) { _ = g.SignOut(ctx, s.Hash) }},
		{"ended for the person", func(g *Guard, _ *memory, _ *clock, s Session) { _, _ = g.EndSessions(ctx, s.Person, false) }},
		{"barred elsewhere", func(_ *Guard, m *memory, c *clock, s Session) {
			p := m.people[s.Person]
			p.Barred = true
			m.people[s.Person] = p
			c.forward(5 * time.Second)
		}},
		{"ended in another process", func(_ *Guard, m *memory, c *clock, s Session) {
			delete(m.sessions, s.Hash)
			c.forward(5 * time.Second)
		}},
		{"person is gone", func(_ *Guard, m *memory, c *clock, s Session) {
			delete(m.people, s.Person)
			c.forward(5 * time.Second)
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			g, m, c, _ := guardWith(t)
			token, s, _, err := g.SignIn(ctx, "ann@example.com", password)
			if err != nil {
				t.Fatal(err)
			}
			if _, _, err := g.Authenticate(ctx, token); err != nil {
				t.Fatal(err)
			}
			if ended, err := g.Ended(ctx, []SessionHash{s.Hash}); err != nil || len(ended) > 0 {
				t.Error("ended already:", ended, err)
			}
			row.end(g, m, c, s)
			_, _, err = g.Authenticate(ctx, token)
			wantReason(t, err, fault.NotSignedIn, SessionEnded)
			wantReason(t, g.Still(ctx, s.Hash), fault.NotSignedIn, SessionEnded)
			ended, err := g.Ended(ctx, []SessionHash{s.Hash})
			if err != nil {
				t.Error(err)
			}
			wantReason(t, ended[s.Hash], fault.NotSignedIn, SessionEnded)
		})
	}
}

func TestAuthenticate_refusesWhatIsNoToken(t *testing.T) {
	g, _, _, _ := guardWith(t)
	for _, token := range []string{"", "x", strings.Repeat("A", 43), strings.Repeat("A", 44), strings.Repeat("A", 1<<20), "=", "%00"} {
		_, _, err := g.Authenticate(context.Background(), token)
		wantReason(t, err, fault.NotSignedIn, SessionEnded)
	}
}

func TestAuthenticate_writesAtMostOnceAMinute(t *testing.T) {
	g, m, c, _ := guardWith(t)
	ctx := context.Background()
	token, s, _, err := g.SignIn(ctx, "ann@example.com", password)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := g.Authenticate(ctx, token); err != nil {
		t.Fatal(err)
	}
	calls := m.looked
	for range 600 { // ten minutes, a call and a refresh a second
		c.forward(time.Second)
		if err := g.Refresh(ctx); err != nil {
			t.Fatal(err)
		}
		refreshed := m.looked
		if _, _, err := g.Authenticate(ctx, token); err != nil {
			t.Fatal(err)
		}
		calls += m.looked - refreshed
	}
	c.forward(time.Second)
	if err := g.Refresh(ctx); err != nil || m.seen < 9 || m.seen > 10 {
		t.Errorf("wrote %d times in ten minutes, %v", m.seen, err)
	}
	if calls != 1 {
		t.Errorf("calls looked %d times; the refresh does nothing", calls)
	}
	if m.looked > 30 {
		t.Errorf("the refresh read %d times in ten minutes though nothing changed", m.looked)
	}
	if s := m.sessions[s.Hash]; c.at.Sub(s.Seen) > time.Minute+2*time.Second {
		t.Errorf("last seen %s ago", c.at.Sub(s.Seen))
	}
	for range 70 { // nobody asks for it any more
		c.forward(time.Second)
		_ = g.Refresh(ctx)
	}
	if looked := m.looked; g.Refresh(ctx) != nil || m.looked != looked {
		t.Error("a session that nobody uses is still kept fresh")
	}
	before := m.seen
	c.forward(time.Hour)
	if err := g.Still(ctx, s.Hash); err != nil || m.seen != before {
		t.Errorf("asking whether it goes on must not count as use (%v)", err)
	}
}

func TestRefresh_refusesWhatEndedElsewhere(t *testing.T) {
	for name, end := range map[string]func(m *memory, s Session){
		"ended":  func(m *memory, s Session) { delete(m.sessions, s.Hash) },
		"barred": func(m *memory, s Session) { p := m.people[s.Person]; p.Barred = true; m.people[s.Person] = p },
	} {
		for _, refreshes := range []int{0, 1, 2, 10} { // just read, and known for a while
			g, m, c, _ := guardWith(t)
			token, s, _, err := g.SignIn(t.Context(), "ann@example.com", password)
			if err != nil {
				t.Fatal(err)
			}
			use := func() error { _, _, err := g.Authenticate(t.Context(), token); return err }
			refresh := func() {
				c.forward(time.Second)
				if err := g.Refresh(t.Context()); err != nil {
					t.Fatal(err)
				}
			}
			if err := use(); err != nil {
				t.Fatal(err)
			}
			for range refreshes {
				refresh()
				if err := use(); err != nil {
					t.Fatal(err)
				}
			}
			// Somebody else begins to work at the same time.
			m.sessions[SessionHash{9}] = Session{Hash: SessionHash{9}, Person: s.Person, Started: c.at, Seen: c.at, Ends: c.at.Add(time.Hour)}
			end(m, s)
			refresh()
			t.Log(name, refreshes)
			wantReason(t, use(), fault.NotSignedIn, SessionEnded)
		}
	}
}

func TestAuthenticate_aThousandAtOnceAreReadTogether(t *testing.T) {
	g, m, _, ann := guardWith(t)
	tokens := make([]string, 1000)
	for i := range tokens {
		raw := [tokenBytes]byte{byte(i), byte(i >> 8), 1}
		tokens[i] = base64.RawURLEncoding.EncodeToString(raw[:])
		hash := SessionHash(sha256.Sum256([]byte(tokens[i])))
		m.sessions[hash] = Session{Hash: hash, Person: ann.Name, Seen: g.now(), Ends: g.now().Add(time.Hour)}
	}
	m.mu.Lock() // the first reading waits here until all have asked
	var all sync.WaitGroup
	for _, token := range tokens {
		all.Go(func() {
			if p, _, err := g.Authenticate(context.Background(), token); err != nil || p.Name != ann.Name || p.Password != "" {
				t.Error(p, err)
			}
		})
	}
	for waiting := 0; waiting < 990; runtime.Gosched() {
		g.gather.mu.Lock()
		if g.gather.next != nil {
			waiting = len(g.gather.next.hashes)
		}
		g.gather.mu.Unlock()
	}
	m.mu.Unlock()
	all.Wait()
	if m.looked > 12 {
		t.Errorf("a thousand sessions were read in %d pieces", m.looked)
	}
}

func TestSessionCache_aDropDuringALookWins(t *testing.T) {
	c := sessionCache{by: map[SessionHash]*cached{}}
	mark := c.mark()
	c.drop(SessionHash{1})
	c.keep(Person{Name: "people/a"}, Session{Hash: SessionHash{1}}, time.Time{}, mark)
	if len(c.by) != 0 {
		t.Error("the old row came back")
	}
}

func TestEndSessions_barsButNeverYourself(t *testing.T) {
	g, m, _, ann := guardWith(t)
	ctx := context.Background()
	token, s, _, err := g.SignIn(ctx, "ann@example.com", password)
	if err != nil {
		t.Fatal(err)
	}
	_, err = g.EndSessions(WithPerson(ctx, ann, s), ann.Name, true)
	wantReason(t, err, fault.Invalid, NotYourself)
	n, err := g.EndSessions(ctx, ann.Name, true)
	if err != nil || n != 1 || !m.people[ann.Name].Barred || m.people[ann.Name].Password == "" {
		t.Fatalf("got %d, %v, %+v", n, err, m.people[ann.Name])
	}
	_, _, err = g.Authenticate(ctx, token)
	wantReason(t, err, fault.NotSignedIn, SessionEnded)
	_, err = g.EndSessions(ctx, "people/none", false)
	wantReason(t, err, fault.NotFound, "PERSON_NOT_FOUND")
}

func TestAddPerson_checks(t *testing.T) {
	good := Person{Email: "bo@example.com", Title: "Bo", Roles: []Role{OfficeEditor}}
	for _, row := range []struct {
		name     string
		change   func(p *Person, password *string)
		reason   fault.Reason
		path     string
		source   string
		accepted bool
	}{
		{name: "good", change: func(*Person, *string) {}, accepted: true, source: "ours"},
		{name: "operator with branch", change: func(p *Person, _ *string) { p.Roles, p.Branch = []Role{BranchOperator}, "branches/a" }, accepted: true, source: "ours: design.md#3"},
		{name: "operator without", change: func(p *Person, _ *string) { p.Roles = []Role{BranchOperator} }, reason: RoleNeedsBranch, path: "person.branch", source: "ours"},
		{name: "manager without", change: func(p *Person, _ *string) { p.Roles = []Role{BranchManager} }, reason: RoleNeedsBranch, path: "person.branch", source: "ours"},
		{name: "bad branch", change: func(p *Person, _ *string) { p.Roles, p.Branch = []Role{BranchManager}, "branches/a/b" }, reason: PersonInvalid, path: "person.branch", source: "ours"},
		{name: "office with branch", change: func(p *Person, _ *string) { p.Branch = "branches/a" }, reason: PersonInvalid, path: "person.branch", source: "ours"},
		{name: "auditor with branch", change: func(p *Person, _ *string) { p.Roles, p.Branch = []Role{Auditor}, "branches/a" }, reason: PersonInvalid, path: "person.branch", source: "ours"},
		{name: "mixed", change: func(p *Person, _ *string) { p.Roles, p.Branch = []Role{Auditor, BranchManager}, "branches/a" }, reason: PersonInvalid, path: "person.roles", source: "ours"},
		{name: "no role", change: func(p *Person, _ *string) { p.Roles = nil }, reason: PersonInvalid, path: "person.roles", source: "ours"},
		{name: "unknown role", change: func(p *Person, _ *string) { p.Roles = []Role{"owner"} }, reason: PersonInvalid, path: "person.roles[0]", source: "ours"},
		{name: "twice", change: func(p *Person, _ *string) { p.Roles = []Role{Auditor, Auditor} }, reason: PersonInvalid, path: "person.roles[1]", source: "ours"},
		{name: "no title", change: func(p *Person, _ *string) { p.Title = "  " }, reason: PersonInvalid, path: "person.title", source: "ours"},
		{name: "control in title", change: func(p *Person, _ *string) { p.Title = "B\x00o" }, reason: PersonInvalid, path: "person.title", source: "ours"},
		{name: "no at", change: func(p *Person, _ *string) { p.Email = "bo.example.com" }, reason: PersonInvalid, path: "person.email", source: "RFC 5321 4.1.2 Mailbox"},
		{name: "two ats", change: func(p *Person, _ *string) { p.Email = "bo@x@example.com" }, reason: PersonInvalid, path: "person.email", source: "RFC 5321 4.1.2 Mailbox"},
		{name: "header", change: func(p *Person, _ *string) { p.Email = "bo\r\nx@example.com" }, reason: PersonInvalid, path: "person.email", source: "RFC 5321 4.1.2 Mailbox"},
		{name: "64 before the at", change: func(p *Person, _ *string) { p.Email = strings.Repeat("b", 64) + "@example.com" }, accepted: true, source: "RFC 5321 4.5.3.1.1"},
		{name: "65 before the at", change: func(p *Person, _ *string) { p.Email = strings.Repeat("b", 65) + "@example.com" }, reason: PersonInvalid, path: "person.email", source: "RFC 5321 4.5.3.1.1"},
		{name: "9 characters", change: func(_ *Person, w *string) { *w = "äöüäöüäöü" }, reason: PersonInvalid, path: "password", source: "OWASP ASVS 5.0.0 6.2.1: at least 8"},
		{name: "10 characters", change: func(_ *Person, w *string) { *w = "äöüäöüäöüx" }, accepted: true, source: "OWASP ASVS 5.0.0 6.2.1: at least 8"},
		{name: "64 characters", change: func(_ *Person, w *string) { *w = strings.Repeat("xy", 32) }, accepted: true, source: "OWASP ASVS 5.0.0 6.2.9"},
		{name: "201 characters", change: func(_ *Person, w *string) { *w = "x" + strings.Repeat("y", 200) }, reason: PersonInvalid, path: "password", source: "ours: what the wire allows"},
		{name: "one character", change: func(_ *Person, w *string) { *w = strings.Repeat("y", 12) }, reason: PersonInvalid, path: "password", source: "ours"},
		{name: "the address", change: func(_ *Person, w *string) { *w = "BO@example.com" }, reason: PersonInvalid, path: "password", source: "ours"},
	} {
		t.Run(row.name, func(t *testing.T) {
			if row.source == "" {
				t.Fatal("no source")
			}
			p, word := good, password
			row.change(&p, &word)
			// The checks alone: a hash for each row would only cost time.
			fields, reason := check(p)
			var all fault.Fields
			all.Under("person", fields)
			all = append(all, checkPassword(p.Email, word)...)
			if row.accepted {
				if len(all) > 0 {
					t.Errorf("got %v", all)
				}
				return
			}
			if len(all) != 1 || all[0].Path != row.path || reason != row.reason {
				t.Errorf("got %s %v, want %s at %s", reason, all, row.reason, row.path)
			}
			g := NewGuard(Parts{Directory: newMemory(), Now: time.Now, Rand: rand.Reader})
			_, err := g.AddPerson(context.Background(), p, word)
			wantReason(t, err, fault.Invalid, row.reason)
		})
	}
}

func TestFirstPerson_onceOnlyWithTheWord(t *testing.T) {
	ctx := context.Background()
	m := newMemory()
	g := NewGuard(Parts{Directory: m, Now: time.Now, Rand: rand.Reader})
	_, err := g.FirstPerson(ctx, "", "ann@example.com", "Ann", password)
	wantReason(t, err, fault.NotReady, FirstPersonExists)
	word, err := g.FirstWord(ctx)
	if err != nil || len(word) != 19 {
		t.Fatalf("got %q, %v", word, err)
	}
	_, err = g.FirstPerson(ctx, "AAAA-BBBB-CCCC-DDDD", "ann@example.com", "Ann", password)
	wantReason(t, err, fault.NotAllowed, WordWrong)
	_, err = g.FirstPerson(ctx, word, "ann", "Ann", "short")
	if f := wantReason(t, err, fault.Invalid, PersonInvalid); len(f.Fields) != 2 || f.Fields[0].Path != "email" || f.Fields[1].Path != "password" {
		t.Errorf("got %v", f.Fields)
	}
	p, err := g.FirstPerson(ctx, strings.ToLower(word)+" ", "ann@example.com", "Ann", password)
	if err != nil || !p.Has(OfficeApprover) || p.Branch != "" {
		t.Fatalf("got %+v, %v", p, err)
	}
	_, err = g.FirstPerson(ctx, word, "eve@example.com", "Eve", password)
	wantReason(t, err, fault.NotReady, FirstPersonExists)
	if list, err := g.People(ctx); err != nil || len(list) != 1 || list[0].Name != p.Name || list[0].Password != "" {
		t.Errorf("got %+v, %v", list, err)
	}
	if word, err := g.FirstWord(ctx); word != "" || err != nil {
		t.Errorf("got %q, %v: there is somebody already", word, err)
	}
}

// What is stored must be argon2id and not something like it: other implementations must agree.
func TestStoredForm_agreesWithOthers(t *testing.T) {
	for _, row := range []struct{ stored, password, source string }{
		{"$argon2id$v=19$m=64,t=1,p=1$c29tZXNhbHQ$ZVrRXqxlLcWfcXCnMyv0m4Rpvh/bnCi7", "password",
			"golang.org/x/crypto v0.59.0 argon2_test.go testVectors (made with the reference C program): time 1, memory 64, threads 1"},
		{"$argon2id$v=19$m=19456,t=2,p=1$AAECAwQFBgcICQoLDA0ODw$UL7YM6KSxHM6X2XisBBl1Jvi/OVAzR6m6lVCnd2nC0o", password,
			"OpenSSL through Python cryptography 48.0.0, the same library that gives RFC 9106 5.3's tag 0d640df5…e659 for that section's input"},
	} {
		if row.source == "" {
			t.Fatal("no source")
		}
		h, err := parsePHC(row.stored)
		if err != nil || !h.matches(row.password) || h.matches(row.password+" ") {
			t.Errorf("%s: %v", row.stored, err)
		}
	}
}

func TestCookie(t *testing.T) {
	ends := time.Date(2026, 3, 8, 9, 0, 0, 0, time.UTC)
	for _, secure := range []bool{true, false} {
		line := Cookie("tok", ends, secure)
		c, err := http.ParseSetCookie(line)
		if err != nil || c.Valid() != nil {
			t.Fatalf("%q: %v %v", line, err, c.Valid())
		}
		if c.Value != "tok" || c.Path != "/" || !c.HttpOnly || c.Secure != secure || c.SameSite != http.SameSiteStrictMode ||
			c.Domain != "" || !c.Expires.Equal(ends) || strings.HasPrefix(c.Name, "__Host-") != secure {
			t.Errorf("got %+v", c)
		}
		if got := TokenFromCookies([]string{"other=1; " + c.Name + "=tok; more=2"}, secure); got != "tok" {
			t.Errorf("got %q", got)
		}
		if got := TokenFromCookies([]string{c.Name + "=tok"}, !secure); got != "" {
			t.Errorf("the cookie of the other kind of listener counts: %q", got)
		}
		if got := TokenFromCookies([]string{c.Name + "=a", c.Name + "=b"}, secure); got != "" {
			t.Errorf("got %q from two cookies", got)
		}
		gone, err := http.ParseSetCookie(NoCookie(secure))
		if err != nil || gone.Name != c.Name || !gone.Expires.Before(ends) || gone.Value != "" {
			t.Errorf("got %+v, %v", gone, err)
		}
	}
	for header, want := range map[string]string{"Bearer abc": "abc", "bearer abc": "abc", "Basic abc": "", "abc": "", "": ""} {
		if got := TokenFromBearer([]string{header}); got != want {
			t.Errorf("%q: got %q, want %q", header, got, want)
		}
	}
	if got := TokenFromBearer([]string{"Bearer a", "Bearer b"}); got != "" {
		t.Errorf("got %q", got)
	}
}

func FuzzParsePHC(f *testing.F) {
	f.Add(nobody)
	f.Add("$argon2id$v=19$m=4294967295,t=1,p=1$AAAA$AAAA")
	f.Add("$$$$$")
	f.Fuzz(func(t *testing.T, text string) {
		h, err := parsePHC(text)
		if err == nil && (h.memory > mostMemoryKiB || h.rounds > mostRounds || h.threads > mostThreads || len(h.key) > mostKeyBytes) {
			t.Errorf("%q asks for too much: %+v", text, h)
		}
	})
}

func FuzzTokenFromCookies(f *testing.F) {
	f.Add("evenpeel_session=a; x=b")
	f.Add(";;==;")
	f.Fuzz(func(t *testing.T, header string) {
		if got := TokenFromCookies([]string{header}, false); strings.ContainsAny(got, ";") {
			t.Errorf("got %q", got)
		}
	})
}

func BenchmarkAuthenticate(b *testing.B) {
	m := newMemory()
	g := NewGuard(Parts{Directory: m, Now: time.Now, Rand: rand.Reader})
	token := base64.RawURLEncoding.EncodeToString(make([]byte, tokenBytes))
	m.people["people/a"] = Person{Name: "people/a", Roles: []Role{Auditor}}
	hash := SessionHash(sha256.Sum256([]byte(token)))
	m.sessions[hash] = Session{Hash: hash, Person: "people/a", Seen: time.Now(), Ends: time.Now().Add(time.Hour)}
	for b.Loop() {
		if _, _, err := g.Authenticate(context.Background(), token); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkHashPassword(b *testing.B) {
	for b.Loop() {
		if _, err := hashPassword(rand.Reader, password); err != nil {
			b.Fatal(err)
		}
	}
}
