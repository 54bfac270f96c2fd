package rpc

import (
	"cmp"
	"fmt"
	"slices"
	"time"
	_ "time/tzdata" // zones are known wherever the server runs

	"evenpeel/branches"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
)

// localInstants is one instant by the clocks of the branches' zones, the zone with most branches first. An instant is
// one instant everywhere: only what clocks show differs, and whether they are changed before it comes.
func localInstants(all []branches.Branch, now, at time.Time) []*recipesv1.LocalInstant {
	counts := map[string]int64{}
	for _, b := range all {
		counts[b.TimeZone]++
	}
	var out []*recipesv1.LocalInstant
	for zone, n := range counts {
		loc, err := time.LoadLocation(zone)
		if err != nil { // the register takes known zones only; an unknown one is shown in UTC under its name
			loc = time.UTC
		}
		local := at.In(loc)
		m := &recipesv1.LocalInstant{Zone: zone, LocalTime: local.Format(time.RFC3339), BranchesCount: n, ClocksChange: clocksChange(loc, now, at)}
		m.Words = fmt.Sprintf("%s (%s, UTC%s)", local.Format("Monday 2 January 2006, 15:04"), zone, local.Format("-07:00"))
		if m.ClocksChange {
			m.Words += "; clocks change before then"
		}
		out = append(out, m)
	}
	slices.SortFunc(out, func(a, b *recipesv1.LocalInstant) int {
		return cmp.Or(cmp.Compare(b.GetBranchesCount(), a.GetBranchesCount()), cmp.Compare(a.GetZone(), b.GetZone()))
	})
	return out
}

// clocksChange reports whether a zone's clocks are changed between two instants.
func clocksChange(loc *time.Location, from, to time.Time) bool {
	_, end := from.In(loc).ZoneBounds()
	return !end.IsZero() && !end.After(to)
}
