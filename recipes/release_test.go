package recipes

import (
	"cmp"
	"fmt"
	"slices"
	"testing"
	"time"

	godiff "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func released(names ...RevisionName) (out []Released) {
	for _, n := range names {
		out = append(out, Released{n, SealBytes([]byte(n)).Digest()})
	}
	return out
}

func release(number int64, effective time.Time, names ...RevisionName) Release {
	return Release{Number: number, Revisions: released(names...), Markets: []Market{"EU"}, Effective: effective}
}

func only(r Release, branches ...string) Release { r.Branches = branches; return r }

func names(s Sheet) (out []RevisionName) {
	for _, e := range s.Entries {
		out = append(out, e.Revision)
	}
	return out
}

func TestSheetAt_putsInForceWhatTookEffectLast(t *testing.T) {
	const g1, g2, p1 = "recipes/g/revisions/1", "recipes/g/revisions/2", "prices/eu/revisions/1"
	hour := func(n int) time.Time { return noon.Add(time.Duration(n) * time.Hour) }
	summer, winter := time.FixedZone("CEST", 2*3600), time.FixedZone("CET", 3600)
	repeated := time.Date(2026, 10, 25, 2, 30, 0, 0, winter)
	const ours = "ours: design.md section 3, release and pull"
	rows := []struct {
		name     string
		releases []Release
		at       time.Time
		want     []RevisionName
		number   int64
		next     []RevisionName // nil where nothing comes
		source   string
	}{
		{"nothing released", nil, noon, nil, 0, nil, ours},
		{"a second before", []Release{release(1, noon, g1)}, noon.Add(-time.Second), nil, 0, []RevisionName{g1}, ours},
		{"at the instant itself", []Release{release(1, noon, g1)}, noon, []RevisionName{g1}, 1, nil, ours},
		{"the later instant wins, not the later number", []Release{release(1, hour(2), g2), release(2, hour(1), g1)}, hour(3), []RevisionName{g2}, 2, nil, ours},
		{"same instant: the higher number wins", []Release{release(2, noon, g2), release(1, noon, g1)}, noon, []RevisionName{g2}, 2, nil, ours},
		{"going back is a new release of an old revision", []Release{release(1, hour(0), g1), release(2, hour(1), g2), release(3, hour(2), g1)}, hour(2), []RevisionName{g1}, 3, nil, ours},
		{"other records stay, entries are in order", []Release{release(1, hour(0), g1, p1), release(2, hour(1), g2)}, hour(1), []RevisionName{p1, g2}, 2, nil, ours},
		{"next is the earliest later one, laid over the present", []Release{release(1, hour(0), g1), release(2, hour(9), g1), release(3, hour(5), g2, p1)}, hour(1), []RevisionName{g1}, 1, []RevisionName{p1, g2}, ours},
		{"two at the next instant are one next sheet", []Release{release(1, hour(1), g1), release(2, hour(1), p1)}, hour(0), nil, 0, []RevisionName{p1, g1}, ours},
		{"a trial at this branch", []Release{release(1, hour(0), g1), only(release(2, hour(1), g2), "branches/b", "branches/a")}, hour(1), []RevisionName{g2}, 2, nil, ours},
		{"a trial elsewhere", []Release{release(1, hour(0), g1), only(release(2, hour(1), g2), "branches/b")}, hour(1), []RevisionName{g1}, 1, nil, ours},
		{"a trial elsewhere is not next either", []Release{only(release(1, hour(1), g2), "branches/b")}, hour(0), nil, 0, nil, ours},
		{"a trial in another market", []Release{{Number: 1, Revisions: released(g1), Markets: []Market{"UK"}, Branches: []string{"branches/a"}, Effective: noon}}, noon, nil, 0, nil, ours},
		{"02:30 comes twice: the second is an hour later", []Release{release(1, repeated, g2), release(2, time.Date(2026, 10, 25, 2, 30, 0, 0, summer), g1)}, repeated, []RevisionName{g2}, 2, nil, "Directive 2000/84/EC, article 3: summer time ends on the last Sunday of October at 01:00 UTC"},
		{"between the two 02:30", []Release{release(1, repeated, g2), release(2, time.Date(2026, 10, 25, 2, 30, 0, 0, summer), g1)}, time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC), []RevisionName{g1}, 2, []RevisionName{g2}, "Directive 2000/84/EC, article 3: summer time ends on the last Sunday of October at 01:00 UTC"},
		{"a cancelled release never takes effect", []Release{release(1, hour(0), g1), release(2, hour(2), g2), {Number: 3, Cancels: 2, Markets: []Market{"EU"}, Effective: hour(1)}}, hour(3), []RevisionName{g1}, 1, nil, ours},
		{"nor is it next", []Release{release(1, hour(0), g1), release(2, hour(2), g2), {Number: 3, Cancels: 2, Markets: []Market{"EU"}, Effective: hour(0)}}, hour(1), []RevisionName{g1}, 1, nil, ours},
		{"a withdrawal takes a record out of force", []Release{release(1, hour(0), g1, p1), {Number: 2, Withdrawn: []RecordName{"recipes/g"}, Markets: []Market{"EU"}, Effective: hour(1)}}, hour(1), []RevisionName{p1}, 2, nil, ours},
		{"a withdrawal to come is next", []Release{release(1, hour(0), g1, p1), {Number: 2, Withdrawn: []RecordName{"recipes/g"}, Markets: []Market{"EU"}, Effective: hour(1)}}, hour(0), []RevisionName{p1, g1}, 1, []RevisionName{p1}, ours},
		{"what was withdrawn can be put in force again", []Release{release(1, hour(0), g1), {Number: 2, Withdrawn: []RecordName{"recipes/g"}, Markets: []Market{"EU"}, Effective: hour(1)}, release(3, hour(2), g1)}, hour(2), []RevisionName{g1}, 3, nil, ours},
		{"a new key changes no sheet", []Release{release(1, hour(0), g1), {Number: 2, NextKey: make([]byte, 32), Effective: hour(1)}}, hour(1), []RevisionName{g1}, 1, nil, ours},
		{"one instant written in two zones is one instant", []Release{release(2, noon.In(winter), g2), release(1, noon.In(summer), g1)}, noon, []RevisionName{g2}, 2, nil, "RFC 3339 section 4.2: an offset does not change the instant"},
	}
	for _, row := range rows {
		got, next := SheetAt(row.releases, "branches/a", "EU", row.at)
		var after []RevisionName
		if next != nil {
			after = names(*next)
		}
		if !slices.Equal(names(got), row.want) || got.Release != row.number || !slices.Equal(after, row.next) || (next == nil) != (row.next == nil) {
			t.Errorf("%s: got %v of release %d, next %v; want %v of %d, next %v (%s)", row.name, names(got), got.Release, after, row.want, row.number, row.next, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

// someReleases draws a history of few records, instants and branches, so that ties and overlaps are common.
func someReleases(t *rapid.T) (out []Release) {
	for n := range rapid.IntRange(0, 12).Draw(t, "releases") {
		r := Release{Number: int64(n + 1), Effective: noon.Add(time.Duration(rapid.IntRange(0, 5).Draw(t, "hour")) * time.Hour)}
		for _, record := range []RecordName{"recipes/a", "recipes/b", "prices/c"} {
			switch v := rapid.Int64Range(-1, 3).Draw(t, "revision"); {
			case v > 0:
				r.Revisions = append(r.Revisions, released(record.Revision(v))...)
			case v < 0:
				r.Withdrawn = append(r.Withdrawn, record)
			}
		}
		if n > 0 && rapid.IntRange(0, 4).Draw(t, "cancels") == 0 {
			r.Cancels, r.Revisions, r.Withdrawn = rapid.Int64Range(1, int64(n)).Draw(t, "cancelled"), nil, nil
		}
		r.Markets = rapid.SampledFrom([][]Market{{"EU"}, {"UK"}, {"UK", "EU"}}).Draw(t, "markets")
		r.Branches = rapid.SampledFrom([][]string{nil, nil, {"branches/a"}, {"branches/b"}, {"branches/b", "branches/a"}}).Draw(t, "branches")
		out = append(out, r)
	}
	return out
}

// replayed works a sheet out another way: a release that took effect is beaten, record by record, by any stronger one.
func replayed(releases []Release, at time.Time) (s Sheet) {
	stronger := func(a, b Release) bool {
		return a.Effective.After(b.Effective) || a.Effective.Equal(b.Effective) && a.Number > b.Number
	}
	var live []Release
	for _, r := range releases {
		cancelled := slices.ContainsFunc(releases, func(o Release) bool { return o.Cancels == r.Number })
		forMe := (len(r.Revisions) > 0 || len(r.Withdrawn) > 0) && !cancelled && slices.Contains(r.Markets, "EU") && (r.Branches == nil || slices.Contains(r.Branches, "branches/a"))
		if forMe && !r.Effective.After(at) {
			live = append(live, r)
			s.Release = max(s.Release, r.Number)
			if r.Effective.After(s.Effective) {
				s.Effective = r.Effective
			}
		}
	}
	for _, r := range live {
		for _, rev := range r.Revisions {
			record, _, _ := rev.Revision.Parts()
			beaten := slices.ContainsFunc(live, func(o Release) bool {
				return stronger(o, r) && (slices.Contains(o.Withdrawn, record) || slices.ContainsFunc(o.Revisions, func(x Released) bool { n, _, _ := x.Revision.Parts(); return n == record }))
			})
			if !beaten {
				s.Entries = append(s.Entries, SheetEntry{rev, r.Number, r.Effective})
			}
		}
	}
	slices.SortFunc(s.Entries, func(a, b SheetEntry) int { return cmp.Compare(a.Revision, b.Revision) })
	return s
}

func TestSheetAt_equalsReplaying(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		releases := someReleases(t)
		at := noon.Add(time.Duration(rapid.IntRange(-1, 12).Draw(t, "half hours")) * 30 * time.Minute)
		shuffled := rapid.Permutation(releases).Draw(t, "shuffled")
		kept := slices.Clone(shuffled)
		got, next := SheetAt(shuffled, "branches/a", "EU", at)
		if diff := godiff.Diff(got, replayed(releases, at)); diff != "" {
			t.Fatalf("got −, want +\n%s", diff)
		}
		if diff := godiff.Diff(shuffled, kept); diff != "" {
			t.Fatalf("the releases handed in were changed\n%s", diff)
		}
		// What was promised as next is what is in force when its instant has come, and nothing changes before.
		if next != nil {
			then, _ := SheetAt(releases, "branches/a", "EU", next.Effective)
			if diff := godiff.Diff(then, *next); diff != "" || !next.Effective.After(at) {
				t.Fatalf("next at %s\n%s", next.Effective, diff)
			}
			if before := replayed(releases, next.Effective.Add(-time.Nanosecond)); before.Digest() != got.Digest() || before.Release != got.Release {
				t.Fatal("something took effect before next")
			}
		} else if end := replayed(releases, noon.AddDate(1, 0, 0)); end.Digest() != got.Digest() || end.Release != got.Release {
			t.Fatal("nothing comes next, but something took effect later")
		}
	})
}

func TestEverInForce_knowsWhatEverStoodOnASheet(t *testing.T) {
	history := []Release{release(1, noon, "recipes/g/revisions/1"), release(2, noon.Add(time.Hour), "recipes/g/revisions/2"), only(release(3, noon, "recipes/t/revisions/1"), "branches/b"),
		release(4, noon, "recipes/s/revisions/1"), release(5, noon, "recipes/s/revisions/2"), release(6, noon.Add(time.Minute), "recipes/c/revisions/1"), {Number: 7, Cancels: 6, Markets: []Market{"EU"}, Effective: noon}}
	rows := []struct {
		revision RevisionName
		after    time.Duration
		want     bool
		source   string
	}{
		{"recipes/g/revisions/1", -time.Second, false, "ours: not yet"},
		{"recipes/g/revisions/1", 0, true, "ours: at the instant itself"},
		{"recipes/g/revisions/1", 48 * time.Hour, true, "ours: replaced since, but it was"},
		{"recipes/g/revisions/2", 59 * time.Minute, false, "ours: not yet"},
		{"recipes/t/revisions/1", 48 * time.Hour, false, "ours: a trial elsewhere"},
		{"recipes/g/revisions/3", 48 * time.Hour, false, "ours: never released"},
		{"recipes/s/revisions/1", 48 * time.Hour, false, "ours: beaten at the very same instant"},
		{"recipes/s/revisions/2", 48 * time.Hour, true, "ours: won at the same instant"},
		{"recipes/c/revisions/1", 48 * time.Hour, false, "ours: cancelled before its instant"},
	}
	for _, row := range rows {
		if got := EverInForce(history, "branches/a", "EU", row.revision, noon.Add(row.after)); got != row.want {
			t.Errorf("%s after %s: got %v (%s)", row.revision, row.after, got, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.revision)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		releases := someReleases(t)
		at := noon.Add(time.Duration(rapid.IntRange(0, 12).Draw(t, "half hours")) * 30 * time.Minute)
		s, _ := SheetAt(releases, "branches/a", "EU", at)
		for _, e := range s.Entries {
			for _, upTo := range []time.Time{at, at.Add(time.Hour)} {
				if !EverInForce(releases, "branches/a", "EU", e.Revision, upTo) {
					t.Fatalf("%s stood on the sheet at %s, but was never in force up to %s", e.Revision, at, upTo)
				}
			}
			if EverInForce(releases, "branches/a", "EU", e.Revision, noon.Add(-time.Nanosecond)) {
				t.Fatalf("%s was in force before anything took effect", e.Revision)
			}
		}
	})
}

func TestSheetDigest_tellsSheetsApart(t *testing.T) {
	seen := map[Digest]string{}
	for _, s := range []Sheet{
		{}, {Entries: []SheetEntry{{Released: released("recipes/a/revisions/1")[0]}}}, {Entries: []SheetEntry{{Released: released("recipes/a/revisions/2")[0]}}},
		{Entries: []SheetEntry{{Released: Released{Revision: "recipes/a/revisions/1"}}}},
	} {
		if before, ok := seen[s.Digest()]; ok {
			t.Errorf("%v and %s have one digest", names(s), before)
		}
		seen[s.Digest()] = fmt.Sprint(names(s))
	}
	one := Sheet{Release: 1, Entries: []SheetEntry{{released("recipes/a/revisions/1")[0], 1, noon}}}
	again := Sheet{Release: 7, Entries: []SheetEntry{{released("recipes/a/revisions/1")[0], 7, noon.Add(time.Hour)}}}
	if one.Digest() != again.Digest() {
		t.Error("two sheets that say the same have different digests")
	}
	if e, ok := again.Entry("recipes/a"); !ok || e.Release != 7 {
		t.Errorf("entry %+v, %v", e, ok)
	}
	if _, ok := again.Entry("recipes/b"); ok {
		t.Error("found an entry that is not on the sheet")
	}
}
