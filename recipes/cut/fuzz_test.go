package cut

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

func FuzzReadSVG(f *testing.F) {
	files, _ := filepath.Glob("testdata/*.svg")
	for _, path := range files {
		if svg, err := os.ReadFile(path); err == nil {
			f.Add(svg, int64(20), int64(0))
		}
	}
	f.Add([]byte(page(`<path d="M0,0 10,10 10,0 0,10Z" stroke="red" stroke-linejoin="round"/>`)), int64(1), int64(50_000))
	f.Add([]byte(page(`<symbol id="a" viewBox="0 0 1 1"><circle r="1"/></symbol><use href="#a" width="4" height="1e6"/>`)), int64(0), int64(1000))
	f.Add([]byte(page(`<g transform="scale(1e-300 1e300)"><ellipse rx="1e5" ry="1e-5" stroke="#123" stroke-width="1e5"/></g>`)), int64(0), int64(7000))
	f.Fuzz(func(t *testing.T, svg []byte, tolerance, width int64) {
		d, err := ReadSVG(svg, ReadOptions{Tolerance: um(tolerance), Width: um(width)})
		if err != nil {
			if g, ok := fault.As(err); !ok || g.Words == "" || g.Room != "cut" {
				t.Fatalf("not a fault with words: %v", err)
			}
			return
		}
		if len(d.Shapes) == 0 || !(d.Area() > 0) || !(d.Width <= maxExtent*1.01) || d.Area() > d.Width*d.Height*(1+1e-6)*float64(len(d.Colours())) {
			t.Fatalf("%d shapes, %g mm² on %g × %g mm", len(d.Shapes), d.Area(), d.Width, d.Height)
		}
		for _, r := range d.Rings() {
			for _, p := range r {
				if !p.finite() {
					t.Fatalf("a point is not finite: %v", p)
				}
			}
		}
	})
}

func FuzzReadPath(f *testing.F) {
	for _, d := range []string{"M0 0 10 10z", "M125,75 a100,50 0 0110,50", "m1e308-1e308 t4 4 5-.5.5", "M1 1 A 1e200 1e-200 45 1 1 3 3", "M0,0 C30,30 -20,30 10,0 S1 2 3 4 Q 1 1 2 2 T 3 3 H4 V5"} {
		f.Add(d)
	}
	f.Fuzz(func(t *testing.T, data string) {
		const limit = 1000
		subs, commands, _, over := readPath(data, limit)
		if commands > limit+1 || over && commands <= limit {
			t.Fatalf("%d commands, over %v", commands, over)
		}
		for i := range subs {
			if !subs[i].within(maxNumber) {
				continue
			}
			points := subs[i].flattened(scaling(0.26, 0.26), 0.02)
			if len(points) > 1+maxChords*len(subs[i].pieces) || !points[0].finite() || math.IsNaN(points.Length()) {
				t.Fatalf("%q: %d points", data, len(points))
			}
		}
	})
}

func FuzzReadHPGL(f *testing.F) {
	for _, p := range []string{"IN;SP1;PA2000,1500,PD,0,1500,2000,3500,2000,1500,PU,2500,1500;", "PD;PR1,1,1,-1;PU", "PA-1234.4,1e99;PD10,10,20", "IN;VS30;FS3;PU0,0;PD40,0,40,40,0,40,0,0;PU;SP0;"} {
		f.Add([]byte(p))
	}
	f.Fuzz(func(t *testing.T, program []byte) {
		rings, _, err := ReadHPGL(program, 40, 800)
		if err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		var inside []Ring
		for _, r := range rings {
			b := r.box()
			if b.minX >= 0 && b.minY >= 0 && b.maxX <= 800 && b.maxY <= 800 {
				inside = append(inside, r)
			}
		}
		if len(inside) == 0 {
			return
		}
		sheet := File{Rings: inside, Width: 800, Height: 800, UnitsPerMM: 40} // written and read again, nothing changes
		var once, twice bytes.Buffer
		if err := WriteHPGL(&once, sheet); err != nil {
			t.Fatal(err)
		}
		if sheet.Rings, _, err = ReadHPGL(once.Bytes(), 40, 800); err != nil {
			t.Fatal(err)
		}
		if len(sheet.Rings) == 0 {
			return
		}
		if err := WriteHPGL(&twice, sheet); err != nil {
			t.Fatal(err)
		}
		if len(sheet.Rings) == len(inside) && once.String() != twice.String() {
			t.Fatalf("not stable:\n%s\n%s", once.String(), twice.String())
		}
		if strings.ContainsAny(once.String(), " .\n") {
			t.Fatalf("not in the strict form: %s", once.String())
		}
	})
}

func FuzzReadDXF(f *testing.F) {
	f.Add([]byte("0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n70\n1\n0\nVERTEX\n10\n0\n20\n0\n42\n1\n0\nVERTEX\n10\n9\n20\n0\n0\nSEQEND\n0\nENDSEC\n0\nEOF\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		rings, err := ReadDXF(text, 100, 0.01)
		if _, ok := fault.As(err); err != nil && !ok {
			t.Fatalf("not a fault: %v", err)
		}
		for _, r := range rings {
			if math.IsNaN(r.Area()) {
				t.Fatalf("a ring is not finite: %v", r)
			}
		}
	})
}

// The one door: whatever the bytes are, a clean drawing or a fault with words comes out.
func FuzzRead(f *testing.F) {
	for _, svg := range []string{
		page(`<clipPath id="c" clipPathUnits="objectBoundingBox"><circle r="1"/></clipPath><g clip-path="url(#c)"><use href="#x"/></g><path id="x" d="M0 0h9v9z" stroke="red" stroke-dasharray="1 2" stroke-linecap="round"/>`),
		page(`<style>g>.a.b, rect{fill:hsl(1,2%,3%);stroke-dasharray:5%}@media print{a{b:c}}</style><svg width="50%" viewBox="0 0 9 9" preserveAspectRatio="xMaxYMin slice"><rect class="a b" width="50%" height="3" vector-effect="non-scaling-stroke" stroke="#abcd"/></svg>`),
		page(`<symbol id="s" viewBox="0 0 1 1" overflow="visible"><clipPath id="d" clip-path="url(#d)"><rect width="1" height="1"/></clipPath><rect clip-path="url(#d)" width="2" height="1"/></symbol><use href="#s" transform="scale(-2 3)"/>`),
	} {
		f.Add([]byte(svg), int64(0), 0.0)
	}
	f.Add(dxfOf(line(0, 0, 9, 0)+line(9, 0, 0, 9)+line(0, 9, 0, 0)+groups(0, "ARC", 10, 0, 20, 0, 40, 3, 50, 10, 51, 300)), int64(0), 1.0)
	f.Add(dxfOf(groups(0, "LWPOLYLINE", 70, 1, 10, 0, 20, 0, 42, 1, 10, 9, 20, 0, 42, -0.3)+groups(0, "CIRCLE", 8, "sea", 10, 0, 20, 0, 40, 3)), int64(50_000), 0.0)
	f.Add([]byte("\x1b%-1BIN;SP1;PU0,0;PD400,0,400,400;AA0,0,90;PU;SP2;CI300;EA9,9;ER-4,400;"), int64(0), 40.0)
	f.Fuzz(func(t *testing.T, content []byte, width int64, perMM float64) {
		d, err := Read(content, ReadOptions{Width: um(width), UnitsPerMM: perMM})
		if err != nil {
			if g, ok := fault.As(err); !ok || g.Words == "" || g.Room != "cut" {
				t.Fatalf("not a fault with words: %v", err)
			}
			return
		}
		if len(d.Shapes) == 0 || !(d.Area() > 0) || !(d.Width <= maxExtent*1.01) || d.Area() > d.Width*d.Height*(1+1e-6)*float64(len(d.Colours())) {
			t.Fatalf("%d shapes, %g mm² on %g × %g mm", len(d.Shapes), d.Area(), d.Width, d.Height)
		}
		for _, r := range d.Rings() {
			for _, p := range r {
				if !p.finite() {
					t.Fatalf("a point is not finite: %v", p)
				}
			}
		}
	})
}

func FuzzStyleSheet(f *testing.F) {
	for _, css := range []string{".a{fill:red}", "@media x{g{fill:red}}", "a>b c,#d.e{fill:none!important}/* x */", "@font-face{x:y}rect{stroke:rgb(1 2 3/4%)}", "a{b:url(#c)}"} {
		f.Add(css)
	}
	f.Fuzz(func(t *testing.T, css string) {
		rules, err := readStyleSheet(css)
		if _, ok := fault.As(err); err != nil && !ok {
			t.Fatalf("not a fault: %v", err)
		}
		inner := &element{name: "rect", id: "d", classes: []string{"a", "e"}, set: map[string]string{}}
		inner.parent = &element{name: "g", classes: []string{"b"}, set: map[string]string{}}
		r := reader{rules: rules}
		if _, err := r.styled(inner, plainLook, viewport{}); err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
		}
	})
}
