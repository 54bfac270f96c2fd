package layout

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"evenpeel/recipes/units"

	"pgregory.net/rapid"
)

// star is an outline with the corners drawn at random radii around its middle, so it never crosses itself.
func star(rng *rand.Rand, key string, size, corners int) Piece {
	var ring Ring
	for i := range corners {
		a := 2 * math.Pi * float64(i) / float64(corners)
		r := float64(size) / 2 * (0.35 + 0.65*rng.Float64())
		ring = append(ring, Point{units.Micrometres(float64(size)/2 + r*math.Cos(a)), units.Micrometres(float64(size)/2 + r*math.Sin(a))})
	}
	low, high := extentOf([]Ring{ring})
	for i := range ring {
		ring[i].X -= low.X
		ring[i].Y -= low.Y
	}
	return Piece{Key: key, Width: high.X - low.X, Height: high.Y - low.Y, Copies: 1, Turns: Quarter, Outline: []Ring{ring}}
}

// drawOutlines is a roll with at least so much gap and a few stars, some with a hole, some plain boxes.
func drawOutlines(t *rapid.T, least int) (Roll, []Piece) {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "outlines"), 0))
	r := Roll{Width: um(t, "width", 200_000, 400_000), EdgeMargin: um(t, "edge", 0, 20_000), Lead: um(t, "lead", 0, 50_000),
		Tail: um(t, "tail", 0, 50_000), Gap: um(t, "gap", least, 4_000), WeedBorder: um(t, "border", 0, 3_000), NoNesting: rapid.Bool().Draw(t, "no nesting")}
	var ps []Piece
	for i := range rapid.IntRange(2, 5).Draw(t, "designs") {
		p := star(rng, fmt.Sprint(i), 20_000+rng.IntN(100_000), 3+rng.IntN(12))
		switch rng.IntN(4) {
		case 0:
			p.Outline = nil
		case 1: // a frame
			b := p.Width / 4
			p.Height = p.Width
			p.Outline = []Ring{{{0, 0}, {p.Width, 0}, {p.Width, p.Width}, {0, p.Width}}, {{b, b}, {b, p.Width - b}, {p.Width - b, p.Width - b}, {p.Width - b, b}}}
		}
		p.Copies = 1 + rng.IntN(3)
		p.Turns = Turns(rng.IntN(4))
		p.Group = fmt.Sprint(i % 2)
		ps = append(ps, p)
	}
	return r, ps
}

func TestImprove_byOutlinesIsNeverLongerAndCanBeCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOutlines(t, 0)
		grouped := rapid.Bool().Draw(t, "grouped")
		from := mustPack(t, r, ps, Effort{Seed: 1, Grouped: grouped})
		e := Effort{Seed: 2, Moves: 20, Evaluations: 3_000, Grouped: grouped}
		last := from.Length
		l, err := Improve(context.Background(), r, ps, from, e, func(l Layout) {
			if l.Length >= last {
				t.Fatalf("streamed %d after %d", l.Length, last)
			}
			last = l.Length
			if err := Verify(r, ps, l); err != nil {
				t.Fatal(err)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(r, ps, l); err != nil {
			t.Fatal(err)
		}
		if l.Length != last || l.Length < l.Bound {
			t.Fatalf("returned %d, last streamed %d, bound %d", l.Length, last, l.Bound)
		}
		if grouped {
			if _, ok := stretches(ps, l.Places); !ok {
				t.Fatal("the groups got mixed")
			}
		}
		a := l.Areas
		if a.Drawn != a.Pieces+a.Borders+a.Gaps+a.Edges+a.Ends+a.Offcut || min(a.Pieces, a.Borders, a.Gaps, a.Edges, a.Ends, a.Offcut) < 0 {
			t.Fatalf("areas do not add up: %+v", a)
		}
		again, err := Improve(context.Background(), r, ps, from, e, nil)
		if err != nil || !reflect.DeepEqual(l, again) {
			t.Fatalf("the same seed gave another layout (%v)", err)
		}
	})
}

func TestImprove_leavesLockedPlacesWhereTheyAre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOutlines(t, 0)
		from := mustPack(t, r, ps, Effort{Seed: 1})
		for i := range from.Places {
			from.Places[i].Locked = rapid.Bool().Draw(t, "locked")
		}
		l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 2, Moves: 20, Evaluations: 3_000}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range from.Places {
			if at.Locked && !slices.Contains(l.Places, at) {
				t.Fatalf("place %+v moved", at)
			}
		}
	})
}

// Tight layouts leave no room: whatever is moved towards its nearest neighbour by one micrometre too many is refused.
func TestVerify_refusesOneMicrometreTooNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, ps := drawOutlines(t, 1)
		from := mustPack(t, r, ps, Effort{Seed: 1})
		l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 2, Evaluations: 2_000}, nil)
		if err != nil {
			t.Fatal(err)
		}
		i := rapid.IntRange(0, len(l.Places)-1).Draw(t, "which")
		step := rapid.SampledFrom([]Point{{1, 0}, {-1, 0}, {0, 1}, {0, -1}}).Draw(t, "way")
		// Slide to the last place that holds, by halving; the next micrometre must be refused by brute force too.
		far := units.Micrometres(0)
		moved := func(by units.Micrometres) Layout {
			m := l
			m.Places = slices.Clone(l.Places)
			m.Places[i].X += step.X * by
			m.Places[i].Y += step.Y * by
			return m
		}
		for far < 1_000_000 && Verify(r, ps, moved(far+1)) == nil {
			for by := units.Micrometres(1); ; by *= 2 {
				if Verify(r, ps, moved(far+by)) != nil {
					far += by / 2
					break
				}
			}
		}
		if Verify(r, ps, moved(far)) != nil || Verify(r, ps, moved(far+1)) == nil {
			t.Fatalf("no clear edge at %d", far)
		}
		if bad := nearestByHand(r, ps, moved(far+1)); !bad {
			t.Fatal("refused, but far enough by plain floating point")
		}
		if bad := nearestByHand(r, ps, moved(far)); bad {
			t.Fatal("accepted, but too near by plain floating point")
		}
	})
}

// nearestByHand is Verify's question about film and distance answered with floats, pair by pair: another
// method, for comparison, for rolls with a distance above zero.
func nearestByHand(r Roll, ps []Piece, l Layout) bool {
	need := float64(r.Gap + 2*r.WeedBorder)
	border := r.WeedBorder
	rings := make([][]Ring, len(l.Places))
	for i, at := range l.Places {
		rings[i] = Outlined(ps[at.Piece], at)
		low, high := extentOf(rings[i])
		if low.X < r.EdgeMargin+border || high.X > r.Width-r.EdgeMargin-border || low.Y < r.Lead+border || high.Y > l.Length-r.Tail-border {
			return true
		}
	}
	for i := range rings {
		for j := range i {
			if len(ps[l.Places[i].Piece].Outline) == 0 && len(ps[l.Places[j].Piece].Outline) == 0 {
				li, hi := extentOf(rings[i])
				lj, hj := extentOf(rings[j])
				if float64(max(li.X-hj.X, lj.X-hi.X, li.Y-hj.Y, lj.Y-hi.Y)) < need {
					return true
				}
				continue
			}
			if d := apartBy(rings[i], rings[j]); d < need-1e-7 {
				return true
			}
			a, b := rings[i], rings[j]
			if r.NoNesting {
				a, b = a[:1], b[:1]
			}
			if need > 0 && (insideAny(a, b[0][0]) || insideAny(b, a[0][0])) {
				return true
			}
		}
	}
	return false
}

func apartBy(a, b []Ring) float64 {
	least := math.Inf(1)
	each := func(rings []Ring, do func(p, q Point)) {
		for _, ring := range rings {
			for i := range ring {
				do(ring[i], ring[(i+1)%len(ring)])
			}
		}
	}
	each(a, func(p, q Point) {
		each(b, func(s, u Point) {
			least = min(least, fromSegment(p, s, u), fromSegment(q, s, u), fromSegment(s, p, q), fromSegment(u, p, q))
		})
	})
	return least
}

func fromSegment(p, a, b Point) float64 {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	t := 0.0
	if dx != 0 || dy != 0 {
		t = min(1, max(0, (float64(p.X-a.X)*dx+float64(p.Y-a.Y)*dy)/(dx*dx+dy*dy)))
	}
	return math.Hypot(float64(p.X-a.X)-t*dx, float64(p.Y-a.Y)-t*dy)
}

func insideAny(rings []Ring, p Point) bool {
	n := 0
	for _, ring := range rings {
		if in, on := ring.around(p); in && !on {
			n++
		}
	}
	return n%2 == 1
}

// More pieces than one search takes on are searched stretch by stretch.
func TestImprove_manyPiecesSaveFilmByStretches(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	r := Roll{Width: 500_000, EdgeMargin: 10_000, Lead: 20_000, Tail: 20_000, Gap: 1_000, WeedBorder: 1_000}
	var ps []Piece
	for i := range 8 {
		p := star(rng, fmt.Sprint(i), 20_000+rng.IntN(40_000), 3+rng.IntN(4))
		p.Copies = 40
		ps = append(ps, p)
	}
	from, err := Pack(context.Background(), r, ps, Effort{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Improve(context.Background(), r, ps, from, Effort{Seed: 1, Evaluations: 240_000}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := Verify(r, ps, l); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d copies: boxes %d, outlines %d", len(l.Places), from.Length, l.Length)
	if l.Length >= from.Length {
		t.Fatalf("boxes %d, outlines %d", from.Length, l.Length)
	}
}
