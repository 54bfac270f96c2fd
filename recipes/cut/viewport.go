package cut

import (
	"math"
	"strings"

	"evenpeel/recipes/fault"
)

// viewport is the nearest viewport's size in the user units within it: what percentages refer to. A zero side is not
// known, and percentages of it are not read.
type viewport struct{ w, h float64 }

// whole is the length that 100 % means on the axis 'x', 'y' or 'd', the diagonal over √2 (SVG 2, coords, "units").
func (v viewport) whole(axis byte) float64 {
	switch axis {
	case 'x':
		return v.w
	case 'y':
		return v.h
	}
	if v.w == 0 || v.h == 0 {
		return 0
	}
	return math.Hypot(v.w, v.h) / math.Sqrt2
}

// unitPixels are CSS pixels per unit: 1 in = 96 px (SVG 2 coords, "units"; CSS Values 3, 6.2).
var unitPixels = map[string]float64{"": 1, "px": 1, "in": 96, "mm": 96 / 25.4, "cm": 960 / 25.4, "q": 24 / 25.4, "pt": 96. / 72, "pc": 16}

// length reads a length in CSS pixels; font units, and percentages of what is not known, are not ok.
func (v viewport) length(text string, axis byte) (float64, bool) {
	t := tokens{text: strings.TrimSpace(text)}
	n, ok := t.number()
	if !ok {
		return 0, false
	}
	unit := strings.ToLower(strings.TrimSpace(t.text[t.at:]))
	if unit == "%" {
		return n / 100 * v.whole(axis), v.whole(axis) > 0
	}
	per, known := unitPixels[unit]
	return n * per, known
}

func readLength(text string) (float64, bool) { return viewport{}.length(text, 'd') }

var axisOf = map[string]byte{"x": 'x', "y": 'y', "width": 'x', "height": 'y', "cx": 'x', "cy": 'y', "rx": 'x', "ry": 'y', "r": 'd', "x1": 'x', "y1": 'y', "x2": 'x', "y2": 'y'}

// lengths reads the named attributes as lengths in pixels; missing ones are 0.
func (v viewport) lengths(e *element, names ...string) ([]float64, error) {
	out := make([]float64, len(names))
	for i, name := range names {
		text, has := e.set[name]
		if !has || text == "auto" {
			continue
		}
		n, ok := v.length(text, axisOf[name])
		if !ok {
			return nil, refuse(fault.Invalid, Unsupported, "The %s %q of a %s can not be read; font units, and percentages on a page of no size, mean nothing here. Give it in mm or px.", name, short(text), e.name)
		}
		if !(math.Abs(n) <= maxNumber) {
			return nil, notFinite()
		}
		out[i] = n
	}
	return out, nil
}

// rootView maps the root's coordinates to CSS pixels, and gives its viewport and its page in pixels; sized is false where
// the file gives no physical size.
func rootView(root *element) (m matrix, view, page viewport, sized bool, err error) {
	w, okW := readLength(root.set["width"])
	h, okH := readLength(root.set["height"])
	if okW && (!(w > 0) || w > maxNumber) || okH && (!(h > 0) || h > maxNumber) {
		return m, view, page, false, refuse(fault.Invalid, NoSize, "The drawing's width or height is zero or beyond reason. Set its page size and save it again.")
	}
	text, has := root.set["viewBox"]
	if !has {
		return identity, viewport{w, h}, viewport{w, h}, okW || okH, nil
	}
	box, err := readViewBox(text)
	if err != nil {
		return m, view, page, false, err
	}
	view = viewport{box[2], box[3]}
	switch {
	case okW && okH:
	case okW:
		h = w * box[3] / box[2]
	case okH:
		w = h * box[2] / box[3]
	default:
		return translation(-box[0], -box[1]), view, view, false, nil
	}
	return fitBox(box, w, h, root.set["preserveAspectRatio"]), view, viewport{w, h}, true, nil
}

func readViewBox(text string) (view [4]float64, err error) {
	v, ok := readNumbers(text, 4)
	if !ok || len(v) != 4 || !(v[2] > 0) || !(v[3] > 0) {
		return view, refuse(fault.Invalid, NotSVG, "The drawing's viewBox %q is not four numbers with a width and height above 0. Set the page size and save it again.", short(text))
	}
	for i := range view {
		if math.Abs(v[i]) > maxNumber {
			return view, notFinite()
		}
		view[i] = v[i]
	}
	return view, nil
}

// viewport draws a nested svg or a used symbol: placed, scaled by its viewBox, and cut off at its edge unless overflow
// says otherwise (SVG 2, struct, "symbol"; render, "overflow"). Its width and height are 100 % where not given.
func (r *reader) viewport(e *element, s scope, overflow string) error {
	v, err := s.view.lengths(e, "x", "y")
	if err != nil {
		return err
	}
	if e.name == "svg" {
		s.m = s.m.times(translation(v[0], v[1]))
	}
	size := viewport{s.view.w, s.view.h}
	for _, side := range []struct {
		name string
		to   *float64
	}{{"width", &size.w}, {"height", &size.h}} {
		text, has := e.set[side.name]
		if !has || text == "auto" {
			continue
		}
		n, ok := s.view.length(text, axisOf[side.name])
		if !ok {
			n = 0
		} else if !(n > 0) {
			return nil // an empty viewport shows nothing
		} else if n > maxNumber {
			return notFinite()
		}
		*side.to = n
	}
	known := size.w > 0 && size.h > 0
	outer := s.m
	s.view = size
	if text, has := e.set["viewBox"]; has {
		if !known {
			return refuse(fault.Invalid, Unsupported, "A nested part of the drawing has a viewBox but no width and height. Ungroup it and save the drawing again.")
		}
		box, err := readViewBox(text)
		if err != nil {
			return err
		}
		s.m = s.m.times(fitBox(box, size.w, size.h, e.set["preserveAspectRatio"]))
		s.view = viewport{box[2], box[3]}
	}
	if known && overflow != "visible" && overflow != "auto" {
		edge := polygon([]float64{0, 0, size.w, 0, size.w, size.h, 0, size.h}, true)
		s.clips = append(s.clips[:len(s.clips):len(s.clips)], &clip{parts: []drawnPath{{subs: []subpath{edge}, m: outer}}})
	}
	return r.children(e, s)
}

// use draws what it names as if it stood here. Its own size stands in for that of a symbol or svg.
func (r *reader) use(e *element, s scope) error {
	target := r.ids[strings.TrimPrefix(strings.TrimSpace(e.set["href"]), "#")]
	if target == nil {
		return nil // SVG 2: a use without a target shows nothing
	}
	v, err := s.view.lengths(e, "x", "y")
	if err != nil {
		return err
	}
	if target.name == "symbol" || target.name == "svg" {
		copied := *target
		copied.set = map[string]string{}
		for k, value := range target.set {
			copied.set[k] = value
		}
		for _, k := range []string{"width", "height"} {
			if value, ok := e.set[k]; ok {
				copied.set[k] = value
			}
		}
		target = &copied
	}
	s.m = s.m.times(translation(v[0], v[1]))
	s.depth++
	return r.draw(target, s, true)
}
