// Package orders works out what a customer wants: from a real drawing to a plan with film, minutes, price, papers and
// cautions. It computes nothing itself that a recipe room can: it asks them and puts the answers together.
//
// Room: orders
// Holds: Order, Plan, Planner, the layouts and their improvement, InForce, Book
// May touch: recipes, recipes/units, recipes/fault, recipes/cut, recipes/layout, recipes/placement, recipes/press, recipes/prices, recipes/compliance, recipes/compliance/care, branches, branches/machines, branches/stock
// Never: SQL, Redis, RPC, a clock it was not handed; it keeps outlines, never a customer's file
package orders

import (
	"fmt"

	"evenpeel/recipes"
	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

const room = "orders"

// SizeCount is how many of one garment size, and how wide the design is on it.
type SizeCount struct {
	Size  string
	Count int64
	Width units.Micrometres // 0 is the drawing's own
}

// SameGarment as a line's garment decorates the garments of the line before once more.
const SameGarment = "same"

// Line is one design on one garment in one film and colour.
type Line struct {
	Drawing   string // "drawings/…"
	Figure    string // colour of the drawing; empty is all of it
	Recipe    recipes.RecordName
	Colour    string
	Garment   string // code from the price list; empty is the customer's own
	Sizes     []SizeCount
	Placement string // name of a place: "left-chest"
	Kind      string // cut of the garment that it is placed on, or "none"; empty follows from what it is sold as
	Turns     Turns
	// Registered says that the widths of the sizes are those of the whole drawing, so that lines of its several colours
	// are scaled alike and stay in register.
	Registered bool
}

// Order is what a customer wants.
type Order struct {
	Name        string // "branches/{branch}/orders/{id}"
	Title       string
	Lines       []Line
	Age         units.Months // youngest; −1 is adults only
	SoldAs      string
	Ownership   string
	Cutter      string
	Press       string
	GarmentCare *care.Label // nil is not known
	Cloth       units.GramsPerSquareMetre
	Lot         string
	Choices     Choices
}

// Limits of one order.
const (
	MaxLines  = 40
	MaxSizes  = 40
	MaxPieces = 2000
)

// Check finds everything that is wrong with an order by itself. Paths are those of orders.v1.Order.
func (o Order) Check() fault.Fields {
	var fs fault.Fields
	if len(o.Lines) == 0 || len(o.Lines) > MaxLines {
		fs.Add("lines", "are %d; an order has 1 to %d", len(o.Lines), MaxLines)
	}
	pieces := int64(0)
	for i, l := range o.Lines {
		path := fmt.Sprintf("lines[%d].", i)
		if l.Drawing == "" {
			fs.Add(path+"drawing", "is missing; drop a drawing first")
		}
		if kind, ok := l.Recipe.Kind(); !ok || kind != recipes.KindRecipe {
			fs.Add(path+"recipe", "is not chosen; choose a film and fabric")
		}
		if l.Colour == "" {
			fs.Add(path+"colour", "is not chosen")
		}
		if l.Turns < AsFilm || l.Turns > FreeTurns {
			fs.Add(path+"turns", "is no way of turning")
		}
		if i == 0 && l.Garment == SameGarment {
			fs.Add(path+"garment", "can not be the garment of a line before: this is the first")
		}
		if len(l.Sizes) == 0 || len(l.Sizes) > MaxSizes {
			fs.Add(path+"sizes", "are %d; a line has 1 to %d", len(l.Sizes), MaxSizes)
		}
		for j, s := range l.Sizes {
			at := fmt.Sprintf("%ssizes[%d].", path, j)
			if s.Count < 1 || s.Count > MaxPieces {
				fs.Add(at+"count", "is %d; allowed are 1 to %d", s.Count, MaxPieces)
			} else {
				pieces += s.Count
			}
			if s.Width != 0 && (s.Width < 5_000 || s.Width > 2_000_000) {
				fs.Add(at+"width_um", "is %d µm; a design is 5 to 2000 mm wide", s.Width)
			}
		}
	}
	if pieces > MaxPieces {
		fs.Add("lines", "hold %d pieces; at most %d are planned at once, so split the order", pieces, MaxPieces)
	}
	if o.Cutter == "" {
		fs.Add("cutter", "is not chosen")
	}
	if o.Press == "" {
		fs.Add("press", "is not chosen")
	}
	for path, v := range map[string]*units.Micrometres{"choices.gap_um": o.Choices.Gap, "choices.weed_border_um": o.Choices.WeedBorder} {
		if v != nil && (*v < 0 || *v > layout.MaxSpacing) {
			fs.Add(path, "is %d µm; allowed are 0 to %d µm", *v, layout.MaxSpacing)
		}
	}
	if o.GarmentCare != nil {
		fs.Under("garment_care", o.GarmentCare.Check())
	}
	return fs
}
