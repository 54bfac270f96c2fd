package cut

import (
	"cmp"
	"slices"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// ReadOptions says how a drawing is read.
type ReadOptions struct {
	Tolerance units.Micrometres // largest distance between a curve and its chords on the material; 0 is 20 µm, 1 to 1000
	Width     units.Micrometres // width of the drawing's box, 1 mm to 20 m; 0 takes the physical size from the file
	Height    units.Micrometres // the same by height; not both

	UnitsPerMM float64 // of a DXF or HP-GL drawing, which does not say it itself; 0 asks
}

func (o *ReadOptions) check() error {
	var fields fault.Fields
	if o.Tolerance < 0 || o.Tolerance > 1000 {
		fields.Add("tolerance", "is %d µm; it must be 1 to 1000, or 0 for %d", o.Tolerance, defaultTolerance)
	}
	for _, side := range []struct {
		name string
		size units.Micrometres
	}{{"width", o.Width}, {"height", o.Height}} {
		if side.size != 0 && (side.size < 1000 || side.size > maxExtent*1000) {
			fields.Add(side.name, "is %d µm; it must be 1 mm to 20 m, or 0 to take the size from the file", side.size)
		}
	}
	if o.Width != 0 && o.Height != 0 {
		fields.Add("height", "is given beside a width; give one of them, so that the drawing keeps its proportions")
	}
	if o.UnitsPerMM != 0 && !(o.UnitsPerMM >= 0.001 && o.UnitsPerMM <= 4000) {
		fields.Add("units_per_mm", "is %g; it must be 0.001 to 4000, or 0 where it is not known", o.UnitsPerMM)
	}
	return fields.Fault("cut", OptionsInvalid, "The drawing can not be read with these options.")
}

func (o *ReadOptions) sized() bool { return o.Width != 0 || o.Height != 0 }

const defaultTolerance = 20

// ReadSVG reads an SVG drawing into clean shapes in millimetres, its box moved to 0,0.
//
// It reads paths, basic shapes, groups, use, symbol and nested svg with their viewports, transforms, viewBox with
// preserveAspectRatio, clip paths, CSS lengths at 96 px an inch and percentages, plain colours from attributes, style and
// rules by name, class, id and descent (SVG 2; CSS Masking 1; CSS Values 3; Selectors 4). Strokes, dashed or not, become
// outlines and shapes of one colour are joined; both are noted.
//
// Faults: NOT_SVG, TOO_LARGE, NO_SIZE (ask for a width), HOSTILE, NOT_FINITE, TOO_MANY_POINTS, TEXT_NOT_OUTLINED,
// UNSUPPORTED, NOTHING_TO_CUT, OPTIONS_INVALID.
func ReadSVG(svg []byte, o ReadOptions) (Drawing, error) {
	if err := o.check(); err != nil {
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
	m, view, page, sized, err := rootView(root)
	if err != nil {
		return Drawing{}, err
	}
	if !sized && !o.sized() {
		return Drawing{}, refuse(fault.Invalid, NoSize, "The drawing does not say how large it is. Enter the width it shall have.")
	}
	r.page = page
	if err := r.root(root, scope{m: m, look: plainLook, view: view}); err != nil {
		return Drawing{}, err
	}
	return r.drawing(o)
}

// scope is where an element stands: the map from its user space to CSS pixels, the look it inherits, what it is cut to.
type scope struct {
	m                matrix
	look             look
	view             viewport
	clips            []*clip
	depth, clipDepth int
	silhouette       bool // only the geometry counts: within a clip path
	unclipped        bool // clips are left out: for the box of a geometry
}

func (s scope) deeper() scope { s.depth++; return s }

// reader walks the elements and gathers what is drawn.
type reader struct {
	ids      map[string]*element
	rules    []styleRule
	drawn    []drawnPath
	commands int
	made     int // elements drawn, copies by use counted
	clips    int
	work     int
	page     viewport // in CSS pixels; 0 where it is not known
	notes    notes
}

// drawnPath is one path with the map from its own coordinates to CSS pixels of the page.
type drawnPath struct {
	subs        []subpath
	m           matrix
	look        look
	fixedStroke bool
	dashScale   float64 // of the dashes' lengths, by pathLength; 0 is 1
	damaged     bool
	clips       []*clip
}

// prepare gathers ids and style sheets, and tells each element what it lies in.
func (r *reader) prepare(e *element) error {
	if e.id != "" && r.ids[e.id] == nil {
		r.ids[e.id] = e
	}
	if e.name == "style" {
		rules, err := readStyleSheet(e.text)
		if err != nil {
			return err
		}
		if r.rules = append(r.rules, rules...); len(r.rules) > maxRules {
			return sheetTooLong()
		}
		slices.SortStableFunc(r.rules, func(a, b styleRule) int { return cmp.Compare(a.weight, b.weight) })
	}
	for _, k := range e.kids {
		k.parent = e
		if err := r.prepare(k); err != nil {
			return err
		}
	}
	return nil
}

func notFinite() error {
	return refuse(fault.Invalid, NotFinite, "A number in the drawing is not finite, or beyond one million. Move the drawing onto its page and save it again.")
}

func unreadableTransform(text string) error {
	return refuse(fault.Invalid, NotSVG, "The transform %q can not be read. Apply the transforms and save the drawing again.", short(text))
}

// root draws the outermost svg. Unlike a page in a browser, what lies beyond its edge is kept: cut off there, a shape
// would go missing from the film unseen.
func (r *reader) root(e *element, s scope) error {
	own, err := r.styled(e, s.look, s.view)
	if err != nil || !own.shown {
		return err
	}
	t, ok := readTransform(own.transform)
	if !ok {
		return unreadableTransform(own.transform)
	}
	s.look, s.m = own.look, t.times(s.m) // SVG 2: the root's transform applies outside its viewBox
	return r.children(e, s)
}

func (r *reader) children(e *element, s scope) error {
	for _, k := range e.kids {
		if err := r.draw(k, s.deeper(), false); err != nil {
			return err
		}
	}
	return nil
}

// draw walks one element; used tells that a use element asked for it, which alone shows a symbol.
func (r *reader) draw(e *element, s scope, used bool) error {
	if s.depth > maxDepth {
		return refuse(fault.TooLarge, TooLarge, "The drawing has groups or copies more than %d deep. Ungroup it.", maxDepth)
	}
	if r.made++; r.made > maxTokens {
		return refuse(fault.TooLarge, TooLarge, "The drawing has more than %d parts, copies counted. Join or simplify it.", maxTokens)
	}
	if e.name == "defs" || e.name == "style" || e.name == "clipPath" || e.name == "symbol" && !used {
		return nil
	}
	own, err := r.styled(e, s.look, s.view)
	if err != nil || !own.shown {
		return err
	}
	t, ok := readTransform(own.transform)
	if !ok {
		return unreadableTransform(own.transform)
	}
	s.m, s.look = s.m.times(t), own.look
	if !s.unclipped {
		c, err := r.clipped(own.clip, e, s)
		if err != nil {
			return err
		}
		if c != nil {
			s.clips = append(s.clips[:len(s.clips):len(s.clips)], c)
		}
	}
	switch e.name {
	case "g":
		return r.children(e, s)
	case "switch":
		return r.choose(e, s)
	case "svg", "symbol":
		return r.viewport(e, s, own.overflow)
	case "use":
		return r.use(e, s)
	}
	return r.shape(e, s, own)
}

// choose draws the first child of a switch that asks for nothing special (SVG 2, struct, "switch").
func (r *reader) choose(e *element, s scope) error {
	for _, k := range e.kids {
		if k.set["requiredExtensions"] == "" && k.set["systemLanguage"] == "" {
			return r.draw(k, s.deeper(), false)
		}
	}
	return nil
}
