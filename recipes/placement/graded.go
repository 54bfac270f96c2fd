package placement

import (
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// step is what graded widths are rounded to, so that sizes share a width where they nearly do. Common practice.
const step = 5

// SizeWidth is how wide a design shall be on one size. Held tells that growing in proportion would have left what is
// usual at the place, and that the width was held at its limit.
type SizeWidth struct {
	Size  string            `json:"size"`
	Width units.Millimetres `json:"width_mm"`
	Held  bool              `json:"held"`
}

// Graded gives the design's width on each of the sizes (all where none are named) from its width on one of them: it
// grows in proportion to the face, is held within what is usual at the place, and is rounded to 5 mm. On the base size
// it is just as given. Growing with the garment is common practice, no source.
// Faults: as Landed; SIZES_DO_NOT_GRADE where the base width itself is not usual there, or a size is named twice.
func (t Table) Graded(kind, place, base string, width units.Millimetres, sizes []string) ([]SizeWidth, error) {
	g, from, p, err := t.find(kind, base, place)
	if err != nil {
		return nil, err
	}
	if sizes == nil {
		for _, s := range g.Sizes {
			sizes = append(sizes, s.Name)
		}
	}
	if len(sizes) > maxSizes {
		return nil, refuse(fault.TooLarge, SizesDoNotGrade, "There are more than %d sizes. Grade them in parts.", maxSizes)
	}
	if b := p.band(p.faceWidth(from)); width < b.Least || width > b.Most {
		return nil, refuse(fault.Invalid, SizesDoNotGrade, "%d mm is not usual on size %s: designs there are %d to %d mm wide. Begin with such a width, or enter each size by hand.", width, base, b.Least, b.Most)
	}
	seen := map[string]bool{}
	var out []SizeWidth
	for _, name := range sizes {
		s, err := g.size(name)
		if err != nil {
			return nil, err
		}
		if seen[name] {
			return nil, refuse(fault.Invalid, SizesDoNotGrade, "Size %s stands twice. Name each size once.", name)
		}
		seen[name] = true
		if name == base {
			out = append(out, SizeWidth{Size: name, Width: width})
			continue
		}
		if p.faceWidth(from) == 0 || p.faceWidth(s) == 0 {
			return nil, refuse(fault.Invalid, PlaceNotForIt, "A %s of size %s has no sleeve to decorate. Choose another place.", g.Title, name)
		}
		grown := units.Millimetres(step * units.MulDiv(int64(width)*int64(p.faceWidth(s)), 1, step*int64(p.faceWidth(from))))
		b := p.band(p.faceWidth(s))
		held := min(max(grown, b.Least), b.Most)
		out = append(out, SizeWidth{Size: name, Width: held, Held: held != grown})
	}
	return out, nil
}

func (p Place) faceWidth(s Size) units.Millimetres {
	if p.sleeve() {
		return s.SleeveWidth
	}
	return s.Width
}
