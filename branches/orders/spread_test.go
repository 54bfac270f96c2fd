package orders

import (
	"strings"
	"testing"

	"evenpeel/branches/stock"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/units"
)

func film(name, lot string, width, length units.Millimetres, remnant bool) stock.Roll {
	return stock.Roll{Name: "branches/a/rolls/" + name, Film: "g", Colour: "gold", Lot: lot, Width: width, Length: length, Remnant: remnant}
}

func TestLaid_spreadsOverFilm(t *testing.T) {
	rows := []struct {
		name      string
		rolls     []stock.Roll
		remnants  bool
		wantRolls string // of the cuts, in order
	}{
		{"one roll suffices, and nobody asked for remnants", []stock.Roll{film("r", "L1", 500, 25_000, false), film("m", "L1", 500, 300, true)}, false, "r"},
		{"remnants first", []stock.Roll{film("r", "L1", 500, 25_000, false), film("m", "L1", 500, 300, true)}, true, "m r"},
		{"the longer remnant first, then the other, then the roll", []stock.Roll{film("r", "L1", 500, 25_000, false), film("s", "L1", 500, 200, true), film("m", "L1", 500, 300, true)}, true, "m s r"},
		{"a narrow remnant", []stock.Roll{film("r", "L1", 500, 25_000, false), film("m", "L1", 150, 400, true)}, true, "m r"},
		{"a remnant that nothing goes on", []stock.Roll{film("r", "L1", 500, 25_000, false), film("m", "L1", 500, 60, true)}, true, "r"},
		{"a remnant of another lot than any roll", []stock.Roll{film("r", "L1", 500, 25_000, false), film("m", "L2", 500, 300, true)}, true, "r"},
		{"no single roll suffices, two of one lot do", []stock.Roll{film("a", "L1", 500, 300, false), film("b", "L1", 500, 600, false), film("c", "L2", 500, 400, false)}, false, "a b"},
		{"nothing suffices", []stock.Roll{film("a", "L1", 500, 300, false)}, true, ""},
	}
	for _, row := range rows {
		p, b, in := setUp(t)
		p.Book.(*bench).rolls = row.rolls
		name, _, err := p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		o := orderFor(name, 50, 20) // 0.771 m in one stretch
		o.Choices.UseRemnants = row.remnants
		plan, err := p.Plan(t.Context(), b, in, o, nil, "2026-03-01")
		if err != nil {
			t.Fatal(row.name, err)
		}
		l := plan.Layouts[0]
		var names []string
		outlines, drawn := 0, units.Micrometres(0)
		held := heldOf(l)
		for i, c := range l.Cuts {
			names = append(names, strings.TrimPrefix(c.Roll, "branches/a/rolls/"))
			held.Rolls = append(held.Rolls, c.Roll)
			outlines, drawn = outlines+len(l.Rings(i)), drawn+c.Length
			for _, r := range row.rolls {
				if r.Name == c.Roll && (c.Left != r.Length-mm(c.Length) || c.RollWidth > units.Micrometres(r.Width)*1000) {
					t.Errorf("%s: cut %d %+v", row.name, i, c)
				}
			}
			for _, ring := range l.Rings(i) {
				for _, q := range ring {
					if q.X < 10 || q.X > float64(c.RollWidth)/1000-10 || q.Y < 20 || q.Y > float64(c.Length)/1000-20 {
						t.Fatalf("%s: cut %d goes to %v, outside %d × %d", row.name, i, q, c.RollWidth, c.Length)
					}
				}
			}
		}
		if got := strings.Join(names, " "); got != row.wantRolls || outlines != 70 || drawn != l.Length {
			t.Errorf("%s: film %q, want %q; %d outlines, %d of %d µm: %+v", row.name, got, row.wantRolls, outlines, drawn, l.Length, l.Cuts)
		}
		if row.wantRolls == "" {
			if len(l.Cuts) != 1 || !strings.Contains(l.Cuts[0].Words, "No roll") {
				t.Errorf("%s: %+v", row.name, l.Cuts)
			}
			continue
		}
		again, err := p.Plan(t.Context(), b, in, o, []Held{held}, "2026-03-01")
		if err != nil || again.Layouts[0].Length != l.Length {
			t.Errorf("%s: held again: %v", row.name, err)
		}
		last := 0
		if err := p.Improve(t.Context(), b, in, o, []Held{held}, 0, little, "2026-03-01", func(s Step) error { last = s.Permille; return nil }); err != nil || last != 1000 {
			t.Errorf("%s: improved to %d: %v", row.name, last, err)
		}
	}
}
