package cut

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenpeel/recipes/units"
)

func um(v int64) units.Micrometres { return units.Micrometres(v) }

func square(x, y, side float64) Ring {
	return Ring{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}
}

// The reference here is a count of dense sample points against the rings as drawn, winding by winding.
func TestCovered_agreesWithSampling(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	for round := range 60 {
		var rings []Ring
		for range 1 + round%4 {
			ring := make(Ring, 3+r.IntN(9))
			for i := range ring {
				ring[i] = Point{r.Float64() * 20, r.Float64() * 20}
				if round%3 == 0 { // a coarse raster makes touching, overlapping and repeated edges
					ring[i] = Point{math.Round(ring[i].X / 4), math.Round(ring[i].Y / 4)}
				}
			}
			rings = append(rings, ring)
		}
		for _, rule := range []fillRule{nonZero, evenOdd} {
			clean, _, err := covered(rings, rule)
			if err != nil {
				t.Fatal(err)
			}
			for range 400 {
				p := Point{r.Float64() * 20, r.Float64() * 20}
				if round%3 == 0 {
					p = p.times(0.25)
				}
				if got, want := winding(clean, p), rule.inside(winding(rings, p)); (got == 1) != want || got < 0 || got > 1 {
					t.Fatalf("round %d rule %d: at %v the result winds %d times, inside is %v\n%v", round, rule, p, got, want, rings)
				}
			}
			again, crossings, _ := covered(clean, nonZero)
			if len(crossings) != 0 || !near(signedArea(again), signedArea(clean), 1e-9) {
				t.Fatalf("round %d: the result still crosses itself at %v", round, crossings)
			}
		}
	}
}

func winding(rings []Ring, p Point) int32 {
	w := int32(0)
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			if (a.Y <= p.Y) != (b.Y <= p.Y) {
				if x := a.X + (b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y); x > p.X {
					if b.Y > a.Y {
						w++
					} else {
						w--
					}
				}
			}
		}
	}
	return w
}

func TestCovered_refusesATangle(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	ring := make(Ring, 5_000)
	for i := range ring {
		ring[i] = Point{r.Float64() * 100, r.Float64() * 100}
	}
	if _, _, err := covered([]Ring{ring}, nonZero); err == nil {
		t.Error("five thousand crossing lines were joined without a limit")
	}
}

func TestRing_published(t *testing.T) {
	gon := make(Ring, 360)
	for i := range gon {
		s, c := math.Sincos(float64(i) * math.Pi / 180)
		gon[i] = Point{50 * c, 50 * s}
	}
	for _, row := range []struct {
		ring         Ring
		area, length float64
		source       string
	}{
		{Ring{{0, 0}, {3, 0}, {3, 4}}, 6, 12, "the 3-4-5 triangle"},
		{gon, 7853.58290, 314.15528, "n/2·r²·sin(2π/n) and 2nr·sin(π/n), n 360, r 50"},
		{Ring{{0, 0}, {10, 10}, {10, 0}, {0, 10}}, 0, 20 + 20*math.Sqrt2, "shared reference physics G: bow-tie"},
	} {
		sourced(t, row.source)
		if !near(row.ring.Area(), row.area, 1e-5) || !near(row.ring.Length(), row.length, 1e-4) {
			t.Errorf("area %v length %v, want %v %v (%s)", row.ring.Area(), row.ring.Length(), row.area, row.length, row.source)
		}
	}
}

func TestDrawing_scaledAndMirrored(t *testing.T) {
	d := read(t, `<path d="M0 0H10V30H5Z" fill="red"/><path d="M50 0H60V10"/><line x1="70" x2="80" stroke="red"/>`)
	s, m := d.Scaled(2), d.Mirrored()
	if !near(s.Area(), 4*d.Area(), 1e-9) || s.Width != 2*d.Width || !near(signedArea(s.Rings()), s.Area(), 1e-9) || s.Opens[0].Gap != 2*d.Opens[0].Gap {
		t.Errorf("scaled: %g mm² from %g", s.Area(), d.Area())
	}
	if !near(m.Area(), d.Area(), 1e-9) || !near(signedArea(m.Rings()), d.Area(), 1e-9) {
		t.Errorf("mirrored: %g mm² from %g", signedArea(m.Rings()), d.Area())
	}
	for i, r := range m.Mirrored().Rings() {
		for j, p := range r {
			if p.to(d.Rings()[i][j]) > 1e-9 {
				t.Fatal("mirrored twice is not the drawing itself")
			}
		}
	}
	if m.Opens[0].At != (Point{d.Width - d.Opens[0].At.X, d.Opens[0].At.Y}) {
		t.Error("open ends do not move with the drawing")
	}
}

func TestInspect_measuresTruly(t *testing.T) {
	l := Limits{MinStroke: 1000, MinGap: 800, SmallestPiece: 4}
	for _, row := range []struct {
		name, body string
		kind       FindingKind
		size, tol  float64
		at         int
		source     string
	}{
		{"bar 0.6 mm wide", `<rect width="30" height="0.6"/>`, ThinStroke, 0.6, 1e-6, 167, "0.6 mm by construction; 1/0.6"},
		{"turned bar", `<rect width="30" height="0.6" transform="rotate(33)"/>`, ThinStroke, 0.6, 1e-3, 167, "turning keeps widths"},
		{"ring of 0.5 mm", `<circle cx="20" cy="20" r="15" fill="none" stroke="black" stroke-width="0.5"/>`, ThinStroke, 0.5, 0.012, 0, "stroke width by construction"},
		{"waist", `<path d="M0 0H10L5.4 10L10 20H0L4.6 10Z"/>`, ThinStroke, 0.8, 0.06, 0, "waist of 0.8 mm by construction"},
		{"gap of 0.5 mm", `<rect width="10" height="10"/><rect x="10.5" width="10" height="10"/>`, NarrowGap, 0.5, 1e-6, 160, "0.5 mm by construction"},
		{"slot in one piece", `<path d="M0 0H20V20H0V10.2H15V9.8H0Z"/>`, NarrowGap, 0.4, 1e-6, 200, "0.4 mm by construction"},
		{"piece of 1 mm²", `<rect width="20" height="20"/><rect x="30" width="1.0001" height="1.0001"/>`, TinyPiece, 1, 1e-3, 200, "√(4/1)"},
		{"hole of 1 mm²", `<path fill-rule="evenodd" d="M0 0H20V20H0Z M10 10h1v1h-1z"/>`, TinyHole, 1, 1e-6, 200, "√(4/1)"},
		{"corner of 20°", `<path d="M0 0H20L18.7938524 6.8404029Z"/>`, SharpCorner, 20, 1e-4, 0, "cos and sin of 20°"},
		{"open", `<path d="M0 0H10V10H3"/>`, OpenPath, math.Hypot(3, 10), 1e-9, 0, "by construction"},
	} {
		sourced(t, row.source)
		found := false
		for _, f := range Inspect(read(t, row.body), l) {
			if f.Kind == row.kind {
				found = true
				if !near(f.Size, row.size, row.tol) || row.at != 0 && f.PassesAt != row.at || f.Words == "" {
					t.Errorf("%s: %+v, want size %g, passes at %d (%s)", row.name, f, row.size, row.at, row.source)
				}
				break
			}
		}
		if !found {
			t.Errorf("%s: no %s among %+v", row.name, row.kind, Inspect(read(t, row.body), l))
		}
	}
	for name, body := range map[string]string{
		"bar 1.1 mm wide":        `<rect width="30" height="1.1"/>`,
		"square":                 `<rect width="3" height="3"/>`,
		"triangle":               `<path d="M0 0H20L10 17Z"/>`,
		"circle":                 `<circle cx="9" cy="9" r="3"/>`,
		"gap of 0.9 mm":          `<rect width="10" height="10"/><rect x="10.9" width="10" height="10"/>`,
		"other film close by":    `<rect width="10" height="10"/><rect x="10.1" width="10" height="10" fill="red"/>`,
		"star with 36° points":   `<polygon points="50,10 59,38 88,38 65,55 74,82 50,65 26,82 35,55 12,38 41,38"/>`,
		"gap with a wall in it":  `<path d="M0 0H10V10H0Z M12 0H22V10H12Z"/>`,
		"notch of 40° is no gap": `<path d="M0 0H20V20H13L10 11L7 20H0Z"/>`,
	} {
		if f := Inspect(read(t, body), l); len(f) != 0 {
			t.Errorf("%s: %+v", name, f)
		}
	}
	if f := Inspect(demo(t, "testdata/badge.svg"), l); len(f) == 0 || f[0].Kind != ThinStroke || !near(f[0].Size, 0.4, 0.01) {
		t.Errorf("the badge's 0.4 mm line is not the worst place: %+v", f[:min(1, len(f))])
	}
}

// Enlarged to what a finding says, the place passes.
func TestInspect_passesAtWhatItSays(t *testing.T) {
	d := read(t, `<rect width="30" height="0.63"/><rect y="1.1" width="30" height="3"/>`)
	l := Limits{MinStroke: 1000, MinGap: 800}
	most := 0
	for _, f := range Inspect(d, l) {
		most = max(most, f.PassesAt)
	}
	if most == 0 {
		t.Fatal("nothing found")
	}
	if f := Inspect(d.Scaled(float64(most)/100), l); len(f) != 0 {
		t.Errorf("at %d %% there is still %+v", most, f)
	}
	if f := Inspect(d.Scaled(float64(most-2)/100), l); len(f) == 0 {
		t.Errorf("at %d %% nothing is found", most-2)
	}
}
