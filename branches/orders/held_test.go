package orders

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

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
