package sealed

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Difference is one field in which two contents differ.
type Difference struct {
	Path          string // inside the record: "dwell_seconds.set", "film_prices[glimmer].breaks[1000].per_metre_minor"
	Words         string // "dwell: 12 s before, 15 s now (3 s more)"
	Before, After string // as text; empty where it was not there, or is gone
}

// Differences sets two contents of one kind side by side, in the order of the record's fields. Fault
// Invalid/CONTENT_OF_OTHER_KIND.
func Differences(before, after recipes.Content) ([]Difference, error) {
	a, err := contentMessage(before)
	if err != nil {
		return nil, err
	}
	b, err := contentMessage(after)
	if err != nil {
		return nil, err
	}
	x, y := kindMessage(a), kindMessage(b)
	if x.Descriptor() != y.Descriptor() {
		return nil, fault.New(fault.Invalid, room, "CONTENT_OF_OTHER_KIND", "The two are not of one kind, so they can not be set side by side.")
	}
	d := differing{currency: units.Currency(textOf(y, "currency_code"))}
	d.message("", "", "", x, y)
	return d.found, nil
}

// differing walks two messages of one kind.
type differing struct {
	currency units.Currency
	found    []Difference
}

// message compares field by field; label is what people call the place, and unit the suffix that a window took from it.
func (d *differing) message(path, label, unit string, a, b protoreflect.Message) {
	fields := a.Descriptor().Fields()
	for i := range fields.Len() {
		fd := fields.Get(i)
		at := joined(path, ".", string(fd.Name()))
		name, suffix := spoken(string(fd.Name()))
		if suffix == "" {
			suffix = unit
		}
		if fd.Name() == "set" { // a window is called by what it sets
			name = ""
		}
		called := joined(label, ", ", name)
		switch {
		case fd.IsList() && fd.Kind() == protoreflect.MessageKind:
			d.messages(at, called, a.Get(fd).List(), b.Get(fd).List())
		case fd.IsList():
			d.words(at, called, listed(a.Get(fd).List()), listed(b.Get(fd).List()))
		case fd.Kind() == protoreflect.MessageKind:
			d.message(at, called, suffix, a.Get(fd).Message(), b.Get(fd).Message())
		default:
			if !a.Get(fd).Equal(b.Get(fd)) {
				d.value(at, called, suffix, fd, a.Get(fd), b.Get(fd))
			}
		}
	}
}

func joined(a, between, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + between + b
}

// value notes one number, word or yes-or-no that differs.
func (d *differing) value(path, label, unit string, fd protoreflect.FieldDescriptor, a, b protoreflect.Value) {
	before, after := d.text(unit, fd, a), d.text(unit, fd, b)
	words := fmt.Sprintf("%s: %s before, %s now", label, before, after)
	if fd.Kind() == protoreflect.Int64Kind {
		change, how := b.Int()-a.Int(), "more"
		if change < 0 {
			change, how = -change, "less"
		}
		words += fmt.Sprintf(" (%s %s)", d.text(unit, fd, protoreflect.ValueOfInt64(change)), how)
	}
	d.found = append(d.found, Difference{path, words, before, after})
}

// keys name the field that tells the entries of a list apart.
var keys = []protoreflect.Name{"film", "garment", "from_mm", "language", "quantity"}

// messages pairs the entries of two lists by what tells them apart, or by their place.
func (d *differing) messages(path, label string, a, b protoreflect.List) {
	as, aOrder := d.keyed(a)
	bs, bOrder := d.keyed(b)
	for _, k := range aOrder {
		if _, there := bs[k]; !there {
			d.found = append(d.found, Difference{Path: path + "[" + k + "]", Words: fmt.Sprintf("%s: %s is gone", label, k), Before: k})
		}
	}
	for _, k := range bOrder {
		before, there := as[k]
		if !there {
			d.found = append(d.found, Difference{Path: path + "[" + k + "]", Words: fmt.Sprintf("%s: %s is new", label, k), After: k})
			continue
		}
		d.message(path+"["+k+"]", joined(label, " ", k), "", before, bs[k])
	}
}

func (d *differing) keyed(l protoreflect.List) (map[string]protoreflect.Message, []string) {
	by, order := map[string]protoreflect.Message{}, []string{}
	for i := range l.Len() {
		m := l.Get(i).Message()
		k := strconv.Itoa(i)
		for _, name := range keys {
			if fd := m.Descriptor().Fields().ByName(name); fd != nil {
				k = m.Get(fd).String()
				break
			}
		}
		if _, taken := by[k]; taken { // two of one key: each keeps its place
			k += "#" + strconv.Itoa(i)
		}
		by[k], order = m, append(order, k)
	}
	return by, order
}

// words compares two lists of words: what came, what went, or only their order.
func (d *differing) words(path, label string, a, b []string) {
	if slices.Equal(a, b) {
		return
	}
	var said []string
	for _, w := range b {
		if !slices.Contains(a, w) {
			said = append(said, "“"+w+"” is new")
		}
	}
	for _, w := range a {
		if !slices.Contains(b, w) {
			said = append(said, "“"+w+"” is gone")
		}
	}
	if len(said) == 0 {
		said = []string{"the order changed"}
	}
	d.found = append(d.found, Difference{path, label + ": " + strings.Join(said, ", "), strings.Join(a, "\n"), strings.Join(b, "\n")})
}

func listed(l protoreflect.List) []string {
	out := make([]string, l.Len())
	for i := range out {
		out[i] = l.Get(i).String()
	}
	return out
}

func textOf(m protoreflect.Message, field protoreflect.Name) string {
	fd := m.Descriptor().Fields().ByName(field)
	if fd == nil {
		return ""
	}
	return m.Get(fd).String()
}

// suffixes are the units that names of fields end with, longest first.
var suffixes = []struct{ suffix, unit string }{
	{"_mm_per_second", "mm/s"}, {"_celsius", "°C"}, {"_seconds", "s"}, {"_months", "months"}, {"_grams", "gf"}, {"_minor", "minor"}, {"_milli", "milli"},
	{"_kpa", "kPa"}, {"_mm2", "mm²"}, {"_ppm", "ppm"}, {"_um", "µm"}, {"_mm", "mm"},
}

// spoken is a field's name for people, and its unit.
func spoken(name string) (string, string) {
	for _, s := range suffixes {
		if rest, ok := strings.CutSuffix(name, s.suffix); ok {
			return strings.ReplaceAll(rest, "_", " "), s.unit
		}
	}
	return strings.ReplaceAll(name, "_", " "), ""
}

// text shows one value with its unit.
func (d *differing) text(unit string, fd protoreflect.FieldDescriptor, v protoreflect.Value) string {
	switch fd.Kind() {
	case protoreflect.BoolKind:
		if v.Bool() {
			return "yes"
		}
		return "no"
	case protoreflect.EnumKind:
		e := fd.Enum().Values().ByNumber(v.Enum())
		if e == nil || e.Number() == 0 {
			return "not chosen"
		}
		_, word, _ := strings.Cut(string(e.Name()), "_")
		return strings.ReplaceAll(strings.ToLower(word), "_", " ")
	case protoreflect.Int64Kind:
		switch unit {
		case "minor":
			return units.Money{Minor: v.Int(), Currency: d.currency}.String()
		case "ppm":
			return trimmed(v.Int(), 4) + " %"
		case "milli":
			return trimmed(v.Int(), 3)
		}
		return strings.TrimSpace(strconv.FormatInt(v.Int(), 10) + " " + unit)
	}
	if v.String() == "" {
		return "nothing"
	}
	return "“" + v.String() + "”"
}

// trimmed writes a whole number of 10^-digits as a decimal without needless zeros.
func trimmed(v int64, digits int) string {
	scale := int64(1)
	for range digits {
		scale *= 10
	}
	s := fmt.Sprintf("%d.%0*d", v/scale, digits, v%scale)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
