package orders

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// sheet is what is laid out together: one film in one colour.
type sheet struct {
	card     machines.Card
	cutter   machines.Machine
	choices  Choices
	colour   string
	outlines []Outline
	pieces   []layout.Piece // one for each outline
	weeding  units.Milliseconds
	thin     bool
	most     int // separate pieces of the busiest design
	layers   int // of the design with most films or colours over each other
}

func (p Planner) sheets(ctx context.Context, b branches.Branch, in InForce, o Order, cutter, platen machines.Machine, plan *Plan) ([]*sheet, error) {
	var order []*sheet
	byKey := map[string]*sheet{}
	var looks []look
	layers := layersOf(o.Lines)
	for i, line := range o.Lines {
		approved, err := in.recipe(line.Recipe)
		if err != nil {
			return nil, err
		}
		film := approved.Recipe.Film
		if !slices.Contains(film.Colours, line.Colour) {
			return nil, fault.New(fault.Invalid, room, "COLOUR_NOT_SOLD", "%s does not come in %s. Choose one of: %s.", film.Title, line.Colour, strings.Join(film.Colours, ", "))
		}
		drawing, err := p.Drawing(ctx, b.Name, line.Drawing)
		if err != nil {
			return nil, err
		}
		design, corner, ok := figure(drawing, line.Figure)
		if !ok {
			return nil, fault.New(fault.Invalid, room, "FIGURE_NOT_FOUND", "The drawing has nothing in the colour %s. Choose one of its own colours, or all of it.", line.Figure)
		}
		key := string(line.Recipe) + "|" + line.Colour
		s := byKey[key]
		if s == nil {
			s = &sheet{card: machines.Worked(approved.Entry, approved.Recipe, cutter, platen, p.Heat), cutter: cutter, choices: o.Choices, colour: line.Colour}
			byKey[key], order = s, append(order, s)
			plan.Revisions = append(plan.Revisions, approved.Entry.Revision)
		}
		s.layers = max(s.layers, layers[layered{line.Drawing, line.Placement}])
		whole := design.Width
		if line.Registered {
			whole = drawing.Width
		}
		smallest := math.Inf(1)
		for _, size := range line.Sizes {
			factor := 1.0
			if size.Width > 0 && whole > 0 {
				factor = float64(size.Width) / 1000 / whole
			}
			smallest = min(smallest, factor)
			s.add(i, line, size, design, corner, factor)
		}
		limits := cut.Limits{MinStroke: film.MinStroke, MinGap: film.MinGap, SmallestPiece: film.SmallestPiece}
		looks = append(looks, look{s, design, corner, smallest, inspection{line.Drawing, line.Figure, smallest, limits}})
	}
	for i, found := range p.looked(looks) {
		at := looks[i]
		for _, f := range at.sheet.marked(found) { // places are told on the drawing as it was read
			f.At = cut.Point{X: f.At.X/at.factor + at.corner.X, Y: f.At.Y/at.factor + at.corner.Y}
			plan.Findings = append(plan.Findings, f)
		}
	}
	return order, nil
}

// layered names what lies over each other: lines of one drawing, in register, at one place.
type layered struct{ drawing, placement string }

// layersOf counts the layers of each.
func layersOf(lines []Line) map[layered]int {
	layers := map[layered]int{}
	for _, l := range lines {
		if l.Registered {
			layers[layered{l.Drawing, l.Placement}]++
		}
	}
	return layers
}

// marked are the findings of a design at its smallest size, noted on the sheet: what passes there passes at the larger
// ones.
func (s *sheet) marked(found []cut.Finding) []cut.Finding {
	for _, f := range found {
		s.thin = s.thin || f.Kind == cut.ThinStroke || f.Kind == cut.NarrowGap || f.Kind == cut.TinyPiece
	}
	return found
}

// add takes one size of one line onto the sheet. corner is where the design begins in its whole drawing.
func (s *sheet) add(index int, line Line, size SizeCount, design cut.Drawing, corner cut.Point, factor float64) {
	if factor != 1 {
		design = design.Scaled(factor)
	}
	s.most = max(s.most, len(design.Shapes))
	s.weeding += cut.Weeding(design) * units.Milliseconds(size.Count)
	o := outlined(design)
	o.Line, o.Size = index, size.Size
	um := func(mm float64) units.Micrometres { return units.Micrometres(math.Round(mm * 1000)) }
	o.RegisterX, o.RegisterY = o.RegisterX+um(corner.X*factor), o.RegisterY+um(corner.Y*factor)
	s.outlines = append(s.outlines, o)
	piece := layout.Piece{
		Key: fmt.Sprintf("%d %s", index+1, size.Size), Width: o.Width, Height: o.Height, Copies: int(size.Count), Turns: turns(s.card.Recipe.Film.Turns, line.Turns), Group: size.Size,
	}
	if s.choices.TrueOutlines {
		piece.Outline = s.outlineFor(o)
	}
	s.pieces = append(s.pieces, piece)
}

// outlineFor is the outline that a design is laid out by; none, so that its box is taken, where it has more points than one
// layout takes.
func (s *sheet) outlineFor(o Outline) []layout.Ring {
	points, before := 0, 0
	for _, r := range o.Rings {
		points += len(r)
	}
	for _, p := range s.pieces {
		for _, r := range p.Outline {
			before += len(r)
		}
	}
	if points > layout.MaxPoints || before+points > layout.MaxOrderPoints {
		return nil
	}
	return o.exact()
}

// roll is the film and what the cutter takes of it.
func (s *sheet) roll() layout.Roll {
	r, um := s.card.Recipe, func(mm units.Millimetres) units.Micrometres { return units.Micrometres(mm) * 1000 }
	roll := layout.Roll{
		Width: um(r.Film.RollWidth), EdgeMargin: um(s.cutter.EdgeMargin), Lead: um(s.cutter.Lead), Tail: um(s.cutter.Tail), Gap: um(r.Gap), WeedBorder: um(r.WeedBorder),
		MaxLength: um(s.cutter.LongestCut),
	}
	if s.choices.Gap != nil {
		roll.Gap = *s.choices.Gap
	}
	if s.choices.WeedBorder != nil {
		roll.WeedBorder = *s.choices.WeedBorder
	}
	return roll
}

// rollOf is the same on film of another width.
func (s *sheet) rollOf(width units.Micrometres) layout.Roll {
	roll := s.roll()
	roll.Width = width
	return roll
}

func copiesOf(pieces []layout.Piece) (n int) {
	for _, p := range pieces {
		n += p.Copies
	}
	return n
}
