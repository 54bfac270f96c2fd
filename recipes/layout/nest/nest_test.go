package nest

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// blob is an outline that goes once round its middle, so it never crosses itself.
func blob(rng *rand.Rand, size float64, corners int) [][]Point {
	var ring []Point
	for i := range corners {
		a := 2 * math.Pi * float64(i) / float64(corners)
		r := size / 2 * (0.4 + 0.6*rng.Float64())
		ring = append(ring, Point{math.Round(size/2 + r*math.Cos(a)), math.Round(size/2 + r*math.Sin(a))})
	}
	return [][]Point{ring}
}

func drawDrawing(t *rapid.T, name string) Drawing {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, name), 1))
	size := float64(1_000 + rng.IntN(50_000))
	d := Drawing{Rings: blob(rng, size, 3+rng.IntN(200)), Angles: []int32{0, 90_000, 180_000, 270_000}}
	if rng.IntN(3) == 0 { // a hole well inside: corners never come nearer to the middle than a fifth of the size
		hole := blob(rng, size/6, 5)[0]
		for i := range hole {
			hole[i].X, hole[i].Y = hole[i].X+math.Round(size*5/12), hole[i].Y+math.Round(size*5/12)
		}
		d.Rings = append(d.Rings, hole)
	}
	return d
}

func inside(rings [][]Point, p Point) bool {
	in := false
	for _, ring := range rings {
		in = in != within(ring, p)
	}
	return in
}

// toEdge is the distance of a point from the nearest edge.
func toEdge(rings [][]Point, p Point) float64 {
	d := math.Inf(1)
	for _, ring := range rings {
		last := ring[len(ring)-1]
		for _, q := range ring {
			d = min(d, fromSegment(p.X, p.Y, last.X, last.Y, q.X, q.Y))
			last = q
		}
	}
	return math.Sqrt(d)
}

func TestSimplified_liesAroundTheOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDrawing(t, "outline")
		rings := oriented(d.Rings)
		area, around := 0.0, 0.0
		for _, r := range rings {
			area += signedArea(r)
			for i, p := range r {
				q := r[(i+1)%len(r)]
				around += math.Hypot(q.X-p.X, q.Y-p.Y)
			}
		}
		out, changed := simplified(rings, area)
		grown := 0.0
		for _, r := range out {
			grown += signedArea(r)
		}
		// Corners come to lie on whole micrometres, so an edge may give way by one along its length.
		if grown < area-around || grown > area*(1+coarseGrowth)+1 {
			t.Fatalf("area went from %g to %g", area, grown)
		}
		if !changed && !reflect.DeepEqual(out, rings) {
			t.Fatal("changed without saying so")
		}
		for _, ring := range rings {
			for _, p := range ring {
				if !inside(out, p) && toEdge(out, p) > 1 {
					t.Fatalf("corner %v is %g outside", p, toEdge(out, p))
				}
			}
		}
	})
}

func TestInscribed_circlesLieInsideAndApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := NewDesign(drawDrawing(t, "outline"), false)
		for i, c := range d.circles {
			if c.r == 0 {
				continue
			}
			p := Point{c.x, c.y}
			if !inside(d.rings, p) || toEdge(d.rings, p) < c.r-1e-6 {
				t.Fatalf("circle %+v leaves the outline", c)
			}
			if i > 0 && c.r > d.circles[i-1].r {
				t.Fatal("a larger circle after a smaller")
			}
			for _, o := range d.circles[:i] {
				if math.Hypot(c.x-o.x, c.y-o.y) < c.r+o.r-1e-6 {
					t.Fatalf("circles %+v and %+v overlap", c, o)
				}
			}
		}
	})
}

// The quick test must agree with a slow one: all edges against all, then corners.
func TestCollide_agreesWithTheSlowWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := NewDesign(drawDrawing(t, "a"), false), NewDesign(drawDrawing(t, "b"), false)
		sa, sb := a.shapes[rapid.IntRange(0, len(a.shapes)-1).Draw(t, "angle a")], b.shapes[rapid.IntRange(0, len(b.shapes)-1).Draw(t, "angle b")]
		dx := math.Round(rapid.Float64Range(-1, 1).Draw(t, "dx") * (sa.w + sb.w) / 2)
		dy := math.Round(rapid.Float64Range(-1, 1).Draw(t, "dy") * (sa.h + sb.h) / 2)
		distance := float64(rapid.IntRange(1, 3_000).Draw(t, "distance"))
		want := false
		for _, e := range sa.edges {
			for _, f := range sb.edges {
				g := edge{f.x0 + dx, f.y0 + dy, f.x1 + dx, f.y1 + dy, 0, 0}
				want = want || nearer(&e, &g, distance*distance)
			}
		}
		for _, p := range sa.starts {
			want = want || sb.holds(p.X-dx, p.Y-dy)
		}
		for _, p := range sb.starts {
			want = want || sa.holds(p.X+dx, p.Y+dy)
		}
		var n nearness
		if got := n.collide(sa, sb, dx, dy, distance); got != want {
			t.Fatalf("quick says %v, slow %v", got, want)
		}
		// Severity is above zero exactly where they collide, and the same seen from the other side.
		s := newSearch(newStrip(Problem{Width: 1e6, Distance: distance, Designs: []*Design{a}, Pieces: []int{0}}), 1, 1)
		s.distance = distance
		one, other := s.severity(sa, 0, 0, sb, dx, dy, inf), s.severity(sb, dx, dy, sa, 0, 0, inf)
		if (one > 0) != want || math.Abs(one-other) > 1e-6*one {
			t.Fatalf("severity %g and %g, collide %v", one, other, want)
		}
		if limited := s.severity(sa, 0, 0, sb, dx, dy, one/2); want && !math.IsInf(limited, 1) {
			t.Fatalf("severity %g is not below %g", limited, one/2)
		}
	})
}

func TestRun_isTheSameEveryTime(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	p := Problem{Width: 100_000, Distance: 500}
	var start []Spot
	y := 0.0
	for k := range 12 {
		d := NewDesign(Drawing{Rings: blob(rng, float64(15_000+rng.IntN(25_000)), 9), Angles: []int32{0, 180_000}}, false)
		p.Designs = append(p.Designs, d)
		p.Pieces = append(p.Pieces, k)
		start = append(start, Spot{Y: y})
		y += d.shapes[0].h + p.Distance
	}
	var runs [2][]float64
	for k := range runs {
		Run(context.Background(), p, 3, start, y, 300_000, func(_ []Spot, length float64) bool {
			runs[k] = append(runs[k], length)
			return true
		})
	}
	if len(runs[0]) == 0 || !reflect.DeepEqual(runs[0], runs[1]) {
		t.Fatalf("two runs of one seed: %v and %v", runs[0], runs[1])
	}
	// What is refused is never offered as something to build on: every length offered is then below the start only.
	offered := 0
	Run(context.Background(), p, 3, start, y, 300_000, func(_ []Spot, length float64) bool { offered++; return false })
	if offered == 0 {
		t.Fatal("nothing offered")
	}
}
