// Package placement says where on a garment a design usually goes: named places with their offset from a landmark that a
// person can feel (collar, shoulder seam, hem), how wide designs usually are there, and where a design's box then lands
// on a garment of a given size.
//
// Usual is common practice, no source; head office edits it and keeps it as its own Table, a plain value with JSON names.
// Landed gives the box on a garment laid flat, and warns where the design does not suit the place or runs near a seam.
// Graded gives a design's width for every size from its width on one of them.
//
// What is lost at the border: a garment is its few measures laid flat; drape, stretch and the wearer are not known.
//
// Room: placement
// Holds: Table, Garment, Size, Place, Landing, Graded
// May touch: recipes/units, recipes/fault
// Never: a drawing's outlines, a film, a branch's own garments
package placement

import (
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Face is one side of a garment laid flat.
type Face string

// Faces of garments. Left and right are the wearer's; seen from the front, the wearer's left is on the right.
const (
	Front       Face = "front"
	Back        Face = "back"
	LeftSleeve  Face = "left-sleeve"
	RightSleeve Face = "right-sleeve"
)

// Landmark is what a place is measured from, by hand and ruler.
type Landmark string

// Landmarks: the lower edge of the collar at the centre, the highest point of the shoulder, the finished hem (of a
// sleeve: its own), the top edge of a bag.
const (
	Collar   Landmark = "collar"
	Shoulder Landmark = "shoulder"
	Hem      Landmark = "hem"
	TopEdge  Landmark = "top-edge"
)

// Table is all that is known of places and garments: a plain value, to be kept, edited and sealed as one.
type Table struct {
	Source   string    `json:"source"` // where its numbers come from, said on every screen that shows them
	Garments []Garment `json:"garments"`
	Places   []Place   `json:"places"`
}

// Garment is one cut of garment in its sizes, the smallest first.
type Garment struct {
	Kind   string `json:"kind"` // "t-shirt", "childs-t-shirt", "hoodie" …
	Title  string `json:"title"`
	Child  bool   `json:"child"`
	Bag    bool   `json:"bag"` // no collar, shoulder or sleeve: measured from its top edge
	Source string `json:"source"`
	Sizes  []Size `json:"sizes"`
}

// Size is one size's measures in mm, laid flat. A measure that the garment does not have is 0.
type Size struct {
	Name          string            `json:"name"`
	Width         units.Millimetres `json:"width_mm"`            // side to side below the armholes
	Length        units.Millimetres `json:"length_mm"`           // highest shoulder point to hem; of a bag, its height
	AcrossChest   units.Millimetres `json:"across_chest_mm"`     // between the armholes; 0 is as wide as Width
	Armhole       units.Millimetres `json:"armhole_mm"`          // down from the shoulder to the lowest point of the armhole
	FrontNeck     units.Millimetres `json:"front_neck_mm"`       // down from the shoulder to the collar's lower edge in front
	BackNeck      units.Millimetres `json:"back_neck_mm"`        // the same behind
	NeckHalf      units.Millimetres `json:"neck_half_mm"`        // from the centre line to the side of collar or placket
	SleeveWidth   units.Millimetres `json:"sleeve_width_mm"`     // at the hem, laid flat
	SleeveLength  units.Millimetres `json:"sleeve_length_mm"`    // shoulder seam to hem
	PocketUpToHem units.Millimetres `json:"pocket_up_to_hem_mm"` // how far a front pouch pocket reaches up from the hem
}

// Place is one named place.
type Place struct {
	Name     string            `json:"name"` // "left-chest"
	Title    string            `json:"title"`
	Face     Face              `json:"face"`
	Landmark Landmark          `json:"landmark"`
	Offset   units.Millimetres `json:"offset_mm"` // from the landmark to the design's nearer edge: down, but up from a hem
	Across   units.Millimetres `json:"across_mm"` // from the centre line to the design's middle, towards the wearer's left
	Clear    units.Millimetres `json:"clear_mm"`  // to be kept free to seams and edges
	Bands    []Band            `json:"bands"`     // by garment width, the narrowest garments first
	Garments []string          `json:"garments"`  // kinds it is meant for
	Source   string            `json:"source"`
}

// Band is the usual width of designs on garments up to a width (for sleeves, of the sleeve), and their greatest height.
type Band struct {
	UpTo    units.Millimetres `json:"up_to_mm"`
	Least   units.Millimetres `json:"least_mm"`
	Usual   units.Millimetres `json:"usual_mm"`
	Most    units.Millimetres `json:"most_mm"`
	Tallest units.Millimetres `json:"tallest_mm"`
}

// The reasons of this room, append-only.
const (
	NoSuchGarment   fault.Reason = "NO_SUCH_GARMENT"
	NoSuchSize      fault.Reason = "NO_SUCH_SIZE"
	NoSuchPlace     fault.Reason = "NO_SUCH_PLACE"
	PlaceNotForIt   fault.Reason = "PLACE_NOT_FOR_IT" // the place is not meant for the garment
	DesignInvalid   fault.Reason = "DESIGN_INVALID"
	SizesDoNotGrade fault.Reason = "SIZES_DO_NOT_GRADE"
)

func refuse(kind fault.Kind, reason fault.Reason, words string, args ...any) *fault.Fault {
	return fault.New(kind, "placement", reason, words, args...)
}

// find gives the garment, its size and the place, or the fault that names what is missing.
func (t Table) find(kind, size, place string) (g Garment, s Size, p Place, err error) {
	if g, err = t.garment(kind); err != nil {
		return
	}
	if s, err = g.size(size); err != nil {
		return
	}
	for _, p = range t.Places {
		if p.Name != place {
			continue
		}
		for _, k := range p.Garments {
			if k == kind {
				return g, s, p, nil
			}
		}
		return g, s, p, refuse(fault.Invalid, PlaceNotForIt, "%s is no place on a %s. Choose another place.", p.Title, g.Title).With("place", place)
	}
	return g, s, Place{}, refuse(fault.NotFound, NoSuchPlace, "There is no place called %q. Choose one from the list.", place)
}

// Place finds a place by its name.
func (t Table) Place(name string) (Place, bool) {
	for _, p := range t.Places {
		if p.Name == name {
			return p, true
		}
	}
	return Place{}, false
}

func (t Table) garment(kind string) (Garment, error) {
	for _, g := range t.Garments {
		if g.Kind == kind {
			return g, nil
		}
	}
	return Garment{}, refuse(fault.NotFound, NoSuchGarment, "There is no garment called %q. Choose one from the list.", kind)
}

func (g Garment) size(name string) (Size, error) {
	for _, s := range g.Sizes {
		if s.Name == name {
			return s, nil
		}
	}
	return Size{}, refuse(fault.NotFound, NoSuchSize, "A %s has no size %q. Choose one from the list.", g.Title, name)
}

// band is the place's band for a garment or sleeve of the width; wider ones take the last.
func (p Place) band(width units.Millimetres) Band {
	for _, b := range p.Bands {
		if width <= b.UpTo {
			return b
		}
	}
	if n := len(p.Bands); n > 0 {
		return p.Bands[n-1]
	}
	return Band{} // a table that Check refuses
}
