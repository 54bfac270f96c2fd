package layout

import (
	"context"
	"fmt"
	"reflect"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"

	"pgregory.net/rapid"
)

func um(t *rapid.T, name string, low, high int) units.Micrometres {
	return units.Micrometres(rapid.IntRange(low, high).Draw(t, name))
}

// drawOrder is a roll and pieces that all fit it; coarse sizes make exact matches and squares common.
func drawOrder(t *rapid.T) (Roll, []Piece) {
	grain := rapid.SampledFrom([]units.Micrometres{1, 25, 5_000}).Draw(t, "grain")
	r := Roll{Width: um(t, "width", 100_000, 700_000), EdgeMargin: um(t, "edge", 0, 20_000), Lead: um(t, "lead", 0, 50_000),
		Tail: um(t, "tail", 0, 50_000), Gap: um(t, "gap", 0, 5_000), WeedBorder: um(t, "border", 0, 5_000)}
	widest := (r.usable() - 2*r.WeedBorder) / grain
	var ps []Piece
	for i := range rapid.IntRange(1, 8).Draw(t, "designs") {
		ps = append(ps, Piece{Key: fmt.Sprint(i), Width: grain * um(t, "w", 1, int(widest)), Height: grain * um(t, "h", 1, int(widest)),
			Copies: rapid.IntRange(1, 6).Draw(t, "copies"), Turns: Turns(rapid.IntRange(0, 2).Draw(t, "turns")),
			Group: rapid.SampledFrom([]string{"", "front", "back"}).Draw(t, "group")})
	}
	return r, ps
}

func mustPack(t *rapid.T, r Roll, ps []Piece, e Effort) Layout {
	l, err := Pack(context.Background(), r, ps, e)
	if err != nil {
		t.Fatal(err)
	}
	if err := Verify(r, ps, l); err != nil {
		t.Fatal(err)
	}
	return l
}

func TestPack_givesLayoutsThatCanBeCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOrder(t)
		e := Effort{Seed: rapid.Uint64().Draw(t, "seed"), Moves: rapid.IntRange(0, 150).Draw(t, "moves")}
		l := mustPack(t, r, ps, e)
		if l.Length < l.Bound {
			t.Fatalf("length %d is below the bound %d", l.Length, l.Bound)
		}
		if again := mustPack(t, r, ps, e); !reflect.DeepEqual(l, again) {
			t.Fatal("the same seed gave another layout")
		}
		a := l.Areas
		if a.Drawn != a.Pieces+a.Borders+a.Gaps+a.Edges+a.Ends+a.Offcut {
			t.Fatalf("areas do not add up: %+v", a)
		}
		if min(a.Pieces, a.Borders, a.Gaps, a.Edges, a.Ends, a.Offcut) < 0 {
			t.Fatalf("negative area: %+v", a)
		}
	})
}

func TestPack_moreMovesAreNeverLonger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOrder(t)
		seed := rapid.Uint64().Draw(t, "seed")
		few := rapid.IntRange(0, 100).Draw(t, "few")
		short, long := mustPack(t, r, ps, Effort{Seed: seed, Moves: few}), mustPack(t, r, ps, Effort{Seed: seed, Moves: few + 200})
		if long.Length > short.Length {
			t.Fatalf("%d moves gave %d, %d gave %d", few, short.Length, few+200, long.Length)
		}
	})
}

func TestPack_doesNotDependOnTheUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOrder(t)
		e := Effort{Seed: 3, Moves: 100}
		k := um(t, "factor", 2, 5)
		l := mustPack(t, r, ps, e)
		r = Roll{Width: k * r.Width, EdgeMargin: k * r.EdgeMargin, Lead: k * r.Lead, Tail: k * r.Tail, Gap: k * r.Gap, WeedBorder: k * r.WeedBorder}
		for i := range ps {
			ps[i].Width, ps[i].Height = k*ps[i].Width, k*ps[i].Height
		}
		scaled := mustPack(t, r, ps, e)
		for i := range l.Places {
			l.Places[i].X *= k
			l.Places[i].Y *= k
		}
		if !reflect.DeepEqual(l.Places, scaled.Places) || scaled.Length != k*l.Length || scaled.Bound != k*l.Bound {
			t.Fatalf("scaled by %d: length %d → %d, bound %d → %d", k, l.Length, scaled.Length, l.Bound, scaled.Bound)
		}
	})
}

func TestImprove_isNeverLongerAndStreamsShorterOnes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOrder(t)
		from := mustPack(t, r, ps, Effort{Seed: 1, Moves: rapid.IntRange(0, 300).Draw(t, "before")})
		last := from.Length
		l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 2, Moves: 300}, func(l Layout) {
			if l.Length >= last {
				t.Fatalf("streamed %d after %d", l.Length, last)
			}
			if err := Verify(r, ps, l); err != nil {
				t.Fatal(err)
			}
			last = l.Length
		})
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(r, ps, l); err != nil {
			t.Fatal(err)
		}
		if l.Length != last {
			t.Fatalf("returned %d, last streamed %d", l.Length, last)
		}
	})
}

func TestSplit_placesAllWithinTheLongestCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOrder(t)
		tallest := units.Micrometres(0)
		for _, p := range ps {
			tallest = max(tallest, p.Height)
		}
		r.MaxLength = r.Lead + r.Tail + 2*r.WeedBorder + tallest + um(t, "beyond", 0, 300_000)
		cuts, err := Split(context.Background(), r, ps, Effort{Seed: 1, Moves: 50})
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(r, ps, cuts...); err != nil {
			t.Fatal(err)
		}
		if _, err := Pack(context.Background(), r, ps, Effort{Seed: 1, Moves: 50}); err == nil && len(cuts) != 1 {
			t.Fatalf("one cut is enough, Split made %d", len(cuts))
		}
	})
}

func FuzzPack(f *testing.F) {
	f.Add(int64(500_000), int64(10_000), int64(2_000), int64(3_000), int64(0), int64(100_000), int64(50_000), 3, uint8(2), int64(70_000), int64(70_000), 2)
	f.Add(int64(-1), int64(0), int64(1)<<62, int64(0), int64(1), int64(0), int64(-1), 0, uint8(9), int64(1), int64(1), 1<<62)
	f.Fuzz(func(t *testing.T, width, edge, gap, border, longest, w1, h1 int64, c1 int, turns uint8, w2, h2 int64, c2 int) {
		um := func(v int64) units.Micrometres { return units.Micrometres(v) }
		r := Roll{Width: um(width), EdgeMargin: um(edge), Lead: um(edge), Gap: um(gap), WeedBorder: um(border), MaxLength: um(longest)}
		if c1 > 0 && c2 > 0 { // above a few hundred copies a run takes long and shows nothing new
			c1, c2 = c1%300+1, c2%300+1
		}
		ps := []Piece{{Key: "a", Width: um(w1), Height: um(h1), Copies: c1, Turns: Turns(turns)}, {Key: "b", Width: um(w2), Height: um(h2), Copies: c2, Turns: Quarter, Group: "g"}}
		l, err := Pack(context.Background(), r, ps, Effort{Moves: 20})
		if err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
		} else if err := Verify(r, ps, l); err != nil {
			t.Fatal(err)
		} else if l.Length < l.Bound {
			t.Fatalf("length %d is below the bound %d", l.Length, l.Bound)
		}
		// Verify must hold its ground on anything.
		odd := Layout{Length: um(longest), Places: []Place{{Piece: c1, Copy: c2, X: um(w1), Y: um(h1), Angle: 90_000}, {X: um(gap), Y: um(border)}, {Piece: 1, X: um(w2), Y: um(h2), Angle: 90_000}}}
		if Verify(r, ps, odd) == nil && c1+c2 != 2 {
			t.Fatal("accepted a layout with copies missing")
		}
	})
}

// Any outline, sound or not, gives a fault or a layout that Verify accepts.
func FuzzImprove(f *testing.F) {
	f.Add([]byte{0, 0, 90, 0, 90, 90, 0, 90}, []byte{0, 0, 50, 0, 0, 50}, int64(2_000), uint8(3), uint8(2))
	f.Add([]byte{0, 0, 90, 90, 90, 0, 0, 90}, []byte{1, 1, 2, 2, 3, 3}, int64(0), uint8(0), uint8(1))
	f.Add([]byte{0, 0, 9, 0, 9, 9, 0, 9, 255, 255, 3, 3, 6, 3, 6, 6, 3, 6}, []byte{7, 0, 7, 9, 7, 3}, int64(1), uint8(2), uint8(3))
	f.Fuzz(func(t *testing.T, one, other []byte, gap int64, turns, copies uint8) {
		piece := func(key string, raw []byte) Piece {
			p := Piece{Key: key, Width: 255_000, Height: 255_000, Copies: int(copies%4) + 1, Turns: Turns(turns % 5), Outline: []Ring{{}}}
			for i := 0; i+1 < min(len(raw), 80); i += 2 {
				if raw[i] == 255 && raw[i+1] == 255 { // the next ring
					p.Outline = append(p.Outline, Ring{})
					continue
				}
				last := len(p.Outline) - 1
				p.Outline[last] = append(p.Outline[last], Point{units.Micrometres(raw[i]) * 1000, units.Micrometres(raw[i+1]) * 1000})
			}
			return p
		}
		r := Roll{Width: 300_000, EdgeMargin: 10_000, Lead: 5_000, Gap: units.Micrometres(gap)}
		ps := []Piece{piece("a", one), piece("b", other)}
		from, err := Pack(context.Background(), r, ps, Effort{})
		if err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 1, Evaluations: 2_000}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(r, ps, l); err != nil {
			t.Fatal(err)
		}
	})
}
