package cut

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestLegTime_published(t *testing.T) {
	for _, row := range []struct {
		way, speed, a, want, tol float64
		source                   string
	}{
		{300, 400, 2000, 0.95, 1e-12, "uniform acceleration: d/v + v/a; shared reference physics G, trapezoid"},
		{20, 400, 2000, 0.2, 1e-12, "uniform acceleration: 2√(d/a); physics G, triangle"},
		{80, 400, 2000, 0.4, 1e-12, "physics G, boundary: both forms"},
		{2 * 3.70, 381, 2 * 9806.65, 2 * 0.01943, 5e-5, "HP 7475A data sheet 5954-7091: 38.1 cm/s at 2 g is 19.43 ms, 3.70 mm"},
		{0, 400, 2000, 0, 0, "no way, no time"},
	} {
		sourced(t, row.source)
		if got := legTime(row.way, row.speed, row.a); !near(got, row.want, row.tol) {
			t.Errorf("%g mm: %g s, want %g (%s)", row.way, got, row.want, row.source)
		}
	}
}

func TestRingTime_stopsCost(t *testing.T) {
	// source: shared reference physics G, many stops: 100 × 1 mm with stops is 4.4721 s, one line of 100 mm 0.45 s.
	out := Ring{}
	for i := range 100 {
		out = append(out, Point{float64(i), 0})
	}
	line := append(out, Point{100, 0})
	back, _ := ringTime(line, 400, 2000, 20) // out in 1 mm points, back in one line: two legs of 100 mm
	if !near(back, 0.9, 1e-9) {
		t.Errorf("without stops %g s, want 0.9", back)
	}
	every, stops := ringTime(line, 400, 2000, -1)
	if !near(every, 4.47213595+0.45, 1e-6) || stops != 101 {
		t.Errorf("with stops %g s and %d stops, want 4.922 and 101", every, stops)
	}
}

func TestEstimated(t *testing.T) {
	rings := []Ring{square(10, 0, 20), square(15, 5, 5)}
	e, err := Estimated(rings, Motion{Speed: 400, TravelSpeed: 400, Acceleration: 2000, Passes: 2, CornerAngle: 30})
	if err != nil {
		t.Fatal(err)
	}
	// by hand: 4 legs of 20 mm are 0.2 s each, 4 of 5 mm 0.1 s each, twice; physics G triangle
	if e.CutLength != 200 || e.Cutting != 2400 || e.Pieces != 1 || e.Islands != 1 || e.Stops != 16 || e.Total != e.Cutting+e.Travelling {
		t.Errorf("got %+v", e)
	}
	if _, err := Estimated(rings, Motion{}); err == nil {
		t.Error("a motion of nothing was accepted")
	}
	if none, err := Estimated(nil, Motion{1, 1, 1, 1, 1}); err != nil || none != (Estimate{}) {
		t.Errorf("no rings: %+v %v", none, err)
	}
	if w := Weeding(Drawing{Shapes: shapesOf([]Ring{square(0, 0, 25), {{5, 5}, {5, 10}, {10, 10}, {10, 5}}}, "")}); w != 7200 {
		t.Errorf("weeding takes %d ms, want 2 + 4 + 1.2 s", w)
	}
}

func TestOrdered_innerFirstAndNeverLonger(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{1, 2, 30, 300, neighbourLimit + 500} {
		var rings []Ring
		for i := range n {
			x, y := float64(i%70)*10, float64(i/70)*10
			rings = append(rings, square(x, y, 8))
			if i%3 == 0 {
				rings = append(rings, square(x+1, y+1, 6), square(x+2, y+2, 3))
			}
		}
		r.Shuffle(len(rings), func(i, j int) { rings[i], rings[j] = rings[j], rings[i] })
		got := Ordered(rings, Point{})
		if len(got) != len(rings) {
			t.Fatalf("%d rings became %d", len(rings), len(got))
		}
		for i, outer := range got {
			if i > 200 {
				break
			}
			for _, later := range got[i+1:] {
				if outer.Holds(later[0]) && outer.Holds(later[2]) {
					t.Fatalf("n %d: an outer ring is cut before what lies inside it", n)
				}
			}
		}
		if before, after := Travel(rings, Point{}), Travel(got, Point{}); n > 2 && after > before/2 {
			t.Errorf("n %d: travel %g after, %g before", n, after, before)
		}
	}
}

// The reference is the exhaustive search over all orders of seven points.
func TestOrdered_isNearTheBestOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 6 {
		var rings []Ring
		for range 7 {
			rings = append(rings, square(r.Float64()*500, r.Float64()*500, 0.001))
		}
		best := math.Inf(1)
		permuted(rings, 0, func(p []Ring) { best = min(best, Travel(p, Point{})) })
		if got := Travel(Ordered(rings, Point{}), Point{}); got > 1.25*best {
			t.Errorf("travel %g, the best is %g", got, best)
		}
	}
}

func permuted(rings []Ring, k int, visit func([]Ring)) {
	if k == len(rings) {
		visit(rings)
		return
	}
	for i := k; i < len(rings); i++ {
		rings[k], rings[i] = rings[i], rings[k]
		permuted(rings, k+1, visit)
		rings[k], rings[i] = rings[i], rings[k]
	}
}

// tipAlong integrates the motion of a trailing blade: the tip is always drawn straight towards the swivel.
// Source: the tractrix, tan(ψ/2) = tan(φ/2)·e^(−s/d); shared reference physics C.4.
func tipAlong(way []Point, tip Point, d float64, steps float64) []Point {
	var tips []Point
	for i := 1; i < len(way); i++ {
		n := int(way[i-1].to(way[i])/(d/steps)) + 1
		for k := 1; k <= n; k++ {
			pivot := lerp(way[i-1], way[i], float64(k)/float64(n))
			u, _ := tip.minus(pivot).unit()
			tip = pivot.plus(u.times(d))
			tips = append(tips, tip)
		}
	}
	return tips
}

func TestTip_followsTheTractrix(t *testing.T) {
	// source: physics G, uncompensated corner: d 0.5, 90°, after 3 d of travel the tip is 0.049664 mm off.
	tips := tipAlong([]Point{{0, 0}, {0, 1.5}}, Point{-0.5, 0}, 0.5, 5000)
	if last := tips[len(tips)-1]; !near(-last.X, 0.049664, 2e-5) {
		t.Errorf("the tip is %g mm off, want 0.049664", -last.X)
	}
}

func TestCompensated_putsTheTipOnTheOutline(t *testing.T) {
	const d = 0.5
	off := func(tips []Point, ring Ring) float64 {
		worst := 0.0
		for _, p := range tips {
			least := math.Inf(1)
			for i, a := range ring {
				b := ring[(i+1)%len(ring)]
				s := min(max(p.minus(a).dot(b.minus(a))/b.minus(a).dot(b.minus(a)), 0), 1)
				least = min(least, p.to(lerp(a, b, s)))
			}
			worst = max(worst, least)
		}
		return worst
	}
	ring := square(0, 0, 20)
	way := Compensated(ring, d, 1, 0.001)
	if worst := off(tipAlong(way, ring[0], d, 200), ring); worst > 0.01 {
		t.Errorf("compensated, the tip leaves the square by %g mm", worst)
	}
	bare := append(append([]Point{}, ring...), ring[0])
	if worst := off(tipAlong(bare, Point{-d, 0}, d, 200), ring); worst < 0.1 {
		t.Errorf("uncompensated, the tip leaves the square by only %g mm: the test can not tell", worst)
	}
	// source: physics G, swivel arc d φ = 0.785398 mm at 90°; four of them, plus the sides
	if got := length(Compensated(ring, d, 0, 1e-7)); !near(got, 80+4*0.785398, 1e-4) {
		t.Errorf("the swivel runs %g mm, want %g", got, 80+4*0.785398)
	}
	// source: physics G, circle compensation: R 5, d 0.5 gives a swivel radius of 5.024938
	circle := disc(Point{}, 5, 1e-4)
	for _, p := range Compensated(circle, d, 0, 1e-4) {
		if !near(p.length(), 5.024938, 5e-3) {
			t.Fatalf("the swivel runs at radius %g, want 5.024938", p.length())
		}
	}
	if worst := off(tipAlong(Compensated(circle, d, 1, 1e-4), circle[0], d, 50), circle); worst > 0.005 {
		t.Errorf("compensated, the tip leaves the circle by %g mm", worst)
	}
	if got := Compensated(ring, 0, 0, 0.01); length(got) != 80 {
		t.Errorf("without an offset the way is %g mm", length(got))
	}
}

func length(way []Point) float64 {
	sum := 0.0
	for i := 1; i < len(way); i++ {
		sum += way[i-1].to(way[i])
	}
	return sum
}
