package demo

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"evenpeel/branches/machines"
	"evenpeel/branches/orders"
	"evenpeel/branches/runs"
	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
	"evenpeel/server/access"
	"evenpeel/server/sqlstore"
)

var now = time.Date(2026, 3, 31, 15, 4, 5, 0, time.UTC)

// key signs with a key of the test's own.
type key struct{ ed25519.PrivateKey }

func (k key) Sign(d recipes.Digest) ([]byte, string) { return ed25519.Sign(k.PrivateKey, d[:]), "demo" }

func newKey() key { return key{ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))} }

func newGuard(s *sqlstore.Store) *access.Guard {
	// Seeded, so that the names of people, and with them the sealed bytes, are alike in two loads.
	return access.NewGuard(access.Parts{Directory: s, Now: func() time.Time { return now }, Rand: rand.NewChaCha8([32]byte{1})})
}

type loaded struct {
	store   *sqlstore.Store
	guard   *access.Guard
	signIns []SignIn
	err     error
}

func load(ctx context.Context, folder string, at time.Time) loaded {
	s, err := sqlstore.Open(ctx, "sqlite:"+filepath.Join(folder, "demo.db"), nil)
	if err != nil {
		return loaded{err: err}
	}
	l := loaded{store: s, guard: newGuard(s)}
	l.signIns, l.err = Load(ctx, s, l.guard, newKey(), at)
	return l
}

var folder string

func TestMain(m *testing.M) {
	var err error
	if folder, err = os.MkdirTemp("", "demo"); err != nil {
		panic(err)
	}
	code := m.Run()
	os.RemoveAll(folder)
	os.Exit(code)
}

var once = sync.OnceValue(func() loaded { return load(context.Background(), folder, now) })

// demo is one load that tests which only read share.
func demo(t *testing.T) loaded {
	t.Helper()
	l := once()
	if l.err != nil {
		t.Fatal(l.err)
	}
	return l
}

func got[T any](v T, err error) func(t *testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func allRuns(t *testing.T, s *sqlstore.Store) []runs.Run {
	t.Helper()
	var list []runs.Run
	for _, h := range houses() {
		before, id := time.Time{}, ""
		for {
			page := got(s.Runs(t.Context(), h.Name, before, id, 2000))(t)
			list = append(list, page...)
			if len(page) < 2000 {
				break
			}
			before, id = page[len(page)-1].End, page[len(page)-1].ID
		}
	}
	return list
}

func fingerprint(t *testing.T, s *sqlstore.Store) (string, int) {
	t.Helper()
	h := sha256.New()
	for _, row := range got(s.Records(t.Context(), ""))(t) {
		fmt.Fprintln(h, row.Record, row.Number, row.Digest)
	}
	for _, r := range got(s.Releases(t.Context(), 0))(t) {
		fmt.Fprintln(h, r.Release.Number, r.Sealed.Digest())
	}
	list := allRuns(t, s)
	for _, r := range list {
		fmt.Fprintf(h, "%+v\n", r)
	}
	for _, b := range houses() {
		fmt.Fprintf(h, "%+v\n", got(s.Machines(t.Context(), b.Name))(t))
		for _, r := range got(s.Rolls(t.Context(), b.Name))(t) {
			fmt.Fprintln(h, r.Name, r.Lot, r.Length, r.Received)
		}
	}
	return fmt.Sprintf("%x", h.Sum(nil)), len(list)
}

func TestLoad_twiceIsAlike(t *testing.T) {
	first, count := fingerprint(t, demo(t).store)
	again := load(t.Context(), t.TempDir(), now.Add(7*time.Hour)) // another hour of the same day
	if again.err != nil {
		t.Fatal(again.err)
	}
	defer again.store.Close()
	if second, _ := fingerprint(t, again.store); first != second {
		t.Error("two loads on one day differ")
	}
	if count < 15_000 || count > 25_000 {
		t.Errorf("%d runs, want 15 000 to 25 000", count)
	}
	t.Log(count, "runs")
}

func TestLoad_refusesAStoreWithPeople(t *testing.T) {
	l := demo(t)
	if _, err := Load(t.Context(), l.store, l.guard, newKey(), now); !fault.Is(err, fault.NotReady) {
		t.Errorf("loaded over people: %v", err)
	}
}

func TestSignIns_open(t *testing.T) {
	l := demo(t)
	roles := map[access.Role]bool{}
	for _, in := range l.signIns {
		_, _, p, err := l.guard.SignIn(t.Context(), in.Email, in.Password)
		if err != nil {
			t.Errorf("%s: %v", in.Email, err)
			continue
		}
		for _, r := range p.Roles {
			roles[r] = true
		}
	}
	for _, r := range access.Roles {
		if !roles[r] {
			t.Errorf("nobody is %s", r)
		}
	}
}

func TestRecords_areSoundAndChained(t *testing.T) {
	s := demo(t).store
	films := map[string]bool{}
	recipeCount := 0
	for _, newest := range got(s.Records(t.Context(), ""))(t) {
		previous := recipes.Digest{}
		rows := got(s.Revisions(t.Context(), newest.Record))(t)
		slices.Reverse(rows)
		for _, row := range rows {
			rev, err := sealed.Codec{}.OpenRevision(got(s.Sealed(t.Context(), row.Digest))(t))
			if err != nil {
				t.Fatal(row.Record, err)
			}
			if fs := rev.Content.Check(); len(fs) > 0 {
				t.Errorf("%s: %v", row.Name(), fs)
			}
			if rev.Author == rev.Approver || rev.Author == "" || rev.Previous != previous {
				t.Errorf("%s: author %q, approver %q, previous %s", row.Name(), rev.Author, rev.Approver, rev.Previous)
			}
			previous = row.Digest
			if r, ok := rev.Content.(recipes.Recipe); ok {
				films[r.Film.Code] = true
				if r.Pressure.Low < 10 || r.Pressure.High > 60 {
					t.Errorf("%s: %v kPa", row.Name(), r.Pressure)
				}
			}
		}
		if kind, _ := newest.Record.Kind(); kind == recipes.KindRecipe {
			recipeCount++
		}
	}
	if recipeCount < 40 || recipeCount > 60 || len(films) != 12 {
		t.Errorf("%d recipes of %d films", recipeCount, len(films))
	}
	t.Log(recipeCount, "recipes")
}

// Common practice, no source: the numbers for a glitter film on cotton.
func TestGlimmerOnCotton(t *testing.T) {
	r := filmOf("glimmer").recipe("cotton")
	if r.CutSpeed.Low != 250 || r.CutSpeed.Set != 300 || r.CutSpeed.High != 500 || r.Temperature.Set != 150 || r.PrePress != 5 || r.Dwell.Set != 10 || r.Peel != recipes.Hot {
		t.Errorf("got %+v", r)
	}
}

func TestFilms_thickerNeedsMoreForce(t *testing.T) {
	all := films()
	for i := 1; i < len(all); i++ {
		a, b := all[i-1].recipe("cotton"), all[i].recipe("cotton")
		if b.Film.Thickness <= a.Film.Thickness || b.CutForce.Set <= a.CutForce.Set {
			t.Errorf("%s: %d µm %v gf after %d µm %v gf", b.Film.Code, b.Film.Thickness, b.CutForce, a.Film.Thickness, a.CutForce)
		}
	}
}

func TestCards_areUsableButForTwo(t *testing.T) {
	s := demo(t).store
	releases := []recipes.Release{}
	for _, r := range got(s.Releases(t.Context(), 0))(t) {
		releases = append(releases, r.Release)
	}
	opener, heat := &orders.Opener{Catalog: s, Sealer: sealed.Codec{}}, &machines.Heat{}
	refused := map[string]bool{}
	cards := 0
	for _, h := range houses() {
		sheet, _ := recipes.SheetAt(releases, h.Name, h.Market, now)
		in := got(opener.Opened(t.Context(), sheet))(t)
		if in.List.Market != string(h.Market) || len(in.Notes) != 1 || len(in.Certificates) == 0 {
			t.Fatalf("%s has the list of %q, %d notes, %d certificates", h.Name, in.List.Market, len(in.Notes), len(in.Certificates))
		}
		ms := got(s.Machines(t.Context(), h.Name))(t)
		for name, a := range in.Recipes {
			for _, m := range ms[1:] {
				cards++
				if c := machines.Worked(a.Entry, a.Recipe, ms[0], m, heat); !c.Usable() {
					refused[h.Name+" "+string(name)] = true
				}
			}
		}
	}
	want := []string{Weak + " recipes/ridge-blend", Weak + " recipes/ridge-cotton"}
	if names := slices.Sorted(maps.Keys(refused)); !slices.Equal(names, want) {
		t.Errorf("refused are %v, want %v", names, want)
	}
	t.Log(cards, "cards")
}

func TestRuns_areSound(t *testing.T) {
	s := demo(t).store
	releases := []recipes.Release{}
	for _, r := range got(s.Releases(t.Context(), 0))(t) {
		releases = append(releases, r.Release)
	}
	house := map[string]house{}
	for _, h := range houses() {
		house[h.Name] = h
	}
	day := now.Truncate(24 * time.Hour)
	for n, r := range allRuns(t, s) {
		if fs := r.Check(now); len(fs) > 0 {
			t.Fatalf("%s %s: %v", r.Branch, r.ID, fs)
		}
		spent := r.Decorated + r.LayoutLoss + r.EdgeLoss + r.TestCutLoss + r.WeedingLoss + r.ReprintFilm() + r.RollEndLoss
		if rest := r.Drawn - spent; rest < 0 || r.Good == r.Pieces && float64(rest) > 0.02*float64(r.Drawn)+1000 || r.LayoutLoss <= 0 {
			t.Fatalf("%s %s: drawn %d, parts %d, layout %d", r.Branch, r.ID, r.Drawn, spent, r.LayoutLoss)
		}
		if r.Achievable > r.Drawn || !r.End.Before(day) || r.Start.Before(day.AddDate(0, 0, -yearDays)) {
			t.Fatalf("%s %s: %d mm² would do of %d, %s to %s", r.Branch, r.ID, r.Achievable, r.Drawn, r.Start, r.End)
		}
		zone, err := time.LoadLocation(house[r.Branch].TimeZone)
		if err != nil {
			t.Fatal(err)
		}
		if from, to := r.Start.In(zone), r.End.In(zone); from.Hour() < 8 || to.Hour() >= 18 && to.Minute() > 0 || from.Weekday() == time.Sunday {
			t.Fatalf("%s %s: works %s to %s", r.Branch, r.ID, from, to)
		}
		if n%97 > 0 { // the sheet is worked out anew for some only: it takes its time
			continue
		}
		record, _, err := r.Recipe.Parts()
		if err != nil {
			t.Fatal(err)
		}
		sheet, _ := recipes.SheetAt(releases, r.Branch, house[r.Branch].Market, r.Start)
		if e, ok := sheet.Entry(record); !ok || e.Revision != r.Recipe || e.Digest != r.RecipeDigest {
			t.Fatalf("%s %s: worked by %s, in force was %s", r.Branch, r.ID, r.Recipe, e.Revision)
		}
	}
}

func TestShelves_holdEveryFilm(t *testing.T) {
	s := demo(t).store
	for _, h := range houses() {
		rolls := got(s.Rolls(t.Context(), h.Name))(t)
		for _, r := range rolls {
			if fs := r.Check(); len(fs) > 0 {
				t.Fatal(r.Name, fs)
			}
		}
		for _, f := range films() {
			for _, colour := range f.Colours {
				if _, ok := stock.Chosen(rolls, f.Code, colour, "", f.RollWidth, 2000); !ok {
					t.Errorf("%s has no 2 m of %s in %s", h.Name, f.Code, colour)
				}
			}
		}
	}
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		l := load(b.Context(), b.TempDir(), now)
		if l.err != nil {
			b.Fatal(l.err)
		}
		l.store.Close()
	}
}
