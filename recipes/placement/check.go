package placement

import (
	"fmt"
	"regexp"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Limits of a table.
const (
	maxGarments = 200
	maxSizes    = 60
	maxPlaces   = 200
	maxBands    = 20
	maxMeasure  = 3000 // mm
	maxTitle    = 80
)

var nameForm = regexp.MustCompile(`^[a-z]([a-z0-9-]{0,38}[a-z0-9])?$`)

// RecordKind is the first part of the table's name as a record.
func (Table) RecordKind() string { return "placements" }

// RecordTitle is what lists of records show.
func (t Table) RecordTitle() string { return "Places on garments" }

// Check finds all that is wrong with the table. Paths are those of record.v1.PlacementTable.
func (t Table) Check() (fs fault.Fields) {
	if t.Source == "" {
		fs.Add("source", "is empty; say where the numbers come from")
	}
	if n := len(t.Garments); n == 0 || n > maxGarments {
		fs.Add("garments", "are %d; there must be 1 to %d", n, maxGarments)
	}
	if n := len(t.Places); n == 0 || n > maxPlaces {
		fs.Add("places", "are %d; there must be 1 to %d", n, maxPlaces)
	}
	kinds := map[string]bool{}
	for i, g := range t.Garments {
		if i >= maxGarments {
			break
		}
		at := fmt.Sprintf("garments[%d]", i)
		if kinds[g.Kind] {
			fs.Add(at+".kind", "%q stands twice", g.Kind)
		}
		kinds[g.Kind] = true
		fs.Under(at, g.check())
	}
	names := map[string]bool{}
	for i, p := range t.Places {
		if i >= maxPlaces {
			break
		}
		at := fmt.Sprintf("places[%d]", i)
		if names[p.Name] {
			fs.Add(at+".name", "%q stands twice", p.Name)
		}
		names[p.Name] = true
		fs.Under(at, p.check(kinds))
	}
	return fs
}

func (g Garment) check() (fs fault.Fields) {
	named(&fs, "kind", g.Kind, g.Title, g.Source)
	if n := len(g.Sizes); n == 0 || n > maxSizes {
		fs.Add("sizes", "are %d; there must be 1 to %d", n, maxSizes)
		return fs
	}
	names := map[string]bool{}
	for i, s := range g.Sizes {
		at := fmt.Sprintf("sizes[%d]", i)
		if s.Name == "" || len(s.Name) > 20 || names[s.Name] {
			fs.Add(at+".name", "is %q; it must be 1 to 20 letters, and stand once", s.Name)
		}
		names[s.Name] = true
		if i > 0 && s.Width < g.Sizes[i-1].Width {
			fs.Add(at+".width_mm", "is %d, narrower than the size before; put the smallest first", s.Width)
		}
		fs.Under(at, s.check(g.Bag))
	}
	return fs
}

func (s Size) check(bag bool) (fs fault.Fields) {
	for _, m := range []struct {
		name  string
		value units.Millimetres
		must  bool
	}{
		{"width_mm", s.Width, true}, {"length_mm", s.Length, true}, {"armhole_mm", s.Armhole, !bag}, {"front_neck_mm", s.FrontNeck, !bag}, {"back_neck_mm", s.BackNeck, false}, {"neck_half_mm", s.NeckHalf, false},
		{"across_chest_mm", s.AcrossChest, false}, {"sleeve_width_mm", s.SleeveWidth, false}, {"sleeve_length_mm", s.SleeveLength, false}, {"pocket_up_to_hem_mm", s.PocketUpToHem, false},
	} {
		if m.value < 0 || m.value > maxMeasure || m.must && m.value == 0 {
			fs.Add(m.name, "is %d mm; it must be above 0 and at most %d", m.value, maxMeasure)
		}
	}
	if s.AcrossChest > s.Width {
		fs.Add("across_chest_mm", "is %d mm, more than the garment is wide", s.AcrossChest)
	}
	if s.Armhole >= s.Length || s.FrontNeck >= s.Length || s.PocketUpToHem >= s.Length {
		fs.Add("length_mm", "is %d mm; armhole, neck and pocket must lie within it", s.Length)
	}
	if (s.SleeveWidth == 0) != (s.SleeveLength == 0) {
		fs.Add("sleeve_width_mm", "and sleeve_length_mm must both be given or both be 0")
	}
	return fs
}

func (p Place) check(kinds map[string]bool) (fs fault.Fields) {
	named(&fs, "name", p.Name, p.Title, p.Source)
	switch p.Face {
	case Front, Back, LeftSleeve, RightSleeve:
	default:
		fs.Add("face", "is %q; it must be front, back, left-sleeve or right-sleeve", p.Face)
	}
	sleeve := p.Face == LeftSleeve || p.Face == RightSleeve
	switch p.Landmark {
	case Collar, Shoulder, Hem, TopEdge:
	default:
		fs.Add("landmark", "is %q; it must be collar, shoulder, hem or top-edge", p.Landmark)
	}
	if sleeve && (p.Landmark == Collar || p.Landmark == TopEdge) {
		fs.Add("landmark", "of a sleeve must be shoulder or hem")
	}
	if p.Offset < 0 || p.Offset > maxMeasure || p.Across < -maxMeasure || p.Across > maxMeasure || p.Clear < 0 || p.Clear > 300 {
		fs.Add("offset_mm", "is %d with %d across and %d clear; at most %d, %d and 300 mm", p.Offset, p.Across, p.Clear, maxMeasure, maxMeasure)
	}
	if len(p.Garments) == 0 || len(p.Garments) > maxGarments {
		fs.Add("garments", "are none; name the kinds that it is meant for")
	}
	for i, k := range p.Garments {
		if !kinds[k] {
			fs.Add(fmt.Sprintf("garments[%d]", i), "%q is not in the table", k)
		}
	}
	if n := len(p.Bands); n == 0 || n > maxBands {
		fs.Add("bands", "are %d; there must be 1 to %d", n, maxBands)
	}
	for i, b := range p.Bands {
		at := fmt.Sprintf("bands[%d]", i)
		if i > 0 && b.UpTo <= p.Bands[i-1].UpTo {
			fs.Add(at+".up_to_mm", "is %d, not above the band before", b.UpTo)
		}
		if !(0 < b.Least && b.Least <= b.Usual && b.Usual <= b.Most && b.Most <= maxMeasure) {
			fs.Add(at+".usual_mm", "is %d between %d and %d; they must be above 0 and in that order", b.Usual, b.Least, b.Most)
		}
		if b.Tallest <= 0 || b.Tallest > maxMeasure {
			fs.Add(at+".tallest_mm", "is %d; it must be above 0", b.Tallest)
		}
	}
	return fs
}

func named(fs *fault.Fields, field, name, title, source string) {
	if !nameForm.MatchString(name) {
		fs.Add(field, "is %q; it must be small letters, digits and hyphens, at most 40", name)
	}
	if title == "" || len(title) > maxTitle {
		fs.Add("title", "must be 1 to %d letters", maxTitle)
	}
	if source == "" || len(source) > 300 {
		fs.Add("source", "must say where the numbers come from, in at most 300 letters")
	}
}
