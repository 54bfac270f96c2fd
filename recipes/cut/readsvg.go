package cut

import (
	"math"
	"strings"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// ReadOptions says how a drawing is read.
type ReadOptions struct {
	Tolerance units.Micrometres // largest distance between a curve and its chords on the material; 0 is 20 µm, 1 to 1000
	Width     units.Micrometres // width of the drawing's box, 1 mm to 20 m; 0 takes the physical size from the file
}

const defaultTolerance = 20

// ReadSVG reads an SVG drawing into clean shapes in millimetres, its box moved to 0,0.
//
// It reads paths, basic shapes, groups, use and symbol, nested transforms, viewBox with preserveAspectRatio, CSS
// lengths at 96 px an inch, plain colours from attributes, style and simple class rules (SVG 2; CSS Values 3). Strokes
// become outlines and shapes of one colour are joined; both are noted.
//
// Faults: NOT_SVG, TOO_LARGE, NO_SIZE (ask for a width), HOSTILE, NOT_FINITE, TOO_MANY_POINTS, TEXT_NOT_OUTLINED,
// UNSUPPORTED, NOTHING_TO_CUT, OPTIONS_INVALID.
func ReadSVG(svg []byte, o ReadOptions) (Drawing, error) {
	var fields fault.Fields
	if o.Tolerance < 0 || o.Tolerance > 1000 {
		fields.Add("tolerance", "is %d µm; it must be 1 to 1000, or 0 for %d", o.Tolerance, defaultTolerance)
	}
	if o.Width != 0 && (o.Width < 1000 || o.Width > maxExtent*1000) {
		fields.Add("width", "is %d µm; it must be 1 mm to 20 m, or 0 to take the size from the file", o.Width)
	}
	if err := fields.Fault("cut", OptionsInvalid, "The drawing can not be read with these options."); err != nil {
		return Drawing{}, err
	}
	root, err := readMarkup(svg)
	if err != nil {
		return Drawing{}, err
	}
	r := reader{ids: map[string]*element{}}
	if err := r.prepare(root); err != nil {
		return Drawing{}, err
	}
	m, sized, err := rootMatrix(root)
	if err != nil {
		return Drawing{}, err
	}
	if !sized && o.Width == 0 {
		return Drawing{}, refuse(fault.Invalid, NoSize, "The drawing does not say how large it is. Enter the width it shall have.")
	}
	if err := r.children(root, m, plainLook, 0); err != nil {
		return Drawing{}, err
	}
	return r.drawing(o)
}

// reader walks the elements and gathers what is drawn.
type reader struct {
	ids      map[string]*element
	rules    []styleRule
	drawn    []drawnPath
	commands int
	made     int // elements drawn, copies by use counted
	work     int
	notes    notes
}

// drawnPath is one path with the map from its own coordinates to CSS pixels of the page.
type drawnPath struct {
	subs    []subpath
	m       matrix
	look    look
	damaged bool
}

func (r *reader) prepare(e *element) error {
	if e.id != "" && r.ids[e.id] == nil {
		r.ids[e.id] = e
	}
	if e.name == "style" {
		rules, err := readStyleSheet(e.text)
		if err != nil {
			return err
		}
		if len(r.rules)+len(rules) > 2000 {
			return refuse(fault.TooLarge, TooLarge, "The drawing's style sheet is too long. Save it with presentation attributes.")
		}
		r.rules = append(r.rules, rules...)
	}
	for _, k := range e.kids {
		if err := r.prepare(k); err != nil {
			return err
		}
	}
	return nil
}

// rootMatrix maps the root's coordinates to CSS pixels; sized is false where the file gives no physical size.
func rootMatrix(root *element) (m matrix, sized bool, err error) {
	w, okW := readLength(root.set["width"])
	h, okH := readLength(root.set["height"])
	if okW && (!(w > 0) || w > maxNumber) || okH && (!(h > 0) || h > maxNumber) {
		return m, false, refuse(fault.Invalid, NoSize, "The drawing's width or height is zero or beyond reason. Set its page size and save it again.")
	}
	text, has := root.set["viewBox"]
	if !has {
		return identity, okW || okH, nil
	}
	view, err := readViewBox(text)
	if err != nil {
		return m, false, err
	}
	switch {
	case okW && okH:
	case okW:
		h = w * view[3] / view[2]
	case okH:
		w = h * view[2] / view[3]
	default:
		return translation(-view[0], -view[1]), false, nil
	}
	return fitBox(view, w, h, root.set["preserveAspectRatio"]), true, nil
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

func notFinite() error {
	return refuse(fault.Invalid, NotFinite, "A number in the drawing is not finite, or beyond one million. Move the drawing onto its page and save it again.")
}

func (r *reader) children(e *element, m matrix, l look, depth int) error {
	for _, k := range e.kids {
		if err := r.draw(k, m, l, depth+1, false); err != nil {
			return err
		}
	}
	return nil
}

// draw walks one element; used tells that a use element asked for it, which alone shows a symbol.
func (r *reader) draw(e *element, m matrix, parent look, depth int, used bool) error {
	if depth > maxDepth {
		return refuse(fault.TooLarge, TooLarge, "The drawing has groups or copies more than %d deep. Ungroup it.", maxDepth)
	}
	if r.made++; r.made > maxTokens {
		return refuse(fault.TooLarge, TooLarge, "The drawing has more than %d parts, copies counted. Join or simplify it.", maxTokens)
	}
	if e.name == "defs" || e.name == "style" || e.name == "symbol" && !used {
		return nil
	}
	l, shown, transform, err := r.styled(e, parent)
	if err != nil || !shown {
		return err
	}
	t, ok := readTransform(transform)
	if !ok {
		return refuse(fault.Invalid, NotSVG, "The transform %q can not be read. Apply the transforms and save the drawing again.", short(transform))
	}
	m = m.times(t)
	switch e.name {
	case "g", "switch":
		return r.children(e, m, l, depth)
	case "svg", "symbol":
		return r.viewport(e, m, l, depth)
	case "use":
		return r.use(e, m, l, depth)
	}
	return r.shape(e, m, l)
}

func (r *reader) viewport(e *element, m matrix, l look, depth int) error {
	v, err := lengths(e, "x", "y")
	if err != nil {
		return err
	}
	if e.name == "svg" {
		m = m.times(translation(v[0], v[1]))
	}
	text, has := e.set["viewBox"]
	w, okW := readLength(e.set["width"])
	h, okH := readLength(e.set["height"])
	if has && okW && okH {
		if !(w > 0) || !(h > 0) || w > maxNumber || h > maxNumber {
			return nil // an empty viewport shows nothing
		}
		view, err := readViewBox(text)
		if err != nil {
			return err
		}
		m = m.times(fitBox(view, w, h, e.set["preserveAspectRatio"]))
	} else if has {
		return refuse(fault.Invalid, Unsupported, "A nested part of the drawing has a viewBox but no width and height. Ungroup it and save the drawing again.")
	}
	return r.children(e, m, l, depth)
}

func (r *reader) use(e *element, m matrix, l look, depth int) error {
	target := r.ids[strings.TrimPrefix(strings.TrimSpace(e.set["href"]), "#")]
	if target == nil {
		return nil // SVG 2: a use without a target shows nothing
	}
	v, err := lengths(e, "x", "y")
	if err != nil {
		return err
	}
	if target.name == "symbol" || target.name == "svg" { // the use element's size stands in for the symbol's
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
	return r.draw(target, m.times(translation(v[0], v[1])), l, depth+1, true)
}

// lengths reads the named attributes as lengths in pixels; missing ones are 0.
func lengths(e *element, names ...string) ([]float64, error) {
	out := make([]float64, len(names))
	for i, name := range names {
		text, has := e.set[name]
		if !has || text == "auto" {
			continue
		}
		v, ok := readLength(text)
		if !ok {
			return nil, refuse(fault.Invalid, Unsupported, "The %s %q of a %s can not be read; percentages and font units have no size here. Give it in mm or px.", name, short(text), e.name)
		}
		if !(math.Abs(v) <= maxNumber) {
			return nil, notFinite()
		}
		out[i] = v
	}
	return out, nil
}
