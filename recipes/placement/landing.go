package placement

import (
	"fmt"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Box is a box on a face laid flat, in mm: x from the left edge as seen, y down from the highest shoulder point (of a
// bag, from its top edge; of a sleeve, from the shoulder seam).
type Box struct {
	X      units.Millimetres `json:"x_mm"`
	Y      units.Millimetres `json:"y_mm"`
	Width  units.Millimetres `json:"width_mm"`
	Height units.Millimetres `json:"height_mm"`
}

func (b Box) right() units.Millimetres  { return b.X + b.Width }
func (b Box) bottom() units.Millimetres { return b.Y + b.Height }

// WarningKind is what kind of warning it is. The list is append-only.
type WarningKind string

const (
	TooWide    WarningKind = "TOO_WIDE"    // wider than designs usually are there
	TooNarrow  WarningKind = "TOO_NARROW"  // narrower than designs usually are there
	TooTall    WarningKind = "TOO_TALL"    // taller than designs usually are there
	OffGarment WarningKind = "OFF_GARMENT" // reaches past the garment's edge
	NearSeam   WarningKind = "NEAR_SEAM"   // nearer to a seam or edge than is kept clear
	OnPocket   WarningKind = "ON_POCKET"   // runs onto the pouch pocket
)

// Warning is one thing that a person should look at before pressing.
type Warning struct {
	Kind  WarningKind `json:"kind"`
	Words string      `json:"words"`
}

// Landing is where a design comes to lie.
type Landing struct {
	Face     Face      `json:"face"`
	On       Box       `json:"on"`     // the face itself, at 0,0
	Design   Box       `json:"design"` // the design's box on it
	Band     Band      `json:"band"`   // what is usual there
	Source   string    `json:"source"`
	Warnings []Warning `json:"warnings"`
}

// Landed says where a design of the given size in mm lies on the garment, and what speaks against it.
// Faults: NO_SUCH_GARMENT, NO_SUCH_SIZE, NO_SUCH_PLACE, PLACE_NOT_FOR_IT, DESIGN_INVALID. The table must have passed
// Check.
func (t Table) Landed(kind, size, place string, width, height units.Millimetres) (Landing, error) {
	g, s, p, err := t.find(kind, size, place)
	if err != nil {
		return Landing{}, err
	}
	if width < 1 || height < 1 || width > maxMeasure || height > maxMeasure {
		return Landing{}, refuse(fault.Invalid, DesignInvalid, "A design of %d × %d mm can not be placed; both must be 1 to %d mm. Enter its size again.", width, height, maxMeasure)
	}
	on := Box{Width: s.Width, Height: s.Length}
	if p.sleeve() {
		if s.SleeveWidth == 0 {
			return Landing{}, refuse(fault.Invalid, PlaceNotForIt, "A %s of size %s has no sleeve to decorate. Choose another place.", g.Title, s.Name)
		}
		on = Box{Width: s.SleeveWidth, Height: s.SleeveLength}
	}
	across := p.Across
	if p.Face == Back { // seen from behind, the wearer's left is on the left
		across = -across
	}
	d := Box{X: (on.Width-width)/2 + across, Y: p.top(s, on, height), Width: width, Height: height}
	l := Landing{Face: p.Face, On: on, Design: d, Band: p.band(on.Width), Source: p.Source}
	l.weigh(p, s)
	return l, nil
}

func (p Place) sleeve() bool { return p.Face == LeftSleeve || p.Face == RightSleeve }

// top is the upper edge of a design of the height.
func (p Place) top(s Size, on Box, height units.Millimetres) units.Millimetres {
	switch {
	case p.Landmark == Hem:
		return on.Height - p.Offset - height
	case p.Landmark == Collar && p.Face == Back:
		return s.BackNeck + p.Offset
	case p.Landmark == Collar:
		return s.FrontNeck + p.Offset
	}
	return p.Offset
}

func (l *Landing) warn(kind WarningKind, words string, args ...any) {
	l.Warnings = append(l.Warnings, Warning{kind, fmt.Sprintf(words, args...)})
}

func (l *Landing) weigh(p Place, s Size) {
	d, b := l.Design, l.Band
	switch {
	case d.Width > b.Most:
		l.warn(TooWide, "The design is %d mm wide; here it is usually %d to %d mm. Make it narrower, or choose a larger place.", d.Width, b.Least, b.Most)
	case d.Width < b.Least:
		l.warn(TooNarrow, "The design is %d mm wide; here it is usually %d to %d mm. Make it wider, or choose a smaller place.", d.Width, b.Least, b.Most)
	}
	if d.Height > b.Tallest {
		l.warn(TooTall, "The design is %d mm tall; here it is usually at most %d mm. Make it smaller.", d.Height, b.Tallest)
	}
	left, right := l.clearAcross(s)
	top, foot := d.Y, l.On.Height-d.bottom()
	if !p.sleeve() {
		top -= l.neck(s)
	}
	least := min(left, right, top, foot)
	if least < 0 {
		l.warn(OffGarment, "The design reaches %d mm past the edge of the garment. Make it smaller, or move it.", -least)
	} else if least < p.Clear {
		l.warn(NearSeam, "The design comes within %d mm of a seam or edge; keep %d mm, so that the platen lies flat. Make it smaller, or move it.", least, p.Clear)
	}
	if pocket := s.PocketUpToHem; p.Face == Front && pocket > 0 && d.bottom() > l.On.Height-pocket {
		l.warn(OnPocket, "The design runs %d mm onto the pocket. Move it up, or make it smaller.", d.bottom()-(l.On.Height-pocket))
	}
}

// clearAcross is what is left free beside the design, between the armholes where it lies that high.
func (l *Landing) clearAcross(s Size) (left, right units.Millimetres) {
	inset := units.Millimetres(0)
	body := l.Face == Front || l.Face == Back
	if body && s.AcrossChest > 0 && l.Design.Y < s.Armhole {
		inset = (s.Width - s.AcrossChest) / 2
	}
	return l.Design.X - inset, l.On.Width - inset - l.Design.right()
}

// neck is how far collar or placket reach down where the design is wide enough to meet them.
func (l *Landing) neck(s Size) units.Millimetres {
	middle := l.On.Width / 2
	if l.Design.right() <= middle-s.NeckHalf || l.Design.X >= middle+s.NeckHalf {
		return 0
	}
	if l.Face == Back {
		return s.BackNeck
	}
	return s.FrontNeck
}
