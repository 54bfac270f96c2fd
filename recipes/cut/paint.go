package cut

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"evenpeel/recipes/fault"
)

// look is what of an element's style matters for cutting; children inherit it.
type look struct {
	fill, stroke, colour string // "" is none
	rule                 fillRule
	width                float64 // of the stroke, user units
	join, cap            string
	miter                float64
	dashed, hidden       bool
}

var plainLook = look{fill: "#000000", colour: "#000000", width: 1, join: "miter", cap: "butt", miter: 4}

// styleRule is one selector with its declarations; weight is its specificity (element 1, class 10, id 100).
type styleRule struct {
	selector string
	weight   int
	set      [][2]string
}

// readStyleSheet reads plain rules: element, .class, #id and *, alone or in a list. Others are passed over.
func readStyleSheet(text string) ([]styleRule, error) {
	if strings.Contains(text, "@import") || strings.Contains(strings.ToLower(text), "url(") || strings.Contains(text, `\`) {
		return nil, refuse(fault.Invalid, Hostile, "The drawing's style sheet links to something else, which is not accepted. Save it with presentation attributes.")
	}
	for {
		from := strings.Index(text, "/*")
		if from < 0 {
			break
		}
		to := strings.Index(text[from+2:], "*/")
		if to < 0 {
			text = text[:from]
			break
		}
		text = text[:from] + " " + text[from+2+to+2:]
	}
	var rules []styleRule
	for text != "" {
		head, rest, found := strings.Cut(text, "{")
		if !found {
			break
		}
		body, after, _ := strings.Cut(rest, "}")
		text = after
		set := declarations(body)
		for _, s := range strings.Split(head, ",") {
			s = strings.TrimSpace(s)
			switch {
			case s == "" || strings.ContainsAny(s[1:], " >+~:[.#@*"):
			case s[0] == '.':
				rules = append(rules, styleRule{s, 10, set})
			case s[0] == '#':
				rules = append(rules, styleRule{s, 100, set})
			case s == "*":
				rules = append(rules, styleRule{s, 0, set})
			case s[0] != '@':
				rules = append(rules, styleRule{s, 1, set})
			}
		}
		if len(rules) > maxTokens {
			return nil, refuse(fault.TooLarge, TooLarge, "The drawing's style sheet is too long. Save it with presentation attributes.")
		}
	}
	sort.SliceStable(rules, func(i, j int) bool { return rules[i].weight < rules[j].weight })
	return rules, nil
}

func declarations(body string) [][2]string {
	var set [][2]string
	for _, part := range strings.Split(body, ";") {
		if name, value, ok := strings.Cut(part, ":"); ok {
			value = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(value), "!important"))
			set = append(set, [2]string{strings.TrimSpace(name), value})
		}
	}
	return set
}

var painted = []string{"color", "fill", "stroke", "fill-rule", "fill-opacity", "stroke-opacity", "opacity", "stroke-width", "stroke-linejoin",
	"stroke-linecap", "stroke-miterlimit", "stroke-dasharray", "display", "visibility", "clip-path", "mask", "filter", "transform"}

// styled is the element's look: attributes, then rules by weight, then its style attribute (CSS cascade, in short).
func (r *reader) styled(e *element, parent look) (l look, shown bool, transform string, err error) {
	l, shown = parent, true
	var set [][2]string
	for _, name := range painted {
		if v, ok := e.set[name]; ok {
			set = append(set, [2]string{name, v})
		}
	}
	classes := strings.Fields(e.set["class"])
	for _, rule := range r.rules {
		hit := rule.selector == "*" || rule.selector == e.name || e.id != "" && rule.selector == "#"+e.id
		for i := 0; i < len(classes) && !hit; i++ {
			hit = rule.selector == "."+classes[i]
		}
		if r.work += 1 + len(classes); r.work > 100*maxTokens {
			return l, false, "", refuse(fault.TooLarge, TooLarge, "The drawing's style sheet is too long. Save it with presentation attributes.")
		}
		if hit {
			set = append(set, rule.set...)
		}
	}
	set = append(set, declarations(e.set["style"])...)
	invisible := map[string]bool{}
	for _, pair := range set {
		value := strings.TrimSpace(pair[1])
		if err := l.take(pair[0], value, parent, invisible, &shown, &transform); err != nil {
			return l, false, "", err
		}
	}
	if invisible["fill-opacity"] {
		l.fill = ""
	}
	if invisible["stroke-opacity"] || l.width == 0 {
		l.stroke = ""
	}
	return l, shown && !invisible["opacity"], transform, nil
}

func (l *look) take(name, value string, parent look, invisible map[string]bool, shown *bool, transform *string) (err error) {
	if value == "inherit" {
		return nil
	}
	switch name {
	case "color":
		l.colour, err = readColour(value, parent.colour)
	case "fill":
		l.fill, err = readColour(value, l.colour)
	case "stroke":
		l.stroke, err = readColour(value, l.colour)
	case "fill-rule":
		l.rule = nonZero
		if value == "evenodd" {
			l.rule = evenOdd
		}
	case "fill-opacity", "stroke-opacity", "opacity":
		v, bad := strconv.ParseFloat(strings.TrimSuffix(value, "%"), 64)
		invisible[name] = bad == nil && v <= 0
	case "stroke-width":
		v, ok := readLength(value)
		if !ok || v < 0 || v > maxNumber {
			return refuse(fault.Invalid, NotFinite, "A stroke width %q can not be read. Give it as a plain number.", short(value))
		}
		l.width = v
	case "stroke-linejoin":
		l.join = value
	case "stroke-linecap":
		l.cap = value
	case "stroke-miterlimit":
		if v, bad := strconv.ParseFloat(value, 64); bad == nil && v >= 1 && v < maxNumber {
			l.miter = v
		}
	case "stroke-dasharray":
		l.dashed = value != "none" && value != ""
	case "display":
		*shown = value != "none"
	case "visibility":
		l.hidden = value == "hidden" || value == "collapse"
	case "transform":
		*transform = value
	case "clip-path", "mask", "filter":
		if value != "none" && value != "" {
			return refuse(fault.Invalid, Unsupported, "The drawing uses a %s, which a blade can not follow. Cut the shape itself to its final outline.", name)
		}
	}
	return err
}

// short keeps what is quoted back to a person to a readable length.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// colourNames are the sixteen basic colours of CSS; other names are kept as they stand.
var colourNames = map[string]string{"black": "#000000", "silver": "#c0c0c0", "gray": "#808080", "grey": "#808080", "white": "#ffffff",
	"maroon": "#800000", "red": "#ff0000", "purple": "#800080", "fuchsia": "#ff00ff", "magenta": "#ff00ff", "green": "#008000", "lime": "#00ff00",
	"olive": "#808000", "yellow": "#ffff00", "navy": "#000080", "blue": "#0000ff", "teal": "#008080", "aqua": "#00ffff", "cyan": "#00ffff"}

func readColour(value, current string) (string, error) {
	v := strings.ToLower(value)
	switch {
	case v == "none" || v == "transparent":
		return "", nil
	case v == "currentcolor":
		return current, nil
	case colourNames[v] != "":
		return colourNames[v], nil
	case strings.HasPrefix(v, "#") && isHex(v[1:]):
		switch len(v) {
		case 7:
			return v, nil
		case 4:
			return string([]byte{'#', v[1], v[1], v[2], v[2], v[3], v[3]}), nil
		}
	case strings.HasPrefix(v, "rgb(") && strings.HasSuffix(v, ")"):
		var c [3]int
		parts := strings.FieldsFunc(v[4:len(v)-1], func(r rune) bool { return r == ',' || r == ' ' })
		if len(parts) == 3 {
			for i, p := range parts {
				f, err := strconv.ParseFloat(strings.TrimSuffix(p, "%"), 64)
				if strings.HasSuffix(p, "%") {
					f = f * 255 / 100
				}
				if err != nil || !(f >= 0 && f <= 255) {
					return "", unreadableColour(value)
				}
				c[i] = int(f + 0.5)
			}
			return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]), nil
		}
	case strings.HasPrefix(v, "url"):
		return "", refuse(fault.Invalid, Unsupported, "The drawing uses a gradient or pattern. Film has one colour: fill each shape with a plain colour.")
	case v != "" && len(v) < 32 && strings.Trim(v, "abcdefghijklmnopqrstuvwxyz") == "":
		return v, nil
	}
	return "", unreadableColour(value)
}

func unreadableColour(value string) error {
	return refuse(fault.Invalid, Unsupported, "The colour %q can not be read. Write it as #rrggbb.", short(value))
}

func isHex(s string) bool { return strings.Trim(s, "0123456789abcdef") == "" }

// unitPixels are CSS pixels per unit: 1 in = 96 px (SVG 2 coords, "units"; CSS Values 3, 6.2).
var unitPixels = map[string]float64{"": 1, "px": 1, "in": 96, "mm": 96 / 25.4, "cm": 960 / 25.4, "q": 24 / 25.4, "pt": 96. / 72, "pc": 16}

// readLength reads a length in CSS pixels; percentages and font units are not ok.
func readLength(text string) (float64, bool) {
	t := tokens{text: strings.TrimSpace(text)}
	v, ok := t.number()
	if !ok {
		return 0, false
	}
	per, known := unitPixels[strings.ToLower(strings.TrimSpace(t.text[t.at:]))]
	return v * per, known
}
