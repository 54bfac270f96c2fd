package recipes

import (
	"cmp"
	"crypto/sha256"
	"slices"
	"sort"
	"strings"
	"time"
)

// Market is a legal and currency area: "EU", "UK", "US", "CA", "AU".
type Market string

// Released names one revision that a release puts in force.
type Released struct {
	Revision RevisionName
	Digest   Digest
}

// Release is an ordered, signed act. It puts revisions in force and may take records out of force, or it cancels a
// release whose instant has not come, or it hands over to a new office key. What was done stays done: an act is undone
// by another act.
type Release struct {
	Number    int64 // 1, 2, 3 … without gaps
	Revisions []Released
	Withdrawn []RecordName // taken out of force in the scope
	Markets   []Market
	Branches  []string // "branches/{id}"; empty is every branch of the markets
	Effective time.Time
	Proposer  string // empty where the approver proposed it
	Approver  string
	Made      time.Time
	Previous  Digest
	Reason    string
	Widens    int64  // number of the trial release that it widens; 0 is none
	Cancels   int64  // number of the scheduled release that it cancels; 0 is none
	NextKey   []byte // Ed25519 public key that signs every release after this one; empty where the key stays
	FromKey   []byte // beside NextKey: the one that signs this release
}

// Puts reports whether the release changes sheets: an act that cancels or hands over a key does not.
func (r Release) Puts() bool { return len(r.Revisions) > 0 || len(r.Withdrawn) > 0 }

// SignedRelease is a release as it is kept: sealed bytes and a signature over their digest.
type SignedRelease struct {
	Release   Release // opened from Sealed
	Sealed    Sealed
	Signature []byte // Ed25519
	Key       string // name of the key
}

// Reaches reports whether the release is meant for a branch of the market.
func (r Release) Reaches(branch string, market Market) bool {
	in := false
	for _, m := range r.Markets {
		in = in || m == market
	}
	if !in || len(r.Branches) == 0 {
		return in
	}
	for _, b := range r.Branches {
		if b == branch {
			return true
		}
	}
	return false
}

// Sheet is everything in force for one branch from one instant: design's settings sheet.
type Sheet struct {
	Release   int64     // newest release in it; 0 is an empty sheet
	Effective time.Time // when the newest of its releases took effect
	Entries   []SheetEntry
}

// SheetEntry is one record in force, and the release that put it there.
type SheetEntry struct {
	Released
	Release   int64
	Effective time.Time
}

// Entry finds the revision in force of a record.
func (s Sheet) Entry(record RecordName) (SheetEntry, bool) {
	for _, e := range s.Entries {
		if r, _, err := e.Revision.Parts(); err == nil && r == record {
			return e, true
		}
	}
	return SheetEntry{}, false
}

// Digest covers the names and digests of the entries in order, so that two sheets with the same digest say the same.
func (s Sheet) Digest() Digest {
	h := sha256.New()
	for _, e := range s.Entries {
		h.Write([]byte(e.Revision))
		h.Write([]byte{0})
		h.Write(e.Digest[:])
	}
	return Digest(h.Sum(nil))
}

// SheetAt works out what is in force for a branch at an instant, and what comes next. Releases may come in any
// order. Among releases that have taken effect the later instant wins, and for the same instant the higher number:
// going back is a new release of an old revision. One that was cancelled never takes effect. Next is the sheet at the
// earliest later instant, if there is one.
func SheetAt(releases []Release, branch string, market Market, at time.Time) (current Sheet, next *Sheet) {
	mine := inOrder(releases, branch, market)
	current = sheetOf(mine, at)
	for _, r := range mine {
		if r.Effective.After(at) {
			s := sheetOf(mine, r.Effective)
			next = &s
			break
		}
	}
	return current, next
}

// ordered are the releases that change sheets, in the order of their effect.
func ordered(releases []Release) []*Release {
	cancelled := CancelledBy(releases)
	var out []*Release
	for i := range releases {
		if r := &releases[i]; r.Puts() && cancelled[r.Number] == 0 {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b *Release) int {
		return cmp.Or(a.Effective.Compare(b.Effective), cmp.Compare(a.Number, b.Number))
	})
	return out
}

// ofPlace are those of them that reach a branch.
func ofPlace(all []*Release, branch string, market Market) []*Release {
	var mine []*Release
	for _, r := range all {
		if r.Reaches(branch, market) {
			mine = append(mine, r)
		}
	}
	return mine
}

// inOrder are the releases that change a branch's sheets, in the order of their effect.
func inOrder(releases []Release, branch string, market Market) []*Release {
	return ofPlace(ordered(releases), branch, market)
}

// record is the record of a released revision; names in releases were checked when they were made.
func (r Released) record() (RecordName, bool) {
	record, _, ok := strings.Cut(string(r.Revision), "/revisions/")
	return RecordName(record), ok
}

// CancelledBy says which releases were cancelled, and by which.
func CancelledBy(releases []Release) map[int64]int64 {
	var by map[int64]int64
	for _, r := range releases {
		if r.Cancels > 0 {
			if by == nil {
				by = map[int64]int64{}
			}
			by[r.Cancels] = r.Number
		}
	}
	return by
}

// sheetOf takes releases as inOrder gives them.
func sheetOf(mine []*Release, at time.Time) Sheet {
	var s Sheet
	entries := map[RecordName]SheetEntry{}
	for _, r := range mine {
		if r.Effective.After(at) {
			break
		}
		s.Release = max(s.Release, r.Number)
		s.Effective = r.Effective
		for _, record := range r.Withdrawn {
			delete(entries, record)
		}
		for _, rev := range r.Revisions {
			if record, ok := rev.record(); ok {
				entries[record] = SheetEntry{rev, r.Number, r.Effective}
			}
		}
	}
	for _, e := range entries {
		s.Entries = append(s.Entries, e)
	}
	sort.Slice(s.Entries, func(i, j int) bool { return s.Entries[i].Revision < s.Entries[j].Revision })
	return s
}

// EverInForce reports whether a revision was in force for a branch at any instant up to the one given. A release that
// another one beat at the very same instant put nothing of what both name in force.
func EverInForce(releases []Release, branch string, market Market, revision RevisionName, upTo time.Time) bool {
	record, _, err := revision.Parts()
	if err != nil {
		return false
	}
	mine := inOrder(releases, branch, market)
	for i, r := range mine {
		if r.Effective.After(upTo) {
			return false
		}
		if !slices.ContainsFunc(r.Revisions, func(x Released) bool { return x.Revision == revision }) {
			continue
		}
		beaten := false
		for _, o := range mine[i+1:] {
			if !o.Effective.Equal(r.Effective) {
				break
			}
			beaten = beaten || o.names(record)
		}
		if !beaten {
			return true
		}
	}
	return false
}

// names reports whether the release says something about a record.
func (r Release) names(record RecordName) bool {
	if slices.Contains(r.Withdrawn, record) {
		return true
	}
	return slices.ContainsFunc(r.Revisions, func(x Released) bool { n, ok := x.record(); return ok && n == record })
}
