package rpc

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"
	"google.golang.org/protobuf/testing/protocmp"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
)

// vanishing is an archive whose pointer to the newest release can be away.
type vanishing struct {
	*archive
	away atomic.Bool
}

func (v *vanishing) NewestRelease(ctx context.Context) (int64, error) {
	if v.away.Load() {
		return 0, fault.New(fault.Unavailable, "sqlstore", "STORE_AWAY", "The store is away.")
	}
	return v.archive.NewestRelease(ctx)
}

func pullFrom(t *testing.T, s *catalogService, held int64) *recipesv1.PullSheetResponse {
	t.Helper()
	m, err := s.PullSheet(t.Context(), &recipesv1.PullSheetRequest{Branch: "branches/a", HeldRelease: held})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// While the store is away, pulls are answered as before, an effective instant passes, and no new word of freshness is
// signed, so that the last one runs out at its own time.
func TestPullSheet_whileTheStoreIsAway(t *testing.T) {
	v := &vanishing{archive: newArchive()}
	now := noon
	s := v.service(func() time.Time { return now })
	seen, heard := observer.New(zap.InfoLevel)
	s.h.Office.Catalog, s.h.Log = v, zap.New(seen)
	vouched := 0
	s.h.Vouch = func(text []byte) ([]byte, string) { vouched++; return fmt.Appendf(nil, "%d %x", vouched, text), "key" }
	v.away.Store(true)
	if _, err := s.PullSheet(t.Context(), &recipesv1.PullSheetRequest{Branch: "branches/a"}); !fault.Is(err, fault.Unavailable) || s.h.Holding() {
		t.Fatal("nothing is known yet:", err)
	}
	v.away.Store(false)
	record := recipes.RecordName("recipes/glimmer")
	v.release(recipes.Release{Markets: []recipes.Market{"EU"}, Effective: noon, Revisions: []recipes.Released{v.revision(record, 1)}})
	v.release(recipes.Release{Markets: []recipes.Market{"EU"}, Effective: noon.Add(time.Hour), Revisions: []recipes.Released{v.revision(record, 2)}})
	before := pullFrom(t, s, 0)
	if !s.h.Holding() || vouched != 1 {
		t.Fatal("nothing is held, or nothing was vouched for", vouched)
	}
	v.away.Store(true)
	if during := pullFrom(t, s, 0); !cmp.Equal(before, during, protocmp.Transform()) {
		t.Error(cmp.Diff(before, during, protocmp.Transform()))
	}
	now = noon.Add(26 * time.Hour)
	late := pullFrom(t, s, 0)
	if got := late.GetCurrent().GetEntries(); len(got) != 1 || got[0].GetRevision() != string(record.Revision(2)) {
		t.Error("the instant passed, and in force is", got)
	}
	if !cmp.Equal(before.GetFreshness(), late.GetFreshness(), protocmp.Transform()) || vouched != 1 {
		t.Error("freshness was signed while nobody could know")
	}
	said, err := recipes.Unseal(late.GetFreshness().GetContent(), recipes.SealBytes(late.GetFreshness().GetContent()).Digest())
	if err != nil {
		t.Fatal(err)
	}
	if f, err := (sealed.Codec{}).OpenFreshness(said); err != nil || f.Until.After(now) {
		t.Error("the word of freshness is still to be believed a day later:", f.Until, err)
	}
	// The answers that are kept may be dropped, since there are too many: the releases are not.
	s.sheets.keep(sheetMemory + 1)
	if again := pullFrom(t, s, 0); !cmp.Equal(late, again, protocmp.Transform()) {
		t.Error(cmp.Diff(late, again, protocmp.Transform()))
	}
	v.release(recipes.Release{Markets: []recipes.Market{"EU"}, Effective: now, Revisions: []recipes.Released{v.revision(record, 3)}})
	v.away.Store(false)
	if after := pullFrom(t, s, 0); after.GetNewestRelease() != 3 || vouched != 2 {
		t.Error("the store is back, and the newest is", after.GetNewestRelease(), vouched)
	}
	if n := heard.FilterMessageSnippet("answered from memory").Len(); n != 1 {
		t.Errorf("the log says %d times that the store is away", n)
	}
	if n := heard.FilterMessageSnippet("answers again").Len(); n != 1 {
		t.Errorf("the log says %d times that it is back", n)
	}
}
