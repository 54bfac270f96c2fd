package rpc

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.uber.org/zap"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"evenpeel/branches"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
	"evenpeel/server/patch"
)

// archive is a catalog, a register and a book of reach in memory, which count what they are asked.
type archive struct {
	recipes.Catalog
	branches.Register
	mu       sync.Mutex
	releases []recipes.SignedRelease
	content  map[recipes.Digest][]byte
	market   map[string]recipes.Market
	noted    []recipes.Reach
	writes   int
	asked    atomic.Int64 // readings, but for NewestRelease, which the cache in front answers
}

func (a *archive) NewestRelease(context.Context) (int64, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return int64(len(a.releases)), nil
}

func (a *archive) Releases(_ context.Context, above int64) ([]recipes.SignedRelease, error) {
	a.asked.Add(1)
	a.mu.Lock()
	defer a.mu.Unlock()
	return append([]recipes.SignedRelease(nil), a.releases[above:]...), nil
}

func (a *archive) Sealed(_ context.Context, d recipes.Digest) (recipes.Sealed, error) {
	a.asked.Add(1)
	a.mu.Lock()
	defer a.mu.Unlock()
	return recipes.Unseal(a.content[d], d)
}

func (a *archive) Branch(_ context.Context, name string) (branches.Branch, error) {
	a.asked.Add(1)
	a.mu.Lock()
	defer a.mu.Unlock()
	market, ok := a.market[name]
	if !ok {
		return branches.Branch{}, branches.NotFound(name)
	}
	return branches.Branch{Name: name, Market: market}, nil
}

func (a *archive) Branches(context.Context) (list []branches.Branch, err error) {
	a.asked.Add(1)
	a.mu.Lock()
	defer a.mu.Unlock()
	for name, market := range a.market {
		list = append(list, branches.Branch{Name: name, Market: market})
	}
	return list, nil
}

func (a *archive) NoteReach(ctx context.Context, r recipes.Reach) error {
	return a.NoteReaches(ctx, []recipes.Reach{r})
}

func (a *archive) NoteReaches(_ context.Context, list []recipes.Reach) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.noted = append(a.noted, list...)
	a.writes++
	return nil
}

func (a *archive) NoteOpened(context.Context, string, int64, time.Time) error { return nil }

func (a *archive) RevisionUses(context.Context) ([]recipes.Use, error) { return nil, nil }

func (a *archive) Reaches(context.Context) ([]recipes.Reach, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.noted, nil
}

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// revision is the n-th revision of a record: mostly the same bytes.
func (a *archive) revision(record recipes.RecordName, n int64) recipes.Released {
	text := bytes.Repeat([]byte(string(record)+" says the same here; "), 20)
	text = append(text, fmt.Sprintf("but here it is %d", n)...)
	d := recipes.SealBytes(text).Digest()
	a.content[d] = text
	return recipes.Released{Revision: record.Revision(n), Digest: d}
}

func (a *archive) release(r recipes.Release) {
	a.mu.Lock()
	defer a.mu.Unlock()
	r.Number = int64(len(a.releases) + 1)
	a.releases = append(a.releases, recipes.SignedRelease{Release: r, Sealed: recipes.SealBytes(fmt.Appendf(nil, "release %d", r.Number)), Signature: []byte{byte(r.Number)}, Key: "office"})
}

func newArchive() *archive {
	return &archive{content: map[recipes.Digest][]byte{}, market: map[string]recipes.Market{"branches/a": "EU", "branches/b": "EU", "branches/c": "UK"}}
}

func (a *archive) service(now func() time.Time) *catalogService {
	return &catalogService{h: &House{Office: recipes.Office{Catalog: a}, Register: a, Reaches: NewReachBook(a, zap.NewNop()), OfficeKey: []byte("key"), Now: now}}
}

// worked is the answer worked out for one branch alone, as plainly as the promise is written.
func (a *archive) worked(branch string, heldRelease int64, now time.Time) *recipesv1.PullSheetResponse {
	market := a.market[branch]
	answer := &recipesv1.PullSheetResponse{ServerTime: timestamppb.New(now), OfficeKey: []byte("key"), Market: string(market)}
	var all, held []recipes.Release
	for _, r := range a.releases {
		answer.NewestRelease = r.Release.Number
		all = append(all, r.Release)
		if r.Release.Number > heldRelease {
			answer.Releases = append(answer.Releases, sealedRelease(r))
		} else {
			held = append(held, r.Release)
		}
	}
	current, next := recipes.SheetAt(all, branch, market, now)
	answer.Current = sheetMessage(current)
	if next != nil {
		answer.Next = sheetMessage(*next)
	}
	known := map[recipes.Released]bool{}
	for _, w := range recipes.Wanted(held, branch, market, now) {
		known[w] = true
	}
	for _, w := range recipes.Wanted(all, branch, market, now) {
		if !known[w] {
			answer.Records = append(answer.Records, &recipesv1.SealedRecord{Name: string(w.Revision), Content: a.content[w.Digest], Sha256: w.Digest[:]})
		}
	}
	answer.NotModified = answer.NewestRelease == heldRelease
	return answer
}

// A history of releases, pulls and passing time: every answer is the one worked out for that branch alone, and with
// patches it becomes the same.
func TestPullSheet_answersAsIfWorkedOutAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, now := newArchive(), noon
		s := a.service(func() time.Time { return now })
		names := []string{"branches/a", "branches/b", "branches/c"}
		for range rapid.IntRange(1, 25).Draw(t, "acts") {
			switch rapid.IntRange(0, 3).Draw(t, "act") {
			case 0:
				r := recipes.Release{Effective: noon.Add(time.Duration(rapid.IntRange(0, 6).Draw(t, "hour")) * time.Hour)}
				for _, record := range []recipes.RecordName{"recipes/x", "recipes/y", "prices/z"} {
					if n := rapid.Int64Range(0, 3).Draw(t, "revision"); n > 0 {
						r.Revisions = append(r.Revisions, a.revision(record, n))
					}
				}
				r.Markets = rapid.SampledFrom([][]recipes.Market{{"EU"}, {"UK"}, {"UK", "EU"}}).Draw(t, "markets")
				r.Branches = rapid.SampledFrom([][]string{nil, nil, {"branches/a"}, {"branches/c", "branches/b"}}).Draw(t, "branches")
				a.release(r)
			case 1:
				now = noon.Add(time.Duration(rapid.IntRange(-1, 14).Draw(t, "half hours")) * 30 * time.Minute)
			default:
				branch := rapid.SampledFrom(names).Draw(t, "branch")
				held := rapid.Int64Range(0, int64(len(a.releases))+1).Draw(t, "held")
				patches := rapid.Bool().Draw(t, "patches")
				got, err := s.PullSheet(context.Background(), &recipesv1.PullSheetRequest{Branch: branch, HeldRelease: held, TakesPatches: patches})
				if err != nil {
					t.Fatal(err)
				}
				for _, m := range got.GetRecords() {
					if len(m.GetPatch()) == 0 {
						continue
					}
					if !patches || len(m.GetPatch())*4 > len(a.content[recipes.Digest(m.GetSha256())]) {
						t.Fatalf("a patch of %d bytes, asked for: %v", len(m.GetPatch()), patches)
					}
					if m.Content, err = patch.Apply(a.content[recipes.Digest(m.GetBaseSha256())], m.GetPatch(), 1<<20); err != nil {
						t.Fatal(err)
					}
					m.Patch, m.BaseSha256 = nil, nil
				}
				if diff := cmp.Diff(a.worked(branch, held, now), got, protocmp.Transform()); diff != "" {
					t.Fatalf("%s holds %d at %s (-want +got)\n%s", branch, held, now, diff)
				}
			}
		}
	})
}

func TestClockField_isWhatTheLibraryEncodes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(-1e10, 1e10).Draw(t, "seconds"), rapid.SampledFrom([]int64{0, 1, 999_999_999}).Draw(t, "nanoseconds"))
		want, err := proto.Marshal(&recipesv1.PullSheetResponse{ServerTime: timestamppb.New(at)})
		if got := clockField(at); err != nil || !bytes.Equal(got, want) {
			t.Fatalf("got %x, want %x, %v", got, want, err)
		}
	})
}

// A thousand branches pull at one effective instant: everything is read once, and their reach is written together.
func TestPullSheet_aThousandAtOnceReadOnce(t *testing.T) {
	a := newArchive()
	for i := range 1000 {
		a.market[fmt.Sprintf("branches/n%d", i)] = "EU"
	}
	const records = 12
	r := recipes.Release{Effective: noon, Markets: []recipes.Market{"EU"}}
	for i := range records {
		r.Revisions = append(r.Revisions, a.revision(recipes.RecordName(fmt.Sprintf("recipes/r%d", i)), 1))
	}
	a.release(r)
	s := a.service(func() time.Time { return noon })
	pull := func() {
		var all sync.WaitGroup
		for i := range 1000 {
			all.Go(func() {
				branch := fmt.Sprintf("branches/n%d", i)
				ctx := access.WithPerson(t.Context(), access.Person{Name: "people/x", Branch: branch}, access.Session{})
				if got, err := s.PullSheet(ctx, &recipesv1.PullSheetRequest{Branch: branch}); err != nil || len(got.GetRecords()) != records {
					t.Errorf("%d records, %v", len(got.GetRecords()), err)
				}
			})
		}
		all.Wait()
	}
	pull()
	if n := a.asked.Load(); n != records+2 { // the records, the releases, the branches
		t.Errorf("cold, a thousand pulls asked %d times", n)
	}
	pull()
	if n := a.asked.Load(); n != records+2 {
		t.Errorf("warm, they asked %d times more", n-records-2)
	}
	reaches, err := s.h.Reaches.Reaches(t.Context())
	if err != nil || len(reaches) != 1000 || reaches[0].Held != 1 {
		t.Errorf("%d branches hold it, %v", len(reaches), err)
	}
	if a.writes > 20 {
		t.Errorf("written in %d pieces", a.writes)
	}
}

func TestReachBook_losesNothingWhileTheStoreIsAway(t *testing.T) {
	a := newArchive()
	away := &awayOnce{archive: a, away: true}
	b := NewReachBook(away, zap.NewNop())
	note := func(held int64, at time.Time) {
		if err := b.NoteReach(t.Context(), recipes.Reach{Branch: "branches/a", Held: held, Pulled: at}); err != nil {
			t.Fatal(err)
		}
	}
	note(1, noon)
	if err := b.Flush(t.Context()); err == nil {
		t.Fatal("the store was away and nobody was told")
	}
	note(2, noon.Add(time.Second))
	away.away = false
	got, err := b.Reaches(t.Context())
	if err != nil || len(got) != 1 || got[0].Held != 2 {
		t.Fatalf("got %v, %v", got, err)
	}
	note(2, noon.Add(30*time.Second)) // no news
	if got, _ = b.Reaches(t.Context()); len(got) != 1 {
		t.Errorf("what is no news was written: %v", got)
	}
	note(2, noon.Add(2*time.Minute))
	if got, _ = b.Reaches(t.Context()); len(got) != 2 {
		t.Errorf("still pulling is news after a minute: %v", got)
	}
}

type awayOnce struct {
	*archive
	away bool
}

func (a *awayOnce) NoteReaches(ctx context.Context, list []recipes.Reach) error {
	if a.away {
		return context.DeadlineExceeded
	}
	return a.archive.NoteReaches(ctx, list)
}

// One line of a price list of 500 changes: what is sent is at most 5 % of the whole answer.
func TestPullSheet_aChangedLineTravelsAsAPatch(t *testing.T) {
	a := newArchive()
	list := func(changed int) recipes.Released {
		var text []byte
		for line := range 500 {
			price := 1000 + 7*line
			if line == changed {
				price += 55
			}
			text = fmt.Appendf(text, "\x0a\x20film-%03d\x12\x06\x08\x00\x10%d\x12\x08\x08\x88\x27\x10%d", line, price, price*9/10)
		}
		d := recipes.SealBytes(text).Digest()
		a.content[d] = text
		return recipes.Released{Revision: recipes.RecordName("prices/eu").Revision(int64(changed + 2)), Digest: d}
	}
	first := recipes.Release{Effective: noon, Markets: []recipes.Market{"EU"}, Revisions: []recipes.Released{list(-1)}}
	for i := range 12 {
		first.Revisions = append(first.Revisions, a.revision(recipes.RecordName(fmt.Sprintf("recipes/r%d", i)), 1))
	}
	a.release(first)
	a.release(recipes.Release{Effective: noon, Markets: []recipes.Market{"EU"}, Revisions: []recipes.Released{list(250)}})
	s := a.service(func() time.Time { return noon })
	size := func(held int64, patches bool) int {
		m, err := s.PullSheet(t.Context(), &recipesv1.PullSheetRequest{Branch: "branches/a", HeldRelease: held, TakesPatches: patches})
		if err != nil {
			t.Fatal(err)
		}
		return proto.Size(m)
	}
	whole, delta := size(0, false), size(1, true)
	if delta*20 > whole {
		t.Errorf("%d bytes of %d, which is %.1f %%", delta, whole, 100*float64(delta)/float64(whole))
	}
	t.Logf("%d bytes of %d (%.1f %%); without patches %d", delta, whole, 100*float64(delta)/float64(whole), size(1, false))
}
