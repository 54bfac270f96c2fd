package cut

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

// groups writes group codes and values, two to a pair.
func groups(pairs ...any) string {
	var b strings.Builder
	for _, p := range pairs {
		fmt.Fprintln(&b, p)
	}
	return b.String()
}

func dxfOf(entities string) []byte {
	layers := groups(0, "SECTION", 2, "TABLES", 0, "TABLE", 2, "LAYER", 70, 2, 0, "LAYER", 2, "sea", 62, 5, 6, "CONTINUOUS", 0, "LAYER", 2, "off", 62, -3, 0, "ENDTAB", 0, "ENDSEC")
	return []byte(groups(0, "SECTION", 2, "HEADER", 9, "$EXTMAX", 10, "1e20", 20, "1e20", 0, "ENDSEC") + layers +
		groups(0, "SECTION", 2, "BLOCKS", 0, "BLOCK", 0, "LINE", 10, 0, 20, 0, 11, 900, 21, 900, 0, "ENDBLK", 0, "ENDSEC") +
		groups(0, "SECTION", 2, "ENTITIES") + entities + groups(0, "ENDSEC", 0, "EOF"))
}

func line(x, y, u, v float64) string {
	return groups(0, "LINE", 8, 0, 10, x, 20, y, 11, u, 21, v)
}

func TestRead_DXFDrawings(t *testing.T) {
	quarter := math.Tan(math.Pi / 8)
	polyline := groups(0, "POLYLINE", 8, "sea", 66, 1, 70, 1, 0, "VERTEX", 10, 0, 20, 0, 42, 1, 0, "VERTEX", 10, 10, 20, 0, 42, 1, 0, "SEQEND")
	for _, row := range []struct {
		name, entities string
		area, tol      float64
		opens          int
		colours        string
		source         string
	}{
		{"triangle of lines, any order and sense", line(0, 0, 30, 0) + line(30, 40, 0, 0) + line(30, 40, 30, 0), 600, 1e-3, 0, "#000000", "Euclid I.41: 30 × 40 / 2"},
		{"circle", groups(0, "CIRCLE", 10, 5, 20, 5, 40, 5, 62, 1), 25 * math.Pi, 0.7, 0, "#ff0000", "πr²; index 1 is red"},
		{"half disc of an arc and a line", groups(0, "ARC", 10, 0, 20, 0, 40, 10, 50, 0, 51, 180) + line(-10, 0, 10, 0), 50 * math.Pi, 0.7, 0, "#000000", "πr²/2"},
		{"arc over the start of the circle", groups(0, "ARC", 10, 0, 20, 0, 40, 10, 50, 270, 51, 90) + line(0, -10, 0, 10), 50 * math.Pi, 0.7, 0, "#000000", "πr²/2: from 270° to 90° is a half"},
		{"polyline of two half circles", polyline, 25 * math.Pi, 0.7, 0, "#0000ff", "bulge 1 is a half circle; the layer's colour"},
		{"polyline with a quarter", groups(0, "LWPOLYLINE", 90, 3, 70, 1, 10, 10, 20, 0, 42, quarter, 10, 0, 20, 10, 10, 0, 20, 0), 25 * math.Pi, 0.4, 0, "#000000", "bulge tan(90°/4)"},
		{"three quarters", groups(0, "LWPOLYLINE", 90, 3, 70, 1, 10, 0, 20, 10, 42, math.Tan(3*math.Pi/8), 10, 10, 20, 0, 10, 0, 20, 0), 75 * math.Pi, 1.2, 0, "#000000", "bulge tan(270°/4): the far way round the origin"},
		{"hole", groups(0, "CIRCLE", 10, 5, 20, 5, 40, 5) + groups(0, "CIRCLE", 10, 5, 20, 5, 40, 3), 16 * math.Pi, 1, 0, "#000000", "π(5² − 3²)"},
		{"open line beside a box", line(0, 0, 9, 0) + groups(0, "LWPOLYLINE", 70, 1, 10, 20, 20, 0, 10, 30, 20, 0, 10, 30, 20, 10, 10, 20, 20, 10), 100, 1e-3, 1, "#000000", "ours: an open line is reported"},
		{"layer that is off", groups(0, "CIRCLE", 8, "off", 10, 0, 20, 0, 40, 50) + groups(0, "CIRCLE", 10, 5, 20, 5, 40, 5), 25 * math.Pi, 0.7, 0, "#000000", "DXF R12, LAYER: a negative colour is off, from memory"},
	} {
		sourced(t, row.source)
		d, err := Read(dxfOf(row.entities), ReadOptions{UnitsPerMM: 1})
		if err != nil || !near(d.Area(), row.area, row.tol) || len(d.Opens) != row.opens || strings.Join(d.Colours(), " ") != row.colours {
			t.Errorf("%s: %g mm² in %v, %d open, %v; want %g in %s, %d open (%s)", row.name, d.Area(), d.Colours(), len(d.Opens), err, row.area, row.colours, row.opens, row.source)
		}
	}
	up, err := Read(dxfOf(line(0, 0, 10, 0)+line(10, 0, 0, 20)+line(0, 20, 0, 0)), ReadOptions{UnitsPerMM: 1 / 25.4})
	if err != nil || !near(up.Width, 254, 1e-3) || !near(up.Height, 508, 1e-3) || !up.Shapes[0].Rings[0].Holds(Point{10, 400}) || up.Shapes[0].Rings[0].Holds(Point{200, 100}) {
		t.Errorf("inches, y up: %g × %g mm, %v", up.Width, up.Height, err)
	}
}

func TestRead_HPGLDrawings(t *testing.T) {
	const triangles = "IN;SP1;PA2000,1500,PD,0,1500,2000,3500,2000,1500,PU,2500,1500;SP2;PAPD4500,1500,2500,3500,2500,1500,PU,10365,7721;"
	d, err := Read([]byte(triangles), ReadOptions{UnitsPerMM: 40})
	// source: HP 7475A manual 07475-90001 p. 3-7: two right triangles with legs of 2000 units, 50 mm at 40 a millimetre.
	if err != nil || !near(d.Area(), 2*1250, 1e-3) || !near(d.Width, 112.5, 1e-3) || strings.Join(d.Colours(), " ") != "#000000 #ff0000" {
		t.Errorf("%g mm² on %g mm in %v, %v", d.Area(), d.Width, d.Colours(), err)
	}
	for _, row := range []struct {
		name, program string
		area, tol     float64
		source        string
	}{
		{"circle", "IN;SP1;PA5250,4196;CI1000;", 625 * math.Pi, 2, "HP 7475A manual p. C-4: the circle of radius 1000 about 5250, 4196"},
		{"box", "SP1;PU0,0;EA400,800;", 200, 1e-3, "HP 7475A manual, EA: 10 × 20 mm"},
		{"relative box", "SP1;PU400,400;ER-400,400;", 100, 1e-3, "HP 7475A manual, ER"},
		{"half disc", "SP1;PU400,0;PD;AA0,0,180;PA400,0;PU;", 50 * math.Pi, 0.8, "HP 7475A manual, AA: πr²/2, r 10 mm"},
		{"relative arc", "SP1;PU400,0;PD;AR-400,0,180;PA400,0;PU;", 50 * math.Pi, 0.8, "HP 7475A manual, AR"},
		{"escapes and lower case", "\x1b%-1B\x1b.I81;;17:in;sp1;pu0,0;pd400,0,400,400,0,400,0,0;pu;", 100, 1e-3, "HP-GL device control sequences, from memory"},
		{"runs joined", "SP1;PU0,0;PD400,0;PU;PA400,400;PD400,0;PU400,400;PD0,400,0,0;PU", 100, 1e-3, "ours: ends that meet are joined"},
	} {
		sourced(t, row.source)
		d, err := Read([]byte(row.program), ReadOptions{UnitsPerMM: 40})
		if err != nil || !near(d.Area(), row.area, row.tol) || len(d.Opens) != 0 {
			t.Errorf("%s: %g mm², %d open, %v; want %g (%s)", row.name, d.Area(), len(d.Opens), err, row.area, row.source)
		}
	}
}

// One drawing, written in every format that can be read, comes back the same.
func TestRead_whatWasWritten(t *testing.T) {
	d := demo(t, "testdata/badge.svg")
	f := sheet(d)
	f.UnitsPerMM = 100
	for name, content := range map[string]string{"SVG": written(t, WriteSVG, f), "DXF": written(t, WriteDXF, f), "HP-GL": written(t, WriteHPGL, f)} {
		perMM := map[string]float64{"DXF": 1, "HP-GL": 100}[name]
		back, err := Read([]byte(content), ReadOptions{UnitsPerMM: perMM})
		if err != nil || len(back.Shapes) != len(d.Shapes) || !near(back.Width, d.Width, 0.02) || !near(back.Area(), d.Area(), 2e-3*d.Area()) || len(back.Opens) != 0 {
			t.Errorf("%s: %d shapes of %d, %g mm² of %g, %v", name, len(back.Shapes), len(d.Shapes), back.Area(), d.Area(), err)
		}
		for y := 2.5; y < d.Height; y += 5 {
			for x := 2.5; x < d.Width; x += 5 {
				if held(back.Rings(), Point{x, y}) != held(d.Rings(), Point{x, y}) && !nearEdge(d.Rings(), Point{x, y}, 0.05) {
					t.Fatalf("%s: %g, %g is not on the same side", name, x, y)
				}
			}
		}
	}
}

func nearEdge(rings []Ring, p Point, d float64) bool {
	for _, r := range rings {
		for i, a := range r {
			b := r[(i+1)%len(r)]
			u, l := b.minus(a).unit()
			if s := p.minus(a).dot(u); s > -d && s < l+d && math.Abs(u.cross(p.minus(a))) < d {
				return true
			}
		}
	}
	return false
}

func TestRead_refuses(t *testing.T) {
	circle := groups(0, "CIRCLE", 10, 5, 20, 5, 40, 5)
	for _, row := range []struct {
		name    string
		content string
		o       ReadOptions
		want    fault.Reason
	}{
		{"nothing", "", ReadOptions{}, UnknownFormat},
		{"space", " \n\t", ReadOptions{}, UnknownFormat},
		{"words", "hello world, this is no drawing", ReadOptions{}, UnknownFormat},
		{"compressed", "\x1f\x8b\x08\x00\x00", ReadOptions{}, UnknownFormat},
		{"PDF", "%PDF-1.7", ReadOptions{}, UnknownFormat},
		{"PostScript", "%!PS-Adobe-3.0", ReadOptions{}, UnknownFormat},
		{"picture", "\x89PNG\r\n\x1a\n", ReadOptions{}, UnknownFormat},
		{"photograph", "\xff\xd8\xff\xe0", ReadOptions{}, UnknownFormat},
		{"archive", "PK\x03\x04", ReadOptions{}, UnknownFormat},
		{"UTF-16", "\xff\xfe<\x00s\x00", ReadOptions{}, UnknownFormat},
		{"binary DXF", "Some Program's Binary DXF\r\n\x1a\x00", ReadOptions{}, UnknownFormat},
		{"SVG with a mark at its start", "\xef\xbb\xbf" + page(`<text>x</text>`), ReadOptions{}, TextNotOutlined},
		{"DXF without a unit", string(dxfOf(circle)), ReadOptions{}, NoSize},
		{"HP-GL without a unit", "IN;SP1;CI400;", ReadOptions{}, NoSize},
		{"DXF text", string(dxfOf(groups(0, "TEXT", 10, 0, 20, 0, 1, "hi"))), ReadOptions{UnitsPerMM: 1}, TextNotOutlined},
		{"DXF spline", string(dxfOf(circle + groups(0, "SPLINE", 10, 0, 20, 0))), ReadOptions{UnitsPerMM: 1}, Unsupported},
		{"DXF block", string(dxfOf(groups(0, "INSERT", 2, "a", 10, 0, 20, 0))), ReadOptions{UnitsPerMM: 1}, Unsupported},
		{"DXF mesh", string(dxfOf(groups(0, "POLYLINE", 70, 16, 0, "VERTEX", 10, 0, 20, 0, 0, "SEQEND"))), ReadOptions{UnitsPerMM: 1}, Unsupported},
		{"DXF of nothing", string(dxfOf("")), ReadOptions{UnitsPerMM: 1}, NothingToCut},
		{"DXF of one line", string(dxfOf(line(0, 0, 1, 1))), ReadOptions{UnitsPerMM: 1}, NothingToCut},
		{"DXF not a number", string(dxfOf(groups(0, "CIRCLE", 10, "NaN", 20, 0, 40, 1))), ReadOptions{UnitsPerMM: 1}, NotACutFile},
		{"DXF beyond reason", string(dxfOf(groups(0, "CIRCLE", 10, "1e300", 20, 0, 40, 1))), ReadOptions{UnitsPerMM: 1}, NotACutFile},
		{"DXF 30 m", string(dxfOf(groups(0, "CIRCLE", 10, 0, 20, 0, 40, 15000))), ReadOptions{UnitsPerMM: 1}, TooLarge},
		{"DXF star of lines", string(dxfOf(strings.Repeat(line(0, 0, 1, 1), 1200))), ReadOptions{UnitsPerMM: 1}, TooManyPoints},
		{"HP-GL text", "IN;SP1;LBhi\x03PU;", ReadOptions{UnitsPerMM: 40}, TextNotOutlined},
		{"HP-GL scaled", "IN;SC0,1,0,1;PD1,1;", ReadOptions{UnitsPerMM: 40}, Unsupported},
		{"HP-GL turned", "IN;RO90;PD1,1;", ReadOptions{UnitsPerMM: 40}, Unsupported},
		{"HP-GL encoded", "IN;PE<=@@;", ReadOptions{UnitsPerMM: 40}, Unsupported},
		{"HP-GL of nothing", "IN;SP1;PU1,1;", ReadOptions{UnitsPerMM: 40}, NothingToCut},
		{"HP-GL broken off", "IN;SP1;PD1,1;\x00\x01", ReadOptions{UnitsPerMM: 40}, NotACutFile},
		{"no such unit", "IN;", ReadOptions{UnitsPerMM: math.NaN()}, OptionsInvalid},
		{"unit of nothing", "IN;", ReadOptions{UnitsPerMM: 1e-9}, OptionsInvalid},
	} {
		_, err := Read([]byte(row.content), row.o)
		if f, ok := fault.As(err); !ok || f.Reason != row.want {
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
		} else if row.want != OptionsInvalid && strings.Count(f.Words, ". ")+strings.Count(f.Words, "; ") < 1 {
			t.Errorf("%s: %q does not say what to do", row.name, f.Words)
		}
	}
}
