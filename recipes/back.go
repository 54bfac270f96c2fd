package recipes

import (
	"slices"
	"strings"
	"time"

	"evenpeel/recipes/fault"
)

// GoneBack plans the release that puts in force again what stood before a release took effect, in its scope. Where
// places differed, what stood at most of them is taken, and mixed names the record. Faults: NotFound/RELEASE_NOT_FOUND,
// NotReady/RELEASE_NOT_IN_FORCE where it puts nothing, was cancelled, or has not taken effect.
func GoneBack(releases []Release, number int64, places []Place, now time.Time) (plan Release, mixed []RecordName, err error) {
	i := slices.IndexFunc(releases, func(r Release) bool { return r.Number == number })
	if i < 0 {
		return plan, nil, ReleaseNotFound(number)
	}
	undone := releases[i]
	if !undone.Puts() || CancelledBy(releases)[number] > 0 || undone.Effective.After(now) {
		return plan, nil, fault.New(fault.NotReady, "recipes", "RELEASE_NOT_IN_FORCE", "Release %d has put nothing in force, so there is nothing to go back from. Cancel it if it is scheduled.", number)
	}
	counts := map[RecordName]map[Released]int{}
	for _, record := range undone.records() {
		counts[record] = map[Released]int{}
	}
	for _, g := range groups(releases, places) {
		if !undone.Reaches(g.place.Branch, g.place.Market) {
			continue
		}
		var before []*Release
		for _, r := range inOrder(releases, g.place.Branch, g.place.Market) {
			if r.Number == number {
				break
			}
			before = append(before, r)
		}
		sheet := sheetOf(before, undone.Effective)
		for record, of := range counts {
			e, _ := sheet.Entry(record) // the zero entry: nothing stood there
			of[e.Released] += max(g.count, 1)
		}
	}
	plan = Release{Markets: undone.Markets, Branches: undone.Branches}
	for _, record := range undone.records() {
		of := counts[record]
		if len(of) > 1 {
			mixed = append(mixed, record)
		}
		var most Released
		for r, n := range of {
			if n > of[most] || n == of[most] && r.Revision > most.Revision {
				most = r
			}
		}
		if most.Revision == "" {
			plan.Withdrawn = append(plan.Withdrawn, record)
		} else {
			plan.Revisions = append(plan.Revisions, most)
		}
	}
	return plan, mixed, nil
}

// records are all that a release says something about, by name.
func (r Release) records() []RecordName {
	out := slices.Clone(r.Withdrawn)
	for _, rev := range r.Revisions {
		if record, ok := rev.record(); ok {
			out = append(out, record)
		}
	}
	slices.SortFunc(out, func(a, b RecordName) int { return strings.Compare(string(a), string(b)) })
	return out
}

// EntryEnd is when an entry of a branch's sheet went out of force; the zero time where no release ends it.
func EntryEnd(releases []Release, branch string, market Market, e SheetEntry) time.Time {
	record, _, err := e.Revision.Parts()
	if err != nil {
		return time.Time{}
	}
	passed := false
	for _, r := range inOrder(releases, branch, market) {
		if passed && r.names(record) {
			return r.Effective
		}
		passed = passed || r.Number == e.Release
	}
	return time.Time{}
}
