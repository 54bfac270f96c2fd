package layout

import (
	"context"
	"math"
	"slices"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"

	"pgregory.net/rapid"
)

func TestOutlined_byHand(t *testing.T) {
	// A triangle 40 × 30 with its right angle at the origin.
	p := Piece{Width: 40, Height: 30, Copies: 1, Outline: []Ring{{{0, 0}, {40, 0}, {0, 30}}}}
	for _, row := range []struct {
		angle Millidegrees
		want  Ring
	}{
		{0, Ring{{100, 200}, {140, 200}, {100, 230}}},
		{90_000, Ring{{130, 200}, {130, 240}, {100, 200}}},
		{180_000, Ring{{140, 230}, {100, 230}, {140, 200}}},
		{270_000, Ring{{100, 240}, {100, 200}, {130, 240}}},
		// atan(3/4) = 36.870°: (40, 0) → (32, 24), (0, 30) → (−18, 24); the box begins at −18, 0.
		{36_870, Ring{{118, 200}, {150, 224}, {100, 224}}},
	} {
		got := Outlined(p, Place{X: 100, Y: 200, Angle: row.angle})
		if len(got) != 1 || !slices.Equal(got[0], row.want) {
			t.Errorf("at %d: got %v, want %v", row.angle, got, row.want)
		}
	}
}

func TestOutlined_cornerLiesWhereThePlaceSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, ps := drawOutlines(t, 0)
		at := Place{X: um(t, "x", -1_000_000, 1_000_000), Y: um(t, "y", 0, 1_000_000), Angle: Millidegrees(rapid.IntRange(0, 359_999).Draw(t, "angle"))}
		p := ps[0]
		rings := Outlined(p, at)
		if low, _ := extentOf(rings); low != (Point{at.X, at.Y}) {
			t.Fatalf("corner at %v, want %v", low, at)
		}
		area, length := outlineArea(p)
		turnedArea, _ := outlineArea(Piece{Outline: rings})
		if d := math.Abs(area - turnedArea); d > length+1 { // no edge moves by more than a micrometre
			t.Fatalf("turning changed the area by %g µm², outline %g µm", d, length)
		}
	})
}

func TestCheck_refusesOutlinesInWords(t *testing.T) {
	r := Roll{Width: 100_000}
	piece := func(rings ...Ring) []Piece {
		return []Piece{{Key: "crest", Width: 1_000, Height: 1_000, Copies: 1, Outline: rings}}
	}
	for name, ps := range map[string][]Piece{
		"two points":     piece(Ring{{0, 0}, {10, 10}}),
		"leaves the box": piece(Ring{{0, 0}, {1_001, 0}, {0, 10}}),
		"below zero":     piece(Ring{{0, 0}, {-1, 0}, {0, 10}}),
		"flat":           piece(Ring{{0, 0}, {10, 0}, {20, 0}}),
		"unknown turns":  {{Key: "a", Width: 1, Height: 1, Copies: 1, Turns: Free + 1}},
	} {
		if _, err := Pack(context.Background(), r, ps, Effort{}); !fault.Is(err, fault.Invalid) {
			t.Errorf("%s: want Invalid, got %v", name, err)
		}
	}
	if _, err := Pack(context.Background(), r, piece(make(Ring, MaxPoints+1)), Effort{}); !fault.Is(err, fault.TooLarge) {
		t.Errorf("too many points: got %v", err)
	}
	if _, err := Pack(context.Background(), r, piece(Ring{{0, 0}, {9, 0}, {0, 9}}), Effort{Evaluations: -1}); !fault.Is(err, fault.Invalid) {
		t.Errorf("effort below zero: got %v", err)
	}
}

// An outline smaller than its box is placed by its own box.
func TestPack_placesAnOutlineByItsOwnBox(t *testing.T) {
	r := Roll{Width: 100_000}
	ps := []Piece{{Key: "a", Width: 60_000, Height: 60_000, Copies: 2, Outline: []Ring{{{10_000, 5_000}, {60_000, 5_000}, {60_000, 25_000}}}}}
	l, err := Pack(context.Background(), r, ps, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	if err := Verify(r, ps, l); err != nil {
		t.Fatal(err)
	}
	if l.Length != 20_000 {
		t.Fatalf("two boxes of 50 × 20 mm side by side: got %d", l.Length)
	}
}

// With no distance asked, touching is allowed and one micrometre of overlap is not, whatever the corners do.
func TestVerify_touchingWithoutDistance(t *testing.T) {
	r := Roll{Width: 1_000_000}
	square := Ring{{0, 0}, {100, 0}, {100, 100}, {0, 100}}
	diamond := Ring{{50, 0}, {100, 50}, {50, 100}, {0, 50}}
	for _, row := range []struct {
		name string
		a, b Ring
		x, y units.Micrometres
		ok   bool
	}{
		{"side by side", square, square, 100, 0, true},
		{"one less", square, square, 99, 0, false},
		{"the same place", square, square, 0, 0, false},
		{"half over, edges along one line", square, square, 50, 0, false},
		{"corner to corner", square, square, 100, 100, true},
		{"slanted edges touch", diamond, diamond, 50, 50, true},
		{"slanted edges overlap", diamond, diamond, 50, 49, false},
		{"corner through a corner", diamond, diamond, 50, 0, false},
		{"point on an edge", square, diamond, 100, 0, true},
		{"point through an edge", square, diamond, 99, 0, false},
		{"one inside the other, touching", square, diamond, 0, 0, false},
	} {
		_, ha := extentOf([]Ring{row.a})
		_, hb := extentOf([]Ring{row.b})
		ps := []Piece{{Key: "a", Width: ha.X, Height: ha.Y, Copies: 1, Outline: []Ring{row.a}}, {Key: "b", Width: hb.X, Height: hb.Y, Copies: 1, Outline: []Ring{row.b}}}
		l := Layout{Length: 1_000, Places: []Place{{Piece: 0}, {Piece: 1, X: row.x, Y: row.y}}}
		if err := Verify(r, ps, l); (err == nil) != row.ok {
			t.Errorf("%s: got %v", row.name, err)
		}
	}
}

func TestVerify_holdsItsGroundOnUnsoundOutlines(t *testing.T) {
	r := Roll{Width: 1_000, NoNesting: true}
	for _, rings := range [][]Ring{{{}}, {{}, {{0, 0}, {1, 1}, {0, 1}}}, {{{0, 0}}}, {{{1 << 62, -1 << 62}, {-1 << 62, 1 << 62}, {0, 0}}}} {
		ps := []Piece{{Key: "a", Width: 10, Height: 10, Copies: 2, Outline: rings}}
		l := Layout{Length: 100, Places: []Place{{}, {Copy: 1}}}
		if err := Verify(r, ps, l); err == nil {
			t.Errorf("accepted two copies of %v on one spot", rings)
		}
	}
}
