package orders

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// planned is an order for angles in two sizes, and what plans it again.
func planned(t *testing.T, change func(*Order), counts ...int64) (Plan, func(...Held) (Plan, error)) {
	t.Helper()
	p, b, in := setUp(t)
	name, _, err := p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := orderFor(name, counts...)
	if change != nil {
		change(&o)
	}
	again := func(held ...Held) (Plan, error) { return p.Plan(t.Context(), b, in, o, held, "2026-03-01") }
	plan, err := again()
	if err != nil {
		t.Fatal(err)
	}
	return plan, again
}

func heldOf(l Layout) Held { return Held{Places: append([]Place(nil), l.Places...)} }

func TestHeld_theSameLayoutGivesTheSamePlan(t *testing.T) {
	plan, again := planned(t, nil, 6, 4)
	got, err := again(heldOf(plan.Layouts[0]))
	if err != nil {
		t.Fatal(err)
	}
	a, b := plan.Layouts[0], got.Layouts[0]
	if a.Length != b.Length || a.Bound != b.Bound || a.DesignArea != b.DesignArea || a.EdgeArea != b.EdgeArea || a.Cutting != b.Cutting || plan.Quote.Payable != got.Quote.Payable || len(a.Places) != len(b.Places) {
		t.Errorf("planned\n%+v\nheld\n%+v", a, b)
	}
	for i := range a.Places {
		if a.Places[i] != b.Places[i] {
			t.Errorf("place %d was %+v, is %+v", i, a.Places[i], b.Places[i])
		}
	}
}

func TestHeld_isRefusedWhereItCanNotBeCut(t *testing.T) {
	plan, again := planned(t, nil, 6, 4)
	for name, spoil := range map[string]func(*Held){
		"two on one spot": func(h *Held) {
			h.Places[1].X, h.Places[1].Y, h.Places[1].Angle = h.Places[0].X, h.Places[0].Y, h.Places[0].Angle
		},
		"over the edge":            func(h *Held) { h.Places[3].X = -1 },
		"far out":                  func(h *Held) { h.Places[3].X, h.Places[3].Y = math.MaxInt64, math.MaxInt64 },
		"turned where it must not": func(h *Held) { h.Places[2].Angle = 45_000 },
		"no such outline":          func(h *Held) { h.Places[2].Outline = 2 },
		"below nothing":            func(h *Held) { h.Places[2].Outline = -1 },
		"one copy missing":         func(h *Held) { h.Places = h.Places[1:] },
		"one copy too many":        func(h *Held) { h.Places = append(h.Places, h.Places[0]) },
		"a cut with nothing":       func(h *Held) { h.Places[0].Cut = 2 },
		"a cut out of range":       func(h *Held) { h.Places[0].Cut = 1 << 40 },
		"of another layout":        func(h *Held) { h.Layout = 1 },
		"film that is not there":   func(h *Held) { h.Rolls = []string{"branches/a/rolls/none"} },
	} {
		h := heldOf(plan.Layouts[0])
		spoil(&h)
		_, err := again(h)
		f, ok := fault.As(err)
		if !ok || f.Kind != fault.Invalid || f.Reason != layout.LayoutInvalid || f.Words == "" {
			t.Errorf("%s: got %v", name, err)
			continue
		}
		for _, field := range f.Fields {
			if !strings.HasPrefix(field.Path, "keep[0].") {
				t.Errorf("%s: the field %s is not of the request", name, field.Path)
			}
		}
	}
	// A field of a place names the place as it was handed in, not as it was sorted.
	h := heldOf(plan.Layouts[0])
	h.Places[7].X = -1
	if f, _ := fault.As(func() error { _, err := again(h); return err }()); f == nil || len(f.Fields) == 0 || f.Fields[0].Path != "keep[0].places[7]" {
		t.Errorf("got %v", f)
	}
}

func TestHeld_longerLayoutsCostMoreAndAreTaken(t *testing.T) {
	plan, again := planned(t, nil, 6, 4)
	h := heldOf(plan.Layouts[0])
	for i := range h.Places {
		h.Places[i].Y += 500_000
	}
	got, err := again(h)
	if err != nil {
		t.Fatal(err)
	}
	if l := got.Layouts[0]; l.Length != plan.Layouts[0].Length+500_000 || got.Quote.Net.Minor <= plan.Quote.Net.Minor || l.Cuts[0].Left != plan.Layouts[0].Cuts[0].Left-500 {
		t.Errorf("length %d after %d, net %d after %d, left %d after %d", l.Length, plan.Layouts[0].Length, got.Quote.Net.Minor, plan.Quote.Net.Minor, l.Cuts[0].Left, plan.Layouts[0].Cuts[0].Left)
	}
}

// The origin that is shown puts the outline exactly where the cut file has it.
func TestSettle_originAndAngleDrawWhatIsCut(t *testing.T) {
	_, drawing, _ := func() (string, cut.Drawing, error) {
		p, b, _ := setUp(t)
		return p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
	}()
	o := outlined(drawing)
	rapid.Check(t, func(t *rapid.T) {
		at := Place{X: units.Micrometres(rapid.Int64Range(0, 400_000).Draw(t, "x")), Y: units.Micrometres(rapid.Int64Range(0, 400_000).Draw(t, "y")), Angle: layout.Millidegrees(rapid.Int32Range(0, 359_999).Draw(t, "angle"))}
		if rapid.Bool().Draw(t, "quarter") {
			at.Angle = at.Angle / 90_000 * 90_000
		}
		ps := poses{outlines: []Outline{o}}
		at = ps.settle(at)
		rings := Layout{Outlines: []Outline{o}, Places: []Place{at}}.Rings(0)
		sin, cos := math.Sincos(float64(at.Angle) * math.Pi / 180_000)
		low, high := cut.Point{X: math.Inf(1), Y: math.Inf(1)}, cut.Point{X: math.Inf(-1), Y: math.Inf(-1)}
		for i, r := range rings {
			for j, q := range r {
				p := o.Rings[i][j]
				x, y := float64(at.OriginX)/1000+p.X*cos-p.Y*sin, float64(at.OriginY)/1000+p.X*sin+p.Y*cos // SVG 2, translate then rotate
				if math.Hypot(x-q.X, y-q.Y) > 0.002 {
					t.Fatalf("the picture has %.4f, %.4f, the cut file %.4f, %.4f", x, y, q.X, q.Y)
				}
				low.X, low.Y, high.X, high.Y = min(low.X, q.X), min(low.Y, q.Y), max(high.X, q.X), max(high.Y, q.Y)
			}
		}
		um := func(v float64) units.Micrometres { return units.Micrometres(math.Round(v * 1000)) }
		if um(low.X) != at.X || um(low.Y) != at.Y || um(high.X) != at.X+at.Width || um(high.Y) != at.Y+at.Height {
			t.Fatalf("the box is %v to %v, said is %+v", low, high, at)
		}
	})
}

// little is an effort that tests end by themselves within.
var little = Effort{Moves: 50_000, Evaluations: 5_000}

func TestImprove_sendsOnlyShorterCheckedLayoutsAndEnds(t *testing.T) {
	p, b, in := setUp(t)
	ctx := context.Background()
	name, _, err := p.Read(ctx, b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := orderFor(name, 6, 4)
	plan, err := p.Plan(ctx, b, in, o, nil, "2026-03-01")
	if err != nil {
		t.Fatal(err)
	}
	worse := heldOf(plan.Layouts[0])
	for i := range worse.Places {
		worse.Places[i].Y += 300_000
	}
	var steps []Step
	if err := p.Improve(ctx, b, in, o, []Held{worse}, 0, little, "2026-03-01", func(s Step) error { steps = append(steps, s); return nil }); err != nil {
		t.Fatal(err)
	}
	if len(steps) < 2 || steps[0].Layout == nil || steps[0].Layout.Length != plan.Layouts[0].Length+300_000 || steps[len(steps)-1].Permille != 1000 {
		t.Fatalf("%d steps: first %+v", len(steps), steps[0])
	}
	last := steps[0]
	for _, s := range steps[1:] {
		if s.Permille < last.Permille {
			t.Errorf("the share went from %d to %d", last.Permille, s.Permille)
		}
		if s.Layout == nil {
			continue
		}
		if s.Layout.Length >= last.Layout.Length || s.Quote.Net.Minor > last.Quote.Net.Minor {
			t.Errorf("from %d to %d µm, %d to %d", last.Layout.Length, s.Layout.Length, last.Quote.Net.Minor, s.Quote.Net.Minor)
		}
		if _, err := p.Plan(ctx, b, in, o, []Held{heldOf(*s.Layout)}, "2026-03-01"); err != nil {
			t.Errorf("a layout that was sent is refused: %v", err)
		}
		last = s
	}
	if last.Layout.Length > plan.Layouts[0].Length {
		t.Errorf("ends at %d, the first answer was %d", last.Layout.Length, plan.Layouts[0].Length)
	}
}

func TestImprove_endsWhenNobodyListens(t *testing.T) {
	p, b, in := setUp(t)
	ctx, stop := context.WithCancel(context.Background())
	name, _, err := p.Read(ctx, b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	gone := errors.New("gone")
	if err := p.Improve(ctx, b, in, orderFor(name, 6), nil, 0, little, "2026-03-01", func(Step) error { return gone }); !errors.Is(err, gone) {
		t.Errorf("got %v", err)
	}
	steps := 0
	err = p.Improve(ctx, b, in, orderFor(name, 6), nil, 0, little, "2026-03-01", func(Step) error { steps++; stop(); return nil })
	if err != nil || steps < 2 {
		t.Errorf("%d steps, %v", steps, err)
	}
	err = p.Improve(context.Background(), b, in, orderFor(name, 6), nil, 1, little, "2026-03-01", func(Step) error { return nil })
	if f, ok := fault.As(err); !ok || f.Reason != "LAYOUT_NOT_FOUND" {
		t.Errorf("got %v", err)
	}
}

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

// Whatever is handed in is either refused in words or can be cut: a check of its own, box against box.
func TestHeld_whateverIsHandedIn(t *testing.T) {
	plan, again := planned(t, nil, 4, 3)
	l := plan.Layouts[0]
	need := l.Gap + 2*l.WeedBorder
	rapid.Check(t, func(t *rapid.T) {
		h := heldOf(l)
		for range rapid.IntRange(0, 6).Draw(t, "changes") {
			at := &h.Places[rapid.IntRange(0, len(h.Places)-1).Draw(t, "place")]
			switch rapid.IntRange(0, 5).Draw(t, "change") {
			case 0:
				at.X += units.Micrometres(rapid.Int64Range(-40_000, 40_000).Draw(t, "dx"))
			case 1:
				at.Y += units.Micrometres(rapid.Int64Range(-40_000, 400_000).Draw(t, "dy"))
			case 2:
				at.X, at.Y = units.Micrometres(rapid.Int64().Draw(t, "x")), units.Micrometres(rapid.Int64().Draw(t, "y"))
			case 3:
				at.Angle = layout.Millidegrees(rapid.SampledFrom([]int32{0, 90_000, 180_000, 270_000, 1, 359_999, 360_000, -1}).Draw(t, "angle"))
			case 4:
				at.Outline = rapid.IntRange(-1, 2).Draw(t, "outline")
			case 5:
				at.Cut = rapid.IntRange(-1, 2).Draw(t, "cut")
			}
		}
		got, err := again(h)
		if err != nil {
			if f, ok := fault.As(err); !ok || f.Kind != fault.Invalid || f.Words == "" {
				t.Fatalf("refused with %v", err)
			}
			return
		}
		places := got.Layouts[0].Places
		for i, a := range places {
			if a.X < 10_000+l.WeedBorder || a.X+a.Width > 490_000-l.WeedBorder || a.Y < 20_000+l.WeedBorder || a.Y+a.Height+l.WeedBorder+20_000 > got.Layouts[0].Cuts[a.Cut].Length {
				t.Fatalf("%+v lies outside", a)
			}
			for _, b := range places[:i] {
				if a.Cut == b.Cut && a.X < b.X+b.Width+need && b.X < a.X+a.Width+need && a.Y < b.Y+b.Height+need && b.Y < a.Y+a.Height+need {
					t.Fatalf("%+v and %+v lie too near", a, b)
				}
			}
		}
	})
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

// Two angles go into each other where their boxes do not: A hangs from its bar, B stands turned by half with its bar under
// A's. By hand, with 1.5 mm between them: B begins 11.5 mm to the left of A, so together they are 91.5 mm wide.
func TestHeld_isCheckedByTrueOutlinesWhereTheyAreChosen(t *testing.T) {
	small := units.Micrometres(500)
	outlines := func(real bool) func(*Order) {
		return func(o *Order) {
			o.Choices = Choices{TrueOutlines: real, Gap: &small, WeedBorder: &small}
		}
	}
	interlocked := Held{Places: []Place{{X: 22_000, Y: 20_500}, {X: 10_500, Y: 20_500, Angle: 180_000}}}
	plan, again := planned(t, outlines(true), 2)
	got, err := again(interlocked)
	if err != nil {
		t.Fatal(err)
	}
	if l := got.Layouts[0]; l.Length != 81_000 || l.Bound > l.Length || !l.TrueOutlines || l.DesignArea != 2200 {
		t.Errorf("%d µm, bound %d, %d mm²", l.Length, l.Bound, l.DesignArea)
	}
	nearer := Held{Places: append([]Place(nil), interlocked.Places...)}
	nearer.Places[1].X++
	if _, err := again(nearer); !fault.Is(err, fault.Invalid) {
		t.Errorf("a micrometre too near: %v", err)
	}
	_, boxes := planned(t, outlines(false), 2)
	if _, err := boxes(interlocked); !fault.Is(err, fault.Invalid) {
		t.Errorf("by boxes: %v", err)
	}
	if plan.Layouts[0].Length > 81_000 {
		t.Errorf("planned at %d µm", plan.Layouts[0].Length)
	}
}

func TestImprove_byTrueOutlinesIsNeverLongerAndCanBeCut(t *testing.T) {
	p, b, in := setUp(t)
	name, _, err := p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o := orderFor(name, 12)
	o.Choices.TrueOutlines = true
	plan, err := p.Plan(t.Context(), b, in, o, nil, "2026-03-01")
	if err != nil {
		t.Fatal(err)
	}
	best := plan.Layouts[0]
	if err := p.Improve(t.Context(), b, in, o, nil, 0, Effort{Moves: 1000, Evaluations: 4000}, "2026-03-01", func(s Step) error {
		if s.Layout != nil {
			best = *s.Layout
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	if best.Length > plan.Layouts[0].Length || best.Length < best.Bound {
		t.Errorf("%d µm by outlines, %d by boxes, bound %d", best.Length, plan.Layouts[0].Length, best.Bound)
	}
	if again, err := p.Plan(t.Context(), b, in, o, []Held{heldOf(best)}, "2026-03-01"); err != nil || again.Layouts[0].Length != best.Length {
		t.Errorf("held: %v", err)
	}
	// What is cut is what was checked: no corner comes nearer to another outline than gap and borders.
	rings, need := best.Rings(0), float64(best.Gap+2*best.WeedBorder)/1000
	for i, a := range rings {
		for _, c := range rings[:i] {
			for _, q := range a {
				for _, r := range c {
					if math.Hypot(q.X-r.X, q.Y-r.Y) < need-1e-9 {
						t.Fatalf("%v and %v are nearer than %g mm", q, r, need)
					}
				}
			}
		}
	}
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
