package recipes

import (
	"crypto/sha256"
	"sort"
	"time"
)

// Market is a legal and currency area: "EU", "UK", "US", "CA", "AU".
type Market string

// Released names one revision that a release puts in force.
type Released struct {
	Revision RevisionName
	Digest   Digest
}

// Release is an ordered, signed act that puts revisions in force for markets from an instant.
type Release struct {
	Number    int64 // 1, 2, 3 … without gaps
	Revisions []Released
	Markets   []Market
	Branches  []string // "branches/{id}"; empty is every branch of the markets
	Effective time.Time
	Approver  string
	Made      time.Time
	Previous  Digest
	Reason    string
}

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
// going back is a new release of an old revision. Next is the sheet at the earliest later instant, if there is one.
func SheetAt(releases []Release, branch string, market Market, at time.Time) (current Sheet, next *Sheet) {
	var mine []Release
	for _, r := range releases {
		if r.Reaches(branch, market) {
			mine = append(mine, r)
		}
	}
	sort.Slice(mine, func(i, j int) bool {
		if !mine[i].Effective.Equal(mine[j].Effective) {
			return mine[i].Effective.Before(mine[j].Effective)
		}
		return mine[i].Number < mine[j].Number
	})
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

// sheetOf takes releases sorted by effect.
func sheetOf(mine []Release, at time.Time) Sheet {
	var s Sheet
	entries := map[RecordName]SheetEntry{}
	for _, r := range mine {
		if r.Effective.After(at) {
			break
		}
		s.Release = max(s.Release, r.Number)
		s.Effective = r.Effective
		for _, rev := range r.Revisions {
			if record, _, err := rev.Revision.Parts(); err == nil {
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

// EverInForce reports whether a revision was in force for a branch at any instant up to the one given.
func EverInForce(releases []Release, branch string, market Market, revision RevisionName, upTo time.Time) bool {
	for _, r := range releases {
		if r.Effective.After(upTo) || !r.Reaches(branch, market) {
			continue
		}
		for _, rev := range r.Revisions {
			if rev.Revision == revision {
				return true
			}
		}
	}
	return false
}
