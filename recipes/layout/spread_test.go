package layout

import (
	"context"
	"testing"

	"evenpeel/recipes/fault"

	"pgregory.net/rapid"
)

func TestSpread_takesRemnantsFirst(t *testing.T) {
	r := Roll{Width: 500_000, Lead: 10_000, Tail: 10_000, Gap: 2_000}
	narrow := r
	narrow.Width = 200_000
	ps := []Piece{{Key: "crest", Width: 150_000, Height: 100_000, Copies: 7}, {Key: "back", Width: 300_000, Height: 200_000, Copies: 1}}
	films := []Film{{narrow, 330_000}, {r, 0}}
	// By hand: the remnant holds 3 crests (20 + 3·100 + 2·2 = 324 mm) and no back; the roll takes 4 crests and the back:
	// 200 high with two crests (202) beside it, the other two in a row above 202 → 202 + 2 + 100 = 304 at most.
	shares, err := Spread(context.Background(), films, ps, Effort{Seed: 1, Moves: 500})
	if err != nil {
		t.Fatal(err)
	}
	if err := VerifySpread(films, ps, shares); err != nil {
		t.Fatal(err)
	}
	if len(shares) != 2 || shares[0].Film != 0 || len(shares[0].Layout.Places) != 3 || shares[0].Layout.Length != 324_000 {
		t.Fatalf("the remnant got %+v", shares[0])
	}
	if shares[1].Film != 1 || len(shares[1].Layout.Places) != 5 || shares[1].Layout.Length > 20_000+304_000 {
		t.Fatalf("the roll got %+v", shares[1])
	}
	for name, spoil := range map[string]func(){
		"draws past the end": func() { films[0].Length = 323_999 },
		"no such film":       func() { shares[0].Film = 2 },
		"copy twice":         func() { shares[1].Layout.Places[0] = shares[0].Layout.Places[0] },
	} {
		was, at := films[0], shares[1].Layout.Places[0]
		spoil()
		if err := VerifySpread(films, ps, shares); !fault.Is(err, fault.Invalid) {
			t.Errorf("%s: want a fault, got %v", name, err)
		}
		films[0], shares[0].Film, shares[1].Layout.Places[0] = was, 0, at
	}
	if _, err := Spread(context.Background(), []Film{{narrow, 330_000}}, ps[:1], Effort{}); !fault.Is(err, fault.Invalid) {
		t.Fatalf("want FILMS_TOO_SHORT, got %v", err)
	}
	if _, err := Spread(context.Background(), []Film{{narrow, 0}}, ps, Effort{}); !fault.Is(err, fault.Invalid) {
		t.Fatalf("want PIECE_TOO_WIDE, got %v", err)
	}
}

func TestSpread_placesEveryCopyOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOutlines(t, 0)
		remnant := r
		remnant.Width = um(t, "remnant width", 60_000, 300_000)
		films := []Film{{remnant, um(t, "remnant", 50_000, 400_000)}, {r, 0}}
		if films[0].Roll.usable() <= 0 {
			films = films[1:]
		}
		e := Effort{Seed: 1, Moves: 20, Evaluations: 1_500}
		shares, err := Spread(context.Background(), films, ps, e)
		if err != nil {
			t.Fatal(err)
		}
		if err := VerifySpread(films, ps, shares); err != nil {
			t.Fatal(err)
		}
	})
}
