package cut

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The disc that touches at p and grows along n meets a side where its middle is as far from the side as from p; that place
// is found by halving here, and by formula there.
func TestTouching_isTheFirstDiscThatMeetsTheSide(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	at := func() Point { return Point{r.Float64()*4 - 2, r.Float64()*4 - 2} }
	faced := 0
	for range 200_000 {
		p, a, b := at(), at(), at()
		s, c := math.Sincos(r.Float64() * 2 * math.Pi)
		n, best := Point{c, s}, 0.1+r.Float64()
		dir, length := b.minus(a).unit()
		e := flank{a: a, b: b, dir: dir, length: length}
		foot := func(q Point) Point { return a.plus(dir.times(min(max(q.minus(a).dot(dir), 0), length))) }
		radius, q, ok := touching(p, n, &e, best)
		if ok && (radius > best || !near(p.plus(n.times(radius)).to(q), radius, 1e-9) || q.to(foot(q)) > 1e-9 || p.to(q) < facing*radius*(1-1e-9)) {
			t.Fatalf("p %v n %v side %v %v: %g at %v", p, n, a, b, radius, q)
		}
		low, high := 0.0, best
		meets := func(r float64) bool { m := p.plus(n.times(r)); return m.to(foot(m)) < r }
		if !meets(high) {
			if ok {
				t.Fatalf("p %v n %v side %v %v: %g, but the disc of %g meets nothing", p, n, a, b, radius, best)
			}
			continue
		}
		for range 60 {
			if half := (low + high) / 2; meets(half) {
				high = half
			} else {
				low = half
			}
		}
		touch := foot(p.plus(n.times(high)))
		if p.to(touch) < facing*high*(1+1e-6) || high < 1e-3 {
			continue // it does not face p
		}
		if faced++; !ok || !near(radius, high, 1e-6) {
			t.Fatalf("p %v n %v side %v %v: %v %g, by halving %g", p, n, a, b, ok, radius, high)
		}
	}
	if faced < 1000 {
		t.Errorf("only %d discs faced the side", faced)
	}
}

// What a flank enlists is all that a disc on it can touch: each width is that found by looking through the whole grid.
func TestEnlist_leavesNothingOut(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	drawings := []Drawing{demo(t, "testdata/badge.svg"), demo(t, "testdata/scatter.svg")}
	for i := range 16 {
		_, svg := invented(r, i)
		d, err := ReadSVG([]byte(svg), ReadOptions{Tolerance: 20})
		if err != nil {
			t.Fatal(err)
		}
		drawings = append(drawings, d)
	}
	found, nothing := 0, 0
	for _, d := range drawings {
		for _, outside := range []bool{false, true} {
			for _, limit := range []float64{0.5, 2} {
				m := newMeasurer(flanksOf(d.Shapes), limit, outside)
				for i := range int32(len(m.list)) {
					if i%5 != 0 {
						continue
					}
					f, n := &m.list[i], m.normal(i)
					for _, part := range []float64{0, 0.3, 1} {
						m.listed = -1
						all := m.sample(i, f.length*part, n)
						some := math.Inf(1)
						if m.enlist(i, n) {
							some = m.sample(i, f.length*part, n)
						}
						if math.IsInf(all, 1) {
							nothing++
						} else {
							found++
						}
						if all != some && !near(all, some, 1e-9) {
							t.Fatalf("flank %v %v: %g of all, %g of those enlisted", f.a, f.b, all, some)
						}
					}
				}
			}
		}
	}
	if found < 500 || nothing < 500 {
		t.Errorf("only %d places with a width, %d without", found, nothing)
	}
}
