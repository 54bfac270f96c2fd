package cut

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"

	"evenpeel/recipes/fault"
)

// Limits on the markup. encoding/xml itself has no limit of depth, attributes or length.
const (
	maxBytes      = 1 << 20
	maxDepth      = 32
	maxTokens     = 20_000
	maxAttributes = 64
	maxAttribute  = 256 << 10
	maxCommands   = 200_000
	maxNumber     = 1e6
)

// element is one element of the drawing with the attributes that matter; text is kept for style elements only.
type element struct {
	name string
	set  map[string]string
	kids []*element
	text string
	id   string

	parent  *element
	classes []string
}

// drawable are the elements that are read; hidden ones are skipped with all they hold.
var (
	drawable = words("svg g defs use symbol clipPath path rect circle ellipse line polyline polygon style switch")
	silent   = words("title desc metadata linearGradient radialGradient pattern mask filter marker view")
	active   = words("script foreignObject image iframe a animate animateTransform animateMotion animateColor set audio video embed object handler listener")
	lettered = words("text tspan textPath tref font glyph altGlyph")
)

func words(list string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(list) {
		set[w] = true
	}
	return set
}

const svgSpace = "http://www.w3.org/2000/svg"

// readMarkup reads the elements of an SVG file within the limits, and refuses everything that could act or reach out.
func readMarkup(svg []byte) (*element, error) {
	if len(svg) > maxBytes {
		return nil, refuse(fault.TooLarge, TooLarge, "The drawing is larger than 1 MiB. Save it without pictures and hidden layers.").With("limit_bytes", "1048576")
	}
	d := xml.NewDecoder(bytes.NewReader(svg))
	var root *element
	var open []*element
	skipping := 0
	for count := 0; ; count++ {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, unreadable(svg, err)
		}
		if count >= maxTokens {
			return nil, refuse(fault.TooLarge, TooLarge, "The drawing has more than %d parts. Join or simplify it.", maxTokens)
		}
		switch t := token.(type) {
		case xml.Directive:
			return nil, refuse(fault.Invalid, Hostile, "The drawing has a document type declaration, which is not accepted. Save it as plain SVG.")
		case xml.ProcInst:
			if t.Target != "xml" {
				return nil, refuse(fault.Invalid, Hostile, "The drawing asks for an outside style sheet, which is not accepted. Save it as plain SVG.")
			}
		case xml.CharData:
			if n := len(open); n > 0 && skipping == 0 && open[n-1].name == "style" {
				open[n-1].text += string(t)
			}
		case xml.EndElement:
			if skipping > 0 {
				skipping--
			} else {
				open = open[:len(open)-1]
			}
		case xml.StartElement:
			if len(open)+skipping >= maxDepth {
				return nil, refuse(fault.TooLarge, TooLarge, "The drawing has groups more than %d deep. Ungroup it.", maxDepth)
			}
			if skipping > 0 {
				if err := harmless(t); err != nil {
					return nil, err
				}
				skipping++
				continue
			}
			e, skip, err := admitted(t, root == nil)
			if err != nil {
				return nil, err
			}
			if skip {
				skipping = 1
				continue
			}
			if root == nil {
				root = e
			} else if len(open) > 0 {
				open[len(open)-1].kids = append(open[len(open)-1].kids, e)
			}
			open = append(open, e)
		}
	}
	if root == nil {
		return nil, refuse(fault.Invalid, NotSVG, "The file holds no drawing. Choose an SVG file.")
	}
	return root, nil
}

func unreadable(svg []byte, cause error) error {
	if bytes.Contains(bytes.ToUpper(svg[:min(len(svg), 4096)]), []byte("<!DOCTYPE")) {
		return refuse(fault.Invalid, Hostile, "The drawing has a document type declaration, which is not accepted. Save it as plain SVG.").Because(cause)
	}
	if strings.Contains(cause.Error(), "entity") {
		return refuse(fault.Invalid, Hostile, "The drawing uses named entities, which are not accepted. Save it as plain SVG.").Because(cause)
	}
	return refuse(fault.Invalid, NotSVG, "The file is not a readable SVG drawing in UTF-8. Save it as SVG again.").Because(cause)
}

// harmless checks what is skipped: it must not act either.
func harmless(t xml.StartElement) error {
	if active[t.Name.Local] && (t.Name.Space == svgSpace || t.Name.Space == "") {
		return acting(t.Name.Local)
	}
	return quietAttributes(t)
}

func acting(name string) error {
	return refuse(fault.Invalid, Hostile, "The drawing holds a %q element, which is not accepted. Leave only shapes, and save it as plain SVG.", name).With("element", name)
}

func quietAttributes(t xml.StartElement) error {
	if len(t.Attr) > maxAttributes {
		return refuse(fault.TooLarge, TooLarge, "An element of the drawing has more than %d attributes. Save it as plain SVG.", maxAttributes)
	}
	for _, a := range t.Attr {
		if len(a.Value) > maxAttribute {
			return refuse(fault.TooLarge, TooLarge, "One path of the drawing is longer than 256 KiB. Break it apart or simplify it.")
		}
		name := a.Name.Local
		if len(name) > 2 && strings.EqualFold(name[:2], "on") && a.Name.Space == "" {
			return refuse(fault.Invalid, Hostile, "The drawing holds a script in %q, which is not accepted. Save it as plain SVG.", name)
		}
		if name == "href" && !strings.HasPrefix(strings.TrimSpace(a.Value), "#") {
			return refuse(fault.Invalid, Hostile, "The drawing links to something outside itself, which is not accepted. Break the link or embed the shape.")
		}
	}
	return nil
}

func admitted(t xml.StartElement, first bool) (e *element, skip bool, err error) {
	name, space := t.Name.Local, t.Name.Space
	if first && (name != "svg" || space != svgSpace && space != "") {
		return nil, false, refuse(fault.Invalid, NotSVG, "The file is XML but not an SVG drawing. Choose an SVG file.")
	}
	if err := harmless(t); err != nil {
		return nil, false, err
	}
	if space != svgSpace && space != "" {
		return nil, true, nil
	}
	switch {
	case lettered[name]:
		return nil, false, refuse(fault.Invalid, TextNotOutlined, "The drawing holds text. Convert text to outlines, so that it is cut in the face you chose, and save it again.")
	case silent[name]:
		return nil, true, nil
	case !drawable[name]:
		return nil, false, refuse(fault.Invalid, Unsupported, "The drawing holds a %q element, which a blade can not follow. Turn it into plain shapes.", name).With("element", name)
	}
	e = &element{name: name, set: map[string]string{}}
	for _, a := range t.Attr {
		if a.Name.Space == "" || a.Name.Local == "href" {
			e.set[a.Name.Local] = a.Value
		}
	}
	e.id, e.classes = e.set["id"], strings.Fields(e.set["class"])
	return e, false, nil
}
