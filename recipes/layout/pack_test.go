package layout

import (
	"context"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestPack_refusesWithWordsForTheCounter(t *testing.T) {
	roll := Roll{Width: 500_000, EdgeMargin: 10_000, WeedBorder: 5_000, Gap: 2_000, Lead: 30_000, Tail: 20_000}
	limited := roll
	limited.MaxLength = 400_000
	one := func(w, h units.Micrometres, copies int, turns Turns) []Piece {
		return []Piece{{Key: "front", Width: w, Height: h, Copies: copies, Turns: turns}}
	}
	for _, row := range []struct {
		name   string
		roll   Roll
		pieces []Piece
		effort Effort
		kind   fault.Kind
		reason fault.Reason
		words  []string
	}{
		{"nothing", roll, nil, Effort{}, fault.Invalid, NoPieces, nil},
		{"too wide, turning would do", roll, one(480_000, 300_000, 1, Half), Effort{}, fault.Invalid, PieceTooWide,
			[]string{"pieces[0]", "“front” is 480 mm wide, 490 mm with its weeding border", "takes 480 mm", "at most 470 mm", "Turned by a quarter it would fit"}},
		{"too wide both ways", roll, one(480_000, 470_001, 1, Quarter), Effort{}, fault.Invalid, PieceTooWide, []string{"wider roll"}},
		{"exactly as wide as goes", roll, one(470_000, 470_001, 1, Quarter), Effort{}, "", "", nil},
		{"longer than a cut", limited, one(100_000, 340_001, 1, None), Effort{}, fault.Invalid, PieceTooLong, []string{"one cut of 400 mm", "Turned by a quarter it would fit"}},
		{"exactly a cut", limited, one(100_000, 340_000, 1, None), Effort{}, "", "", nil},
		{"all together too long", limited, one(400_000, 100_000, 4, None), Effort{Moves: 10}, fault.Invalid, OverMaxLength, []string{"3 of 4 copies fit", "496 mm"}},
		{"too many copies", roll, one(1000, 1000, MaxCopies+1, None), Effort{}, fault.TooLarge, TooMany, []string{"20000"}},
		{"copies past every integer", roll, append(one(1, 1, 1<<62, None), one(1, 1, 1<<62, None)...), Effort{}, fault.TooLarge, TooMany, nil},
		{"too many designs", roll, make([]Piece, MaxPieces+1), Effort{}, fault.TooLarge, TooMany, nil},
		{"no size, no copies, odd turns", roll, []Piece{{Key: "x"}, {Key: "y", Width: 1, Height: 1, Copies: 1, Turns: 7}}, Effort{}, fault.Invalid, PieceInvalid,
			[]string{"pieces[0]:", "pieces[0].copies", "pieces[1].turns"}},
		{"moves below zero", roll, one(1, 1, 1, None), Effort{Moves: -1}, fault.Invalid, EffortInvalid, nil},
		{"roll without width", Roll{Gap: -1}, one(1, 1, 1, None), Effort{}, fault.Invalid, RollInvalid, []string{"width:", "gap:"}},
		{"margins eat the roll", Roll{Width: 20_000, EdgeMargin: 10_000}, one(1, 1, 1, None), Effort{}, fault.Invalid, RollInvalid, []string{"edge_margin"}},
		{"lead and tail eat the cut", Roll{Width: 20_000, Lead: 5, Tail: 5, MaxLength: 10}, one(1, 1, 1, None), Effort{}, fault.Invalid, RollInvalid, []string{"max_length"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := Pack(context.Background(), row.roll, row.pieces, row.effort)
			if row.kind == "" {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			f, ok := fault.As(err)
			if !ok || f.Kind != row.kind || f.Reason != row.reason {
				t.Fatalf("want %s %s, got %v", row.kind, row.reason, err)
			}
			for _, words := range row.words {
				if !strings.Contains(err.Error(), words) {
					t.Errorf("want %q in %v", words, err)
				}
			}
		})
	}
}

func TestPack_stoppedContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r, ps := mixed(3, 12)
	if _, err := Pack(ctx, r, ps, Effort{}); !fault.Is(err, fault.Unavailable) {
		t.Fatalf("before it began: want Unavailable, got %v", err)
	}
	ctx, cancel = context.WithCancel(context.Background())
	from, err := Pack(ctx, r, ps, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	stops := 0
	l, err := Improve(ctx, r, ps, from, Effort{Moves: MaxMoves}, func(Layout) { stops++; cancel() })
	if err != nil || stops == 0 || l.Length >= from.Length || l.Moves == MaxMoves {
		t.Fatalf("stopped while it searched: want a shorter layout and no fault, got %d after %d, %d moves, %v", l.Length, from.Length, l.Moves, err)
	}
}

func TestSplit_refusesWithoutEnd(t *testing.T) {
	r := Roll{Width: 1_000, MaxLength: 1_000}
	ps := []Piece{{Key: "a", Width: 1_000, Height: 1_000, Copies: MaxCuts}}
	if cuts, err := Split(context.Background(), r, ps, Effort{}); err != nil || len(cuts) != MaxCuts {
		t.Fatalf("got %d cuts, %v", len(cuts), err)
	}
	ps[0].Copies++
	if _, err := Split(context.Background(), r, ps, Effort{}); !fault.Is(err, fault.TooLarge) {
		t.Fatalf("want TooLarge, got %v", err)
	}
}

// Two 100 × 50 mm pieces side by side: 5 mm borders, 10 mm gap, 20 mm edges, lead 30, tail 40 on a 300 mm roll.
// By hand: 2·110 + 10 = 230 of 260 mm usable; length 30 + 60 + 40 = 130 mm.
func TestPack_areasByHand(t *testing.T) {
	r := Roll{Width: 300_000, EdgeMargin: 20_000, Lead: 30_000, Tail: 40_000, Gap: 10_000, WeedBorder: 5_000}
	l, err := Pack(context.Background(), r, []Piece{{Key: "a", Width: 100_000, Height: 50_000, Copies: 2}}, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	want := Areas{Drawn: 39_000, Pieces: 10_000, Borders: 2*110*60 - 10_000, Gaps: 2 * 10 * 60, Edges: 2 * 20 * 130, Ends: 70 * 260, Offcut: 20 * 60}
	if l.Areas != want || l.Length != 130_000 || l.Bound != 130_000 {
		t.Fatalf("got %+v, length %d, bound %d; want %+v, 130000 both", l.Areas, l.Length, l.Bound, want)
	}
	if a, b := l.Places[0], l.Places[1]; a != (Place{X: 25_000, Y: 35_000}) || b != (Place{Copy: 1, X: 145_000, Y: 35_000}) {
		t.Fatalf("got places %+v and %+v", a, b)
	}
}

func TestPack_oneDesignIsTurnedWhereThatSavesFilm(t *testing.T) {
	// 60 × 40 on 100: one lying beside one standing fills the width; 4 copies by area need 96.
	r := Roll{Width: 100_000}
	for _, row := range []struct {
		turns Turns
		want  units.Micrometres
	}{{None, 160_000}, {Quarter, 120_000}} {
		l, err := Pack(context.Background(), r, []Piece{{Key: "a", Width: 60_000, Height: 40_000, Copies: 4, Turns: row.turns}}, Effort{Seed: 1, Moves: 2_000})
		if err != nil {
			t.Fatal(err)
		}
		if l.Length > row.want || l.Length < l.Bound {
			t.Errorf("turns %d: length %d, want at most %d", row.turns, l.Length, row.want)
		}
	}
}

func TestPack_copiesOfOneGroupLieTogether(t *testing.T) {
	r := Roll{Width: 100_000}
	ps := []Piece{
		{Key: "a", Width: 50_000, Height: 30_000, Copies: 2, Group: "first shirt"},
		{Key: "b", Width: 50_000, Height: 30_000, Copies: 2, Group: "second shirt"},
		{Key: "c", Width: 50_000, Height: 30_000, Copies: 2, Group: "first shirt"},
	}
	l, err := Pack(context.Background(), r, ps, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	for i, at := range l.Places {
		if got, want := ps[at.Piece].Group == "second shirt", i >= 4; got != want {
			t.Fatalf("place %d is %s", i, ps[at.Piece].Group)
		}
	}
}

func TestBound_byHand(t *testing.T) {
	for _, row := range []struct {
		name   string
		pieces []Piece
		want   units.Micrometres
	}{
		{"area", []Piece{{Width: 50, Height: 30, Copies: 4}}, 60},
		{"area of 75, but all measures are tens", []Piece{{Width: 50, Height: 30, Copies: 5}}, 80},
		{"tallest", []Piece{{Width: 10, Height: 90, Copies: 1}}, 90},
		{"tallest, lying", []Piece{{Width: 10, Height: 90, Copies: 1, Turns: Quarter}}, 10},
		{"no two side by side", []Piece{{Width: 51, Height: 10, Copies: 3}}, 30},
		{"wide ones and halves", []Piece{{Width: 51, Height: 10, Copies: 3}, {Width: 50, Height: 10, Copies: 2}}, 40},
		{"two side by side at most: u⁽²⁾", []Piece{{Width: 34, Height: 10, Copies: 6}}, 30},
		{"turning counts the cheaper way", []Piece{{Width: 90, Height: 20, Copies: 1, Turns: Quarter}}, 20},
	} {
		l, err := Pack(context.Background(), Roll{Width: 100}, row.pieces, Effort{})
		if err != nil {
			t.Fatal(err)
		}
		if l.Bound != row.want {
			t.Errorf("%s: bound %d, want %d", row.name, l.Bound, row.want)
		}
	}
}
