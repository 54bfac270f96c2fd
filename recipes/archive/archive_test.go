package archive

import (
	"bytes"
	"crypto/ed25519"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func key(n byte) ed25519.PrivateKey { return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, 32)) }

func public(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }

// filled is an archive of two records, two releases, and a new key.
func filled(t testing.TB) Archive {
	t.Helper()
	a := Archive{Head: recipes.ArchiveHead{Written: noon, Program: "test", FirstKey: public(key(1)), Key: public(key(2))}}
	var before recipes.Digest
	for _, of := range []struct {
		record recipes.RecordName
		number int64
	}{{"notes/a", 1}, {"notes/a", 2}, {"notes/b", 1}} {
		if of.number == 1 {
			before = recipes.Digest{}
		}
		s, err := sealed.Codec{}.SealRevision(recipes.Revision{Record: of.record, Number: of.number, Content: compliance.Note{Title: "A note", Market: "EU", Papers: []string{"A paper"}}, Author: "people/a", Approver: "people/b", Approved: noon, Previous: before})
		if err != nil {
			t.Fatal(err)
		}
		k, err := kept(s)
		if err != nil {
			t.Fatal(err)
		}
		before, a.Revisions = s.Digest(), append(a.Revisions, k)
	}
	signer := key(1)
	release := func(r recipes.Release) {
		r.Number, r.Approver, r.Made, r.Effective = int64(len(a.Releases)+1), "people/b", noon, noon
		if len(a.Releases) > 0 {
			r.Previous = a.Releases[len(a.Releases)-1].Sealed.Digest()
		}
		s, err := sealed.Codec{}.SealRelease(r)
		if err != nil {
			t.Fatal(err)
		}
		d := s.Digest()
		a.Releases = append(a.Releases, recipes.SignedRelease{Release: r, Sealed: s, Signature: ed25519.Sign(signer, d[:]), Key: recipes.KeyName(public(signer))})
	}
	release(recipes.Release{Markets: []recipes.Market{"EU"}, Revisions: []recipes.Released{{Revision: "notes/a/revisions/1", Digest: a.Revisions[0].Row.Digest}}})
	release(recipes.Release{FromKey: public(key(1)), NextKey: public(key(2))})
	signer = key(2)
	release(recipes.Release{Markets: []recipes.Market{"EU"}, Revisions: []recipes.Released{{Revision: "notes/a/revisions/2", Digest: a.Revisions[1].Row.Digest}}})
	a.Head.Revisions, a.Head.Releases = 3, 3
	return a
}

func file(t testing.TB, a Archive, k ed25519.PrivateKey) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, a, func(text []byte) []byte { return ed25519.Sign(k, text) }); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func wantReason(t *testing.T, err error, reasons ...fault.Reason) *fault.Fault {
	t.Helper()
	f, ok := fault.As(err)
	for _, r := range reasons {
		if ok && f.Reason == r {
			return f
		}
	}
	t.Fatalf("got %v, want %v", err, reasons)
	return nil
}

func TestRead_givesBackWhatWasWritten(t *testing.T) {
	want := filled(t)
	for _, first := range [][]byte{nil, public(key(1))} {
		got, err := Read(bytes.NewReader(file(t, want, key(2))), first)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b recipes.Sealed) bool { return a == b })); diff != "" {
			t.Errorf("-want +got\n%s", diff)
		}
	}
	_, err := Read(bytes.NewReader(file(t, want, key(2))), public(key(3)))
	wantReason(t, err, OtherKey)
}

func TestRead_namesWhereATornFileEnds(t *testing.T) {
	whole := file(t, filled(t), key(2))
	for n := range whole {
		_, err := Read(bytes.NewReader(whole[:n]), nil)
		if n < len(magic) {
			wantReason(t, err, NotAnArchive)
			continue
		}
		at := begin() // the place is worked out by walking over the lengths alone
		offset, part := int64(len(magic)), int64(1)
		for offset < int64(n) {
			next := offset + 36 + int64(whole[offset+2])<<8 + int64(whole[offset+3])
			if next > int64(n) {
				break
			}
			offset, part = next, part+1
		}
		if f := wantReason(t, err, Torn); !strings.Contains(f.Words, fmt.Sprintf("part %d, which begins at byte %d.", part, offset)) {
			t.Fatalf("torn at byte %d: %s, want part %d at byte %d (begins with %v)", n, f.Words, part, offset, at.part)
		}
	}
}

func TestRead_refusesEverySingleBitThatWasChanged(t *testing.T) {
	whole := file(t, filled(t), key(2))
	for bit := range 8 * len(whole) {
		spoiled := bytes.Clone(whole)
		spoiled[bit/8] ^= 1 << (bit % 8)
		_, err := Read(bytes.NewReader(spoiled), nil)
		f := wantReason(t, err, NotAnArchive, Edited, Torn)
		if f.Reason != NotAnArchive && !strings.Contains(f.Words, "begins at byte ") {
			t.Fatalf("bit %d: %s", bit, f.Words)
		}
	}
	_, err := Read(bytes.NewReader(append(bytes.Clone(whole), 0)), nil)
	wantReason(t, err, Edited)
}

func TestRead_refusesWhatWasPutTogetherAnew(t *testing.T) {
	for name, row := range map[string]struct {
		change  func(*Archive)
		signer  byte
		reasons []fault.Reason
	}{
		"a key of somebody else signs the file":        {func(*Archive) {}, 3, []fault.Reason{Unsigned}},
		"the key that was given up signs and is named": {func(a *Archive) { a.Head.Key = public(key(1)) }, 1, []fault.Reason{Unsigned}},
		"another first key":                            {func(a *Archive) { a.Head.FirstKey = public(key(3)) }, 2, []fault.Reason{"SIGNATURE_WRONG"}},
		"a release is left out":                        {func(a *Archive) { a.Releases = append(a.Releases[:1:1], a.Releases[2]) }, 2, []fault.Reason{"SIGNATURE_WRONG", "RELEASE_MISSING"}},
		"the last release is left out":                 {func(a *Archive) { a.Releases = a.Releases[:1]; a.Head.Key = public(key(2)) }, 2, []fault.Reason{Unsigned}},
		"a revision is left out":                       {func(a *Archive) { a.Revisions = a.Revisions[1:] }, 2, []fault.Reason{"REVISION_MISSING"}},
		"a released revision is left out":              {func(a *Archive) { a.Revisions = append(a.Revisions[:1:1], a.Revisions[2]) }, 2, []fault.Reason{Edited}},
		"two revisions are swapped":                    {func(a *Archive) { a.Revisions[0], a.Revisions[1] = a.Revisions[1], a.Revisions[0] }, 2, []fault.Reason{"REVISION_MISSING"}},
	} {
		t.Run(name, func(t *testing.T) {
			a := filled(t)
			row.change(&a)
			_, err := Read(bytes.NewReader(file(t, a, key(row.signer))), nil)
			wantReason(t, err, row.reasons...)
		})
	}
}

func TestVerifyRevisions_seesARowThatSaysOtherwise(t *testing.T) {
	a := filled(t)
	if err := VerifyRevisions(a.Revisions); err != nil {
		t.Fatal(err)
	}
	a.Revisions[1].Row.Title = "Another title"
	wantReason(t, VerifyRevisions(a.Revisions), "ROW_CHANGED")
}

func FuzzRead(f *testing.F) {
	f.Add(file(f, filled(f), key(2)))
	f.Add([]byte(magic))
	f.Fuzz(func(t *testing.T, b []byte) {
		if a, err := Read(bytes.NewReader(b), nil); err == nil && a.Verify() != nil {
			t.Error("what was read does not stand the same check again")
		}
	})
}
