package cut

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"
)

// dense is a drawing of about 20 000 points: 400 wavy rings with a hole each.
func dense(b *testing.B) []byte {
	b.Helper()
	var s strings.Builder
	for i := range 400 {
		cx, cy := float64(i%20)*20+10, float64(i/20)*20+10
		s.WriteString(`<path fill-rule="evenodd" d="`)
		for _, r := range []float64{9, 6} {
			for k := range 25 {
				a := float64(k) * 2 * math.Pi / 25
				fmt.Fprintf(&s, "%c%.3f %.3f", "ML"[min(k, 1)], cx+r*math.Cos(a)*(1+0.03*float64(k%2)), cy+r*math.Sin(a)*(1+0.03*float64(k%2)))
			}
			s.WriteString("Z")
		}
		s.WriteString(`"/>`)
	}
	return []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">` + s.String() + `</svg>`)
}

func points(d Drawing) (n int) {
	for _, r := range d.Rings() {
		n += len(r)
	}
	return n
}

func BenchmarkReadSVG(b *testing.B) {
	badge, err := os.ReadFile("testdata/badge.svg")
	if err != nil {
		b.Fatal(err)
	}
	for name, svg := range map[string][]byte{"badge": badge, "20000points": dense(b)} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(svg)))
			for b.Loop() {
				if _, err := ReadSVG(svg, ReadOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkInspect(b *testing.B) {
	d, err := ReadSVG(dense(b), ReadOptions{})
	if err != nil {
		b.Fatal(err)
	}
	for name, d := range map[string]Drawing{"badge": demo(b, "testdata/badge.svg"), fmt.Sprintf("%dpoints", points(d)): d} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				Inspect(d, Limits{MinStroke: 800, MinGap: 600, SmallestPiece: 4})
			}
		})
	}
}

func BenchmarkOrdered(b *testing.B) {
	for _, n := range []int{173, 1000, 5000} {
		var rings []Ring
		for i := range n {
			k := i * 7919 % n
			rings = append(rings, square(float64(k%70)*10, float64(k/70)*10, 8))
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				Ordered(rings, Point{})
			}
		})
	}
}

func BenchmarkWriteHPGL(b *testing.B) {
	f := sheet(demo(b, "testdata/scatter.svg"))
	f.BladeOffset, f.Overcut = 250, 500
	for b.Loop() {
		if err := WriteHPGL(io.Discard, f); err != nil {
			b.Fatal(err)
		}
	}
}

// The worst that the limits let in: one tangled path of a quarter of a megabyte.
func BenchmarkReadSVG_tangle(b *testing.B) {
	var d bytes.Buffer
	seed := uint32(1)
	for i := 0; d.Len() < 250<<10; i++ {
		seed = seed*1664525 + 1013904223
		fmt.Fprintf(&d, "%c%d %d", "ML"[min(i, 1)], seed>>8%1000, seed>>16%1000)
	}
	svg := []byte(page(`<path d="` + d.String() + `"/>`))
	for b.Loop() {
		if _, err := ReadSVG(svg, ReadOptions{Width: 100_000}); err == nil {
			b.Fatal("a tangle was read")
		}
	}
}

// The same sheet as it comes in from each format.
func BenchmarkRead(b *testing.B) {
	f := sheet(demo(b, "testdata/scatter.svg"))
	for name, write := range map[string]func(io.Writer, File) error{"SVG": WriteSVG, "DXF": WriteDXF, "HPGL": WriteHPGL} {
		content := []byte(written(b, write, f))
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(content)))
			for b.Loop() {
				if _, err := Read(content, ReadOptions{UnitsPerMM: 40}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkWritePNG(b *testing.B) {
	figures := demo(b, "testdata/layered.svg").Figures()
	for b.Loop() {
		if err := WritePNG(io.Discard, figures, 800); err != nil {
			b.Fatal(err)
		}
	}
}

// Twelve copies of each demo drawing on a sheet: the blade's way is reported beside the time, as drawn and as ordered.
func BenchmarkOrdered_demo(b *testing.B) {
	for _, name := range []string{"badge", "layered", "lettering", "numbers", "scatter"} {
		d := demo(b, "testdata/"+name+".svg")
		var rings []Ring
		for i := range 12 {
			at := Point{float64(i%3) * (d.Width + 5), float64(i/3) * (d.Height + 5)}
			for _, r := range d.Rings() {
				moved := make(Ring, len(r))
				for k, p := range r {
					moved[k] = p.plus(at)
				}
				rings = append(rings, moved)
			}
		}
		b.Run(name, func(b *testing.B) {
			var way float64
			for b.Loop() {
				way = Travel(Ordered(rings, Point{}), Point{})
			}
			b.ReportMetric(Travel(rings, Point{}), "mm-drawn")
			b.ReportMetric(way, "mm-ordered")
		})
	}
}
