package layout

import (
	"context"
	"testing"

	"evenpeel/recipes/units"
)

// jigsaw is a published or made set of outlines whose shortest layout is known, in its own unit.
type jigsaw struct {
	name        string
	width       int
	outlines    [][][][2]int // rings of each design
	copies      []int
	evaluations int
	longest     int // micrometres of layout that pass
	perUnit     int
	source      string
}

var jigsaws = []jigsaw{
	{
		name: "dighe2", width: 100, perUnit: 10_000, evaluations: 3_000_000, longest: 1_000_000,
		source: "Dighe & Jakiela 1996, Evolutionary Computation 3(3): ten pieces cut from a square of 100; data ESICUP 2d_irregular, CC0",
		outlines: [][][][2]int{
			{{{0, 0}, {33, 0}, {33, 19}, {3, 11}}},
			{{{0, 0}, {42, 0}, {37, 30}, {0, 19}}},
			{{{5, 0}, {30, 0}, {30, 51}, {0, 30}}},
			{{{0, 0}, {3, 11}, {7, 33}, {8, 38}, {0, 36}}},
			{{{0, 0}, {30, 8}, {67, 19}, {56, 29}, {4, 22}}},
			{{{23, 0}, {53, 21}, {53, 70}, {19, 70}, {7, 42}, {0, 23}, {12, 10}}},
			{{{0, 0}, {52, 7}, {40, 20}, {47, 39}, {3, 30}, {1, 5}}},
			{{{0, 0}, {8, 2}, {10, 27}, {12, 64}, {0, 64}}},
			{{{0, 0}, {44, 9}, {16, 37}, {2, 37}}},
			{{{0, 28}, {28, 0}, {40, 28}}},
		},
		copies: []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 1},
	},
	{
		// Nine frames of 40 fill 120 × 120; the 36 squares take no film only inside the frames' holes. Without holes
		// the area alone asks for 149.4.
		name: "squares in holes", width: 12_006, perUnit: 100, evaluations: 600_000, longest: 1_201_500,
		source: "ours: shared packing data, holes_synth, shortest 120 plus play by construction",
		outlines: [][][][2]int{
			{{{0, 0}, {4000, 0}, {4000, 4000}, {0, 4000}}, {{1000, 1000}, {3000, 1000}, {3000, 3000}, {1000, 3000}}},
			{{{0, 0}, {990, 0}, {990, 990}, {0, 990}}},
		},
		copies: []int{9, 36},
	},
}

func (j jigsaw) order() (Roll, []Piece) {
	at := func(v int) units.Micrometres { return units.Micrometres(v * j.perUnit) }
	var ps []Piece
	for k, rings := range j.outlines {
		p := Piece{Key: j.name, Copies: j.copies[k]}
		for _, ring := range rings {
			var out Ring
			for _, q := range ring {
				out = append(out, Point{at(q[1]), at(q[0])})
			}
			p.Outline = append(p.Outline, out)
		}
		_, high := extentOf(p.Outline)
		p.Width, p.Height = high.X, high.Y
		ps = append(ps, p)
	}
	return Roll{Width: at(j.width)}, ps
}

func TestImprove_putsPublishedPiecesTogetherAgain(t *testing.T) {
	for _, j := range jigsaws {
		t.Run(j.name, func(t *testing.T) {
			if j.source == "" {
				t.Fatal("a published row names its source")
			}
			r, ps := j.order()
			from, err := Pack(context.Background(), r, ps, Effort{Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 1, Evaluations: j.evaluations}, nil)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%d after %d evaluations, boxes %d, bound %d", l.Length, l.Evaluations, from.Length, l.Bound)
			if l.Length > units.Micrometres(j.longest) {
				t.Errorf("length %d, want at most %d", l.Length, j.longest)
			}
			if l.Bound > units.Micrometres(j.longest) {
				t.Errorf("bound %d is above a layout that exists", l.Bound)
			}
		})
	}
}

func TestImprove_keepsHolesFreeWhereNothingMayLieInThem(t *testing.T) {
	r, ps := jigsaws[1].order()
	r.NoNesting = true
	from, err := Pack(context.Background(), r, ps, Effort{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 1, Evaluations: 60_000}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if least := units.Micrometres(1_494_000); l.Length < least { // 120 + 36 · 9.9² ÷ 120.06
		t.Fatalf("length %d, without holes the area alone needs %d", l.Length, least)
	}
	nested := Layout{Length: 400_000, Places: []Place{{Piece: 0}, {Piece: 1, X: 150_000, Y: 150_000}}}
	two := []Piece{ps[0], ps[1]}
	two[0].Copies, two[1].Copies = 1, 1
	if err := Verify(r, two, nested); err == nil {
		t.Fatal("a square in a hole was accepted where nothing may lie in holes")
	}
	r.NoNesting = false
	if err := Verify(r, two, nested); err != nil {
		t.Fatal(err)
	}
	nested.Places[1].X = 90_000 // over the frame
	if err := Verify(r, two, nested); err == nil {
		t.Fatal("a square over a frame was accepted")
	}
}
