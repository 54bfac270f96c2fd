package stock

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/units"
)

func TestAssigned_keepsTheLotTogether(t *testing.T) {
	rows := []struct {
		name    string
		rolls   []Roll
		lot     string
		lengths []units.Millimetres
		want    string
		source  string
	}{
		{"one roll takes both", []Roll{roll("r", 25_000, 0)}, "", []units.Millimetres{600, 700}, "r r", practice},
		{"what the first took is gone for the second", []Roll{roll("a", 1_000, 0), roll("b", 1_000, 1)}, "", []units.Millimetres{600, 600}, "a b", practice},
		{"the lot that suffices for both, though another has the older roll", []Roll{lot(roll("old", 1_000, 0), "L2"), roll("a", 1_000, 3), roll("b", 1_000, 4)}, "", []units.Millimetres{900, 900}, "a b", practice},
		{"the lot named, though another suffices", []Roll{lot(roll("a", 1_000, 0), "L2"), lot(roll("b", 1_000, 0), "L2"), roll("c", 1_000, 0)}, "L1", []units.Millimetres{900, 900}, "c -", practice},
		{"no one lot suffices, and it says so", []Roll{lot(roll("a", 1_000, 0), "L2"), roll("b", 1_000, 1)}, "", []units.Millimetres{900, 900}, "a b!", practice},
		{"an empty shelf", nil, "", []units.Millimetres{1}, "-", practice},
		{"nothing to cut", []Roll{roll("r", 25_000, 0)}, "", nil, "", "ours"},
	}
	for _, row := range rows {
		var got []string
		for _, c := range Assigned(row.rolls, "glimmer", "gold", row.lot, 400, row.lengths) {
			switch {
			case c.Roll.Name == "":
				got = append(got, "-")
			case strings.Contains(c.Words, "another lot"):
				got = append(got, c.Roll.Name+"!")
			default:
				got = append(got, c.Roll.Name)
			}
		}
		if strings.Join(got, " ") != row.want {
			t.Errorf("%s: got %q, want %q (%s)", row.name, got, row.want, row.source)
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}

func TestAssigned_neverTakesMoreThanThereIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var shelf []Roll
		for i := range rapid.IntRange(0, 8).Draw(t, "rolls") {
			r := roll(string(rune('a'+i)), units.Millimetres(rapid.Int64Range(0, 2000).Draw(t, "length")), i)
			r.Remnant, r.Lot = rapid.Bool().Draw(t, "remnant"), rapid.SampledFrom([]string{"", "L1", "L2"}).Draw(t, "lot")
			shelf = append(shelf, r)
		}
		lengths := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) units.Millimetres { return units.Millimetres(rapid.Int64Range(1, 900).Draw(t, "cut")) }), 1, 5).Draw(t, "cuts")
		kept := slices.Clone(shelf)
		list := Assigned(shelf, "glimmer", "gold", "", 400, lengths)
		if len(list) != len(lengths) || !slices.Equal(shelf, kept) {
			t.Fatalf("%d choices for %d cuts", len(list), len(lengths))
		}
		lots := map[string]bool{}
		for i, c := range list {
			if c.Roll.Name != "" {
				Take(kept, c.Roll.Name, lengths[i])
				lots[c.Roll.Lot] = true
			}
		}
		for _, r := range kept {
			if r.Length < 0 {
				t.Fatalf("%s has %d mm left", r.Name, r.Length)
			}
		}
		if len(lots) < 2 {
			return
		}
		for _, lot := range []string{"", "L1", "L2"} { // several lots only where no one suffices
			if _, ok := taken(only(shelf, lot), "glimmer", "gold", lot, 400, lengths); ok {
				t.Fatalf("lot %q suffices for all, but %v were taken", lot, lots)
			}
		}
	})
}

func TestRemnant_isProposedWhereItIsWorthIt(t *testing.T) {
	for _, row := range []struct {
		left    units.Millimetres
		remnant bool
		want    units.Millimetres
		source  string
	}{
		{149, false, 0, practice}, {150, false, 150, practice}, {1500, false, 1500, practice}, {1501, false, 0, practice}, {600, true, 0, practice}, {0, false, 0, practice},
	} {
		if got := Remnant(Roll{Remnant: row.remnant}, row.left); got != row.want {
			t.Errorf("%d mm of a remnant %v: got %d, want %d (%s)", row.left, row.remnant, got, row.want, row.source)
		}
	}
}
