package stock

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

const practice, ours = "common practice, no source", "ours: the limits stated beside Check"

func paths(fs fault.Fields) (out []string) {
	for _, f := range fs {
		out = append(out, f.Path)
	}
	return out
}

func TestRollCheck_namesEveryPlaceThatIsWrong(t *testing.T) {
	rows := []struct {
		name   string
		change func(*Roll)
		want   []string
		source string
	}{
		{"a good roll: 500 mm by 25 m", func(*Roll) {}, nil, practice},
		{"nothing at all", func(r *Roll) { *r = Roll{} }, []string{"colour", "film", "length_mm", "width_mm"}, ours},
		{"blank film", func(r *Roll) { r.Film = "  " }, []string{"film"}, ours},
		{"colour too long", func(r *Roll) { r.Colour = strings.Repeat("a", 61) }, []string{"colour"}, ours},
		{"lot at its limit", func(r *Roll) { r.Lot = strings.Repeat("a", 60) }, nil, ours},
		{"lot too long", func(r *Roll) { r.Lot = strings.Repeat("a", 61) }, []string{"lot"}, ours},
		{"place too long", func(r *Roll) { r.Place = strings.Repeat("a", 61) }, []string{"lot"}, ours},
		{"width typed in centimetres", func(r *Roll) { r.Width = 19 }, []string{"width_mm"}, ours},
		{"width typed in micrometres", func(r *Roll) { r.Width = 500_000 }, []string{"width_mm"}, ours},
		{"1 km", func(r *Roll) { r.Length = 1_000_000 }, nil, "SI: 1 km is 1 000 000 mm"},
		{"1 km and 1 mm", func(r *Roll) { r.Length = 1_000_001 }, []string{"length_mm"}, "SI: 1 km is 1 000 000 mm"},
		{"less than nothing", func(r *Roll) { r.Length = -1 }, []string{"length_mm"}, ours},
	}
	for _, row := range rows {
		r := Roll{Name: "branches/a/rolls/1", Film: "glimmer", Colour: "gold", Lot: "L1", Width: 500, Length: 25_000, Place: "shelf 2"}
		row.change(&r)
		if got := paths(r.Check()); !slices.Equal(got, row.want) {
			t.Errorf("%s: got %v, want %v (%s)", row.name, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

func TestMovementCheck_namesWhatIsWrong(t *testing.T) {
	rows := []struct {
		why    string
		change units.Millimetres
		faults int
		source string
	}{
		{"receive", 25_000, 0, ours}, {"draw", -300, 0, ours}, {"waste", -1, 0, ours}, {"return", 200, 0, ours}, {"count", -5, 0, ours}, {"count", 5, 0, ours},
		{"draw", 0, 1, ours}, {"draw", 300, 1, ours}, {"waste", 300, 1, ours}, {"receive", MaxLength, 0, ours}, {"receive", MaxLength + 1, 1, ours},
		{"draw", -MaxLength, 0, ours}, {"draw", -MaxLength - 1, 1, ours}, {"draw", MaxLength + 1, 2, ours}, {"count", -1 << 63, 1, "smallest 64-bit signed integer"},
	}
	for _, row := range rows {
		got := paths(Movement{Why: row.why, Change: row.change}.Check())
		if len(got) != row.faults || slices.ContainsFunc(got, func(p string) bool { return p != "change_mm" }) {
			t.Errorf("%s %d: got %v, want %d (%s)", row.why, row.change, got, row.faults, row.source)
		}
		if row.source == "" {
			t.Errorf("%s %d has no source", row.why, row.change)
		}
	}
}

var received = time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)

func roll(name string, length units.Millimetres, days int) Roll {
	return Roll{Name: name, Film: "glimmer", Colour: "Gold", Lot: "L1", Width: 500, Length: length, Received: received.AddDate(0, 0, days)}
}

func remnant(name string, length units.Millimetres, days int) Roll {
	r := roll(name, length, days)
	r.Remnant = true
	return r
}

func lot(r Roll, lot string) Roll { r.Lot = lot; return r }

func TestChosen_isTheCheapestPieceThatSuffices(t *testing.T) {
	rows := []struct {
		name   string
		rolls  []Roll
		lot    string
		width  units.Millimetres
		length units.Millimetres
		want   string // "" is none
		left   units.Millimetres
		source string
	}{
		{"a remnant before a roll, though the roll is older", []Roll{roll("r", 25_000, 0), remnant("m", 900, 9)}, "", 400, 600, "m", 300, practice},
		{"the shortest remnant that suffices", []Roll{remnant("long", 900, 0), remnant("fit", 650, 5), remnant("short", 599, 1)}, "", 400, 600, "fit", 50, practice},
		{"exactly enough", []Roll{remnant("m", 600, 0)}, "", 500, 600, "m", 0, practice},
		{"a millimetre short", []Roll{remnant("m", 599, 0), roll("r", 25_000, 0)}, "", 400, 600, "r", 24_400, practice},
		{"a millimetre too narrow", []Roll{remnant("m", 600, 0)}, "", 501, 600, "", 0, practice},
		{"the oldest roll, though another is shorter", []Roll{roll("new", 1_000, 5), roll("old", 25_000, 1)}, "", 400, 600, "old", 24_400, practice},
		{"the oldest of equal remnants", []Roll{remnant("a-new", 650, 5), remnant("z-old", 650, 1)}, "", 400, 600, "z-old", 50, practice},
		{"the same day: by name, so that asking twice answers once", []Roll{roll("b", 25_000, 1), roll("a", 9_000, 1)}, "", 400, 600, "a", 8_400, "ours: same input, same answer"},
		{"the lot is kept, though a remnant of another would do", []Roll{lot(remnant("m", 650, 0), "L2"), roll("r", 25_000, 3)}, "L1", 400, 600, "r", 24_400, practice},
		{"no piece of the lot", []Roll{roll("r", 25_000, 3)}, "L9", 400, 600, "", 0, practice},
		{"an empty shelf", nil, "", 400, 600, "", 0, practice},
		{"3 m is 3000 mm: 2999 do not suffice", []Roll{roll("r", 2_999, 0)}, "", 400, 3_000, "", 0, "SI: 1 m is 1000 mm"},
	}
	for _, row := range rows {
		kept := slices.Clone(row.rolls)
		got, ok := Chosen(row.rolls, "glimmer", "gold", row.lot, row.width, row.length)
		if got.Roll.Name != row.want || ok != (row.want != "") || got.Left != row.left {
			t.Errorf("%s: got %q with %d mm left, want %q with %d (%s)", row.name, got.Roll.Name, got.Left, row.want, row.left, row.source)
		}
		if ok && !strings.Contains(got.Words, fmt.Sprintf("%d.%02d m are left", row.left/1000, row.left%1000/10)) || ok && strings.Contains(got.Words, "remnant") != got.Roll.Remnant {
			t.Errorf("%s: says %q", row.name, got.Words)
		}
		if !slices.Equal(row.rolls, kept) {
			t.Errorf("%s: the shelf handed in was changed", row.name)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
	for _, other := range [][2]string{{"matt", "gold"}, {"glimmer", "silver"}} {
		if _, ok := Chosen([]Roll{roll("r", 25_000, 0)}, other[0], other[1], "", 400, 600); ok {
			t.Errorf("chose glimmer gold for %v", other)
		}
	}
}

func TestChosen_sufficesAndNothingCheaperExists(t *testing.T) {
	draw := rapid.Custom(func(t *rapid.T) Roll {
		return Roll{
			Film: rapid.SampledFrom([]string{"glimmer", "matt"}).Draw(t, "film"), Colour: rapid.SampledFrom([]string{"gold", "GOLD", "red"}).Draw(t, "colour"), Lot: rapid.SampledFrom([]string{"", "L1", "L2"}).Draw(t, "lot"),
			Width: units.Millimetres(rapid.Int64Range(3, 6).Draw(t, "width")) * 100, Length: units.Millimetres(rapid.Int64Range(0, 12).Draw(t, "length")) * 100,
			Remnant: rapid.Bool().Draw(t, "remnant"), Received: received.AddDate(0, 0, rapid.IntRange(0, 4).Draw(t, "day")),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		shelf := rapid.SliceOfN(draw, 0, 12).Draw(t, "shelf")
		for i := range shelf {
			shelf[i].Name = fmt.Sprintf("branches/a/rolls/%02d", i)
		}
		wantLot := rapid.SampledFrom([]string{"", "L1"}).Draw(t, "wanted lot")
		width, length := units.Millimetres(rapid.Int64Range(250, 600).Draw(t, "wanted width")), units.Millimetres(rapid.Int64Range(1, 1200).Draw(t, "wanted length"))
		suffices := func(r Roll) bool {
			return r.Film == "glimmer" && strings.ToLower(r.Colour) == "gold" && (wantLot == "" || r.Lot == wantLot) && r.Width >= width && r.Length-length >= 0
		}
		got, ok := Chosen(shelf, "glimmer", "gold", wantLot, width, length)
		if ok != slices.ContainsFunc(shelf, suffices) {
			t.Fatalf("ok is %v", ok)
		}
		if !ok {
			return
		}
		if !suffices(got.Roll) || got.Left != got.Roll.Length-length || !slices.Contains(shelf, got.Roll) {
			t.Fatalf("chose %+v", got)
		}
		for _, r := range shelf {
			if !suffices(r) {
				continue
			}
			if r.Remnant && (!got.Roll.Remnant || r.Length < got.Roll.Length) || !r.Remnant && !got.Roll.Remnant && r.Received.Before(got.Roll.Received) {
				t.Fatalf("chose %+v, but %+v is cheaper", got.Roll, r)
			}
		}
		again, _ := Chosen(rapid.Permutation(shelf).Draw(t, "shuffled"), "glimmer", "gold", wantLot, width, length)
		if again != got {
			t.Fatalf("the shelf's order matters: %+v, then %+v", got, again)
		}
	})
}
