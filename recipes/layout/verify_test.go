package layout

import (
	"context"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

// Each mutation spoils a good layout in one way; a checker that misses it is no checker.
func TestVerify_catchesEveryMutation(t *testing.T) {
	r := Roll{Width: 300_000, EdgeMargin: 10_000, Lead: 20_000, Tail: 15_000, Gap: 2_000, WeedBorder: 3_000}
	ps := []Piece{
		{Key: "crest", Width: 90_000, Height: 60_000, Copies: 4, Turns: None},
		{Key: "name", Width: 120_000, Height: 40_000, Copies: 3, Turns: Quarter},
	}
	good, err := Pack(context.Background(), r, ps, Effort{Seed: 1, Moves: 500})
	if err != nil {
		t.Fatal(err)
	}
	// touching finds two places that touch at exactly the least distance across the roll, left one first.
	touching := func(l Layout) (int, int) {
		for i, a := range l.Places {
			w := ps[a.Piece].Width
			if a.Turned() {
				w = ps[a.Piece].Height
			}
			for j, b := range l.Places {
				if b.X == a.X+w+r.Gap+2*r.WeedBorder && b.Y == a.Y {
					return i, j
				}
			}
		}
		t.Fatal("no two neighbours in the layout")
		return 0, 0
	}
	for _, row := range []struct {
		name, words string
		spoil       func(l *Layout)
	}{
		{"overlap", "nearer than 8000", func(l *Layout) { i, j := touching(*l); l.Places[j].X = l.Places[i].X + 1 }},
		{"gap one micrometre short", "nearer than 8000", func(l *Layout) { i, _ := touching(*l); l.Places[i].X++ }},
		{"same spot", "nearer than 8000", func(l *Layout) {
			l.Places[1].X, l.Places[1].Y, l.Places[1].Angle = l.Places[0].X, l.Places[0].Y, 0
		}},
		{"missing copy", "1 of", func(l *Layout) { l.Places = l.Places[1:] }},
		{"copy twice", "placed twice", func(l *Layout) {
			for i := range l.Places {
				if l.Places[i].Piece == 0 {
					l.Places[i].Copy = 0
				}
			}
		}},
		{"copy that is not wanted", "wanted are", func(l *Layout) { l.Places[0].Copy = 9 }},
		{"piece that is not there", "there are 2", func(l *Layout) { l.Places[0].Piece = -1 }},
		{"turned against the nap", "may not be", func(l *Layout) {
			for i := range l.Places {
				if l.Places[i].Piece == 0 {
					l.Places[i].Angle = 90_000
				}
			}
		}},
		{"under the left roller", "outside the usable film", func(l *Layout) { l.Places[0].X = r.EdgeMargin + r.WeedBorder - 1 }},
		{"under the right roller", "outside the usable film", func(l *Layout) { l.Places[0].X = r.Width - r.EdgeMargin - 1 }},
		{"into the lead", "outside the usable film", func(l *Layout) { l.Places[0].Y = r.Lead + r.WeedBorder - 1 }},
		{"into the tail", "outside the usable film", func(l *Layout) { l.Length-- }},
		{"far out", "outside the usable film", func(l *Layout) { l.Places[0].X = 1<<63 - 1; l.Places[0].Y = -1 << 63 }},
	} {
		t.Run(row.name, func(t *testing.T) {
			l := good
			l.Places = append([]Place(nil), good.Places...)
			row.spoil(&l)
			err := Verify(r, ps, l)
			if !fault.Is(err, fault.Invalid) || !strings.Contains(err.Error(), row.words) {
				t.Fatalf("want a fault with %q, got %v", row.words, err)
			}
		})
	}
	if err := Verify(r, ps, good); err != nil {
		t.Fatal(err)
	}
	if err := Verify(r, ps, good, good); err == nil {
		t.Fatal("two cuts of the same copies must be refused")
	}
	r.MaxLength = good.Length - 1
	if err := Verify(r, ps, good); err == nil {
		t.Fatal("a cut over the longest cut must be refused")
	}
}
