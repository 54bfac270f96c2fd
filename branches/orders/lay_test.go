package orders

import (
	"maps"
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

func TestRowsLength_byHandAndByTheTheorem(t *testing.T) {
	r := layout.Roll{Width: 120_000, EdgeMargin: 10_000, Lead: 20_000, Tail: 20_000, Gap: 2_000, WeedBorder: 1_000}
	// By hand: boxes with border are 32 and 42 wide, the roll takes 100; 32 + 2 + 32 + 2 + 32 = 100 fit in one row, the fourth
	// begins the next with the tall one beside it: rows of 12 and 52, one gap, lead and tail: 20 + 12 + 2 + 52 + 20.
	pieces := []layout.Piece{{Width: 30_000, Height: 10_000, Copies: 4}, {Width: 40_000, Height: 50_000, Copies: 1}}
	if got := rowsLength(r, pieces); got != 106_000 {
		t.Errorf("got %d µm, want 106000 (worked by hand)", got)
	}
	// Coffman, Garey, Johnson, Tarjan, "Performance bounds for level-oriented two-dimensional packing algorithms" (1980): in order
	// of falling height, next fit takes at most twice the area's height and the first box.
	rapid.Check(t, func(t *rapid.T) {
		heights := rapid.SliceOfN(rapid.Int64Range(1, 1000), 1, 40).Draw(t, "heights")
		var list []layout.Piece
		area, high := int64(0), int64(0)
		for _, h := range heights {
			w := rapid.Int64Range(1, 1000).Draw(t, "width")
			list = append(list, layout.Piece{Width: units.Micrometres(w), Height: units.Micrometres(h), Copies: 1})
			area, high = area+w*h, max(high, h)
		}
		for i := range list { // falling
			for j := i + 1; j < len(list); j++ {
				if list[j].Height > list[i].Height {
					list[i], list[j] = list[j], list[i]
				}
			}
		}
		if got := rowsLength(layout.Roll{Width: 1000}, list); float64(got) > 2*float64(area)/1000+float64(high) || got < units.Micrometres(high) {
			t.Fatalf("got %d for an area of %d and a height of %d", got, area, high)
		}
	})
}

func TestPlan_savingIsThatAgainstPlainRows(t *testing.T) {
	plan, _ := planned(t, nil, 30, 20)
	l := plan.Layouts[0]
	if l.RowsLength < l.Length || l.Saved() != l.RowsLength-l.Length || l.Saved() > 0 && l.SavedMoney <= 0 {
		t.Errorf("rows %d, length %d, saved %d", l.RowsLength, l.Length, l.SavedMoney)
	}
	// 30 tees at 80 mm and 20 at 90 mm on 480 mm with borders of 4 and gaps of 3 mm: five of 88 across (5·88 + 4·3 = 452), so six
	// rows of 48; then four... worked by hand: the first row of the larger ones stands alone, since the sixth row is full.
	// 98 + 3 four times is 401, so four across and a fifth does not go (502): five rows of 53 mm.
	if want := units.Micrometres(20_000 + 6*48_000 + 5*53_000 + 10*3_000 + 20_000); l.RowsLength != want {
		t.Errorf("rows of %d µm, want %d (worked by hand)", l.RowsLength, want)
	}
}

func TestPlan_longOrdersAreCutInSeveral(t *testing.T) {
	p, b, in := setUp(t)
	store := p.Book.(*bench)
	store.machines[0].LongestCut = 400
	store.rolls = []stock.Roll{
		{Name: "branches/a/rolls/1", Film: "g", Colour: "gold", Lot: "L1", Width: 500, Length: 500}, {Name: "branches/a/rolls/2", Film: "g", Colour: "gold", Lot: "L2", Width: 500, Length: 450},
		{Name: "branches/a/rolls/3", Film: "g", Colour: "gold", Lot: "L2", Width: 500, Length: 900},
	}
	name, _, err := p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := orderFor(name, 60)
	plan, err := p.Plan(t.Context(), b, in, o, nil, "2026-03-01")
	if err != nil {
		t.Fatal(err)
	}
	l := plan.Layouts[0]
	sum, seen := units.Micrometres(0), 0
	for i, c := range l.Cuts {
		sum += c.Length
		if c.Length > 400_000 || c.Roll == "" || c.Lot != "L2" {
			t.Errorf("cut %d: %+v", i, c)
		}
		seen += len(l.Rings(i))
	}
	if len(l.Cuts) < 2 || sum != l.Length || seen != 60 {
		t.Errorf("%d cuts, %d of %d µm, %d outlines", len(l.Cuts), sum, l.Length, seen)
	}
	again, err := p.Plan(t.Context(), b, in, o, []Held{heldOf(l)}, "2026-03-01")
	if err != nil || again.Layouts[0].Length != l.Length || len(again.Layouts[0].Cuts) != len(l.Cuts) {
		t.Errorf("held: %v", err)
	}
	last := Step{}
	if err := p.Improve(t.Context(), b, in, o, nil, 0, little, "2026-03-01", func(s Step) error { last = s; return nil }); err != nil || last.Permille != 1000 {
		t.Errorf("improved: %+v, %v", last, err)
	}
}

func TestPlan_coloursOfOneDrawingStayInRegister(t *testing.T) {
	const twoColours = `<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 100 50"><rect width="20" height="50" fill="#ff0000"/><rect x="60" y="10" width="40" height="20" fill="#0000ff"/></svg>`
	p, b, in := setUp(t)
	name, _, err := p.Read(t.Context(), b.Name, "two", []byte(twoColours), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := orderFor(name, 3)
	o.Lines[0].Sizes[0].Width, o.Lines[0].Registered, o.Lines[0].Figure = 150_000, true, "#ff0000"
	second := o.Lines[0]
	second.Figure, second.Garment = "#0000ff", SameGarment
	o.Lines = append(o.Lines, second)
	plan, err := p.Plan(t.Context(), b, in, o, nil, "2026-03-01")
	if err != nil {
		t.Fatal(err)
	}
	// Everything is half as large again: 20 × 50 at 0,0 and 40 × 20 at 60,10.
	for i, want := range []Outline{{Width: 30_000, Height: 75_000}, {Width: 60_000, Height: 30_000, RegisterX: 90_000, RegisterY: 15_000}} {
		got := plan.Layouts[0].Outlines[i]
		if got.Width != want.Width || got.Height != want.Height || got.RegisterX != want.RegisterX || got.RegisterY != want.RegisterY {
			t.Errorf("figure %d: %d × %d at %d, %d", i, got.Width, got.Height, got.RegisterX, got.RegisterY)
		}
	}
	if plan.Garments != 3 {
		t.Errorf("%d garments", plan.Garments)
	}
}

func TestTurns_neverGoFurtherThanTheFilm(t *testing.T) {
	for _, row := range []struct {
		film  string
		asked Turns
		want  layout.Turns
	}{
		{"none", AsFilm, layout.None}, {"none", FreeTurns, layout.None}, {"half", AsFilm, layout.Half}, {"half", NoTurn, layout.None}, {"half", QuarterTurns, layout.Half},
		{"quarter", AsFilm, layout.Quarter}, {"quarter", HalfTurns, layout.Half}, {"quarter", FreeTurns, layout.Free}, {"", FreeTurns, layout.None},
	} {
		if got := turns(recipes.Turns(row.film), row.asked); got != row.want {
			t.Errorf("film %q, asked %d: got %d, want %d", row.film, row.asked, got, row.want)
		}
	}
}

func TestInsideFirst_cutsWhatLiesInAnotherBeforeIt(t *testing.T) {
	box := func(x, side units.Micrometres) Place { return Place{X: x, Y: x, Width: side, Height: side} }
	l := Layout{Places: []Place{box(0, 100), box(10, 50), box(20, 10), box(200, 10)}}
	rapid.Check(t, func(t *rapid.T) {
		order := l.insideFirst(rapid.Permutation([]int{0, 1, 2, 3}).Draw(t, "order"))
		at := make([]int, 4)
		for i, k := range order {
			at[k] = i
		}
		if len(order) != 4 || at[2] > at[1] || at[1] > at[0] {
			t.Fatalf("order %v", order)
		}
	})
}

func TestPlan_groupsLieOnStretchesOfTheirOwn(t *testing.T) {
	plan, again := planned(t, func(o *Order) { o.Choices.Grouped = true }, 9, 7, 8)
	l := plan.Layouts[0]
	from, to := map[string]units.Micrometres{}, map[string]units.Micrometres{}
	for _, at := range l.Places {
		if first, ok := from[at.Size]; !ok || at.Y < first {
			from[at.Size] = at.Y
		}
		to[at.Size] = max(to[at.Size], at.Y+at.Height)
	}
	for a := range from {
		for b := range from {
			if a != b && from[a] < to[b] && from[b] < to[a] {
				t.Errorf("%s lies from %d to %d, %s from %d to %d", a, from[a], to[a], b, from[b], to[b])
			}
		}
	}
	if _, err := again(heldOf(l)); err != nil || len(from) != 3 {
		t.Errorf("%d groups, held: %v", len(from), err)
	}
}

func TestPlan_choicesOfGapAndBorderAreKept(t *testing.T) {
	wide := units.Micrometres(12_000)
	plan, _ := planned(t, nil, 12)
	loose, again := planned(t, func(o *Order) { o.Choices.Gap, o.Choices.WeedBorder = &wide, &wide }, 12)
	if l := loose.Layouts[0]; l.Gap != wide || l.WeedBorder != wide || l.Length <= plan.Layouts[0].Length {
		t.Errorf("gap %d, border %d, %d µm after %d", l.Gap, l.WeedBorder, l.Length, plan.Layouts[0].Length)
	}
	if _, err := again(heldOf(plan.Layouts[0])); !fault.Is(err, fault.Invalid) {
		t.Errorf("the narrow layout passes with the wide gap: %v", err)
	}
	p, b, in := setUp(t)
	name, _, _ := p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
	o := orderFor(name, 1)
	for _, bad := range []units.Micrometres{-1, layout.MaxSpacing + 1} {
		o.Choices = Choices{Gap: &bad}
		if f, ok := fault.As(func() error { _, err := p.Plan(t.Context(), b, in, o, nil, "2026-03-01"); return err }()); !ok || f.Reason != "ORDER_INVALID" || f.Fields[0].Path != "choices.gap_um" {
			t.Errorf("a gap of %d µm: %v", bad, f)
		}
	}
}

// Every outline of the layout is cut, once, in a way hardly longer than the one that cut.Ordered finds for all at once.
func TestOrdered_cutsEveryOutlineOnce(t *testing.T) {
	p, b, in := setUp(t)
	o := mixed(t, p, b)
	for i := range o.Lines {
		o.Lines[i].Sizes = o.Lines[i].Sizes[:1]
	}
	plan, err := p.Plan(t.Context(), b, in, o, nil, "2026-03-01")
	if err != nil {
		t.Fatal(err)
	}
	l := plan.Layouts[0]
	count := func(rings []cut.Ring) map[[3]int64]int {
		n := map[[3]int64]int{}
		for _, r := range rings {
			sum := [3]int64{int64(len(r))}
			for _, q := range r {
				sum[1], sum[2] = sum[1]+int64(math.Round(q.X*1000)), sum[2]+int64(math.Round(q.Y*1000))
			}
			n[sum]++
		}
		return n
	}
	drawn, way := l.Rings(0), l.ordered(&poses{outlines: l.Outlines}, 0)
	if !maps.Equal(count(drawn), count(way)) {
		t.Fatalf("%d outlines are drawn, %d cut", len(drawn), len(way))
	}
	if got, best := cut.Travel(way, cut.Point{}), cut.Travel(cut.Ordered(drawn, cut.Point{}), cut.Point{}); got > 1.25*best || math.Abs(got-l.Cutting.TravelLength) > 0.01 {
		t.Errorf("travels %.0f mm, said are %.0f; all at once %.0f", got, l.Cutting.TravelLength, best)
	} else {
		t.Logf("design after design %.0f mm, all at once %.0f, as drawn %.0f", got, best, l.Cutting.TravelUnordered)
	}
}
