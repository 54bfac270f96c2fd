package cut

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

func sourced(t *testing.T, source string) {
	t.Helper()
	if source == "" {
		t.Error("this row has no source")
	}
}

// read reads an SVG whose page is 100 × 100 mm with one user unit a millimetre.
func read(t *testing.T, body string) Drawing {
	t.Helper()
	d, err := ReadSVG([]byte(page(body)), ReadOptions{Tolerance: 5})
	if err != nil {
		t.Fatalf("%s: %v", body, err)
	}
	return d
}

func page(body string) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="100mm" viewBox="0 0 100 100">` + body + `</svg>`
}

func TestReadPath_arcsOfTheStandard(t *testing.T) {
	for _, row := range []struct {
		path   string
		centre Point
		rx     float64
		sweep  float64 // degrees
		source string
	}{
		{"M125,75 a100,50 0 0,0 100,50", Point{225, 75}, 100, -90, "SVG 2, paths, figure arcs02.svg"},
		{"M125,75 a100,50 0 0,1 100,50", Point{125, 125}, 100, 90, "SVG 2, paths, figure arcs02.svg"},
		{"M125,75 a100,50 0 1,0 100,50", Point{125, 125}, 100, -270, "SVG 2, paths, figure arcs02.svg"},
		{"M125,75 a100,50 0 1,1 100,50", Point{225, 75}, 100, 270, "SVG 2, paths, figure arcs02.svg"},
		{"M150,200 a150,150 0 1,0 150,-150", Point{300, 200}, 150, -270, "SVG 2, paths, figure arcs01.svg"},
		{"M0,0 a25,25 -30 0,1 50,-25", Point{25, -12.5}, 27.950849718747371, 180, "SVG 2, figure arcs01.svg; implementation notes, out-of-range radii"},
	} {
		sourced(t, row.source)
		subs, _, ok, _ := readPath(row.path, 10)
		if !ok {
			t.Fatalf("%s: not read", row.path)
		}
		e := subs[0].pieces[0].ellipse
		if e.centre.to(row.centre) > 1e-9 || !near(e.rx, row.rx, 1e-9) || !near(e.sweep*180/math.Pi, row.sweep, 1e-6) {
			t.Errorf("%s: centre %v, radius %v, sweep %v; want %v, %v, %v (%s)", row.path, e.centre, e.rx, e.sweep*180/math.Pi, row.centre, row.rx, row.sweep, row.source)
		}
		if s, end := e.at(0), e.at(1); s.to(subs[0].start) > 1e-9 || end.to(subs[0].pieces[0].to) > 1e-9 {
			t.Errorf("%s: the arc runs from %v to %v", row.path, s, end)
		}
	}
}

func TestReadPath_grammar(t *testing.T) {
	for _, row := range []struct {
		path, want string
		ok         bool
		source     string
	}{
		{"M 100-200", "100,-200", true, "SVG 2, paths, grammar: \"M 100-200\""},
		{"M 0.6.5", "0.6,0.5", true, "SVG 2, paths, grammar: \"M 0.6.5\""},
		{"M 10,10 L 20,20,30", "10,10 20,20", false, "SVG 2, paths, error handling"},
		{"M1 1L 23. 5", "1,1 23,5", true, "SVG 1.1 grammar (a trailing dot); SVG 2 allows a reader to take it"},
		{"M0 0a1 1 0 0110 10", "0,0 10,10", true, "SVG 2, paths, grammar: arc flags are one character"},
		{"m1 2 3 4z m1 1 h5v6H0V0", "1,2 4,6 | 2,3 7,3 7,9 0,9 0,0", true, "SVG 2, paths: m with more pairs is l; z returns to the start"},
		{"M0 0 L5 0 z l0 5", "0,0 5,0 | 0,0 0,5", true, "SVG 2, paths, closepath: the next subpath starts at the same point"},
		{"M1e2,1E-1 L 1e400 0", "100,0.1 +Inf,0", true, "ours: an overflow is seen as not finite later"},
		{"L 1 1", "", false, "SVG 2, paths: data begins with moveto"},
		{"M0 0 1 1", "0,0 1,1", true, "SVG 2, paths, moveto"},
		{"M0 0 a0 5 0 0 1 4 4", "0,0 4,4", true, "SVG 2, implementation notes: rx 0 is a line"},
		{"M0 0 X 4 4", "0,0", false, "SVG 2, paths, error handling"},
		{"M0 0 z 4 4", "0,0", false, "SVG 2, paths, grammar: no numbers after z"},
	} {
		sourced(t, row.source)
		subs, _, ok, _ := readPath(row.path, 100)
		var runs []string
		for _, s := range subs {
			points := []string{fmt.Sprintf("%g,%g", s.start.X, s.start.Y)}
			for _, p := range s.pieces {
				points = append(points, fmt.Sprintf("%g,%g", p.to.X, p.to.Y))
			}
			runs = append(runs, strings.Join(points, " "))
		}
		if got := strings.Join(runs, " | "); got != row.want || ok != row.ok {
			t.Errorf("%q: got %q %v, want %q %v (%s)", row.path, got, ok, row.want, row.ok, row.source)
		}
	}
}

func TestReadPath_smoothCurvesReflectTheirControl(t *testing.T) {
	// source: SVG 2, paths: S and T reflect the last control point only after a command of their own family.
	subs, _, _, _ := readPath("M0 0 C0 1 2 3 4 4 S 8 8 9 9 s 1 1 2 2 L 0 0 S 1 1 2 2 Q 3 4 5 6 T 7 7 T 8 8", 100)
	p := subs[0].pieces
	if p[1].c1 != (Point{6, 5}) || p[2].c1 != (Point{10, 10}) || p[4].c1 != (Point{0, 0}) {
		t.Errorf("cubic controls %v %v %v", p[1].c1, p[2].c1, p[4].c1)
	}
	q := Point{7, 8} // 2·(5,6) − (3,4)
	if want := lerp(Point{5, 6}, q, 2./3); p[6].c1.to(want) > 1e-12 {
		t.Errorf("quadratic control %v, want %v", p[6].c1, want)
	}
	if want := lerp(Point{7, 7}, Point{7, 6}, 2./3); p[7].c1.to(want) > 1e-12 {
		t.Errorf("second reflected control %v, want %v", p[7].c1, want)
	}
}

func TestTransform_andViewBox(t *testing.T) {
	// source: SVG 2, coords: transforms apply right to left; hand value in shared reference physics G.
	m, ok := readTransform("translate(10,20) rotate(90) scale(2)")
	if got := m.on(Point{1, 0}); !ok || got.to(Point{10, 22}) > 1e-12 {
		t.Errorf("got %v, want 10,22", got)
	}
	// source: SVG 2, coords, equivalent transform of a viewBox: 0 0 100 50 into 200 × 200 is scale 2, offset y 50.
	f := fitBox([4]float64{0, 0, 100, 50}, 200, 200, "xMidYMid meet")
	if f != (matrix{a: 2, d: 2, f: 50}) {
		t.Errorf("viewBox: got %+v", f)
	}
	if f := fitBox([4]float64{0, 0, 100, 50}, 200, 200, "xMinYMax slice"); f != (matrix{a: 4, d: 4}) {
		t.Errorf("slice: got %+v", f)
	}
	for _, bad := range []string{"rotate(1,2)", "spin(4)", "scale(", "translate(a)"} {
		if _, ok := readTransform(bad); ok {
			t.Errorf("%q was read", bad)
		}
	}
	// source: CSS Values 3, 6.2: 96 px are 1 in.
	for text, px := range map[string]float64{"1in": 96, "25.4mm": 96, "2.54cm": 96, "72pt": 96, "6pc": 96, "101.6Q": 96, "96": 96, "96px": 96} {
		if got, ok := readLength(text); !ok || !near(got, px, 1e-9) {
			t.Errorf("%s is %v px, want %v", text, got, px)
		}
	}
	for _, none := range []string{"50%", "2em", "", "mm"} {
		if _, ok := readLength(none); ok {
			t.Errorf("%q was read as a length", none)
		}
	}
}

func TestFlatten_staysWithinTolerance(t *testing.T) {
	k := 4 * (math.Sqrt2 - 1) / 3
	for _, row := range []struct {
		r, tol          float64
		cubic, circular int
		source          string
	}{
		{10, 0.05, 9, 8, "Goldman, Pyramid Algorithms (2003) 5.6.3; chord of a circle r(1−cos θ/2n)"},
		{10, 0.01, 19, 18, "Goldman, Pyramid Algorithms (2003) 5.6.3; chord of a circle r(1−cos θ/2n)"},
		{100, 0.05, 27, 25, "Goldman, Pyramid Algorithms (2003) 5.6.3; chord of a circle r(1−cos θ/2n)"},
	} {
		sourced(t, row.source)
		r := row.r
		a, b, c, d := Point{r, 0}, Point{r, k * r}, Point{k * r, r}, Point{0, r}
		n := cubicChords(a, b, c, d, row.tol)
		if m := arcChords(r, math.Pi/2, row.tol); n != row.cubic || m != row.circular {
			t.Errorf("R %g tol %g: %d and %d chords, want %d and %d (%s)", r, row.tol, n, m, row.cubic, row.circular, row.source)
		}
		for i := range n { // against dense sampling of each chord's curve
			p, q := cubicAt(a, b, c, d, float64(i)/float64(n)), cubicAt(a, b, c, d, float64(i+1)/float64(n))
			u, _ := q.minus(p).unit()
			for s := range 50 {
				x := cubicAt(a, b, c, d, (float64(i)+float64(s)/50)/float64(n))
				if off := math.Abs(u.cross(x.minus(p))); off > row.tol {
					t.Fatalf("R %g: a chord is %g off", r, off)
				}
			}
		}
	}
	// source: closed form of a cubic's area, (6 p0×p1 + 3 p0×p2 + … + 6 p2×p3)/20; shared reference physics G: 90
	loop := subpath{pieces: []piece{{kind: 'C', c1: Point{30, 30}, c2: Point{-20, 30}, to: Point{10, 0}}}}
	if got := math.Abs(loop.flattened(identity, 1e-5).Area()); !near(got, 90, 1e-3) {
		t.Errorf("the cubic's signed area is %g, want 90", got)
	}
	if n := arcChords(1e6, 6, 1e-9); n > maxChords {
		t.Errorf("%d chords were allowed", n)
	}
}

func TestReadSVG_areasOfKnownFigures(t *testing.T) {
	for _, row := range []struct {
		name, body string
		area, tol  float64
		shapes     int
		source     string
	}{
		{"triangle 3-4-5", `<path d="M0 0h3v4z"/>`, 6, 1e-6, 1, "Euclid I.41"},
		{"hexagon of side 10", `<polygon points="10,0 5,8.660254 -5,8.660254 -10,0 -5,-8.660254 5,-8.660254"/>`, 259.807621, 1e-3, 1, "3√3/2·a²"},
		{"circle", `<circle cx="50" cy="50" r="40"/>`, math.Pi * 1600, 1.3, 1, "πr², less the chords' segments"},
		{"ellipse", `<ellipse cx="50" cy="50" rx="40" ry="20"/>`, math.Pi * 800, 1.3, 1, "πab"},
		{"round rect", `<rect x="5" y="5" width="40" height="20" rx="5"/>`, 800 - (4-math.Pi)*25, 0.2, 1, "rectangle less corners, SVG 2 shapes"},
		{"bow-tie", `<path d="M0,0 10,10 10,0 0,10Z"/>`, 50, 1e-6, 2, "shared reference physics C.6: signed 0, covered 50"},
		{"nested squares, even-odd", `<path fill-rule="evenodd" d="M0 0H30V30H0Z M10 10H20V20H10Z"/>`, 800, 1e-6, 1, "SVG 2, painting, fill-rule evenodd"},
		{"nested squares, one way, non-zero", `<path d="M0 0H30V30H0Z M10 10H20V20H10Z"/>`, 900, 1e-6, 1, "SVG 2, painting, fill-rule nonzero"},
		{"nested squares, other way, non-zero", `<path d="M0 0H30V30H0Z M10 10V20H20V10Z"/>`, 800, 1e-6, 1, "SVG 2, painting, fill-rule nonzero"},
		{"island in a hole", `<path fill-rule="evenodd" d="M0 0H30V30H0Z M5 5H25V25H5Z M10 10H20V20H10Z"/>`, 900 - 400 + 100, 1e-6, 2, "SVG 2, painting, fill-rule evenodd"},
		{"two overlapping squares of one colour", `<rect width="10" height="10"/><rect x="5" y="5" width="10" height="10"/>`, 175, 1e-6, 1, "union"},
		{"two colours stay apart", `<rect width="10" height="10"/><rect x="5" y="5" width="10" height="10" fill="red"/>`, 200, 1e-6, 2, "ours: each colour is a film of its own"},
		{"squares sharing an edge", `<rect width="10" height="10"/><rect x="10" width="10" height="10"/>`, 200, 1e-6, 1, "union"},
		{"line 2 mm wide", `<line x1="10" y1="10" x2="40" y2="50" stroke="black" stroke-width="2"/>`, 100, 1e-3, 1, "50 × 2 mm"},
		{"square cap", `<path fill="none" d="M10 10H40" stroke="black" stroke-width="4" stroke-linecap="square"/>`, 136, 1e-3, 1, "SVG 2, painting, stroke-linecap"},
		{"round cap", `<path fill="none" d="M10 10H40" stroke="black" stroke-width="4" stroke-linecap="round"/>`, 120 + 4*math.Pi, 0.05, 1, "SVG 2, painting, stroke-linecap"},
		{"square frame with mitres", `<rect x="10" y="10" width="20" height="20" fill="none" stroke="black" stroke-width="2"/>`, 22*22 - 18*18, 1e-3, 1, "SVG 2, painting, stroke-linejoin miter"},
		{"square frame with bevels", `<rect x="10" y="10" width="20" height="20" fill="none" stroke="black" stroke-width="2" stroke-linejoin="bevel"/>`, 22*22 - 18*18 - 4*0.5, 1e-3, 1, "SVG 2, painting, stroke-linejoin bevel"},
		{"fill and stroke of one colour", `<rect x="10" y="10" width="20" height="20" stroke="black" stroke-width="2"/>`, 22 * 22, 1e-3, 1, "union"},
		{"transformed", `<g transform="translate(50 50)"><g transform="rotate(30) scale(2 .5) skewX(20)"><rect width="10" height="10"/></g></g>`, 100, 1e-3, 1, "determinant of the transform is 1"},
		{"use", `<defs><rect id="a" width="4" height="5"/></defs><use href="#a"/><use xlink:href="#a" x="10" y="3"/>`, 40, 1e-6, 2, "SVG 2, struct, use"},
		{"symbol with viewBox", `<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol><use href="#s" width="20" height="20"/>`, 400, 1e-6, 1, "SVG 2, struct, symbol"},
		{"hidden parts", `<rect width="9" height="9"/><g display="none"><rect width="90" height="90"/></g><rect style="visibility:hidden" width="50" height="50"/><rect opacity="0" width="50" height="50"/>`, 81, 1e-6, 1, "SVG 2, render, display"},
		{"class rule against attribute", `<style>.off { fill: none } rect { stroke: none }</style><rect class="off" fill="black" width="50" height="50"/><rect width="9" height="9"/>`, 81, 1e-6, 1, "SVG 2, styling: rules win over presentation attributes"},
		{"style against class rule", `<style>.off{fill:none}</style><rect class="off" style="fill:#123" width="9" height="9"/>`, 81, 1e-6, 1, "SVG 2, styling: the style attribute wins over rules"},
	} {
		sourced(t, row.source)
		d := read(t, row.body)
		if !near(d.Area(), row.area, row.tol) || len(d.Shapes) != row.shapes {
			t.Errorf("%s: %g mm² in %d shapes, want %g in %d (%s)", row.name, d.Area(), len(d.Shapes), row.area, row.shapes, row.source)
		}
		for _, s := range d.Shapes {
			if sum := signedArea(s.Rings); !near(sum, s.Area, 1e-9) || s.Rings[0].Area() <= 0 {
				t.Errorf("%s: a shape says %g mm², its rings hold %g", row.name, s.Area, sum)
			}
		}
	}
}

func TestReadSVG_sizes(t *testing.T) {
	square := `<rect x="7" y="9" width="96" height="48"/></svg>`
	for _, row := range []struct {
		name, head string
		width      int64
		wide, high float64
		source     string
	}{
		{"96 px are an inch", `<svg xmlns="http://www.w3.org/2000/svg" width="200" height="200">`, 0, 25.4, 12.7, "SVG 2 coords, CSS Values 3, 6.2"},
		{"mm by viewBox", `<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 100 100">`, 0, 48, 24, "SVG 2 coords, viewBox"},
		{"only a width", `<svg xmlns="http://www.w3.org/2000/svg" width="50mm" viewBox="0 0 100 40">`, 0, 48, 24, "SVG 2 coords: height auto follows the viewBox"},
		{"width asked for", `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">`, 300_000, 300, 150, "ours: ReadOptions.Width"},
		{"width asked for wins", `<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm">`, 300_000, 300, 150, "ours: ReadOptions.Width"},
	} {
		sourced(t, row.source)
		d, err := ReadSVG([]byte(row.head+square), ReadOptions{Width: um(row.width)})
		if err != nil || !near(d.Width, row.wide, 1e-3) || !near(d.Height, row.high, 1e-3) {
			t.Errorf("%s: %g × %g mm, %v; want %g × %g (%s)", row.name, d.Width, d.Height, err, row.wide, row.high, row.source)
		}
	}
}

func TestReadSVG_notesWhatItMended(t *testing.T) {
	has := func(d Drawing, k FindingKind) bool {
		for _, n := range d.Notes {
			if n.Kind == k {
				return true
			}
		}
		return false
	}
	if d := read(t, `<path d="M0,0 10,10 10,0 0,10Z"/>`); !has(d, SelfCrossing) || d.Notes[0].At.to(Point{5, 5}) > 1e-6 {
		t.Errorf("a bow-tie's crossing is not noted: %+v", d.Notes)
	}
	if d := read(t, `<rect width="10" height="10"/><rect x="5" y="5" width="10" height="10"/>`); !has(d, Overlap) {
		t.Errorf("an overlap is not noted: %+v", d.Notes)
	}
	if d := read(t, `<rect width="10" height="10"/><rect x="2" y="2" width="3" height="3"/>`); !has(d, Overlap) {
		t.Errorf("a shape on a shape is not noted: %+v", d.Notes)
	}
	if d := read(t, `<rect width="10" height="10"/><path d="M0 0 L4 4 Q"/><path d="wrong"/>`); !has(d, DamagedPath) {
		t.Errorf("a damaged path is not noted: %+v", d.Notes)
	}
	if d := read(t, `<line x2="9" y2="9" stroke="black"/>`); !has(d, StrokeOutlined) || !near(d.Notes[0].Size, 1, 1e-9) {
		t.Errorf("a stroke is not noted: %+v", d.Notes)
	}
	d := read(t, `<path d="M0 0H10V10H3"/>`)
	if len(d.Opens) != 1 || !near(d.Opens[0].Gap, math.Hypot(3, 10), 1e-9) || !near(d.Area(), 85, 1e-6) {
		t.Errorf("an open outline: %+v, %g mm²", d.Opens, d.Area())
	}
	if d := read(t, `<rect width="10" height="10"/><rect x="20" width="10" height="10"/>`); len(d.Notes)+len(d.Opens) != 0 {
		t.Errorf("a clean drawing has notes: %+v", d.Notes)
	}
}

func TestDemoDrawings_areClean(t *testing.T) {
	files, _ := filepath.Glob("testdata/*.svg")
	if len(files) != 5 {
		t.Fatalf("%d demo drawings, want 5", len(files))
	}
	for _, path := range files {
		d := demo(t, path)
		if len(d.Notes) != 0 || len(d.Opens) != 0 || d.Width < 80 || d.Width > 400 {
			t.Errorf("%s: %g mm wide, notes %+v, open %+v", path, d.Width, d.Notes, d.Opens)
		}
	}
}

func demo(t testing.TB, path string) Drawing {
	t.Helper()
	svg, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	d, err := ReadSVG(svg, ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}
