package sealed

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/units"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func TestRelease_everyFieldComesBack(t *testing.T) {
	want := recipes.Release{
		Number: 7, Revisions: []recipes.Released{{Revision: "notes/a/revisions/1", Digest: recipes.Digest{1}}}, Withdrawn: []recipes.RecordName{"notes/b"},
		Markets: []recipes.Market{"EU", "UK"}, Branches: []string{"branches/a"}, Effective: noon, Proposer: "people/a", Approver: "people/b", Made: noon.Add(-time.Hour),
		Previous: recipes.Digest{2}, Reason: "spring", Widens: 3, Cancels: 4, NextKey: []byte("next"), FromKey: []byte("from"),
	}
	s, err := Codec{}.SealRelease(want)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Codec{}.OpenRelease(s)
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("%v (-want +got)\n%s", err, diff)
	}
	// A plan has no instants yet, and they stay unset.
	s, err = Codec{}.SealRelease(recipes.Release{})
	if err != nil {
		t.Fatal(err)
	}
	if got, err := (Codec{}).OpenRelease(s); err != nil || !got.Effective.IsZero() || !got.Made.IsZero() {
		t.Errorf("got %+v, %v", got, err)
	}
}

// A word about freshness must never pass for a release, nor a release for one.
func TestFreshness_isNoRelease(t *testing.T) {
	want := recipes.Freshness{Release: 7, Digest: recipes.Digest{1}, Time: noon, Until: noon.Add(time.Hour)}
	s, err := Codec{}.SealFreshness(want)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := (Codec{}).OpenFreshness(s); err != nil || got != want {
		t.Errorf("got %+v, %v", got, err)
	}
	if _, err := (Codec{}).OpenRelease(s); err == nil {
		t.Error("a word about freshness opens as a release")
	}
	r, err := Codec{}.SealRelease(recipes.Release{Number: 1, Effective: noon, Made: noon})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := (Codec{}).OpenFreshness(r); err == nil {
		t.Error("a release opens as a word about freshness")
	}
	if string(recipes.FreshnessText(s.Digest())) == string(recipes.FreshnessText(r.Digest())) || len(recipes.FreshnessText(s.Digest())) == 32 {
		t.Error("what is signed is the same")
	}
}

func TestTrials_goFromTheDraftIntoTheRevision(t *testing.T) {
	trials := []recipes.Trial{{Garments: 12, Wash: "4N", Dry: "F", Cycles: 25, Outcome: "held", Tester: "people/a", Day: "2026-02-01", Words: "well"}}
	before, err := Codec{}.Content(compliance.Note{Title: "A note", Market: "EU"})
	if err != nil {
		t.Fatal(err)
	}
	m, err := ContentMessage(before)
	if err != nil {
		t.Fatal(err)
	}
	m.Trials = trialMessages(trials)
	after, err := Masked(before, m, []string{"trials"})
	if err != nil || after.Digest() == before.Digest() {
		t.Fatal("the trials are not part of what is looked at", err)
	}
	if got, err := (Codec{}).OpenTrials(after); err != nil || !slices.Equal(got, trials) {
		t.Errorf("got %+v, %v", got, err)
	}
	m.Trials = nil
	if kept, err := Masked(after, m, []string{"title"}); err != nil || kept != after {
		t.Error("a change of something else dropped the trials", err)
	}
	if gone, err := Masked(after, m, []string{"trials"}); err != nil || gone != before {
		t.Error("trials can not be taken out again", err)
	}
	s, err := Codec{}.SealRevision(recipes.Revision{Record: "notes/a", Number: 1, Content: compliance.Note{Title: "A note"}, Trials: trials, Approved: noon})
	if err != nil {
		t.Fatal(err)
	}
	if rev, err := (Codec{}).OpenRevision(s); err != nil || !slices.Equal(rev.Trials, trials) {
		t.Errorf("sealed %+v, %v", rev.Trials, err)
	}
}

func TestDifferences_areSaidInWords(t *testing.T) {
	list := func(change func(*recordv1.PriceList)) recipes.Content {
		m := &recordv1.PriceList{Title: "EU", Market: "EU", CurrencyCode: "EUR", TaxPpm: 200_000, FilmPrices: []*recordv1.FilmPrice{
			{Film: "glimmer", Breaks: []*recordv1.PriceBreak{{PerMetreMinor: 1200}, {FromMm: 10_000, PerMetreMinor: 1000}}}, {Film: "paddle", Breaks: []*recordv1.PriceBreak{{PerMetreMinor: 900}}},
		}}
		change(m)
		return ListOf(m)
	}
	recipe := func(change func(*recipes.Recipe)) recipes.Content {
		r := recipes.Recipe{Title: "Glimmer", Peel: recipes.Hot, Dwell: units.Window[units.Seconds]{Low: 10, Set: 12, High: 14}, Advice: []string{"press", "wait"}, Film: recipes.Film{Colours: []string{"gold", "red"}}}
		change(&r)
		return r
	}
	for _, row := range []struct {
		name          string
		before, after recipes.Content
		want          []string
	}{
		{"nothing", recipe(func(*recipes.Recipe) {}), recipe(func(*recipes.Recipe) {}), nil},
		{"a window", recipe(func(*recipes.Recipe) {}), recipe(func(r *recipes.Recipe) { r.Dwell.Set, r.Dwell.High = 15, 16 }),
			[]string{"dwell_seconds.set|dwell: 12 s before, 15 s now (3 s more)", "dwell_seconds.high|dwell, high: 14 s before, 16 s now (2 s more)"}},
		{"words and yes or no", recipe(func(*recipes.Recipe) {}), recipe(func(r *recipes.Recipe) { r.Peel, r.CoverSheet, r.Title = recipes.Cold, true, "" }),
			[]string{"title|title: “Glimmer” before, nothing now", "peel|peel: hot before, cold now", "cover_sheet|cover sheet: no before, yes now"}},
		{"lists of words", recipe(func(*recipes.Recipe) {}), recipe(func(r *recipes.Recipe) {
			r.Film.Colours, r.Advice = []string{"gold", "blue"}, []string{"wait", "press"}
		}),
			[]string{"film.colours|film, colours: “blue” is new, “red” is gone", "advice|advice: the order changed"}},
		{"prices by film and length", list(func(*recordv1.PriceList) {}), list(func(m *recordv1.PriceList) {
			m.FilmPrices[0].Breaks[1].PerMetreMinor, m.FilmPrices[1].Film, m.TaxPpm = 1050, "newfilm", 195_000
		}), []string{"film_prices[paddle]|film prices: paddle is gone", "film_prices[glimmer].breaks[10000].per_metre_minor|film prices glimmer, breaks 10000, per metre: EUR 10.00 before, EUR 10.50 now (EUR 0.50 more)", "film_prices[newfilm]|film prices: newfilm is new", "tax_ppm|tax: 20 % before, 19.5 % now (0.5 % less)"}},
	} {
		got, err := Differences(row.before, row.after)
		if err != nil {
			t.Fatal(err)
		}
		var lines []string
		for _, d := range got {
			lines = append(lines, d.Path+"|"+d.Words)
		}
		if diff := cmp.Diff(row.want, lines); diff != "" {
			t.Errorf("%s (-want +got)\n%s", row.name, diff)
		}
	}
	if _, err := Differences(recipe(func(*recipes.Recipe) {}), list(func(*recordv1.PriceList) {})); err == nil || !strings.Contains(err.Error(), "CONTENT_OF_OTHER_KIND") {
		t.Errorf("got %v", err)
	}
}
