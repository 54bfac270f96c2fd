package client

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/patch"
)

func sent(content, base []byte) (*recipesv1.SealedRecord, *recipesv1.SheetEntry) {
	d := recipes.SealBytes(content).Digest()
	r := &recipesv1.SealedRecord{Name: "prices/eu/revisions/2", Content: content, Sha256: d[:]}
	if base != nil {
		of := recipes.SealBytes(base).Digest()
		r.Content, r.BaseSha256, r.Patch = nil, of[:], patch.Make(base, content)
	}
	return r, &recipesv1.SheetEntry{Revision: r.GetName(), Sha256: d[:]}
}

func TestKept_patchesWhatItHoldsAndRefusesTheRest(t *testing.T) {
	k := kept{t.TempDir()}
	first := bytes.Repeat([]byte("a line of a price list; "), 100)
	second := append(bytes.Clone(first), "and one more"...)
	pull := func(number int64, r *recipesv1.SealedRecord, e *recipesv1.SheetEntry) error {
		answer := &recipesv1.PullSheetResponse{NewestRelease: number, Records: []*recipesv1.SealedRecord{r}, Current: &recipesv1.Sheet{Entries: []*recipesv1.SheetEntry{e}}}
		if r == nil {
			answer.Records = nil
		}
		records, err := k.opened(answer)
		if err != nil {
			return err
		}
		return k.put(answer, records)
	}
	r, e := sent(second, first)
	if err := pull(2, r, e); err == nil {
		t.Fatal("a patch of something that is not held was taken")
	}
	if n, err := k.held(7); n != 0 || err != nil {
		t.Fatalf("nothing is kept, but %d is said: %v", n, err)
	}
	whole, entry := sent(first, nil)
	if err := pull(1, whole, entry); err != nil {
		t.Fatal(err)
	}
	for at := range r.GetPatch() { // every single bit of the patch, changed on the way
		for bit := range 8 {
			r.Patch[at] ^= 1 << bit
			if err := pull(2, r, e); err == nil {
				t.Fatalf("a patch with a changed bit %d of byte %d was taken", bit, at)
			}
			r.Patch[at] ^= 1 << bit
		}
	}
	if err := pull(2, r, e); err != nil {
		t.Fatal(err)
	}
	if n, err := k.held(0); n != 2 || err != nil {
		t.Fatal(n, err)
	}
	if err := pull(2, nil, e); err != nil { // nothing new
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(k.folder, recipes.SealBytes(second).Digest().String()), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := pull(2, nil, e); err == nil {
		t.Fatal("a kept file that somebody changed was believed")
	}
}

func TestBackoff_spreadsClientsEvenlyOverARisingBound(t *testing.T) {
	const clients = 4000
	for try, bound := range []time.Duration{500 * time.Millisecond, time.Second, 2 * time.Second, 4 * time.Second, 8 * time.Second, 8 * time.Second, 8 * time.Second} {
		var sum, most time.Duration
		for i := range clients {
			b := Backoff{Rand: rand.New(rand.NewPCG(7, uint64(i)))}
			for range try {
				b.Next()
			}
			w := b.Next()
			if w < 0 || w > bound {
				t.Fatalf("try %d waits %s, at most %s", try, w, bound)
			}
			sum, most = sum+w, max(most, w)
		}
		// An even spread has its mean at half the bound; the mean of 4000 strays by less than 3 %.
		if mean := sum / clients; mean < bound*47/100 || mean > bound*53/100 || most < bound*99/100 {
			t.Errorf("try %d: mean %s, most %s of %s", try, mean, most, bound)
		}
	}
	b := Backoff{Rand: rand.New(rand.NewPCG(1, 1))}
	for range 200 {
		if w := b.Next(); w > 8*time.Second {
			t.Fatal(w)
		}
	}
	b.Well()
	if w := b.Next(); w > time.Second/2 {
		t.Error("after success the waits stay long:", w)
	}
}
