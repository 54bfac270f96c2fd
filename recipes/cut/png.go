package cut

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"strconv"

	"evenpeel/recipes/fault"
)

// Limits of a preview in pixels.
const (
	leastPixels = 16
	mostPixels  = 4096
)

// Figure is the part of a drawing in one colour: what is cut from one film. At is where the corner of its own box lies
// in the whole drawing.
type Figure struct {
	Drawing
	Colour string
	At     Point
}

// Figures parts the drawing by colour, in the order in which colours first appear; each figure's box begins at 0,0.
func (d Drawing) Figures() []Figure {
	var list []Figure
	for _, colour := range d.Colours() {
		f := Figure{Colour: colour}
		b := emptyBox()
		for _, s := range d.Shapes {
			if s.Colour == colour {
				f.Shapes = append(f.Shapes, s)
				for _, p := range s.Rings[0] {
					b.take(p)
				}
			}
		}
		f.At = Point{b.minX, b.minY}
		f.Drawing = f.mapped(func(p Point) Point { return p.minus(f.At) }, false)
		f.Width, f.Height = b.maxX-b.minX, b.maxY-b.minY
		list = append(list, f)
	}
	return list
}

// WritePNG writes a preview of the figures where they lie together, on nothing, its longer side the given number of
// pixels; edges are smoothed by the exact part of each pixel that is covered. A colour that is not #rrggbb is black.
// Faults: OPTIONS_INVALID, FILE_NOT_WRITTEN.
func WritePNG(w io.Writer, figures []Figure, pixels int) error {
	b := emptyBox()
	for _, f := range figures {
		b.take(f.At)
		b.take(f.At.plus(Point{f.Width, f.Height}))
	}
	wide, high := b.maxX-b.minX, b.maxY-b.minY
	if pixels < leastPixels || pixels > mostPixels || !(max(wide, high) > 0) || !(max(wide, high) <= 2*maxExtent) {
		return refuse(fault.Invalid, OptionsInvalid, "A preview needs figures, and %d to %d pixels; these are %d figures on %d pixels. Choose another size.", leastPixels, mostPixels, len(figures), pixels)
	}
	scale := float64(pixels) / max(wide, high)
	size := image.Rect(0, 0, max(1, int(math.Ceil(wide*scale-1e-9))), max(1, int(math.Ceil(high*scale-1e-9))))
	picture := image.NewNRGBA(size)
	for _, f := range figures {
		c := coverage{w: size.Dx(), h: size.Dy(), area: make([]float32, (size.Dx()+1)*size.Dy())}
		for _, r := range f.Rings() {
			for i, p := range r {
				place := func(p Point) Point { return p.plus(f.At).minus(Point{b.minX, b.minY}).times(scale) }
				c.edge(place(p), place(r[(i+1)%len(r)]))
			}
		}
		c.paint(picture, rgb(f.Colour))
	}
	var out bytes.Buffer
	if err := png.Encode(&out, picture); err != nil {
		return refuse(fault.Broken, FileNotWritten, "The preview could not be drawn.").Because(err)
	}
	return deliver(w, &out)
}

func rgb(colour string) color.NRGBA {
	c := color.NRGBA{A: 255}
	if v, err := strconv.ParseUint(colour[min(1, len(colour)):], 16, 24); err == nil && len(colour) == 7 && colour[0] == '#' {
		c.R, c.G, c.B = uint8(v>>16), uint8(v>>8), uint8(v)
	}
	return c
}

// coverage gathers, for each pixel, by how much the running sum along its row changes there: after the sum, each holds
// the signed part of it that lies inside the outlines. Rings of a Drawing never overlap, so that it is the part covered.
type coverage struct {
	w, h int
	area []float32 // one more than w in each row
}

// edge adds the trapezium between the edge and the right-hand side of the picture, row by row and pixel by pixel.
func (c *coverage) edge(a, b Point) {
	sense := 1.0
	if a.Y > b.Y {
		a, b, sense = b, a, -1
	}
	if a.Y == b.Y {
		return
	}
	slope := (b.X - a.X) / (b.Y - a.Y)
	for row := max(int(a.Y), 0); row <= min(int(b.Y), c.h-1); row++ {
		top, foot := max(a.Y, float64(row)), min(b.Y, float64(row+1))
		if foot <= top {
			continue
		}
		x0, x1 := a.X+(top-a.Y)*slope, a.X+(foot-a.Y)*slope
		c.slice(row, min(x0, x1), max(x0, x1), -sense*(foot-top))
	}
}

// slice adds an edge of the given height within one row, from x0 to x1: each pixel is given what lies right of the edge
// within it, and those beyond the whole height.
func (c *coverage) slice(row int, x0, x1, height float64) {
	line := c.area[row*(c.w+1) : (row+1)*(c.w+1)]
	limit := float64(c.w)
	x0, x1 = min(max(x0, 0), limit), min(max(x1, 0), limit)
	passed, given := 0.0, 0.0 // height left of this pixel, and the sum so far
	for k := int(x0); k < c.w && float64(k) <= x1; k++ {
		left, right := max(x0, float64(k)), min(x1, float64(k+1))
		within := height
		if x1 > x0 {
			within = height * (right - left) / (x1 - x0)
		}
		part := passed + within*(float64(k+1)-(left+right)/2)
		line[k] += float32(part - given)
		passed, given = passed+within, part
	}
	line[min(int(x1)+1, c.w)] += float32(height - given)
}

func (c *coverage) paint(picture *image.NRGBA, with color.NRGBA) {
	for row := range c.h {
		sum := float32(0)
		for x := range c.w {
			sum += c.area[row*(c.w+1)+x]
			part := min(max(float64(sum), 0), 1)
			if part < 1e-4 {
				continue
			}
			i := picture.PixOffset(x, row)
			under := picture.Pix[i : i+4 : i+4]
			below := float64(under[3]) / 255 * (1 - part)
			alpha := part + below
			for k, v := range [3]uint8{with.R, with.G, with.B} {
				under[k] = uint8((float64(v)*part+float64(under[k])*below)/alpha + 0.5)
			}
			under[3] = uint8(alpha*255 + 0.5)
		}
	}
}
