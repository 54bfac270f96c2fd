package cut

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
)

var measuredKinds = map[FindingKind]bool{ThinStroke: true, NarrowGap: true, TinyPiece: true, TinyHole: true}

func measurable(d Drawing, l Limits) (list []Finding) {
	for _, f := range Inspect(d, l) {
		if measuredKinds[f.Kind] && f.PassesAt > 0 { // tips pass at no size
			list = append(list, f)
		}
	}
	return list
}

// What is said to pass at a percentage passes there, and one percent below it does not: for each place by itself, and
// for the whole drawing at the largest percentage named.
func TestInspect_passesAtTheNamedSizeAndNotBelow(t *testing.T) {
	checked, places := 0, 0
	check := func(name string, d Drawing, l Limits) {
		t.Helper()
		found := measurable(d, l)
		worst := 0
		for _, f := range found {
			worst = max(worst, f.PassesAt)
		}
		if worst == 0 {
			return
		}
		checked++
		if left := measurable(d.Scaled(float64(worst)/100), l); len(left) > 0 {
			t.Errorf("%s: at %d %% there is still %s, %.6f at %v", name, worst, left[0].Kind, left[0].Size, left[0].At)
		}
		if len(measurable(d.Scaled(float64(worst-1)/100), l)) == 0 {
			t.Errorf("%s: passes at %d %% already, not only at %d %%", name, worst-1, worst)
		}
		for _, f := range found[:min(len(found), 3)] {
			places++
			for _, p := range []int{f.PassesAt, f.PassesAt - 1} {
				scale := float64(p) / 100
				reach := 0.05 * scale
				if p < f.PassesAt { // one place stands for its neighbourhood
					reach = max(3, 4*float64(max(l.MinStroke, l.MinGap))/1000) * max(1, scale)
				}
				still := false
				for _, g := range measurable(d.Scaled(scale), l) {
					still = still || g.Kind == f.Kind && g.At.to(f.At.times(scale)) < reach
				}
				if still == (p == f.PassesAt) && (p == f.PassesAt || f.PassesAt > 101) {
					t.Errorf("%s: %s of %.6f at %v, named %d %%: found at %d %% is %v", name, f.Kind, f.Size, f.At, f.PassesAt, p, still)
				}
			}
		}
	}
	r := rand.New(rand.NewPCG(21, 22))
	for i := range 48 {
		name, svg := invented(r, i)
		d, err := ReadSVG([]byte(svg), ReadOptions{Tolerance: 20})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		check(name, d, Limits{MinStroke: um(400 + r.Int64N(1200)), MinGap: um(300 + r.Int64N(1000)), SmallestPiece: 3})
	}
	for _, path := range []string{"badge", "lettering", "numbers", "layered"} {
		svg, err := os.ReadFile("testdata/" + path + ".svg")
		if err != nil {
			t.Fatal(err)
		}
		for _, wide := range []int64{25, 40, 90} {
			d, err := ReadSVG(svg, ReadOptions{Width: um(wide * 1000)})
			if err != nil {
				t.Fatal(err)
			}
			check(fmt.Sprintf("%s at %d mm", path, wide), d, Limits{MinStroke: 1000, MinGap: 800, SmallestPiece: 4})
		}
	}
	if checked < 35 || places < 60 {
		t.Errorf("only %d drawings and %d places were checked", checked, places)
	}
}

// invented makes a small drawing with narrow places: bars, wedges, waists, rings, stars, lines and slots.
func invented(r *rand.Rand, i int) (name, svg string) {
	v := func(low, high float64) string { return fmt.Sprintf("%.3f", low+r.Float64()*(high-low)) }
	turn := fmt.Sprintf(`transform="rotate(%s 50 50)"`, v(0, 90))
	switch i % 8 {
	case 0:
		return "bars " + fmt.Sprint(i), page(fmt.Sprintf(`<g %s><rect x="20" y="20" width="30" height="%s"/><rect x="20" y="40" width="30" height="9"/><rect x="20" y="49.%s" width="30" height="9"/></g>`, turn, v(0.2, 2), fmt.Sprint(1+r.IntN(8))))
	case 1:
		return "wedge " + fmt.Sprint(i), page(fmt.Sprintf(`<path %s d="M20 20 L60 %s L60 %s L20 24Z"/>`, turn, v(21, 21.8), v(22.1, 23)))
	case 2:
		return "waist " + fmt.Sprint(i), page(fmt.Sprintf(`<path %s d="M20 20H40L30.%d 40L40 60H20L29.%d 40Z"/>`, turn, 1+r.IntN(8), 1+r.IntN(8)))
	case 3:
		return "ring " + fmt.Sprint(i), page(fmt.Sprintf(`<circle cx="50" cy="50" r="%s" fill="none" stroke="black" stroke-width="%s"/><circle cx="50" cy="50" r="2"/>`, v(8, 20), v(0.2, 2)))
	case 4:
		return "two discs " + fmt.Sprint(i), page(fmt.Sprintf(`<circle cx="30" cy="50" r="9"/><circle cx="%s" cy="52" r="8"/>`, v(47.3, 48.4)))
	case 5:
		return "slot " + fmt.Sprint(i), page(fmt.Sprintf(`<path %s fill-rule="evenodd" d="M20 20H60V50H20Z M25 25 L50 %s L50 %s L25 26Z"/>`, turn, v(25.1, 25.4), v(25.5, 26.5)))
	case 6:
		var b strings.Builder
		for k := range 10 {
			s, c := math.Sincos(float64(k) * math.Pi / 5)
			rad := []float64{20, 1 + r.Float64()*6}[k%2]
			fmt.Fprintf(&b, "%c%.3f %.3f", "ML"[min(k, 1)], 50+rad*c, 50+rad*s)
		}
		return "star " + fmt.Sprint(i), page(`<path d="` + b.String() + `Z"/>`)
	}
	return "curves " + fmt.Sprint(i), page(fmt.Sprintf(`<path fill="none" stroke="black" stroke-width="%s" d="M10 50 C30 %s 50 %s 70 50 S 80 20 90 50"/><path d="M10 80 Q40 %s 70 80 Q40 %s 10 80Z"/>`, v(0.3, 1.5), v(20, 45), v(60, 90), v(60, 75), v(70, 78)))
}
