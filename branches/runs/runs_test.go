package runs

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenpeel/recipes/units"
)

var now = time.Date(2026, 11, 25, 13, 0, 0, 0, time.UTC)

// aRun is 50 pressed, 48 good, 3 made again; its parts add up to exactly the film drawn.
func aRun() Run {
	return Run{
		ID: "1", Branch: "branches/a", Order: "branches/a/orders/1", Recipe: "recipes/g/revisions/1", Film: "glimmer", Fabric: "cotton", Colour: "gold", Lot: "L1", Band: 1,
		Pieces: 50, Good: 48, Reprints: []Reprint{{"edge-lift", 2, 30_000}, {"misplaced", 1, 20_000}},
		Drawn: 1_000_000, DrawnLength: 2_000, Decorated: 700_000, LayoutLoss: 150_000, EdgeLoss: 40_000, TestCutLoss: 20_000, WeedingLoss: 10_000, RollEndLoss: 30_000, Achievable: 900_000,
		Start: now.Add(-3 * time.Hour), End: now.Add(-time.Hour), TimedDwell: 10, Reporter: "people/ada",
	}
}

func faults(r Run) (out []string) {
	for _, f := range r.Check(now) {
		out = append(out, f.Path)
	}
	return slices.Compact(out)
}

func TestRunCheck_namesEveryPlaceThatIsWrong(t *testing.T) {
	const ours, sum = "ours: the limits stated beside Run.Check", "ours: the parts of the film drawn are the whole, never more"
	long := func(n int) string { return strings.Repeat("a", n) }
	rows := []struct {
		name   string
		change func(*Run)
		want   []string
		source string
	}{
		{"a good run", func(*Run) {}, nil, ours},
		{"no reprints, no order, no lot", func(r *Run) { r.Reprints, r.Order, r.Lot = nil, "", "" }, nil, ours},
		{"nothing at all", func(r *Run) { *r = Run{} }, []string{"drawn_area_mm2", "fabric", "film", "pieces_count", "start_time"}, ours},
		{"blank film, long fabric", func(r *Run) {
			r.Film = " "
			r.Fabric = "a" + "bcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyzabcdefghijk"
		}, []string{"fabric", "film"}, ours},
		{"lot too long", func(r *Run) { r.Lot = long(61) }, []string{"order"}, ours},
		{"press too long", func(r *Run) { r.Press = long(201) }, []string{"order"}, ours},
		{"band above hard", func(r *Run) { r.Band = 3 }, []string{"band"}, ours},
		{"band below easy", func(r *Run) { r.Band = -1 }, []string{"band"}, ours},
		{"no pieces", func(r *Run) { r.Pieces, r.Good = 0, 0 }, []string{"pieces_count"}, ours},
		{"a million pieces", func(r *Run) { r.Pieces = 1_000_000 }, nil, ours},
		{"and one more", func(r *Run) { r.Pieces = 1_000_001 }, []string{"pieces_count"}, ours},
		{"every piece good", func(r *Run) { r.Good = 50 }, nil, ours},
		{"more good than pressed", func(r *Run) { r.Good = 51 }, []string{"good_count"}, ours},
		{"good below nothing", func(r *Run) { r.Good = -1 }, []string{"good_count"}, ours},
		{"a cause that is none", func(r *Run) { r.Reprints[1].Cause = "bad luck" }, []string{"reprints[1].cause"}, ours},
		{"a cause without a count", func(r *Run) { r.Reprints[0].Count = 0 }, []string{"reprints[0].count"}, ours},
		{"a count below nothing", func(r *Run) { r.Reprints[0].Count = -1 }, []string{"reprints[0].count"}, ours},
		{"a count above all", func(r *Run) { r.Reprints[0].Count = 1_000_001 }, []string{"reprints[0].count"}, ours},
		{"more reprints than pieces may be: one piece can fail twice", func(r *Run) { r.Reprints[0].Count = 70 }, nil, "common practice, no source"},
		{"reprint film that cancels out", func(r *Run) { r.Reprints[0].Film, r.Reprints[1].Film = 60_000, -10_000 }, []string{"reprints[1].film_area_mm2"}, sum},
		{"reprint film whose sum wraps round to nothing", func(r *Run) {
			r.Reprints = []Reprint{{"scorch", 1, math.MaxInt64}, {"scorch", 1, math.MaxInt64}, {"scorch", 1, 2}}
		}, []string{"reprints[0].film_area_mm2", "reprints[1].film_area_mm2"}, "two's complement: (2⁶³−1) + (2⁶³−1) + 2 is 2⁶⁴, which is 0 in 64 bits"},
		{"nothing drawn", func(r *Run) { r.Drawn = 0 }, []string{"drawn_area_mm2"}, ours},
		{"drawn below nothing", func(r *Run) { r.Drawn = -1 }, []string{"drawn_area_mm2"}, ours},
		{"parts a square millimetre over the film drawn", func(r *Run) { r.Drawn = 999_999 }, []string{"drawn_area_mm2"}, sum},
		{"reprint film counts among the parts", func(r *Run) { r.Reprints[0].Film++ }, []string{"drawn_area_mm2"}, sum},
		{"parts under the film drawn: the rest is not accounted for", func(r *Run) { r.Drawn = 2_000_000 }, nil, sum},
		{"the plan's film is no part of the film drawn", func(r *Run) { r.Achievable = 5_000_000 }, nil, sum},
		{"film of 10 000 m² and a bit", func(r *Run) { r.Drawn = 10_000_000_001 }, []string{"drawn_area_mm2"}, "SI: 1 m² is 1 000 000 mm²"},
		{"parts below nothing", func(r *Run) {
			r.Decorated, r.LayoutLoss, r.EdgeLoss, r.TestCutLoss, r.WeedingLoss, r.RollEndLoss, r.Achievable = -1, -1, -1, -1, -1, -1, -1
		}, []string{"achievable_area_mm2", "decorated_area_mm2", "edge_loss_mm2", "layout_loss_mm2", "roll_end_loss_mm2", "test_cut_loss_mm2", "weeding_loss_mm2"}, ours},
		{"no start", func(r *Run) { r.Start = time.Time{} }, []string{"start_time"}, ours},
		{"no end", func(r *Run) { r.End = time.Time{} }, []string{"start_time"}, ours},
		{"ends before it starts", func(r *Run) { r.End = r.Start.Add(-time.Second) }, []string{"end_time"}, ours},
		{"31 days", func(r *Run) { r.Start = r.End.Add(-31 * 24 * time.Hour) }, nil, ours},
		{"and a second", func(r *Run) { r.Start = r.End.Add(-31*24*time.Hour - time.Second) }, []string{"end_time"}, ours},
		{"a tablet an hour fast", func(r *Run) { r.End = now.Add(time.Hour) }, nil, ours},
		{"a tablet faster than that", func(r *Run) { r.End = now.Add(time.Hour + time.Second) }, []string{"end_time"}, ours},
		{"five years back", func(r *Run) { r.Start = now.AddDate(-5, 0, 0); r.End = r.Start }, nil, ours},
		{"longer back", func(r *Run) { r.Start = now.AddDate(-5, 0, 0).Add(-time.Second); r.End = r.Start }, []string{"start_time"}, ours},
		{"one instant in two zones has no length", func(r *Run) { r.End = r.Start.In(time.FixedZone("", -5*3600)) }, nil, "RFC 3339 section 4.2: an offset does not change the instant"},
		{"dwell below nothing", func(r *Run) { r.TimedDwell = -1 }, []string{"timed_dwell_seconds"}, ours},
		{"dwell over an hour", func(r *Run) { r.TimedDwell = 3601 }, []string{"timed_dwell_seconds"}, ours},
	}
	for _, row := range rows {
		r := aRun()
		row.change(&r)
		if got := faults(r); !slices.Equal(got, row.want) {
			t.Errorf("%s: got %v, want %v (%s)", row.name, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

func TestRunCheck_knowsEveryCauseOnce(t *testing.T) {
	seen := map[string]bool{}
	for _, cause := range Causes {
		r := aRun()
		r.Reprints[0].Cause = cause
		if got := faults(r); got != nil || seen[cause] {
			t.Errorf("%s: %v", cause, got)
		}
		seen[cause] = true
	}
}

// The film of a run that passes is never less than its parts, and its sums never wrap.
func TestRunCheck_passesOnlyRunsThatAddUp(t *testing.T) {
	area := rapid.OneOf(rapid.Int64Range(0, 200_000), rapid.SampledFrom([]int64{-1, 10_000_000_000, 10_000_000_001, math.MaxInt64, math.MinInt64}))
	passed := 0
	rapid.Check(t, func(t *rapid.T) {
		r := aRun()
		parts := []*units.SquareMillimetres{&r.Decorated, &r.LayoutLoss, &r.EdgeLoss, &r.TestCutLoss, &r.WeedingLoss, &r.RollEndLoss, &r.Reprints[0].Film, &r.Reprints[1].Film}
		for range rapid.IntRange(1, 3).Draw(t, "changes") {
			*parts[rapid.IntRange(0, len(parts)-1).Draw(t, "part")] = units.SquareMillimetres(area.Draw(t, "area"))
		}
		spent, bad := 0.0, false
		for _, p := range parts {
			spent += float64(*p)
			bad = bad || *p < 0
		}
		if ok := r.Check(now) == nil; ok != (!bad && spent <= 1_000_000) {
			t.Fatalf("passed is %v with %.0f of 1000000 mm² spent, below nothing: %v", ok, spent, bad)
		} else if ok {
			passed++
		}
	})
	if passed == 0 {
		t.Error("no run ever passed, so nothing was tried")
	}
}

func TestReprints_areSummed(t *testing.T) {
	if r := aRun(); r.ReprintCount() != 3 || r.ReprintFilm() != 50_000 || (Run{}).ReprintCount() != 0 || (Run{}).ReprintFilm() != 0 {
		t.Fatalf("got %d and %d mm²", r.ReprintCount(), r.ReprintFilm())
	}
}
