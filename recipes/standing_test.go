package recipes

import (
	"slices"
	"testing"
	"time"

	godiff "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var places = []Place{{"branches/a", "EU"}, {"branches/b", "EU"}, {"branches/c", "EU"}, {"branches/u", "UK"}}

// lived is a history with a release of every fate.
func lived() []Release {
	hour := func(n int) time.Time { return noon.Add(time.Duration(n) * time.Hour) }
	return []Release{
		1 - 1: release(1, hour(0), "recipes/g/revisions/1", "prices/e/revisions/1"),
		2 - 1: only(release(2, hour(1), "recipes/g/revisions/2"), "branches/b"), // a trial
		3 - 1: release(3, hour(2), "recipes/g/revisions/2"),                     // widened
		4 - 1: release(4, hour(9), "recipes/g/revisions/3"),                     // cancelled
		5 - 1: {Number: 5, Cancels: 4, Markets: []Market{"EU"}, Effective: hour(3)},
		6 - 1: release(6, hour(3), "notes/n/revisions/1"),
		7 - 1: {Number: 7, Withdrawn: []RecordName{"notes/n"}, Markets: []Market{"EU"}, Effective: hour(4)},
		8 - 1: release(8, hour(20), "recipes/g/revisions/4"), // to come
	}
}

func TestStandings_sayWhatBecameOfEachRelease(t *testing.T) {
	hour := func(n int) time.Time { return noon.Add(time.Duration(n) * time.Hour) }
	const source = "ours: issue 3, releases scheduled, in force, passed, cancelled and withdrawn"
	want := map[int64]Standing{
		1: {State: InForce, Scope: 3, Held: 3}, // its price list still is
		2: {State: Passed, Scope: 1, Ended: hour(2)},
		3: {State: InForce, Scope: 3, Held: 3},
		4: {State: Cancelled, CancelledBy: 5},
		5: {State: InForce},
		6: {State: Withdrawn, Scope: 3, Ended: hour(4)},
		7: {State: InForce, Scope: 3},
		8: {State: Scheduled, Scope: 3},
	}
	if diff := godiff.Diff(want, Standings(lived(), places, hour(5))); diff != "" {
		t.Errorf("%s (-want +got)\n%s", source, diff)
	}
	before := Standings(lived(), places, hour(1))
	if before[1].Held != 3 || before[2].State != InForce || before[3].State != Scheduled || before[4].State != Cancelled {
		t.Errorf("at the hour of the trial: %+v", before)
	}
}

// Places that no release tells apart are judged together; judging each alone must come to the same.
func TestStandings_equalJudgingEachPlaceAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		releases := someReleases(t)
		at := noon.Add(time.Duration(rapid.IntRange(-1, 6).Draw(t, "hour")) * time.Hour)
		got := Standings(releases, places, at)
		for _, r := range releases {
			held, scope := 0, 0
			for _, p := range places {
				sheet, _ := SheetAt(releases, p.Branch, p.Market, at)
				if slices.ContainsFunc(sheet.Entries, func(e SheetEntry) bool { return e.Release == r.Number }) {
					held++
				}
				if r.Puts() && got[r.Number].CancelledBy == 0 && r.Reaches(p.Branch, p.Market) {
					scope++
				}
			}
			s := got[r.Number]
			if s.Held != held || s.Scope != scope || held > 0 && s.State != InForce || held > 0 && !s.Ended.IsZero() {
				t.Fatalf("release %d: got %+v, want held at %d of %d", r.Number, s, held, scope)
			}
			if s.State == Scheduled != (r.Effective.After(at) && s.CancelledBy == 0) {
				t.Fatalf("release %d at %s: %s", r.Number, at, s.State)
			}
		}
	})
}

func TestGoneBack_plansWhatStoodBefore(t *testing.T) {
	now := noon.Add(5 * time.Hour)
	plan, mixed, err := GoneBack(lived(), 3, places, now)
	if err != nil || !slices.Equal(plan.Revisions, released("recipes/g/revisions/1")) || len(plan.Withdrawn) != 0 || !slices.Equal(mixed, []RecordName{"recipes/g"}) || !slices.Equal(plan.Markets, []Market{"EU"}) {
		t.Errorf("back from 3: %+v, mixed %v, %v", plan, mixed, err)
	}
	plan, mixed, err = GoneBack(lived(), 2, places, now)
	if err != nil || !slices.Equal(plan.Revisions, released("recipes/g/revisions/1")) || len(mixed) != 0 || !slices.Equal(plan.Branches, []string{"branches/b"}) {
		t.Errorf("back from the trial: %+v, mixed %v, %v", plan, mixed, err)
	}
	if plan, _, err = GoneBack(lived(), 6, places, now); err != nil || len(plan.Revisions) != 0 || !slices.Equal(plan.Withdrawn, []RecordName{"notes/n"}) {
		t.Errorf("back from a first note: %+v, %v", plan, err)
	}
	if plan, _, err = GoneBack(lived(), 7, places, now); err != nil || !slices.Equal(plan.Revisions, released("notes/n/revisions/1")) {
		t.Errorf("back from a withdrawal: %+v, %v", plan, err)
	}
	for number, reason := range map[int64]string{4: "RELEASE_NOT_IN_FORCE", 5: "RELEASE_NOT_IN_FORCE", 8: "RELEASE_NOT_IN_FORCE", 9: "RELEASE_NOT_FOUND"} {
		if _, _, err := GoneBack(lived(), number, places, now); err == nil || !isReason(err, "RELEASE_NOT_IN_FORCE") && !isReason(err, "RELEASE_NOT_FOUND") {
			t.Errorf("back from %d: %v, want %s", number, err, reason)
		}
	}
}

func TestEntryEnd_isWhenTheNextOneCame(t *testing.T) {
	sheet, _ := SheetAt(lived(), "branches/b", "EU", noon.Add(time.Hour))
	e, _ := sheet.Entry("recipes/g")
	if got := EntryEnd(lived(), "branches/b", "EU", e); !got.Equal(noon.Add(2 * time.Hour)) {
		t.Errorf("the trial ended at %s", got)
	}
	e, _ = sheet.Entry("prices/e")
	if got := EntryEnd(lived(), "branches/b", "EU", e); !got.IsZero() {
		t.Errorf("the price list ended at %s", got)
	}
}

// What a client wants now it wanted before, or a release since then says so: nothing it holds is sent for nothing, and
// nothing it lacks is taken for held.
func TestWanted_coversEverySheetToCome(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		releases := someReleases(t)
		at := noon.Add(time.Duration(rapid.IntRange(-1, 6).Draw(t, "hour")) * time.Hour)
		later := at.Add(time.Duration(rapid.IntRange(0, 6).Draw(t, "later")) * time.Hour)
		wanted := Wanted(releases, "branches/a", "EU", at)
		sheet, _ := SheetAt(releases, "branches/a", "EU", later)
		for _, e := range sheet.Entries {
			if !slices.Contains(wanted, e.Released) {
				t.Fatalf("%s is in force at %s, but was not wanted at %s", e.Revision, later, at)
			}
		}
		for _, w := range Wanted(releases, "branches/a", "EU", later) {
			if !slices.Contains(wanted, w) {
				t.Fatalf("%s is wanted at %s, but was not at %s", w.Revision, later, at)
			}
		}
	})
}
