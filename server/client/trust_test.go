package client

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
)

var write = flag.Bool("write", false, "write recipes/testdata/trust anew")

const (
	here             = "branches/harbour"
	eu               = recipes.Market("EU")
	note1, note2     = recipes.RevisionName("notes/a/revisions/1"), recipes.RevisionName("notes/a/revisions/2")
	other1, pending1 = recipes.RevisionName("notes/b/revisions/1"), recipes.RevisionName("notes/c/revisions/1")
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// office is a head office with keys and a chain, and the server that answers for it.
type office struct {
	t      *testing.T
	keys   []ed25519.PrivateKey
	key    ed25519.PrivateKey // signs now
	chain  []recipes.SignedRelease
	sealed map[recipes.RevisionName]recipes.Sealed
}

func newOffice(t *testing.T) *office {
	o := &office{t: t, sealed: map[recipes.RevisionName]recipes.Sealed{}}
	for i := range 3 {
		seed := sha256.Sum256([]byte{byte(i)})
		o.keys = append(o.keys, ed25519.NewKeyFromSeed(seed[:]))
	}
	o.key = o.keys[0]
	for _, name := range []recipes.RevisionName{note1, note2, other1, pending1} {
		record, number, err := name.Parts()
		if err != nil {
			t.Fatal(err)
		}
		s, err := sealed.Codec{}.SealRevision(recipes.Revision{Record: record, Number: number, Content: compliance.Note{Title: string(name), Market: "EU", Papers: []string{"A paper"}}, Author: "people/a", Approver: "people/b", Approved: noon})
		if err != nil {
			t.Fatal(err)
		}
		o.sealed[name] = s
	}
	return o
}

func public(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }

// release adds one to the chain, signed with the key of now.
func (o *office) release(r recipes.Release, names ...recipes.RevisionName) {
	o.t.Helper()
	for _, n := range names {
		r.Revisions = append(r.Revisions, recipes.Released{Revision: n, Digest: o.sealed[n].Digest()})
	}
	r.Number, r.Approver, r.Made = int64(len(o.chain)+1), "people/b", noon.Add(-time.Hour)
	if len(o.chain) > 0 {
		r.Previous = o.chain[len(o.chain)-1].Sealed.Digest()
	}
	o.chain = append(o.chain, o.signed(r, o.key))
}

func (o *office) signed(r recipes.Release, key ed25519.PrivateKey) recipes.SignedRelease {
	o.t.Helper()
	s, err := sealed.Codec{}.SealRelease(r)
	if err != nil {
		o.t.Fatal(err)
	}
	digest := s.Digest()
	return recipes.SignedRelease{Release: r, Sealed: s, Signature: ed25519.Sign(key, digest[:]), Key: recipes.KeyName(public(key))}
}

// rotate hands over to the next key.
func (o *office) rotate() {
	next := o.keys[1+slices.IndexFunc(o.keys, func(k ed25519.PrivateKey) bool { return k.Equal(o.key) })]
	o.release(recipes.Release{FromKey: public(o.key), NextKey: public(next), Effective: noon.Add(-time.Hour)})
	o.key = next
}

func (o *office) vouched(f recipes.Freshness, key ed25519.PrivateKey) *recipesv1.SignedFreshness {
	o.t.Helper()
	s, err := sealed.Codec{}.SealFreshness(f)
	if err != nil {
		o.t.Fatal(err)
	}
	return &recipesv1.SignedFreshness{Content: s.Content(), Signature: ed25519.Sign(key, recipes.FreshnessText(s.Digest())), Key: recipes.KeyName(public(key))}
}

// fresh says that the newest release of the chain is the newest.
func (o *office) fresh(at time.Time) *recipesv1.SignedFreshness {
	newest := o.chain[len(o.chain)-1]
	return o.vouched(recipes.Freshness{Release: newest.Release.Number, Digest: newest.Sealed.Digest(), Time: at, Until: at.Add(recipes.FreshFor)}, o.key)
}

func releasesOf(chain []recipes.SignedRelease) (out []recipes.Release) {
	for _, s := range chain {
		out = append(out, s.Release)
	}
	return out
}

// answer is what an honest server sends.
func (o *office) answer(held int64, at time.Time) *recipesv1.PullSheetResponse {
	all := releasesOf(o.chain)
	current, next := recipes.SheetAt(all, here, eu, at)
	m := &recipesv1.PullSheetResponse{NewestRelease: int64(len(all)), ServerTime: timestamppb.New(at), Market: string(eu), OfficeKey: recipes.KeyAfter(o.chain, held, public(o.key)), Freshness: o.fresh(at), Current: sheet(current)}
	if next != nil {
		m.Next = sheet(*next)
	}
	for _, s := range o.chain[held:] {
		digest := s.Sealed.Digest()
		m.Releases = append(m.Releases, &recipesv1.SealedRelease{Number: s.Release.Number, Content: s.Sealed.Content(), Sha256: digest[:], Signature: s.Signature, Key: s.Key})
	}
	known := recipes.Wanted(all[:held], here, eu, at)
	for _, w := range recipes.Wanted(all, here, eu, at) {
		if !slices.Contains(known, w) {
			m.Records = append(m.Records, o.record(w.Revision))
		}
	}
	return m
}

func (o *office) record(name recipes.RevisionName) *recipesv1.SealedRecord {
	digest := o.sealed[name].Digest()
	return &recipesv1.SealedRecord{Name: string(name), Content: o.sealed[name].Content(), Sha256: digest[:]}
}

func sheet(s recipes.Sheet) *recipesv1.Sheet {
	digest := s.Digest()
	m := &recipesv1.Sheet{Release: s.Release, Sha256: digest[:]}
	for _, e := range s.Entries {
		m.Entries = append(m.Entries, &recipesv1.SheetEntry{Revision: string(e.Revision), Sha256: e.Digest[:]})
	}
	return m
}

// opened is an office with a history: a note, a note at another market, one to come, a trial elsewhere, a new key.
func opened(t *testing.T) *office {
	o := newOffice(t)
	o.release(recipes.Release{Markets: []recipes.Market{eu}, Effective: noon.Add(-50 * time.Minute)}, note1)
	o.release(recipes.Release{Markets: []recipes.Market{"UK"}, Effective: noon.Add(-50 * time.Minute)}, other1)
	o.release(recipes.Release{Markets: []recipes.Market{eu}, Effective: noon.Add(5 * time.Hour)}, pending1)
	return o
}

// held is a client that has pulled once.
func held(t *testing.T, o *office) (recipes.Trusted, map[recipes.Digest]bool) {
	t.Helper()
	m := o.answer(0, noon)
	has := map[recipes.Digest]bool{}
	trusted, err := recipes.Pinned(public(o.keys[0]), here, eu).Accept(sealed.Codec{}, answerOf(m), func(d recipes.Digest) bool { return has[d] }, noon)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range m.GetRecords() {
		has[digestOf(r.GetSha256())] = true
	}
	return trusted, has
}

// flipped changes one bit.
func flipped(b []byte, bit int) []byte {
	c := bytes.Clone(b)
	c[bit/8] ^= 1 << (bit % 8)
	return c
}

// sha keeps a digest true to bytes that were changed, as one who changes them would.
func sha(b []byte) []byte { sum := sha256.Sum256(b); return sum[:] }

// vector is one case, as recipes/testdata/trust holds it for the page's own check.
type vector struct {
	Name    string          `json:"name"`
	Threat  string          `json:"threat"`
	Source  string          `json:"source"`
	Now     time.Time       `json:"now"`
	Trusted trustFile       `json:"trusted"`
	Held    []string        `json:"held"`
	Answer  json.RawMessage `json:"answer"` // a PullSheetResponse in protobuf's JSON
	Want    string          `json:"want"`   // reason of the refusal; empty where it is accepted
	After   *trustFile      `json:"after,omitempty"`
}

// cases are honest answers and every attack. Threats are named as The Update Framework 1.0.34 names them (from memory).
func cases() []struct {
	name, threat, source, want string
	at                         time.Duration // after noon
	make                       func(o *office) *recipesv1.PullSheetResponse
} {
	later := func(o *office) *recipesv1.PullSheetResponse {
		o.release(recipes.Release{Markets: []recipes.Market{eu}, Effective: noon}, note2)
		return o.answer(3, noon.Add(time.Hour))
	}
	attack := func(change func(o *office, m *recipesv1.PullSheetResponse)) func(o *office) *recipesv1.PullSheetResponse {
		return func(o *office) *recipesv1.PullSheetResponse {
			m := later(o)
			change(o, m)
			return m
		}
	}
	const (
		ours = "ours: design.md section 3"
		tuf  = "The Update Framework 1.0.34, "
	)
	return []struct {
		name, threat, source, want string
		at                         time.Duration
		make                       func(o *office) *recipesv1.PullSheetResponse
	}{
		{"a new release", "none", ours, "", time.Hour, later},
		{"nothing new", "none", ours, "", time.Hour, func(o *office) *recipesv1.PullSheetResponse { return o.answer(3, noon.Add(time.Hour)) }},
		{"what was to come is in force", "none", ours, "", 6 * time.Hour, func(o *office) *recipesv1.PullSheetResponse { return o.answer(3, noon.Add(6*time.Hour)) }},
		{"what was to come is cancelled", "none", ours, "", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.release(recipes.Release{Cancels: 3, Markets: []recipes.Market{eu}, Effective: noon})
			return o.answer(3, noon.Add(time.Hour))
		}},
		{"a record is withdrawn", "none", ours, "", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.release(recipes.Release{Withdrawn: []recipes.RecordName{"notes/a"}, Markets: []recipes.Market{eu}, Effective: noon})
			return o.answer(3, noon.Add(time.Hour))
		}},
		{"the key is handed over", "none", ours + "; RFC 8032 signatures", "", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.rotate()
			return later(o)
		}},

		{"an older state", "rollback", tuf + "5.4.3, 5.5.5", "RELEASE_ROLLED_BACK", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.chain = o.chain[:2]
			return o.answer(2, noon.Add(time.Hour))
		}},
		{"the last release was made anew", "rollback", tuf + "5.4.3", "RELEASE_CHAIN_BROKEN", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.chain = o.chain[:2]
			o.release(recipes.Release{Markets: []recipes.Market{eu}, Effective: noon.Add(4 * time.Hour)}, pending1)
			return o.answer(3, noon.Add(time.Hour))
		}},
		{"a release that follows another history", "rollback", tuf + "5.5.5", "RELEASE_CHAIN_BROKEN", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.chain = o.chain[:2]
			o.release(recipes.Release{Markets: []recipes.Market{eu}, Effective: noon.Add(4 * time.Hour)}, pending1)
			return later(o)
		}},
		{"the same word for ever", "indefinite freeze", tuf + "5.4.4", "FRESHNESS_EXPIRED", 26 * time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			m := o.answer(3, noon.Add(26*time.Hour))
			m.Freshness = o.fresh(noon)
			return m
		}},
		{"an older word again", "indefinite freeze", tuf + "5.4.3", "FRESHNESS_OLD", 0, func(o *office) *recipesv1.PullSheetResponse {
			m := o.answer(3, noon)
			m.Freshness = o.fresh(noon.Add(-3 * time.Hour))
			return m
		}},
		{"no word at all", "indefinite freeze", tuf + "5.4.1", "FRESHNESS_MISSING", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.Freshness = nil })},
		{"a word that never ends", "indefinite freeze", tuf + "5.4.4", "FRESHNESS_EXPIRED", 26 * time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			m := o.answer(3, noon.Add(26*time.Hour))
			m.Freshness = o.vouched(recipes.Freshness{Release: 3, Digest: o.chain[2].Sealed.Digest(), Time: noon, Until: noon.AddDate(10, 0, 0)}, o.key)
			return m
		}},
		{"the newest release is kept back", "indefinite freeze", tuf + "5.5.4", "RELEASE_WITHHELD", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.Releases, m.Records = nil, nil })},
		{"the clock differs", "indefinite freeze", tuf + "5.4.4 needs a clock", "CLOCK_DIFFERS", time.Hour, func(o *office) *recipesv1.PullSheetResponse { return o.answer(3, noon.Add(4*time.Hour)) }},
		{"the sheet of another moment", "mix and match", tuf + "5.5.6", "ANSWER_MIXED", time.Hour, attack(func(o *office, m *recipesv1.PullSheetResponse) {
			m.Current = o.answer(0, noon.Add(-55*time.Minute)).GetCurrent()
		})},
		{"the next sheet is left out", "mix and match", tuf + "5.5.6", "ANSWER_MIXED", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.Next = nil })},
		{"an old revision in the new sheet", "mix and match", tuf + "5.6.2", "ANSWER_MIXED", time.Hour, attack(func(o *office, m *recipesv1.PullSheetResponse) {
			d := o.sealed[note1].Digest()
			m.Current.Entries[0] = &recipesv1.SheetEntry{Revision: string(note1), Sha256: d[:]}
		})},
		{"the newest number is another", "mix and match", tuf + "5.5.4", "ANSWER_MIXED", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.NewestRelease = 9 })},
		{"a release in the middle is left out", "mix and match", tuf + "5.5.6", "RELEASE_MISSING", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.release(recipes.Release{Markets: []recipes.Market{"UK"}, Effective: noon}, other1)
			m := later(o)
			m.Releases = m.Releases[1:]
			return m
		}},
		{"a release twice", "mix and match", tuf + "5.5.5", "RELEASE_MISSING", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.Releases = append(m.Releases, m.Releases[0]) })},
		{"releases without end", "endless data", tuf + "5.5.2 and 5.6.1 bound every download", "ANSWER_TOO_LARGE", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) {
			for range recipes.MaxAnswerReleases {
				m.Releases = append(m.Releases, &recipesv1.SealedRelease{})
			}
		})},
		{"a key of somebody else", "wrong key", tuf + "5.3.4", "SIGNATURE_WRONG", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.key = o.keys[2]
			return later(o)
		}},
		{"somebody else vouches", "wrong key", tuf + "5.4.2", "SIGNATURE_WRONG", time.Hour, attack(func(o *office, m *recipesv1.PullSheetResponse) {
			o.key = o.keys[2]
			m.Freshness = o.fresh(noon.Add(time.Hour))
		})},
		{"the key that was given up signs a release", "wrong key", tuf + "5.3.4, after a rotation (6.1)", "KEY_RETIRED", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.rotate()
			o.key = o.keys[0]
			return later(o)
		}},
		{"the key that was given up vouches", "wrong key", tuf + "5.4.2, after a rotation (6.1)", "KEY_RETIRED", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.rotate()
			m := later(o)
			o.key = o.keys[0]
			m.Freshness = o.fresh(noon.Add(time.Hour))
			return m
		}},
		{"a hand-over that the old key did not sign", "wrong key", tuf + "5.3.4: the old key signs the new", "SIGNATURE_WRONG", time.Hour, func(o *office) *recipesv1.PullSheetResponse {
			o.key = o.keys[1]
			o.release(recipes.Release{FromKey: public(o.keys[0]), NextKey: public(o.keys[1]), Effective: noon})
			return later(o)
		}},
		{"the signature of a word on a release", "wrong key", "ours: what is signed differs", "SIGNATURE_WRONG", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) {
			m.Releases[0].Signature = m.GetFreshness().GetSignature()
		})},
		{"a record with other bytes", "arbitrary software, tampered cache", tuf + "5.6.2, 5.7.2; FIPS 180-4", "BYTES_CHANGED", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) {
			m.Records[0].Content = flipped(m.Records[0].GetContent(), 40)
		})},
		{"a record with other bytes and their digest", "arbitrary software", tuf + "5.7.2", "RECORD_NOT_ASKED", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) {
			m.Records[0].Content = flipped(m.Records[0].GetContent(), 40)
			m.Records[0].Sha256 = sha(m.Records[0].GetContent())
		})},
		{"a release with other bytes", "arbitrary software, tampered cache", tuf + "5.5.3", "BYTES_CHANGED", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) {
			m.Releases[0].Content = flipped(m.Releases[0].GetContent(), 8)
		})},
		{"a record that nobody released", "extraneous dependencies", tuf + "5.6.2", "RECORD_NOT_ASKED", time.Hour, attack(func(o *office, m *recipesv1.PullSheetResponse) {
			m.Records = append(m.Records, o.record(other1))
		})},
		{"a record under another name", "mix and match", tuf + "5.7.2", "RECORD_NOT_ASKED", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.Records[0].Name = string(note1) })},
		{"a record is left out", "mix and match", tuf + "5.7.1", "RECORD_MISSING", time.Hour, attack(func(_ *office, m *recipesv1.PullSheetResponse) { m.Records = nil })},
		{"a release of tomorrow's program", "none", "ours: Open refuses unknown fields", "RECORD_TOO_NEW", time.Hour, attack(func(o *office, m *recipesv1.PullSheetResponse) {
			content := append(bytes.Clone(m.Releases[0].GetContent()), 0xd8, 0x06, 1) // field 107, a number
			d := recipes.Digest(sha256.Sum256(content))
			m.Releases[0].Content, m.Releases[0].Sha256, m.Releases[0].Signature = content, d[:], ed25519.Sign(o.key, d[:])
		})},
	}
}

func TestAccept_refusesEveryAttackWithAName(t *testing.T) {
	folder := filepath.Join("..", "..", "recipes", "testdata", "trust")
	if *write {
		if err := os.MkdirAll(folder, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for i, c := range cases() {
		t.Run(c.name, func(t *testing.T) {
			o := opened(t)
			before, has := held(t, o)
			m, now := c.make(o), noon.Add(c.at)
			after, err := before.Accept(sealed.Codec{}, answerOf(m), func(d recipes.Digest) bool { return has[d] }, now)
			if f, _ := fault.As(err); (err == nil) != (c.want == "") || err != nil && (f == nil || string(f.Reason) != c.want) {
				t.Fatalf("got %v, want %q (%s)", err, c.want, c.source)
			}
			if c.source == "" {
				t.Error("it has no source")
			}
			if err == nil && (after.Release != int64(len(o.chain)) || !after.Confirmed(now)) {
				t.Errorf("accepted up to release %d of %d, confirmed %v", after.Release, len(o.chain), after.Confirmed(now))
			}
			// The page's own check reads the same case from a file, and must come to the same.
			v := vector{Name: c.name, Threat: c.threat, Source: c.source, Now: now, Trusted: trustFileOf(before), Want: c.want}
			for d := range has {
				v.Held = append(v.Held, d.String())
			}
			slices.Sort(v.Held)
			if c.threat == "endless data" { // too large for a file on purpose
				return
			}
			text, err := protojson.Marshal(m)
			if err != nil {
				t.Fatal(err)
			}
			var calm bytes.Buffer // protojson's own spacing changes from build to build
			if err := json.Compact(&calm, text); err != nil {
				t.Fatal(err)
			}
			v.Answer = calm.Bytes()
			if c.want == "" {
				f := trustFileOf(after)
				v.After = &f
			}
			compareVector(t, filepath.Join(folder, vectorName(i, c.name)), v)
		})
	}
}
