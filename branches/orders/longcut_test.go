package orders

import (
	"strings"
	"testing"
	"time"

	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
)

// Plain HP-GL ends at 32767 units, which is 819 mm at 40 units a millimetre; HP-GL/2 goes on.
func TestCutFile_longerThanTheCuttersNumbers(t *testing.T) {
	p, b, in := setUp(t)
	name, _, err := p.Read(t.Context(), b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o, plan, _, err := p.Keep(t.Context(), b, in, orderFor(name, 120), nil, "11111111-2222-3333-4444-555555555555", "2026-03-01", time.Unix(1_772_000_000, 0))
	if err != nil {
		t.Fatal(err)
	}
	length := plan.Layouts[0].Cuts[0].Length
	if length <= 820_000 {
		t.Fatalf("the cut is only %d µm long", length)
	}
	_, err = p.CutFile(t.Context(), o.Name, 0, 0, HPGL)
	f, ok := fault.As(err)
	if !ok || f.Reason != "CUT_TOO_LONG" || !strings.Contains(f.Words, "819 mm") || !strings.Contains(f.Words, "Machines") {
		t.Errorf("a cutter without long numbers: %v", err)
	}
	store := p.Workshop.(*bench)
	store.machines[0].LongNumbers = true
	got, err := p.CutFile(t.Context(), o.Name, 0, 0, HPGL)
	if err != nil {
		t.Fatal(err)
	}
	rings, open, err := cut.ReadHPGL(got.Content, 40, float64(length)/1000)
	if err != nil || len(rings)+len(open) == 0 {
		t.Fatalf("%d outlines came back, %v", len(rings), err)
	}
	farthest := 0.0
	for _, r := range append(rings, open...) {
		for _, at := range r {
			farthest = max(farthest, float64(length)/1000-at.Y)
		}
	}
	if farthest < 819 {
		t.Errorf("the file ends at %.1f mm", farthest)
	}
}

// A drawing without a size is read at a height or by its unit too: 3200 × 1600 plotter units of 0.025 mm.
func TestRead_bySeveralSizes(t *testing.T) {
	p, b, _ := setUp(t)
	const plot = "IN;SP1;PU0,0;PD3200,0,0,1600,0,0;PU;"
	for name, o := range map[string]cut.ReadOptions{"width": {Width: 80_000}, "height": {Height: 40_000}, "unit": {UnitsPerMM: 40}} {
		_, d, err := p.Read(t.Context(), b.Name, "plot", []byte(plot), o)
		if err != nil || d.Width < 79.99 || d.Width > 80.01 || d.Height < 39.99 || d.Height > 40.01 {
			t.Errorf("by %s: %g × %g, %v", name, d.Width, d.Height, err)
		}
	}
}
