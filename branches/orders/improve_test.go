package orders

import (
	"context"
	"errors"
	"math"
	"testing"

	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
)

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
