package cut

import (
	"math"
	"strings"
)

// matrix is the affine map x' = a x + c y + e, y' = b x + d y + f, in the letter order of SVG 2 (coords, "transform").
type matrix struct{ a, b, c, d, e, f float64 }

var identity = matrix{a: 1, d: 1}

func (m matrix) on(p Point) Point { return Point{m.a*p.X + m.c*p.Y + m.e, m.b*p.X + m.d*p.Y + m.f} }

// times is m·n: n first, then m.
func (m matrix) times(n matrix) matrix {
	return matrix{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b,
		m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

// stretch is the largest factor by which m lengthens a vector (its larger singular value).
func (m matrix) stretch() float64 {
	p, q := (m.a+m.d)/2, (m.b-m.c)/2
	r, s := (m.a-m.d)/2, (m.b+m.c)/2
	return math.Hypot(p, q) + math.Hypot(r, s)
}

func scaling(x, y float64) matrix     { return matrix{a: x, d: y} }
func translation(x, y float64) matrix { return matrix{a: 1, d: 1, e: x, f: y} }

func rotation(degrees float64) matrix {
	s, c := math.Sincos(degrees * math.Pi / 180)
	return matrix{a: c, b: s, c: -s, d: c}
}

// readTransform reads a transform list; ok is false where any part of it can not be read, since a shape at the wrong
// place is worse than a refusal.
func readTransform(text string) (m matrix, ok bool) {
	m = identity
	text = strings.TrimLeft(text, " \t\r\n,")
	for text != "" {
		open, shut := strings.IndexByte(text, '('), strings.IndexByte(text, ')')
		if open < 0 || shut < open {
			return m, false
		}
		name := strings.TrimSpace(text[:open])
		v, good := readNumbers(text[open+1:shut], 6)
		if !good {
			return m, false
		}
		next, good := oneTransform(name, v)
		if !good {
			return m, false
		}
		m = m.times(next)
		text = strings.TrimLeft(text[shut+1:], " \t\r\n,")
	}
	return m, true
}

func oneTransform(name string, v []float64) (matrix, bool) {
	switch n := len(v); {
	case name == "matrix" && n == 6:
		return matrix{v[0], v[1], v[2], v[3], v[4], v[5]}, true
	case name == "translate" && n == 1:
		return translation(v[0], 0), true
	case name == "translate" && n == 2:
		return translation(v[0], v[1]), true
	case name == "scale" && n == 1:
		return scaling(v[0], v[0]), true
	case name == "scale" && n == 2:
		return scaling(v[0], v[1]), true
	case name == "rotate" && n == 1:
		return rotation(v[0]), true
	case name == "rotate" && n == 3:
		return translation(v[1], v[2]).times(rotation(v[0])).times(translation(-v[1], -v[2])), true
	case name == "skewX" && n == 1:
		return matrix{a: 1, d: 1, c: math.Tan(v[0] * math.Pi / 180)}, true
	case name == "skewY" && n == 1:
		return matrix{a: 1, d: 1, b: math.Tan(v[0] * math.Pi / 180)}, true
	}
	return identity, false
}

// fitBox is the map from a viewBox into a viewport of w × h, by the algorithm of SVG 2 coords, "equivalent transform".
func fitBox(view [4]float64, w, h float64, aspect string) matrix {
	sx, sy := w/view[2], h/view[3]
	words := strings.Fields(aspect)
	align, slice := "xMidYMid", false
	if len(words) > 0 {
		align = words[0]
	}
	if len(words) > 1 {
		slice = words[1] == "slice"
	}
	if align != "none" {
		if (sx > sy) == slice {
			sy = sx
		} else {
			sx = sy
		}
	}
	m := matrix{a: sx, d: sy, e: -view[0] * sx, f: -view[1] * sy}
	switch {
	case strings.Contains(align, "xMid"):
		m.e += (w - view[2]*sx) / 2
	case strings.Contains(align, "xMax"):
		m.e += w - view[2]*sx
	}
	switch {
	case strings.Contains(align, "YMid"):
		m.f += (h - view[3]*sy) / 2
	case strings.Contains(align, "YMax"):
		m.f += h - view[3]*sy
	}
	return m
}
