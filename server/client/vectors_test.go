package client

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
)

func vectorName(i int, name string) string {
	return fmt.Sprintf("%02d-%s.json", i, strings.ReplaceAll(strings.ToLower(name), " ", "-"))
}

// compareVector holds a case against its file, or writes the file anew.
func compareVector(t *testing.T, path string, v vector) {
	t.Helper()
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		t.Fatal(err)
	}
	if *write {
		if err := os.WriteFile(path, text.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), text.String()); diff != "" {
		t.Errorf("%s differs; write it anew with -write if that is meant (-want +got):\n%s", path, diff)
	}
	replay(t, want)
}

// replay judges a case from its file alone, as another program would.
func replay(t *testing.T, text []byte) {
	t.Helper()
	var v vector
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	var m recipesv1.PullSheetResponse
	if err := protojson.Unmarshal(v.Answer, &m); err != nil {
		t.Fatal(err)
	}
	before, err := v.Trusted.trusted()
	if err != nil {
		t.Fatal(err)
	}
	has := map[string]bool{}
	for _, d := range v.Held {
		has[d] = true
	}
	after, err := before.Accept(sealed.Codec{}, answerOf(&m), func(d recipes.Digest) bool { return has[d.String()] }, v.Now)
	got := ""
	if f, ok := fault.As(err); ok {
		got = string(f.Reason)
	}
	if got != v.Want {
		t.Errorf("from the file: got %q, want %q", got, v.Want)
	}
	if v.After != nil {
		if diff := cmp.Diff(*v.After, trustFileOf(after)); diff != "" {
			t.Errorf("from the file, trusted after it (-want +got):\n%s", diff)
		}
	}
}

// Every single bit of a release that is changed on the way, of its bytes, digest or signature, makes it refused; so does
// every bit of the word that it is the newest.
func TestAccept_refusesEverySingleBit(t *testing.T) {
	o := opened(t)
	before, has := held(t, o)
	o.release(recipes.Release{Markets: []recipes.Market{eu}, Effective: noon}, note2)
	now := noon.Add(time.Hour)
	refused := func(what string, bit int, change func(m *recipesv1.PullSheetResponse), reasons ...fault.Reason) {
		t.Helper()
		m := o.answer(3, now)
		change(m)
		_, err := before.Accept(sealed.Codec{}, answerOf(m), func(d recipes.Digest) bool { return has[d] }, now)
		if f, ok := fault.As(err); !ok || !slices.Contains(reasons, f.Reason) {
			t.Fatalf("%s, bit %d: got %v", what, bit, err)
		}
	}
	honest := o.answer(3, now)
	r, f := honest.GetReleases()[0], honest.GetFreshness()
	for bit := range 8 * len(r.GetContent()) {
		refused("content", bit, func(m *recipesv1.PullSheetResponse) { m.Releases[0].Content = flipped(r.GetContent(), bit) }, "BYTES_CHANGED")
		refused("content and digest", bit, func(m *recipesv1.PullSheetResponse) {
			m.Releases[0].Content = flipped(r.GetContent(), bit)
			m.Releases[0].Sha256 = sha(m.Releases[0].Content)
		}, "SIGNATURE_WRONG")
	}
	for bit := range 8 * len(r.GetSha256()) {
		refused("digest", bit, func(m *recipesv1.PullSheetResponse) { m.Releases[0].Sha256 = flipped(r.GetSha256(), bit) }, "BYTES_CHANGED")
	}
	for bit := range 8 * len(r.GetSignature()) {
		refused("signature", bit, func(m *recipesv1.PullSheetResponse) { m.Releases[0].Signature = flipped(r.GetSignature(), bit) }, "SIGNATURE_WRONG")
		refused("freshness signature", bit, func(m *recipesv1.PullSheetResponse) { m.Freshness.Signature = flipped(f.GetSignature(), bit) }, "SIGNATURE_WRONG")
	}
	for bit := range 8 * len(f.GetContent()) {
		refused("freshness", bit, func(m *recipesv1.PullSheetResponse) { m.Freshness.Content = flipped(f.GetContent(), bit) }, "SIGNATURE_WRONG")
	}
}

// A client's folder that somebody changed: what is not what its digest says counts as not there.
func TestKeeping_doesNotBelieveAChangedFile(t *testing.T) {
	o := opened(t)
	k := keeping{t.TempDir()}
	if _, ok, err := k.trusted(); ok || err != nil {
		t.Fatal(ok, err)
	}
	m := o.answer(0, noon)
	trusted, err := recipes.Pinned(public(o.key), here, eu).Accept(sealed.Codec{}, answerOf(m), k.has, noon)
	if err != nil {
		t.Fatal(err)
	}
	if err := k.keep(trusted, answerOf(m).Records); err != nil {
		t.Fatal(err)
	}
	again, ok, err := k.trusted()
	if !ok || err != nil {
		t.Fatal(ok, err)
	}
	if diff := cmp.Diff(trustFileOf(trusted), trustFileOf(again)); diff != "" {
		t.Fatal(diff)
	}
	d := o.sealed[note1].Digest()
	if !k.has(d) {
		t.Fatal("what was kept is not there")
	}
	if err := os.WriteFile(k.recordFile(d), flipped(o.sealed[note1].Content(), 3), 0o600); err != nil {
		t.Fatal(err)
	}
	if k.has(d) {
		t.Fatal("a changed file is believed")
	}
	_, err = again.Accept(sealed.Codec{}, answerOf(o.answer(3, noon)), k.has, noon)
	if f, ok := fault.As(err); !ok || f.Reason != "RECORD_MISSING" {
		t.Fatalf("got %v", err)
	}
}
