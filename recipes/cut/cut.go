// Package cut turns a drawing into outlines in millimetres, says what a blade can and can not do with them in a
// film, works out the minutes, and writes the cut file.
//
// Read gives a Drawing from SVG, DXF R12 or HP-GL; its shapes are clean: each colour's fills and strokes are joined, so
// that rings neither cross nor overlap, and what had to be mended on the way stands in Drawing.Notes. Inspect measures
// strokes, gaps and pieces against a film's limits and names the size at which each would pass. Ordered and Estimated
// give the path of the pen-up moves and the time; WeedingModel the time to weed. File and its writers give HP-GL, SVG,
// DXF R12 and PDF; Figures and WritePNG a preview by colour.
//
// What is lost at the border: curves become chords within the tolerance asked for. Text, pictures, gradients, masks,
// filters and markers are refused, never dropped in silence; what lies off the page is kept.
//
// Room: cut
// Holds: Drawing, Figure, Shape, Ring, Limits, Finding, Motion, Estimate, WeedingModel, File
// May touch: recipes/units, recipes/fault, codeberg.org/go-pdf/fpdf
// Never: network or file access, a machine's own settings, following a link inside a drawing
package cut

import (
	"math"
)

// Point is a place in millimetres, x to the right and y down.
type Point struct{ X, Y float64 }

func (p Point) plus(q Point) Point     { return Point{p.X + q.X, p.Y + q.Y} }
func (p Point) minus(q Point) Point    { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) times(f float64) Point  { return Point{p.X * f, p.Y * f} }
func (p Point) dot(q Point) float64    { return p.X*q.X + p.Y*q.Y }
func (p Point) cross(q Point) float64  { return p.X*q.Y - p.Y*q.X }
func (p Point) length() float64        { return math.Hypot(p.X, p.Y) }
func (p Point) to(q Point) float64     { return math.Hypot(q.X-p.X, q.Y-p.Y) }
func (p Point) leftNormal() Point      { return Point{-p.Y, p.X} }
func (p Point) finite() bool           { return !math.IsNaN(p.X-p.X) && !math.IsNaN(p.Y-p.Y) }
func lerp(a, b Point, t float64) Point { return Point{a.X + (b.X-a.X)*t, a.Y + (b.Y-a.Y)*t} }
func (p Point) unit() (u Point, l float64) {
	l = p.length()
	if l == 0 {
		return Point{}, 0
	}
	return Point{p.X / l, p.Y / l}, l
}

// Ring is a closed outline in millimetres; the last point is not repeated.
type Ring []Point

// Area is the signed area in mm² (shoelace): positive where the ring runs clockwise on the screen, since y points
// down. Source: the surveyor's formula; a ring that crosses itself gives less than what it covers.
func (r Ring) Area() float64 {
	if len(r) < 3 {
		return 0
	}
	sum, origin := 0.0, r[0] // relative to a vertex, so that a small ring far away keeps its digits
	for i := 1; i+1 < len(r); i++ {
		sum += r[i].minus(origin).cross(r[i+1].minus(origin))
	}
	return sum / 2
}

// Length is the way round in millimetres.
func (r Ring) Length() float64 {
	sum := 0.0
	for i, p := range r {
		sum += p.to(r[(i+1)%len(r)])
	}
	return sum
}

// Holds reports whether p lies inside r (even-odd; a point on the edge may go either way).
func (r Ring) Holds(p Point) bool {
	inside := false
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y) {
			inside = !inside
		}
	}
	return inside
}

type box struct{ minX, minY, maxX, maxY float64 }

func emptyBox() box { return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (b *box) take(p Point) {
	b.minX, b.maxX = min(b.minX, p.X), max(b.maxX, p.X)
	b.minY, b.maxY = min(b.minY, p.Y), max(b.maxY, p.Y)
}

func (b box) holds(p Point) bool {
	return b.minX <= p.X && p.X <= b.maxX && b.minY <= p.Y && p.Y <= b.maxY
}

func (r Ring) box() box {
	b := emptyBox()
	for _, p := range r {
		b.take(p)
	}
	return b
}

// Shape is one connected filled region of one colour: Rings[0] is its outer ring, the others are its holes.
type Shape struct {
	Colour string  // "#rrggbb" where the drawing's colour could be read so, otherwise the CSS name
	Rings  []Ring  // outer ring clockwise on the screen, holes counter-clockwise
	Area   float64 // mm², holes off
}

// Open is an outline whose ends do not meet, with the place of its start.
type Open struct {
	At     Point
	Colour string
	Gap    float64 // mm from end to start
}

// Drawing is a set of shapes in millimetres; its corner is 0,0 and its box is Width × Height.
type Drawing struct {
	Width, Height float64
	Shapes        []Shape
	Opens         []Open
	Notes         []Finding // what reading met and mended: crossings, overlaps, strokes made into outlines
}

// Rings are all rings of the drawing, shape after shape.
func (d Drawing) Rings() []Ring {
	var rings []Ring
	for _, s := range d.Shapes {
		rings = append(rings, s.Rings...)
	}
	return rings
}

// Colours lists the drawing's colours in the order in which they first appear.
func (d Drawing) Colours() []string {
	var list []string
	seen := map[string]bool{}
	for _, s := range d.Shapes {
		if !seen[s.Colour] {
			seen[s.Colour] = true
			list = append(list, s.Colour)
		}
	}
	return list
}

// Area is the film that stays, in mm².
func (d Drawing) Area() float64 {
	sum := 0.0
	for _, s := range d.Shapes {
		sum += s.Area
	}
	return sum
}

// Scaled is the drawing f times as large (f above 0); notes keep their place, and their measure grows with it.
func (d Drawing) Scaled(f float64) Drawing {
	out := d.mapped(func(p Point) Point { return p.times(f) }, false)
	out.Width, out.Height = d.Width*f, d.Height*f
	for i := range out.Shapes {
		out.Shapes[i].Area = d.Shapes[i].Area * f * f
	}
	for i := range out.Opens {
		out.Opens[i].Gap *= f
	}
	for i := range out.Notes {
		out.Notes[i].Size *= f
	}
	return out
}

// Mirrored is the drawing reflected left to right, as a heat-applied film is cut on its adhesive side.
func (d Drawing) Mirrored() Drawing {
	return d.mapped(func(p Point) Point { return Point{d.Width - p.X, p.Y} }, true)
}

func (d Drawing) mapped(move func(Point) Point, reverse bool) Drawing {
	out := Drawing{Width: d.Width, Height: d.Height}
	for _, s := range d.Shapes {
		shape := Shape{Colour: s.Colour, Area: s.Area}
		for _, r := range s.Rings {
			ring := make(Ring, len(r))
			for i, p := range r {
				if reverse { // a reflection turns rings round; reversing keeps outer rings clockwise
					i = len(r) - 1 - i
				}
				ring[i] = move(p)
			}
			shape.Rings = append(shape.Rings, ring)
		}
		out.Shapes = append(out.Shapes, shape)
	}
	for _, o := range d.Opens {
		out.Opens = append(out.Opens, Open{move(o.At), o.Colour, o.Gap})
	}
	for _, n := range d.Notes {
		n.At = move(n.At)
		out.Notes = append(out.Notes, n)
	}
	return out
}
