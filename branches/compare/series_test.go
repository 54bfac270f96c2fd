package compare

import (
	"slices"
	"strings"
	"testing"
	"time"

	"evenpeel/recipes/fault"
)

func TestGrouped(t *testing.T) {
	const source = "ISO 8601: weeks begin on Monday; 2026-11-23 is one"
	sourced(t, source)
	days := []DayCount{{"2026-11-22", 10, 1, 1000, 600}, {"2026-11-23", 20, 2, 2000, 1200}, {"2026-11-29", 30, 0, 3000, 1800}, {"2026-12-01", 5, 0, 500, 100}}
	for _, row := range []struct {
		every Every
		want  []string
		first int64
	}{
		{Day, []string{"2026-11-22", "2026-11-23", "2026-11-29", "2026-12-01"}, 10},
		{Week, []string{"2026-11-16", "2026-11-23", "2026-11-30"}, 10},
		{Month, []string{"2026-11-01", "2026-12-01"}, 60},
	} {
		got, err := Grouped(days, row.every)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		var pieces int64
		for _, g := range got {
			names, pieces = append(names, g.Day), pieces+g.Pieces
		}
		if !slices.Equal(names, row.want) || pieces != 65 || got[0].Pieces != row.first {
			t.Errorf("%v: %+v", row.every, got)
		}
	}
	if _, err := Grouped([]DayCount{{Day: "soon"}}, Week); !fault.Is(err, fault.Invalid) {
		t.Error(err)
	}
}

func TestSamplesOfPeriods(t *testing.T) {
	periods := []DayCount{{"2026-01-05", 50, 2, 4_000_000, 2_000_000}, {"2026-01-12", 0, 0, 0, 0}}
	if got := Proportions(periods); len(got) != 1 || got[0] != (Sample{"2026-01-05", 2, 50, false}) {
		t.Errorf("%+v", got)
	}
	u, err := UChart(PerArea(periods))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "reprints per m²", u.Points[0].Value*PerSquareMetre, 0.5, 1e-12)
	if y := Readings(periods, true); len(y) != 1 || y[0].Value != 0.5 {
		t.Errorf("%+v", y)
	}
	if r := Readings(periods, false); len(r) != 1 || r[0].Value != 0.04 {
		t.Errorf("%+v", r)
	}
	if _, err := Smoothed([]Reading{{"a", 1}, {"b", 1}}); !fault.Is(err, fault.Invalid) {
		t.Error("values that do not move:", err)
	}
	chart, err := Smoothed([]Reading{{"a", 1}, {"b", 2}, {"c", 1}})
	if err != nil || len(chart.Points) != 3 || chart.Centre < 1.3 || chart.Centre > 1.4 {
		t.Errorf("%v %+v", err, chart)
	}
}

func TestRiskByDay(t *testing.T) {
	at := time.Date(2026, 3, 14, 10, 0, 0, 0, time.UTC)
	works := []Work{{Branch: "branches/a", Film: "f", Fabric: "c", End: at, Pieces: 10, Reprints: 1}, {Branch: "branches/a", Film: "f", Fabric: "c", End: at.Add(time.Hour), Pieces: 20}}
	others := []Cell{{Branch: "branches/b", Film: "f", Fabric: "c", Period: "2026-03", Pieces: 100, Reprints: 5}, {Branch: "branches/a", Film: "f", Fabric: "c", Period: "2026-03", Pieces: 30, Reprints: 1}}
	lots, err := RiskByDay(works, others, "branches/a")
	if err != nil || len(lots) != 1 || lots[0].Pieces != 30 || lots[0].Reprints != 1 || lots[0].Label != "2026-03-14" {
		t.Fatalf("%v %+v", err, lots)
	}
	near(t, "risk", lots[0].Risk, 0.05, 1e-12)
}

func TestMethods_areExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range Methods() {
		sourced(t, m.Source)
		if seen[m.Key] || m.Key == "" || m.Title == "" || len(m.Words) < 40 || !strings.HasSuffix(m.Words, ".") {
			t.Errorf("%+v", m)
		}
		seen[m.Key] = true
	}
}

func TestNthDayFor(t *testing.T) {
	for _, row := range []struct {
		runs int64
		want int
	}{{0, 1}, {MaxWorks, 1}, {MaxWorks + 1, 2}, {1_200_000, 8}, {10_000_000, 57}} {
		if got := NthDayFor(row.runs); got != row.want {
			t.Errorf("%d runs: one day in %d, want %d (ours: room for a tenth more, never whole weeks)", row.runs, got, row.want)
		}
	}
}
