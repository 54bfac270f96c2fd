package compare

import (
	"math"
	"testing"

	"evenpeel/recipes/fault"
)

func costCells() (cells []Cell) {
	for _, month := range []string{"2026-01", "2026-02", "2026-03"} {
		for _, b := range []string{"branches/a", "branches/b", "branches/c"} {
			c := Cell{Branch: b, Film: "f", Fabric: "cotton", Period: month, Pieces: 500, Reprints: 20, Drawn: 100_000_000, Decorated: 60_000_000, Achievable: 90_000_000, ReprintLoss: 4_000_000}
			if b == "branches/b" {
				c.Reprints, c.ReprintLoss, c.Drawn = 40, 8_000_000, 110_000_000
			}
			c.DrawnKnown = c.Drawn
			cells = append(cells, c)
		}
	}
	return cells
}

func TestCosts(t *testing.T) {
	sourced(t, "ours: area × price, count × labour, worked by hand; limits Garwood 1936")
	price := func(c Cell) (Price, bool) {
		return Price{FilmPerSquareMetre: 500, PerReprint: 40}, c.Period != "2026-03" || c.Branch != "branches/c"
	}
	list, err := Costs(mixOf(t, costCells()), costCells(), price, Options{Branches: []string{"branches/z"}})
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 4 || list[3].Standing.Mark != Silent || list[3].Reprints != (Amount{}) {
		t.Fatalf("a silent branch costs nothing known: %+v", list)
	}
	b := list[1]
	near(t, "reprints of b", b.Reprints.Value, 24*500+120*40, 1e-9)
	limits := Garwood(120, Level95)
	near(t, "their upper limit", b.Reprints.Limits95.High, limits.High*16800/120, 1e-6)
	near(t, "expected of b", b.Standing.Expected, 80, 1e-9)
	near(t, "beyond", b.ReprintsBeyond.Value, 40*140, 1e-6)
	near(t, "film loss of b", b.FilmLoss.Value, 3*12*500, 1e-9)
	near(t, "in mm²", b.LossArea, 36_000_000, 1e-3)
	all := (6.*6 + 3*12) / (6*100 + 3*110)
	near(t, "beyond everybody's", b.FilmBeyond.Value, 18_000-all*330*500, 1e-6)
	near(t, "a's priced share", list[0].Priced, 1, 1e-12)
	near(t, "c's priced share", list[2].Priced, 2./3, 1e-12)
	near(t, "c's reprints of two months", list[2].Reprints.Value, 2*(4*500+20*40), 1e-9)
	if b.FilmLoss.Limits95.Low > b.FilmLoss.Value || b.FilmLoss.Limits95.High < b.FilmLoss.Value {
		t.Errorf("%+v", b.FilmLoss)
	}
}

// Twice the price is twice the money, and no price is none.
func TestCosts_scale(t *testing.T) {
	at := func(times float64) []Cost {
		list, err := Costs(mixOf(t, costCells()), costCells(), func(Cell) (Price, bool) { return Price{300 * times, 20 * times}, times > 0 }, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	one, two, none := at(1), at(2), at(0)
	for i := range one {
		alike(t, "reprints", two[i].Reprints.Value, 2*one[i].Reprints.Value, 1e-12)
		alike(t, "film", two[i].FilmBeyond.Limits95.High, 2*one[i].FilmBeyond.Limits95.High, 1e-9)
		if none[i].Reprints != (Amount{}) || none[i].Priced != 0 {
			t.Errorf("%+v", none[i])
		}
	}
	if _, err := Costs(Mix{Branches: []BranchMix{{}}}, nil, nil, Options{}); !fault.Is(err, fault.Invalid) {
		t.Error(err)
	}
	if math.IsNaN(one[0].FilmLoss.Value) {
		t.Error("no number")
	}
}

func mixOf(t *testing.T, cells []Cell) Mix {
	t.Helper()
	m, err := MixOf(cells)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
