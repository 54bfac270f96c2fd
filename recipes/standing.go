package recipes

import "time"

// ReleaseState is where a release stands.
type ReleaseState string

const (
	Scheduled ReleaseState = "scheduled" // its instant has not come
	InForce   ReleaseState = "in force"  // something of it is in force somewhere; an act that puts nothing stands
	Passed    ReleaseState = "passed"    // later releases took its place everywhere
	Cancelled ReleaseState = "cancelled" // before its instant
	Withdrawn ReleaseState = "withdrawn" // what was left of it was taken out of force
)

// Place is a branch and its market.
type Place struct {
	Branch string
	Market Market
}

// Standing is where one release stands at an instant.
type Standing struct {
	State       ReleaseState
	CancelledBy int64     // 0 is none
	Scope       int       // places that it is meant for
	Held        int       // places where something of it is in force
	Ended       time.Time // when the last of it went out of force; zero while something is
}

// group is a set of places that no release tells apart.
type group struct {
	place Place
	count int
}

// groups puts together the places of a market that no release names, since their sheets are one. Each market that a
// release names has one, if need be of no place.
func groups(releases []Release, places []Place) []group {
	named := map[string]bool{}
	byMarket := map[Market]int{}
	for _, r := range releases {
		for _, b := range r.Branches {
			named[b] = true
		}
		for _, m := range r.Markets {
			byMarket[m] += 0
		}
	}
	var out []group
	for _, p := range places {
		if named[p.Branch] {
			out = append(out, group{p, 1})
		} else {
			byMarket[p.Market]++
		}
	}
	for m, n := range byMarket {
		out = append(out, group{Place{Market: m}, n})
	}
	return out
}

// Standings says of every release where it stands at an instant.
func Standings(releases []Release, places []Place, at time.Time) map[int64]Standing {
	cancelled := CancelledBy(releases)
	out := make(map[int64]Standing, len(releases))
	for _, r := range releases {
		s := Standing{State: InForce, CancelledBy: cancelled[r.Number]}
		switch {
		case s.CancelledBy > 0:
			s.State = Cancelled
		case r.Effective.After(at):
			s.State = Scheduled
		case len(r.Revisions) > 0:
			s.State = Passed // until something of it is found in force
		}
		out[r.Number] = s
	}
	standing := map[int64]bool{}
	withdrawn := map[int64]bool{} // whether its last end was a withdrawal
	all := ordered(releases)
	for _, g := range groups(releases, places) {
		mine := ofPlace(all, g.place.Branch, g.place.Market)
		for _, r := range mine {
			s := out[r.Number]
			s.Scope += g.count
			out[r.Number] = s
		}
		for number, held := range replay(mine, at, func(number int64, when time.Time, byWithdrawal bool) {
			if s := out[number]; !when.Before(s.Ended) {
				s.Ended, withdrawn[number] = when, byWithdrawal
				out[number] = s
			}
		}) {
			if held {
				s := out[number]
				s.Held += g.count
				standing[number], out[number] = true, s
			}
		}
	}
	for number, s := range out {
		switch {
		case standing[number]:
			s.State, s.Ended = InForce, time.Time{}
		case s.State == Passed && withdrawn[number]:
			s.State = Withdrawn
		}
		out[number] = s
	}
	return out
}

// replay walks through the effects up to an instant and says what stands at its end; ended is told of every release
// that lost its hold of one record.
func replay(mine []*Release, at time.Time, ended func(number int64, when time.Time, byWithdrawal bool)) map[int64]bool {
	holds := map[RecordName]int64{}
	for _, r := range mine {
		if r.Effective.After(at) {
			break
		}
		for _, record := range r.Withdrawn {
			if n, ok := holds[record]; ok {
				ended(n, r.Effective, true)
				delete(holds, record)
			}
		}
		for _, rev := range r.Revisions {
			record, ok := rev.record()
			if !ok {
				continue
			}
			if n, ok := holds[record]; ok {
				ended(n, r.Effective, false)
			}
			holds[record] = r.Number
		}
	}
	held := map[int64]bool{}
	for _, n := range holds {
		held[n] = true
	}
	return held
}
