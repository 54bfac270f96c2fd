package recipes

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
)

func wantFault(t testing.TB, err error, kind fault.Kind, reason fault.Reason) {
	t.Helper()
	if f, ok := fault.As(err); !ok || f.Kind != kind || f.Reason != reason {
		t.Errorf("got %v, want %s/%s", err, kind, reason)
	}
}

func TestDigest_isSHA256(t *testing.T) {
	rows := []struct{ message, want, source string }{
		{"abc", "ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad", "FIPS 180-4 (2015), SHA-256 worked example, one block"},
		{"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", "248d6a61 d20638b8 e5c02693 0c3e6039 a33ce459 64ff2167 f6ecedd4 19db06c1", "FIPS 180-4 (2015), SHA-256 worked example, two blocks (from memory)"},
		{"", "e3b0c442 98fc1c14 9afbf4c8 996fb924 27ae41e4 649b934c a495991b 7852b855", "NIST CAVP SHA256ShortMsg, Len = 0 (from memory)"},
	}
	for _, row := range rows {
		want := strings.ReplaceAll(row.want, " ", "")
		s := SealBytes([]byte(row.message))
		if got := s.Digest().String(); got != want {
			t.Errorf("%q: got %s, want %s (%s)", row.message, got, want, row.source)
		}
		var d Digest
		if err := d.UnmarshalText([]byte(strings.ToUpper(want))); err != nil || d != s.Digest() {
			t.Errorf("%q: read back as %s, %v", row.message, d, err)
		}
		if u, err := Unseal([]byte(row.message), d); err != nil || u != s || u.Size() != len(row.message) {
			t.Errorf("%q does not unseal by its published digest: %v", row.message, err)
		}
		if row.source == "" {
			t.Errorf("%q has no source", row.message)
		}
	}
}

func TestDigest_textIsReadOrRefused(t *testing.T) {
	if !(Digest{}).Zero() || SealBytes(nil).Digest().Zero() {
		t.Error("Zero means no digest, not the digest of nothing")
	}
	for _, text := range []string{"", "ba", strings.Repeat("a", 63), strings.Repeat("a", 66), strings.Repeat("g", 64), " " + strings.Repeat("a", 64)} {
		before := SealBytes([]byte("abc")).Digest()
		d := before
		wantFault(t, d.UnmarshalText([]byte(text)), fault.Invalid, "DIGEST_INVALID")
	}
	rapid.Check(t, func(t *rapid.T) {
		want, err := ParseDigest(rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "bytes"))
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(want)
		var got Digest
		if err != nil || json.Unmarshal(text, &got) != nil || got != want {
			t.Fatalf("%s became %s, then %s", want, text, got)
		}
	})
}

func TestUnseal_refusesEveryChangedBit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		content := rapid.SliceOfN(rapid.Byte(), 1, 200).Draw(t, "content")
		s := SealBytes(content)
		changed := bytes.Clone(content)
		changed[rapid.IntRange(0, len(content)-1).Draw(t, "at")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		_, err := Unseal(changed, s.Digest())
		f, ok := fault.As(err)
		if !ok || f.Kind != fault.Broken || f.Reason != "BYTES_CHANGED" || f.Facts["want"] != s.Digest().String() || f.Facts["got"] != SealBytes(changed).Digest().String() {
			t.Fatalf("got %v", err)
		}
	})
}

func TestSealed_canNotBeWrittenInto(t *testing.T) {
	content := []byte("abc")
	s := SealBytes(content)
	content[0] = 'x'
	s.Content()[1] = 'x'
	if string(s.Content()) != "abc" {
		t.Fatalf("sealed bytes became %q", s.Content())
	}
}
