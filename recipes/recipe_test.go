package recipes

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func paths(fs fault.Fields) (out []string) {
	for _, f := range fs {
		out = append(out, f.Path)
	}
	slices.Sort(out)
	return out
}

// glitterOnCotton is common practice, no source: cut at 25 to 50 cm/s and start at 30, press 5 s without film, then
// 150 °C for 10 s, peel hot.
func glitterOnCotton() Recipe {
	return Recipe{
		Title: "Glitter on cotton",
		Film: Film{
			Code: "glimmer", Title: "Glimmer", Chemistry: "pu", Glitter: true, Thickness: 250, Carrier: 100, RollWidth: 500,
			Colours: []string{"gold", "silver"}, MinStroke: 1500, MinGap: 1000, SmallestPiece: 4, Turns: HalfTurns,
			Care: care.Label{WashMax: 40, Wash: care.Normal, Bleach: care.NoBleach, Tumble: care.TumbleLow, Iron: care.NoIron, Dry: care.NoDryClean, Wet: care.NoWetClean},
		},
		Fabric:   "cotton",
		CutSpeed: units.Window[units.MillimetresPerSecond]{Low: 250, Set: 300, High: 500}, CutForce: units.Around(units.GramsForce(120), 20, 20),
		BladeDepth: units.Around(units.Micrometres(280), 20, 30), Passes: 1, Gap: 3, WeedBorder: 5,
		Temperature: units.Around(units.Celsius(150), 5, 5), PrePress: 5, Dwell: units.Around(units.Seconds(10), 2, 3), Pressure: units.Around(units.Kilopascals(30), 10, 10),
		Peel: Hot, Advice: []string{"Keep hands off the platen: it is hot."},
	}
}

func TestRecipeCheck_namesEveryPlaceThatIsWrong(t *testing.T) {
	const practice, ours = "common practice, no source", "ours: the limits stated beside Recipe.Check"
	rows := []struct {
		name   string
		change func(*Recipe)
		want   []string
		source string
	}{
		{"glitter on cotton: 25 to 50 cm/s, start 30; 150 °C; 5 s, 10 s; hot", func(*Recipe) {}, nil, practice},
		{"every fabric family", func(r *Recipe) { r.Fabric = "stretch" }, nil, ours},
		{"no title", func(r *Recipe) { r.Title = " \t" }, []string{"title"}, ours},
		{"title at its limit", func(r *Recipe) { r.Title = strings.Repeat("a", 120) }, nil, ours},
		{"title over its limit", func(r *Recipe) { r.Title = strings.Repeat("a", 121) }, []string{"title"}, ours},
		{"fabric unknown", func(r *Recipe) { r.Fabric = "leather" }, []string{"fabric"}, ours},
		{"speed typed in cm/s by a slip", func(r *Recipe) { r.CutSpeed = units.Window[units.MillimetresPerSecond]{Low: 2, Set: 30, High: 50} }, []string{"cut_speed_mm_per_second.low"}, practice},
		{"speed over the range", func(r *Recipe) { r.CutSpeed.High = 2001 }, []string{"cut_speed_mm_per_second.high"}, ours},
		{"force out at both ends", func(r *Recipe) { r.CutForce = units.Window[units.GramsForce]{Low: 4, Set: 120, High: 1001} }, []string{"cut_force_grams.high", "cut_force_grams.low"}, ours},
		{"blade reaches exactly through film and carrier", func(r *Recipe) { r.BladeDepth.High = 350 }, []string{"blade_depth_um.high"}, "common practice, no source: a kiss cut leaves the carrier whole"},
		{"blade a micrometre above that", func(r *Recipe) { r.BladeDepth.High = 349 }, nil, "common practice, no source: a kiss cut leaves the carrier whole"},
		{"no carrier stated: depth can not be judged", func(r *Recipe) { r.Film.Carrier, r.BladeDepth.High = 0, 900 }, nil, ours},
		{"no pass", func(r *Recipe) { r.Passes = 0 }, []string{"passes"}, ours},
		{"gap below nothing, border too wide", func(r *Recipe) { r.Gap, r.WeedBorder = -1, 51 }, []string{"gap_mm", "weed_border_mm"}, ours},
		{"start outside the window", func(r *Recipe) { r.Temperature.Set = 160 }, []string{"press_temperature_celsius"}, "definition of a window: low ≤ set ≤ high"},
		{"150 °C typed as 302 °F", func(r *Recipe) { r.Temperature = units.Around(units.Celsius(302), 5, 5) }, []string{"press_temperature_celsius.high", "press_temperature_celsius.low"}, "NIST SP 811 (2008), appendix B.8: t/°C = (t/°F − 32)/1.8, so 150 °C is 302 °F"},
		{"pre-press too long", func(r *Recipe) { r.PrePress = 31 }, []string{"pre_press_seconds"}, ours},
		{"dwell of nothing", func(r *Recipe) { r.Dwell = units.Window[units.Seconds]{} }, []string{"dwell_seconds.high", "dwell_seconds.low"}, ours},
		{"pressure upside down", func(r *Recipe) { r.Pressure = units.Window[units.Kilopascals]{Low: 40, Set: 30, High: 20} }, []string{"pressure_kpa"}, "definition of a window: low ≤ set ≤ high"},
		{"peel not chosen", func(r *Recipe) { r.Peel = "" }, []string{"peel"}, ours},
		{"cold peel without a wait", func(r *Recipe) { r.Peel = Cold }, []string{"peel_wait_seconds"}, practice},
		{"cold peel that waits", func(r *Recipe) { r.Peel, r.PeelWait = Cold, 60 }, nil, practice},
		{"second press too long", func(r *Recipe) { r.SecondPress = 61 }, []string{"second_press_seconds"}, ours},
		{"too much advice", func(r *Recipe) { r.Advice = slices.Repeat([]string{"a"}, 21) }, []string{"advice"}, ours},
		{"a line of advice too long", func(r *Recipe) { r.Advice = []string{strings.Repeat("a", 301)} }, []string{"advice"}, ours},
		{"film thickness below any film", func(r *Recipe) { r.Film.Thickness, r.Film.Carrier = 9, 400 }, []string{"film.thickness_um"}, ours},
		{"film thickness typed in nanometres", func(r *Recipe) { r.Film.Thickness = 250_000 }, []string{"film.thickness_um"}, ours},
		{"film code with a capital", func(r *Recipe) { r.Film.Code = "Glimmer" }, []string{"film.code"}, ours},
		{"film without colours", func(r *Recipe) { r.Film.Colours = nil }, []string{"film.colours"}, ours},
		{"a colour twice and an empty one", func(r *Recipe) { r.Film.Colours = []string{"gold", "gold", " "} }, []string{"film.colours", "film.colours"}, ours},
		{"film's turns not chosen", func(r *Recipe) { r.Film.Turns = "" }, []string{"film.turns"}, ours},
		{"roll narrower than any", func(r *Recipe) { r.Film.RollWidth = 49 }, []string{"film.roll_width_mm"}, ours},
		{"finest detail out of range", func(r *Recipe) { r.Film.MinStroke, r.Film.MinGap, r.Film.SmallestPiece = -1, 20001, 1001 }, []string{"film.min_gap_um", "film.min_stroke_um", "film.smallest_piece_mm2"}, ours},
		{"normal wash at 55 °C has no symbol", func(r *Recipe) { r.Film.Care.WashMax = 55 }, []string{"film.care.wash_max_celsius"}, "ISO 3758:2012, table 1: normal wash at 95, 70, 60, 50, 40, 30 °C (50 from memory)"},
	}
	for _, row := range rows {
		r := glitterOnCotton()
		row.change(&r)
		if diff := cmp.Diff(paths(r.Check()), row.want); diff != "" {
			t.Errorf("%s (%s): got −, want +\n%s", row.name, row.source, diff)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

func TestRecipeCheck_reportsAllFaultsAtOnce(t *testing.T) {
	want := []string{
		"blade_depth_um.high", "blade_depth_um.low", "cut_force_grams.high", "cut_force_grams.low", "cut_speed_mm_per_second.high", "cut_speed_mm_per_second.low",
		"dwell_seconds.high", "dwell_seconds.low", "fabric", "film.care.bleach", "film.care.dry", "film.care.dry_action", "film.care.iron", "film.care.tumble", "film.care.wash", "film.care.wet",
		"film.chemistry", "film.code", "film.colours", "film.roll_width_mm", "film.thickness_um", "film.title", "film.turns", "passes", "peel",
		"press_temperature_celsius.high", "press_temperature_celsius.low", "pressure_kpa.high", "pressure_kpa.low", "title",
	}
	if diff := cmp.Diff(paths(Recipe{}.Check()), want); diff != "" {
		t.Fatalf("an empty recipe: got −, want +\n%s", diff)
	}
}

func TestNames_areTakenApartAndPutTogether(t *testing.T) {
	rows := []struct {
		name   string
		record RecordName
		number int64
		ok     bool
		source string
	}{
		{"recipes/glimmer-cotton/revisions/3", "recipes/glimmer-cotton", 3, true, "ours: draft.go, RevisionName"},
		{"prices/eu/revisions/9223372036854775807", "prices/eu", 1<<63 - 1, true, "largest 64-bit signed integer"},
		{"notes/a/revisions/9223372036854775808", "", 0, false, "one above the largest 64-bit signed integer"},
		{"recipes/" + strings.Repeat("a", 63) + "/revisions/1", RecordName("recipes/" + strings.Repeat("a", 63)), 1, true, "RFC 1035 section 2.3.4: a label has at most 63 octets"},
		{"recipes/" + strings.Repeat("a", 64) + "/revisions/1", "", 0, false, "RFC 1035 section 2.3.4: a label has at most 63 octets"},
		{"recipes/a-/revisions/1", "", 0, false, "RFC 1035 section 2.3.1: a label ends with a letter or digit"},
		{"recipes/1a/revisions/1", "", 0, false, "RFC 1035 section 2.3.1: a label starts with a letter"},
		{"recipes/a/revisions/0", "", 0, false, "ours: numbers start at 1"},
		{"recipes/a/revisions/-1", "", 0, false, "ours: numbers start at 1"},
		{"recipes/a/revisions/1/revisions/2", "", 0, false, "ours: one number a name"},
		{"recipes/a/revisions/", "", 0, false, "ours: draft.go, RevisionName"},
		{"recipes/a", "", 0, false, "ours: draft.go, RevisionName"},
		{"garments/a/revisions/1", "", 0, false, "ours: the four kinds"},
		{"recipes/a\n/revisions/1", "", 0, false, "ours: draft.go, RevisionName"},
		{"", "", 0, false, "ours: draft.go, RevisionName"},
	}
	for _, row := range rows {
		record, number, err := RevisionName(row.name).Parts()
		if record != row.record || number != row.number || (err == nil) != row.ok {
			t.Errorf("%q: got %q, %d, %v (%s)", row.name, record, number, err, row.source)
		}
		if !row.ok {
			wantFault(t, err, fault.Invalid, "REVISION_NAME_INVALID")
		} else if back := record.Revision(number); string(back) != row.name {
			t.Errorf("%q came back as %q", row.name, back)
		}
		if row.source == "" {
			t.Errorf("%q has no source", row.name)
		}
	}
	if kind, ok := RecordName("certificates/skin-2026").Kind(); !ok || kind != KindCertificate {
		t.Errorf("kind is %q, %v", kind, ok)
	}
	if _, ok := RecordName("recipes/a/revisions/1").Kind(); ok {
		t.Error("a revision's name passed for a record's")
	}
}

// FuzzRevisionNameParts: whatever is taken apart is put together again to a name that means the same.
func FuzzRevisionNameParts(f *testing.F) {
	for _, seed := range []string{"recipes/a/revisions/1", "recipes/a/revisions/+01", "x", "/revisions/"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, name string) {
		record, number, err := RevisionName(name).Parts()
		if err != nil {
			return
		}
		if again, n, err := record.Revision(number).Parts(); err != nil || again != record || n != number {
			t.Fatalf("%q: %q, %d became %q, %d, %v", name, record, number, again, n, err)
		}
	})
}
