package cut

import (
	"math"
	"strconv"
	"strings"

	"evenpeel/recipes/fault"
)

// look is what of an element's style matters for cutting; children inherit it.
type look struct {
	fill, stroke, colour string // "" is none
	rule, clipRule       fillRule
	width                float64 // of the stroke, user units
	join, cap            string
	miter                float64
	dashes               []float64
	dashOffset           float64
	hidden, marked       bool
}

var plainLook = look{fill: "#000000", colour: "#000000", width: 1, join: "miter", cap: "butt", miter: 4}

// painted are the properties that are read, as attributes and in style sheets.
var painted = []string{"color", "fill", "stroke", "fill-rule", "clip-rule", "fill-opacity", "stroke-opacity", "opacity", "stroke-width",
	"stroke-linejoin", "stroke-linecap", "stroke-miterlimit", "stroke-dasharray", "stroke-dashoffset", "display", "visibility", "clip-path",
	"mask", "filter", "transform", "overflow", "vector-effect", "marker", "marker-start", "marker-mid", "marker-end"}

// style is an element's look and what else of its style is its own, not its children's.
type style struct {
	look
	shown                         bool
	transform, clip, overflow     string
	fixedStroke                   bool // vector-effect: the stroke keeps its width whatever the transform
	fillClear, strokeClear, clear bool // opacity 0
}

// styled works out the element's style from its parent's (CSS cascade and inheritance).
func (r *reader) styled(e *element, parent look, view viewport) (s style, err error) {
	s = style{look: parent, shown: true}
	set, err := r.cascade(e)
	if err != nil {
		return s, err
	}
	for _, d := range set { // fill and stroke may name the element's own colour, so that comes first
		if d.name == "color" {
			if err := s.take(d, parent, view); err != nil {
				return s, err
			}
		}
	}
	for _, d := range set {
		if d.name != "color" {
			if err := s.take(d, parent, view); err != nil {
				return s, err
			}
		}
	}
	if s.fillClear {
		s.fill = ""
	}
	if s.strokeClear || s.width == 0 {
		s.stroke = ""
	}
	s.shown = s.shown && !s.clear
	return s, nil
}

func (s *style) take(d declaration, parent look, view viewport) (err error) {
	value := d.value
	switch strings.ToLower(value) {
	case "inherit", "unset", "revert", "initial":
		s.reset(d.name, strings.ToLower(value), parent)
		return nil
	}
	if strings.Contains(value, "var(") || strings.Contains(value, "calc(") {
		return refuse(fault.Invalid, Unsupported, "The drawing writes %s as %q, which is not read. Save it with presentation attributes.", d.name, short(value))
	}
	switch d.name {
	case "color":
		s.colour, err = readColour(value, parent.colour)
	case "fill":
		s.fill, err = readColour(value, s.colour)
	case "stroke":
		s.stroke, err = readColour(value, s.colour)
	case "fill-rule":
		s.rule = ruleOf(value)
	case "clip-rule":
		s.clipRule = ruleOf(value)
	case "fill-opacity":
		s.fillClear = seeThrough(value)
	case "stroke-opacity":
		s.strokeClear = seeThrough(value)
	case "opacity":
		s.clear = seeThrough(value)
	case "stroke-width":
		v, ok := view.length(value, 'd')
		if !ok || v < 0 || v > maxNumber {
			return refuse(fault.Invalid, NotFinite, "A stroke width %q can not be read. Give it as a plain number.", short(value))
		}
		s.width = v
	case "stroke-linejoin":
		s.join = value
	case "stroke-linecap":
		s.cap = value
	case "stroke-miterlimit":
		if v, bad := strconv.ParseFloat(value, 64); bad == nil && v >= 1 && v < maxNumber {
			s.miter = v
		}
	case "stroke-dasharray":
		s.dashes, err = readDashes(value, view)
	case "stroke-dashoffset":
		v, ok := view.length(value, 'd')
		if !ok || !(math.Abs(v) <= maxNumber) {
			return refuse(fault.Invalid, NotFinite, "A dash offset %q can not be read. Give it as a plain number.", short(value))
		}
		s.dashOffset = v
	case "display":
		s.shown = value != "none"
	case "visibility":
		s.hidden = value == "hidden" || value == "collapse"
	case "transform":
		s.transform = value
	case "overflow":
		s.overflow = value
	case "vector-effect":
		s.fixedStroke = strings.Contains(value, "non-scaling-stroke")
	case "clip-path":
		s.clip = value
	case "marker", "marker-start", "marker-mid", "marker-end":
		s.marked = value != "none"
	case "mask", "filter":
		if value != "none" && value != "" {
			return refuse(fault.Invalid, Unsupported, "The drawing uses a %s, which a blade can not follow. Cut the shape itself to its final outline.", d.name)
		}
	}
	return err
}

// reset obeys the words that CSS allows for every property; "unset" inherits where the property does.
func (s *style) reset(name, word string, parent look) {
	from := parent
	if word == "initial" {
		from = plainLook
	}
	switch name {
	case "color":
		s.colour = from.colour
	case "fill":
		s.fill = from.fill
	case "stroke":
		s.stroke = from.stroke
	case "fill-rule":
		s.rule = from.rule
	case "clip-rule":
		s.clipRule = from.clipRule
	case "stroke-width":
		s.width = from.width
	case "stroke-linejoin":
		s.join = from.join
	case "stroke-linecap":
		s.cap = from.cap
	case "stroke-miterlimit":
		s.miter = from.miter
	case "stroke-dasharray":
		s.dashes = from.dashes
	case "stroke-dashoffset":
		s.dashOffset = from.dashOffset
	case "visibility":
		s.hidden = from.hidden
	case "display":
		s.shown = true
	case "clip-path":
		s.clip = ""
	case "marker", "marker-start", "marker-mid", "marker-end":
		s.marked = from.marked
	}
}

func ruleOf(value string) fillRule {
	if value == "evenodd" {
		return evenOdd
	}
	return nonZero
}

func seeThrough(value string) bool {
	v, ok := share(value, 1)
	return ok && v <= 0
}

// short keeps what is quoted back to a person to a readable length.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
