package cut

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

func written(t testing.TB, write func(io.Writer, File) error, f File) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b, f); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// sheet is a drawing placed on a sheet with a margin of 10 mm.
func sheet(d Drawing) File {
	f := File{Width: d.Width + 20, Height: d.Height + 20, UnitsPerMM: 40, Title: "lumorin <&>"}
	for _, r := range d.Rings() {
		moved := make(Ring, len(r))
		for i, p := range r {
			moved[i] = p.plus(Point{10, 10})
		}
		f.Rings = append(f.Rings, moved)
	}
	return f
}

func TestReadHPGL_manual(t *testing.T) {
	const absolute = "IN;SP1;PA2000,1500,PD,0,1500,2000,3500,2000,1500,PU,2500,1500;PAPD4500,1500,2500,3500,2500,1500,PU,10365,7721;"
	const relative = "IN;SP1;PA2000,1500,PD,PR-2000,0,2000,2000,0,-2000,PU,500,0;PR;PD;PR2000,0,-2000,2000,0,-2000;PU;"
	for _, row := range []struct{ program, source string }{
		{absolute, "HP 7475A manual 07475-90001 p. 3-7: two triangles"},
		{relative, "HP 7475A manual 07475-90001 p. 3-10: the same, relative"},
	} {
		sourced(t, row.source)
		rings, open, err := ReadHPGL([]byte(row.program), 1, 0)
		if err != nil || len(rings) != 2 || len(open) != 0 {
			t.Fatalf("%d rings, %d open, %v (%s)", len(rings), len(open), err, row.source)
		}
		if sum := rings[0].Length() + rings[1].Length(); !near(sum, 13656.85, 0.01) {
			t.Errorf("pen down over %g units, want 13656.85 (%s)", sum, row.source)
		}
		if rings[0][1] != (Point{0, -1500}) || rings[1][0] != (Point{2500, -1500}) {
			t.Errorf("got %v", rings)
		}
	}
	// source: same manual, p. 3-4: -1234.4 becomes -1235, 1234.9 becomes 1234; p. 3-2: an odd last number moves nothing.
	_, open, err := ReadHPGL([]byte("PA-1234.4,1234.9;PD10,10,20;PU;"), 1, 0)
	if err != nil || len(open) != 1 || open[0][0] != (Point{-1235, -1234}) || len(open[0]) != 2 {
		t.Errorf("truncation or odd number: %v %v", open, err)
	}
	// source: same manual, pp. 2-2 and 2-5: 10 365 units are 257.8 mm, so that 0.025 mm a unit is 1.3 mm long.
	_, open, _ = ReadHPGL([]byte("PU0,0;PD10365,0;PU;"), 10365/257.8, 0)
	if l := length(open[0]); !near(l, 257.8, 1e-9) {
		t.Errorf("10 365 units are %g mm, want 257.8", l)
	}
	for _, bad := range []string{"hello world", "PA1,2;\x00", "1,2"} {
		if _, _, err := ReadHPGL([]byte(bad), 40, 0); !hasReason(err, NotACutFile) {
			t.Errorf("%q: %v", bad, err)
		}
	}
	if _, _, err := ReadHPGL(nil, 0, 0); !hasReason(err, OptionsInvalid) {
		t.Errorf("no unit: %v", err)
	}
	if _, _, err := ReadHPGL(make([]byte, 9<<20), 40, 0); !hasReason(err, TooLarge) {
		t.Errorf("9 MiB: %v", err)
	}
}

func hasReason(err error, want fault.Reason) bool {
	f, ok := fault.As(err)
	return ok && f.Reason == want
}

func TestWriteHPGL_isPortableAndComesBack(t *testing.T) {
	f := sheet(demo(t, "testdata/lettering.svg"))
	f.Speed, f.Force = 300, 3
	text := written(t, WriteHPGL, f)
	// source: HP 7475A manual 07475-90001, pp. 3-2 to 3-4: the form that every parser of the language takes.
	if !regexp.MustCompile(`^([A-Z]{2}(-?\d+(,-?\d+)*)?;)+$`).MatchString(text) {
		t.Errorf("not in the strict form: %.80s", text)
	}
	if !strings.HasPrefix(text, "IN;SP1;VS30;FS3;PU") || !strings.HasSuffix(text, "PU;SP0;") {
		t.Errorf("begins %.40s, ends %s", text, text[len(text)-20:])
	}
	for _, instruction := range strings.Split(text, ";") {
		if len(instruction) > 1000 {
			t.Fatalf("an instruction of %d bytes overruns the buffer of 1024 bytes", len(instruction))
		}
	}
	rings, open, err := ReadHPGL([]byte(text), 40, f.Height)
	if err != nil || len(open) != 0 || len(rings) != len(f.Rings) {
		t.Fatalf("%d rings of %d, %d open, %v", len(rings), len(f.Rings), len(open), err)
	}
	for i, r := range rings {
		if !near(r.Area(), f.Rings[i].Area(), 0.02*r.Length()) || r[0].to(f.Rings[i][0]) > 0.02 {
			t.Errorf("ring %d: %g mm² at %v, want %g at %v", i, r.Area(), r[0], f.Rings[i].Area(), f.Rings[i][0])
		}
	}
}

func TestWriteHPGL_calibrationOffsetAndPasses(t *testing.T) {
	f := File{Rings: []Ring{square(10, 10, 20)}, Width: 50, Height: 50, UnitsPerMM: 40, UnitsPerMMY: 41, Passes: 2}
	if got, want := written(t, WriteHPGL, f), "IN;SP1;PU400,1640;PD1200,1640,1200,820,400,820,400,1640;PU400,1640;PD1200,1640,1200,820,400,820,400,1640;PU;SP0;"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	f.UnitsPerMM, f.UnitsPerMMY, f.Passes, f.BladeOffset, f.Overcut = 1000, 0, 1, 500, 1000
	f.Width, f.Height = 32, 32
	_, open, err := ReadHPGL([]byte(written(t, WriteHPGL, f)), 1000, 32)
	if err != nil || len(open) != 1 {
		t.Fatalf("%d runs, %v", len(open), err)
	}
	// source: shared reference physics C.4: swivel ahead by d, an arc d·φ at each corner, then the overcut.
	if got, want := length(open[0]), 4*20+4*0.5*math.Pi/2+1; !near(got, want, 0.04) {
		t.Errorf("the swivel runs %g mm, want %g", got, want)
	}
}

func TestWriters_refuse(t *testing.T) {
	good := File{Rings: []Ring{square(0, 0, 20)}, Width: 50, Height: 50, UnitsPerMM: 40}
	for _, row := range []struct {
		name   string
		change func(*File)
		want   fault.Reason
	}{
		{"no rings", func(f *File) { f.Rings = nil }, OptionsInvalid},
		{"no size", func(f *File) { f.Width = 0 }, OptionsInvalid},
		{"outside the sheet", func(f *File) { f.Rings = []Ring{square(40, 0, 20)} }, OutOfRange},
		{"not a number", func(f *File) { f.Rings = []Ring{{{math.NaN(), 0}, {1, 1}}} }, OutOfRange},
		{"no unit", func(f *File) { f.UnitsPerMM = 0 }, OptionsInvalid},
		{"beyond 16 bits", func(f *File) { f.Width, f.Rings = 900, []Ring{square(850, 0, 20)} }, OutOfRange},
		{"blade leaves the sheet", func(f *File) { f.BladeOffset = 500; f.Rings = []Ring{{{20, 0}, {20, 20}, {0, 20}, {0, 0}}} }, OutOfRange},
	} {
		f := good
		row.change(&f)
		if err := WriteHPGL(io.Discard, f); !hasReason(err, row.want) {
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
		}
	}
	long := File{Rings: []Ring{square(0, 0, 20)}, Width: 6000, Height: 50}
	if err := WritePDF(io.Discard, long); !hasReason(err, OutOfRange) {
		t.Errorf("a page of 6 m: %v", err)
	}
	for _, write := range []func(io.Writer, File) error{WriteHPGL, WriteSVG, WriteDXF, WritePDF} {
		if err := write(broken{}, good); !hasReason(err, FileNotWritten) {
			t.Errorf("a full disk: %v", err)
		}
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestWriteSVG_comesBack(t *testing.T) {
	for _, path := range []string{"testdata/badge.svg", "testdata/numbers.svg"} {
		d := demo(t, path)
		back, err := ReadSVG([]byte(written(t, WriteSVG, sheet(d))), ReadOptions{})
		if err != nil || len(back.Notes) != 0 || len(back.Shapes) != len(d.Shapes) || !near(back.Area(), d.Area(), 1e-3*d.Area()) || !near(back.Width, d.Width, 1e-3) {
			t.Errorf("%s: %d shapes of %d, %g mm² of %g, %v %+v", path, len(back.Shapes), len(d.Shapes), back.Area(), d.Area(), err, back.Notes)
		}
	}
}

func TestWriteDXF_form(t *testing.T) {
	text := written(t, WriteDXF, File{Rings: []Ring{{{1, 2}, {3, 2}, {3, 5}}}, Width: 10, Height: 10})
	// source: the R12 form that public readers accept, as in shared reference physics C.6 (ezdxf r12writer, commit 5ffc690).
	want := "999 millimetres 0 SECTION 2 HEADER 9 $ACADVER 1 AC1009 0 ENDSEC 0 SECTION 2 ENTITIES " +
		"0 POLYLINE 8 CUT 66 1 70 1 0 VERTEX 8 CUT 70 0 10 1 20 8 0 VERTEX 8 CUT 70 0 10 3 20 8 0 VERTEX 8 CUT 70 0 10 3 20 5 0 SEQEND 0 ENDSEC 0 EOF"
	if got := strings.Join(strings.Fields(text), " "); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	f := sheet(demo(t, "testdata/badge.svg"))
	rings, err := ReadDXF([]byte(written(t, WriteDXF, f)), f.Height, 0.02)
	if err != nil || len(rings) != len(f.Rings) {
		t.Fatalf("%d rings of %d, %v", len(rings), len(f.Rings), err)
	}
	for i, r := range rings {
		if len(r) != len(f.Rings[i]) || r[0].to(f.Rings[i][0]) > 1e-3 || !near(r.Area(), f.Rings[i].Area(), 1e-3) {
			t.Errorf("ring %d does not come back", i)
		}
	}
}

func TestReadDXF_bulge(t *testing.T) {
	polyline := func(v ...string) []byte {
		return []byte("0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n" + strings.Join(v, "") + "0\nSEQEND\n0\nENDSEC\n0\nEOF\n")
	}
	vertex := func(x, y, bulge float64) string {
		return fmt.Sprintf("0\nVERTEX\n8\n0\n10\n%g\n20\n%g\n42\n%g\n", x, y, bulge)
	}
	// source: shared reference physics C.6: bulge = tan(sweep/4), +1 is a counter-clockwise half circle.
	rings, err := ReadDXF(polyline(vertex(0, 0, 1), vertex(10, 0, 1)), 100, 0.001)
	if err != nil || len(rings) != 1 || !near(math.Abs(rings[0].Area()), 25*math.Pi, 0.05) {
		t.Fatalf("two half circles: %v %v", rings, err)
	}
	if b := rings[0].box(); !near(b.maxY, 105, 1e-3) || !near(b.minY, 95, 1e-3) {
		t.Errorf("the circle's box is %+v", b)
	}
	quarter, _ := ReadDXF(polyline(vertex(10, 0, math.Tan(math.Pi/8)), vertex(0, 10, 0), vertex(0, 0, 0)), 0, 0.001)
	if len(quarter) != 1 || !near(math.Abs(quarter[0].Area()), 25*math.Pi, 0.05) {
		t.Errorf("a quarter disc of radius 10: %v", quarter)
	}
	for name, text := range map[string]string{"odd lines": "0\nSECTION\n2", "no end": "0\nSECTION\n2\nENTITIES\n", "code": "x\ny\n0\nEOF\n", "bulge": string(polyline(vertex(0, 0, math.Inf(1)), vertex(1, 1, 0))), "empty": ""} {
		if _, err := ReadDXF([]byte(text), 0, 0.01); !hasReason(err, NotACutFile) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestWritePDF_isFullSizeWithItsBar(t *testing.T) {
	f := File{Rings: []Ring{square(10, 20, 30)}, Width: 200, Height: 300, Title: "Größe"}
	text := written(t, WritePDF, f)
	if again := written(t, WritePDF, f); again != text {
		t.Error("the same outlines gave two different files")
	}
	const pt = 72 / 25.4 // source: ISO 32000-1, 8.3.2.3: user space is 1/72 in
	box := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindStringSubmatch(text)
	if box == nil || !near(parsed(box[1]), 200*pt, 0.01) || !near(parsed(box[2]), (300+barFoot)*pt, 0.01) {
		t.Errorf("page %v", box)
	}
	content := inflated(t, text)
	if want := fmt.Sprintf("%.2f %.2f m", 10*pt, (300+barFoot-20)*pt); !strings.Contains(content, want) {
		t.Errorf("the outline does not start at %s:\n%s", want, content)
	}
	longest := 0.0
	for _, m := range regexp.MustCompile(`([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S`).FindAllStringSubmatch(content, -1) {
		longest = max(longest, math.Hypot(parsed(m[3])-parsed(m[1]), parsed(m[4])-parsed(m[2])))
	}
	if !near(longest, 100*pt, 0.02) {
		t.Errorf("the bar is %g mm long", longest/pt)
	}
	wide := written(t, WritePDF, File{Rings: []Ring{square(10, 20, 30)}, Width: 900, Height: 60})
	if box := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindStringSubmatch(wide); box == nil || !near(parsed(box[1]), 900*pt, 0.01) {
		t.Errorf("wide page %v", box)
	}
}

func parsed(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v }

func inflated(t *testing.T, pdf string) string {
	t.Helper()
	all := ""
	for _, part := range strings.Split(pdf, "stream\n")[1:] {
		if r, err := zlib.NewReader(strings.NewReader(part)); err == nil {
			text, _ := io.ReadAll(r)
			all += string(text)
		}
	}
	return all
}

// The proof that what is cut is the mirror image: a lopsided drawing goes out mirrored, the file is read back, and only
// the reflection of the drawing covers the same places.
func TestMirror_provedFromTheCutFile(t *testing.T) {
	d := demo(t, "testdata/numbers.svg")
	f := sheet(d.Mirrored())
	rings, _, err := ReadHPGL([]byte(written(t, WriteHPGL, f)), f.UnitsPerMM, f.Height)
	if err != nil {
		t.Fatal(err)
	}
	straight := sheet(d)
	agree, differ := 0, 0
	for y := 1.5; y < f.Height; y += 4 {
		for x := 1.5; x < f.Width; x += 4 {
			p := Point{x, y}
			cut := held(rings, p)
			if cut == held(straight.Rings, Point{f.Width - x, y}) {
				agree++
			}
			if cut != held(straight.Rings, p) {
				differ++
			}
		}
	}
	if all := agree + differ; float64(agree) < 0.995*float64(agree+differ)-float64(differ) || agree < 3500 || differ < agree/5 {
		t.Errorf("of %d places %d agree with the reflection, %d differ from the drawing itself", all, agree, differ)
	}
}

func held(rings []Ring, p Point) bool {
	inside := false
	for _, r := range rings {
		inside = inside != r.Holds(p)
	}
	return inside
}
