package recipes

import (
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// Limits of one answer, so that a server that never stops sending is left after a known while.
const (
	MaxAnswerReleases = 5_000
	MaxAnswerRecords  = 5_000
	MaxAnswerBytes    = 8 << 20
	// MaxDrift is how far two clocks may differ before neither can judge what is fresh.
	MaxDrift = time.Hour
)

// Trusted is what a client has come to believe about the office, for one branch. It starts with a key that somebody put
// there (Pinned) and grows only by Accept.
type Trusted struct {
	Branch  string
	Market  Market
	Key     []byte   // Ed25519: signs the next release
	Retired [][]byte // keys that the office gave up, oldest first
	Release int64    // newest accepted; 0 is none
	Digest  Digest   // of it
	Said    time.Time
	Until   time.Time // until when nothing newer is known to exist
	Bearing []Sealed  // releases for the branch that are in force or to come, and what cancels them, by number
}

// Pinned is where trust begins: the office's key, out of a hand that is believed.
func Pinned(key []byte, branch string, market Market) Trusted {
	return Trusted{Branch: branch, Market: market, Key: key}
}

// Confirmed reports whether the newest release is known to be the newest still. Where it is not, what is held stays good
// to work by, and is shown as unconfirmed.
func (t Trusted) Confirmed(now time.Time) bool { return now.Before(t.Until) }

// Answer is what a server sent, as it came.
type Answer struct {
	Newest        int64
	Releases      []AnswerRelease
	Records       []AnswerRecord
	Current       []Released
	Next          []Released // nil where nothing is said to come
	ServerTime    time.Time
	Freshness     []byte
	FreshnessSign []byte
}

// AnswerRelease is a release as it came.
type AnswerRelease struct {
	Number             int64
	Content, Signature []byte
	Digest             Digest
}

// AnswerRecord is a sealed revision as it came.
type AnswerRecord struct {
	Name    RevisionName
	Content []byte
	Digest  Digest
}

// Accept judges an answer and gives what is trusted after it, or a fault and nothing changed. has reports whether the
// client holds the bytes of a digest, checked. The threats are those of The Update Framework 1.0.34, section 1.5.2 (from
// memory: the numbers of its client workflow, section 5, stand beside the tests). Faults, all Broken but the first two:
// TooLarge/ANSWER_TOO_LARGE, NotReady/CLOCK_DIFFERS; BYTES_CHANGED, SIGNATURE_WRONG, KEY_RETIRED, RELEASE_MISSING,
// RELEASE_CHAIN_BROKEN, FRESHNESS_MISSING, FRESHNESS_OLD, FRESHNESS_EXPIRED, RELEASE_ROLLED_BACK, RELEASE_WITHHELD,
// ANSWER_MIXED, RECORD_NOT_ASKED, RECORD_MISSING; and those of opening a release.
func (t Trusted) Accept(open interface {
	ReleaseOpener
	FreshnessOpener
}, a Answer, has func(Digest) bool, now time.Time) (Trusted, error) {
	if err := a.bounded(); err != nil {
		return t, err
	}
	if drift := a.ServerTime.Sub(now); drift > MaxDrift || drift < -MaxDrift {
		return t, fault.New(fault.NotReady, "recipes", "CLOCK_DIFFERS", "This device's clock and the server's differ by %s, so it can not be told what is fresh. Set the clock, then pull again.", drift.Abs().Round(time.Minute))
	}
	next, err := t.follow(open, a, now)
	if err != nil {
		return t, err
	}
	if next.Said, next.Until, err = next.fresh(open, a, t, now); err != nil {
		return t, err
	}
	releases, err := next.bearing(open)
	if err != nil {
		return t, err
	}
	if err := next.sheets(releases, a); err != nil {
		return t, err
	}
	return next, next.records(releases, a, has)
}

func (a Answer) bounded() error {
	size := len(a.Freshness)
	for _, r := range a.Releases {
		size += len(r.Content)
	}
	for _, r := range a.Records {
		size += len(r.Content)
	}
	if len(a.Releases) > MaxAnswerReleases || len(a.Records) > MaxAnswerRecords || size > MaxAnswerBytes {
		return fault.New(fault.TooLarge, "recipes", "ANSWER_TOO_LARGE", "The server sent more than a settings sheet can be (%d releases, %d records, %d bytes). Nothing of it is used.", len(a.Releases), len(a.Records), size)
	}
	return nil
}

// follow walks along the releases that came.
func (t Trusted) follow(open ReleaseOpener, a Answer, now time.Time) (Trusted, error) {
	at := link{t.Release, t.Digest, t.Key, t.Retired}
	bearing, err := t.bearing(open)
	if err != nil {
		return t, err
	}
	sealed := slices.Clone(t.Bearing)
	for _, r := range a.Releases {
		s, err := Unseal(r.Content, r.Digest)
		if err != nil {
			return t, err
		}
		var release Release
		if release, at, err = at.next(open, SignedRelease{Release: Release{Number: r.Number}, Sealed: s, Signature: r.Signature}); err != nil {
			return t, err
		}
		if release.Number != r.Number {
			return t, mixed("A release says that it is number %d, but it was sent as number %d.", release.Number, r.Number)
		}
		if release.Reaches(t.Branch, t.Market) {
			bearing, sealed = append(bearing, release), append(sealed, s)
		}
	}
	t.Release, t.Digest, t.Key, t.Retired = at.number, at.digest, at.key, at.retired
	t.Bearing = stillBearing(bearing, sealed, t.Branch, t.Market, now.Add(-2*MaxDrift))
	return t, nil
}

// stillBearing leaves out releases that no sheet from an instant on can come from.
func stillBearing(releases []Release, sealed []Sealed, branch string, market Market, from time.Time) (out []Sealed) {
	sheet, _ := SheetAt(releases, branch, market, from)
	holds := map[int64]bool{}
	for _, e := range sheet.Entries {
		holds[e.Release] = true
	}
	for i, r := range releases {
		if holds[r.Number] || r.Effective.After(from) || r.Cancels > 0 && slices.ContainsFunc(releases, func(o Release) bool { return o.Number == r.Cancels && o.Effective.After(from) }) {
			out = append(out, sealed[i])
		}
	}
	return out
}

func (t Trusted) bearing(open ReleaseOpener) ([]Release, error) {
	out := make([]Release, len(t.Bearing))
	for i, s := range t.Bearing {
		var err error
		if out[i], err = open.OpenRelease(s); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Sheets are what is in force and what comes next by what is trusted, at an instant within MaxDrift of now or later.
func (t Trusted) Sheets(open ReleaseOpener, at time.Time) (current Sheet, next *Sheet, err error) {
	releases, err := t.bearing(open)
	if err != nil {
		return current, nil, err
	}
	current, next = SheetAt(releases, t.Branch, t.Market, at)
	return current, next, nil
}

func mixed(words string, args ...any) error {
	return fault.New(fault.Broken, "recipes", "ANSWER_MIXED", words+" Nothing of it is used; pull again, and tell head office if it stays so.", args...)
}

// fresh judges the statement that came, by the key at the end of the chain; before is what was trusted before it.
func (t Trusted) fresh(open FreshnessOpener, a Answer, before Trusted, now time.Time) (said, until time.Time, err error) {
	broken := func(reason fault.Reason, words string, args ...any) (time.Time, time.Time, error) {
		return said, until, fault.New(fault.Broken, "recipes", reason, words, args...)
	}
	if len(a.Freshness) == 0 {
		return broken("FRESHNESS_MISSING", "The server does not say which release is the newest. What is held stays in use, unconfirmed.")
	}
	s := SealBytes(a.Freshness)
	text := FreshnessText(s.Digest())
	if !signedBy(t.Key, text, a.FreshnessSign) {
		if slices.ContainsFunc(t.Retired, func(key []byte) bool { return signedBy(key, text, a.FreshnessSign) }) {
			return broken("KEY_RETIRED", "The server vouches with a key that the office gave up. What is held stays in use, unconfirmed. Tell head office.")
		}
		return broken("SIGNATURE_WRONG", "What the server says about the newest release is not signed with the office's key. Tell head office.")
	}
	f, err := open.OpenFreshness(s)
	if err != nil {
		return said, until, err
	}
	if latest := f.Time.Add(FreshFor); f.Until.After(latest) {
		f.Until = latest
	}
	switch {
	case f.Time.After(now.Add(MaxDrift)):
		return said, until, fault.New(fault.NotReady, "recipes", "CLOCK_DIFFERS", "This device's clock is behind what the office signed. Set the clock, then pull again.")
	case !f.Until.After(now):
		return broken("FRESHNESS_EXPIRED", "What the server says about the newest release is from %s, and too old to be believed. What is held stays in use, unconfirmed.", f.Time.UTC().Format("2006-01-02 15:04 UTC"))
	case f.Time.Before(before.Said.Add(-MaxDrift)):
		return broken("FRESHNESS_OLD", "The server repeats what was said before something newer that is known here. Tell head office.")
	case f.Release < before.Release:
		return broken("RELEASE_ROLLED_BACK", "The server says that release %d is the newest, but release %d is held here. It may have been put back to an older state; tell head office.", f.Release, before.Release)
	case f.Release > t.Release:
		return broken("RELEASE_WITHHELD", "Release %d exists, but the server sent no further than release %d. Pull again.", f.Release, t.Release)
	case f.Release < t.Release || f.Release != a.Newest:
		return said, until, mixed("The server sent release %d, names release %d as the newest, and its signed word names release %d.", t.Release, a.Newest, f.Release)
	case f.Digest != t.Digest:
		return broken("RELEASE_CHAIN_BROKEN", "Release %d is held here with other content than the office names. Tell head office.", t.Release)
	}
	said, until = f.Time, f.Until
	if said.Before(before.Said) {
		said = before.Said
	}
	if until.Before(before.Until) {
		until = before.Until
	}
	return said, until, nil
}

// sheets checks that what the server calls in force is what its own signed releases come to.
func (t Trusted) sheets(releases []Release, a Answer) error {
	current, next := SheetAt(releases, t.Branch, t.Market, a.ServerTime)
	if !slices.Equal(plainEntries(current), a.Current) {
		return mixed("What the server calls in force is not what the signed releases put in force.")
	}
	switch {
	case next == nil && a.Next != nil, next != nil && !slices.Equal(plainEntries(*next), a.Next):
		return mixed("What the server says comes next is not what the signed releases say.")
	}
	return nil
}

func plainEntries(s Sheet) []Released {
	var out []Released
	for _, e := range s.Entries {
		out = append(out, e.Released)
	}
	return out
}

// records checks the bytes that came: each is asked for and right, and none is missing.
func (t Trusted) records(releases []Release, a Answer, has func(Digest) bool) error {
	wanted := map[Released]bool{}
	for _, w := range Wanted(releases, t.Branch, t.Market, a.ServerTime) {
		wanted[w] = false
	}
	for _, r := range a.Records {
		if _, err := Unseal(r.Content, r.Digest); err != nil {
			return err
		}
		key := Released{r.Name, r.Digest}
		if _, ok := wanted[key]; !ok {
			return fault.New(fault.Broken, "recipes", "RECORD_NOT_ASKED", "The server sent %s, which no release puts in force here. Nothing of the answer is used.", string(r.Name))
		}
		wanted[key] = true
	}
	for w, came := range wanted {
		if !came && !has(w.Digest) {
			return fault.New(fault.Broken, "recipes", "RECORD_MISSING", "%s is in force or comes next, but its content is not here and was not sent. Pull again from the beginning.", string(w.Revision))
		}
	}
	return nil
}

// Wanted are the revisions that a branch needs at an instant: what is in force, and everything that its releases will
// put in force later, so that every instant to come passes rightly without a connection. By revision.
func Wanted(releases []Release, branch string, market Market, at time.Time) []Released {
	mine := inOrder(releases, branch, market)
	seen := map[Released]bool{}
	var out []Released
	add := func(r Released) {
		if !seen[r] {
			seen[r], out = true, append(out, r)
		}
	}
	for _, e := range sheetOf(mine, at).Entries {
		add(e.Released)
	}
	for _, r := range mine {
		if r.Effective.After(at) {
			for _, rev := range r.Revisions {
				add(rev)
			}
		}
	}
	slices.SortFunc(out, func(a, b Released) int {
		switch {
		case a.Revision < b.Revision:
			return -1
		case a.Revision > b.Revision:
			return 1
		}
		return slices.Compare(a.Digest[:], b.Digest[:])
	})
	return out
}
