package rpc

import (
	"strings"
	"testing"
	"time"

	"evenpeel/branches"
)

// An instant that was chosen before the clocks are changed stays that instant: by the clocks it is then an hour off what
// it would have been before, and the person is told.
func TestLocalInstants_sayWhatClocksShowAndThatTheyChange(t *testing.T) {
	const (
		eu = "Directive 2000/84/EC, articles 2 and 3: summer time from the last Sunday of March to the last of October, 01:00 UTC"
		us = "15 U.S.C. 260a: second Sunday of March to first Sunday of November, 02:00 local"
	)
	for _, row := range []struct {
		zone, now, at, words string
		changes              bool
		source               string
	}{
		{"Europe/Vienna", "2026-03-27T10:00:00Z", "2026-03-29T00:59:59Z", "Sunday 29 March 2026, 01:59 (Europe/Vienna, UTC+01:00)", false, eu},
		{"Europe/Vienna", "2026-03-27T10:00:00Z", "2026-03-29T01:00:00Z", "Sunday 29 March 2026, 03:00 (Europe/Vienna, UTC+02:00); clocks change before then", true, eu},
		{"Europe/Vienna", "2026-10-24T10:00:00Z", "2026-10-25T00:30:00Z", "Sunday 25 October 2026, 02:30 (Europe/Vienna, UTC+02:00)", false, eu + " (02:30 comes twice: the first)"},
		{"Europe/Vienna", "2026-10-24T10:00:00Z", "2026-10-25T01:30:00Z", "Sunday 25 October 2026, 02:30 (Europe/Vienna, UTC+01:00); clocks change before then", true, eu + " (02:30 comes twice: the second)"},
		{"Europe/London", "2026-03-27T10:00:00Z", "2026-03-30T07:00:00Z", "Monday 30 March 2026, 08:00 (Europe/London, UTC+01:00); clocks change before then", true, "The Summer Time Order 2002 (UK), article 2"},
		{"America/New_York", "2026-03-07T10:00:00Z", "2026-03-08T12:00:00Z", "Sunday 8 March 2026, 08:00 (America/New_York, UTC-04:00); clocks change before then", true, us},
		{"America/Phoenix", "2026-03-07T10:00:00Z", "2026-11-08T12:00:00Z", "Sunday 8 November 2026, 05:00 (America/Phoenix, UTC-07:00)", false, us + "; Arizona is exempt (A.R.S. 1-242)"},
		{"Europe/Vienna", "2026-03-27T10:00:00Z", "2027-01-27T10:00:00Z", "Wednesday 27 January 2027, 11:00 (Europe/Vienna, UTC+01:00); clocks change before then", true, eu + " (changed twice: the same offset again)"},
	} {
		now, err := time.Parse(time.RFC3339, row.now)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse(time.RFC3339, row.at)
		if err != nil {
			t.Fatal(err)
		}
		got := localInstants([]branches.Branch{{TimeZone: row.zone}}, now, at)
		if len(got) != 1 || got[0].GetWords() != row.words || got[0].GetClocksChange() != row.changes {
			t.Errorf("%s at %s: got %v (%s)", row.zone, row.at, got, row.source)
		}
		if back, err := time.Parse(time.RFC3339, got[0].GetLocalTime()); err != nil || !back.Equal(at) {
			t.Errorf("%s at %s: the local time is the instant %s (RFC 3339)", row.zone, row.at, back)
		}
		if row.source == "" {
			t.Error("a row has no source")
		}
	}
	several := localInstants([]branches.Branch{{TimeZone: "Europe/London"}, {TimeZone: "Europe/Vienna"}, {TimeZone: "Europe/Vienna"}}, time.Time{}, time.Time{})
	if len(several) != 2 || several[0].GetZone() != "Europe/Vienna" || several[0].GetBranchesCount() != 2 || !strings.Contains(several[1].GetWords(), "London") {
		t.Errorf("got %v", several)
	}
}
