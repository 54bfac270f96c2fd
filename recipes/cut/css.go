package cut

import (
	"cmp"
	"slices"
	"strings"

	"evenpeel/recipes/fault"
)

// Limits on style sheets; every rule is tried on every element, so that the product is bounded too.
const (
	maxRules     = 2000
	maxMatchWork = 100 * maxTokens
	maxCompounds = 8
)

// compound is one simple selector sequence: path#id.one.two; direct tells that the one before it must be the parent.
type compound struct {
	name, id string
	classes  []string
	direct   bool
}

// styleRule is one selector with its declarations; weight is its specificity (Selectors 4, 17: ids, classes, names).
type styleRule struct {
	selector []compound
	weight   int
	set      []declaration
}

type declaration struct {
	name, value string
	important   bool
}

// readStyleSheet reads rules of names, classes, ids and *, compounded, by descent (space) and by child (>). A rule that
// says anything about painting in a way not read here is refused, since a wrong colour is cut from the wrong film.
func readStyleSheet(text string) ([]styleRule, error) {
	text = withoutComments(text)
	if low := strings.ToLower(text); strings.Contains(low, "@import") || strings.Contains(text, `\`) || linksOut(low) {
		return nil, refuse(fault.Invalid, Hostile, "The drawing's style sheet links to something else, which is not accepted. Save it with presentation attributes.")
	}
	var rules []styleRule
	for strings.TrimSpace(text) != "" {
		head, body, rest := nextBlock(text)
		text = rest
		head = strings.TrimSpace(head)
		if strings.HasPrefix(head, "@") {
			if conditional(head) && paints(body) {
				return nil, refuse(fault.Invalid, Unsupported, "The drawing's style sheet paints by the condition %q, which is not read. Save it with presentation attributes.", short(head))
			}
			continue
		}
		set := declarations(body)
		if !slices.ContainsFunc(set, func(d declaration) bool { return slices.Contains(painted, d.name) }) {
			continue
		}
		for _, s := range strings.Split(head, ",") {
			selector, weight, known := readSelector(s)
			if !known {
				return nil, refuse(fault.Invalid, Unsupported, "The drawing's style sheet uses the selector %q, which is not read. Save it with presentation attributes.", short(strings.TrimSpace(s)))
			}
			if selector != nil {
				rules = append(rules, styleRule{selector, weight, set})
			}
			if len(rules) > maxRules {
				return nil, sheetTooLong()
			}
		}
	}
	slices.SortStableFunc(rules, func(a, b styleRule) int { return cmp.Compare(a.weight, b.weight) })
	return rules, nil
}

func sheetTooLong() error {
	return refuse(fault.TooLarge, TooLarge, "The drawing's style sheet is too long. Save it with presentation attributes.")
}

// linksOut reports a url() that does not stay inside the drawing.
func linksOut(text string) bool {
	for {
		_, after, found := strings.Cut(text, "url(")
		if !found {
			return false
		}
		if !strings.HasPrefix(strings.TrimLeft(after, " \t\r\n'\""), "#") {
			return true
		}
		text = after
	}
}

func withoutComments(text string) string {
	var b strings.Builder
	for {
		before, after, found := strings.Cut(text, "/*")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		b.WriteByte(' ')
		_, text, _ = strings.Cut(after, "*/")
	}
}

// nextBlock cuts "head { body }" off, braces balanced; an at-rule may end at a semicolon instead.
func nextBlock(text string) (head, body, rest string) {
	open := strings.IndexByte(text, '{')
	if strings.HasPrefix(strings.TrimSpace(text), "@") {
		if end := strings.IndexByte(text, ';'); end >= 0 && (open < 0 || end < open) {
			return text[:end], "", text[end+1:]
		}
	}
	if open < 0 {
		return text, "", ""
	}
	depth := 0
	for i := open; i < len(text); i++ {
		switch text[i] {
		case '{':
			depth++
		case '}':
			if depth--; depth == 0 {
				return text[:open], text[open+1 : i], text[i+1:]
			}
		}
	}
	return text[:open], text[open+1:], ""
}

func conditional(head string) bool {
	for _, word := range []string{"@font-face", "@keyframes", "@-", "@page", "@namespace", "@charset"} {
		if strings.HasPrefix(strings.ToLower(head), word) {
			return false
		}
	}
	return true
}

func paints(body string) bool {
	return slices.ContainsFunc(painted, func(name string) bool { return strings.Contains(body, name) })
}

// readSelector reads one selector of a list; a nil selector with known true can never hold on a still drawing.
func readSelector(text string) (list []compound, weight int, known bool) {
	for _, still := range []string{":hover", ":active", ":focus", ":visited", ":link", "::selection", ":target"} {
		if strings.Contains(text, still) {
			return nil, 0, true
		}
	}
	direct := false
	for _, part := range strings.Fields(strings.ReplaceAll(text, ">", " > ")) {
		if part == ">" {
			if direct || list == nil {
				return nil, 0, false
			}
			direct = true
			continue
		}
		c, w, ok := readCompound(part)
		if !ok || len(list) == maxCompounds {
			return nil, 0, false
		}
		c.direct = direct
		list, weight, direct = append(list, c), weight+w, false
	}
	return list, weight, list != nil && !direct
}

func readCompound(part string) (c compound, weight int, ok bool) {
	end := strings.IndexAny(part, ".#")
	if end < 0 {
		end = len(part)
	}
	if c.name = part[:end]; c.name == "*" {
		c.name = ""
	} else if c.name != "" {
		if !identifier(c.name) {
			return c, 0, false
		}
		weight = 1
	}
	for part = part[end:]; part != ""; {
		mark := part[0]
		part = part[1:]
		if end = strings.IndexAny(part, ".#"); end < 0 {
			end = len(part)
		}
		word := part[:end]
		if part = part[end:]; !identifier(word) {
			return c, 0, false
		}
		if mark == '#' {
			c.id, weight = word, weight+10_000
		} else {
			c.classes, weight = append(c.classes, word), weight+100
		}
	}
	return c, weight, true
}

func identifier(word string) bool {
	return word != "" && !strings.ContainsAny(word, "*:[]()+~=^$|@!\"'&%")
}

func declarations(body string) []declaration {
	var set []declaration
	for _, part := range strings.Split(body, ";") {
		if name, value, ok := strings.Cut(part, ":"); ok {
			value, important := strings.CutSuffix(strings.TrimSpace(value), "!important")
			set = append(set, declaration{strings.ToLower(strings.TrimSpace(name)), strings.TrimSpace(value), important})
		}
	}
	return set
}

// matches reports whether the selector holds for e, the last compound on e itself and the others on what is around it.
func (rule *styleRule) matches(e *element, work *int) bool {
	return matches(rule.selector, e, work)
}

func matches(list []compound, e *element, work *int) bool {
	last := len(list) - 1
	if *work++; !list[last].holds(e) {
		return false
	}
	if last == 0 {
		return true
	}
	for up := e.parent; up != nil; up = up.parent {
		if matches(list[:last], up, work) {
			return true
		}
		if list[last].direct || *work > maxMatchWork {
			return false
		}
	}
	return false
}

func (c *compound) holds(e *element) bool {
	if c.name != "" && c.name != e.name || c.id != "" && c.id != e.id {
		return false
	}
	for _, class := range c.classes {
		if !slices.Contains(e.classes, class) {
			return false
		}
	}
	return true
}

// cascade gives the element's declarations from the weakest to the strongest: presentation attributes, rules by weight,
// the style attribute; then what is important, in the same order (CSS Cascade 4, 6.1).
func (r *reader) cascade(e *element) ([]declaration, error) {
	var set, important []declaration
	add := func(list []declaration) {
		for _, d := range list {
			if d.important {
				important = append(important, d)
			} else {
				set = append(set, d)
			}
		}
	}
	for _, name := range painted {
		if v, ok := e.set[name]; ok {
			set = append(set, declaration{name: name, value: strings.TrimSpace(v)})
		}
	}
	for i := range r.rules {
		if r.rules[i].matches(e, &r.work) {
			add(r.rules[i].set)
		}
		if r.work > maxMatchWork {
			return nil, sheetTooLong()
		}
	}
	add(declarations(e.set["style"]))
	return append(set, important...), nil
}
