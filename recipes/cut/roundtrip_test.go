package cut

import (
	"io"
	"strings"
	"testing"
)

// drawnPDF reads back the outlines of our own PDF: move, line and close operators, in points with y up.
func drawnPDF(t *testing.T, text string, height float64) []Ring {
	t.Helper()
	const pt = 72 / 25.4
	var rings []Ring
	var ring Ring
	for _, line := range strings.FieldsFunc(inflated(t, text), func(r rune) bool { return r == '\n' || r == '\r' }) {
		words := strings.Fields(line)
		switch n := len(words); {
		case n == 3 && (words[2] == "m" || words[2] == "l"):
			if words[2] == "m" {
				ring = nil
			}
			ring = append(ring, Point{parsed(words[0]) / pt, height - parsed(words[1])/pt})
		case n == 1 && words[0] == "h":
			rings = append(rings, ring)
		}
	}
	return rings
}

// Every format gives back the outlines that went in, in their order, to within its own rounding; the machine's settings
// go with them in numbers or in words.
func TestWriters_roundTrip(t *testing.T) {
	for _, path := range []string{"badge", "lettering", "numbers", "layered"} {
		f := sheet(demo(t, "testdata/"+path+".svg"))
		f.Rings = Ordered(f.Rings, Point{})
		f.Speed, f.Force, f.Passes = 250, 4, 1
		svg, dxf, pdf, hpgl := written(t, WriteSVG, f), written(t, WriteDXF, f), written(t, WritePDF, f), written(t, WriteHPGL, f)
		root, err := readMarkup([]byte(svg))
		if err != nil {
			t.Fatal(err)
		}
		subs, _, ok, _ := readPath(root.kids[0].set["d"], maxCommands)
		var fromSVG []Ring
		for i := range subs {
			fromSVG = append(fromSVG, subs[i].flattened(identity, 1))
		}
		fromDXF, err := ReadDXF([]byte(dxf), f.Height, 0.01)
		if err != nil || !ok {
			t.Fatal(err, ok)
		}
		fromHPGL, _, err := ReadHPGL([]byte(hpgl), f.UnitsPerMM, f.Height)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range []struct {
			name  string
			rings []Ring
			tol   float64
		}{
			{"SVG", fromSVG, 1e-4}, {"DXF", fromDXF, 1e-4},
			{"PDF", drawnPDF(t, pdf, f.Height+barFoot), 0.005}, // a hundredth of a point
			{"HP-GL", fromHPGL, 0.03},                          // half a unit of 0.025 mm either way, then truncation to whole ones
		} {
			if len(row.rings) != len(f.Rings) {
				t.Errorf("%s %s: %d outlines, want %d", path, row.name, len(row.rings), len(f.Rings))
				continue
			}
			for i, r := range row.rings {
				for _, p := range r {
					if !nearEdge(f.Rings[i:i+1], p, row.tol) {
						t.Fatalf("%s %s: outline %d passes %v, which is not on the one that was written", path, row.name, i+1, p)
					}
				}
				if !near(r.Length(), f.Rings[i].Length(), row.tol*float64(len(f.Rings[i]))+1e-6) {
					t.Errorf("%s %s: outline %d is %g mm long, want %g", path, row.name, i+1, r.Length(), f.Rings[i].Length())
				}
			}
		}
		const words = "Set at the machine: speed 250 mm/s, force step 4."
		if !strings.Contains(svg, "<desc>"+words+"</desc>") || !strings.Contains(dxf, "999\n"+words+"\n") || !strings.Contains(inflated(t, pdf), words) || !strings.Contains(hpgl, "VS25;FS4;") {
			t.Errorf("%s: the settings do not go with the outlines", path)
		}
	}
}

func TestWriteHPGL_longCuts(t *testing.T) {
	// source: HP PCL 5 Technical Reference Manual: HP-GL/2 numbers reach 2³⁰; 3 m at 40 a millimetre are 120 000 units.
	f := File{Rings: []Ring{square(2900, 10, 80)}, Width: 3000, Height: 100, UnitsPerMM: 40}
	if err := WriteHPGL(io.Discard, f); !hasReason(err, OutOfRange) {
		t.Errorf("beyond 16 bits: %v", err)
	}
	f.Long = true
	rings, _, err := ReadHPGL([]byte(written(t, WriteHPGL, f)), 40, f.Height)
	if err != nil || len(rings) != 1 || rings[0][0] != (Point{2900, 10}) || !near(rings[0].Area(), 6400, 1e-6) {
		t.Errorf("%v %v", rings, err)
	}
}

// The mirror is proved in every format that is read back: each ring written from the mirrored drawing is the reflection.
func TestMirror_provedInEveryFormat(t *testing.T) {
	d := demo(t, "testdata/numbers.svg")
	f := sheet(d.Mirrored())
	straight := sheet(d)
	for name, content := range map[string]string{"SVG": written(t, WriteSVG, f), "DXF": written(t, WriteDXF, f)} {
		back, err := Read([]byte(content), ReadOptions{UnitsPerMM: 1})
		if err != nil {
			t.Fatal(err)
		}
		agree, differ := 0, 0
		for y := 1.5; y < d.Height; y += 4 {
			for x := 1.5; x < d.Width; x += 4 {
				cut := held(back.Rings(), Point{x, y})
				if cut != held(straight.Rings, Point{f.Width - 10 - x, y + 10}) && !nearEdge(back.Rings(), Point{x, y}, 0.1) {
					t.Fatalf("%s: %g, %g is not the reflection", name, x, y)
				}
				if agree++; cut != held(straight.Rings, Point{10 + x, y + 10}) {
					differ++
				}
			}
		}
		if differ < agree/10 {
			t.Errorf("%s: of %d places only %d differ from the drawing itself: the test can not tell", name, agree, differ)
		}
	}
}
