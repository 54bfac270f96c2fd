package orders

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/press"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/units"
)

// Outline is one design at one size, mirrored, upright, its corner at 0,0.
type Outline struct {
	Rings         []cut.Ring
	Width, Height units.Micrometres
	Area          float64 // mm²
}

// Place is one copy of an outline on the roll.
type Place struct {
	Line          int
	Size          string
	Outline       int
	X, Y          units.Micrometres
	Width, Height units.Micrometres // as it lies
	Turned        bool              // by a quarter, clockwise
}

// Layout is one film in one colour on the roll.
type Layout struct {
	Film, FilmTitle, Colour string
	RollWidth               units.Micrometres
	EdgeMargin              units.Micrometres
	Length, Bound           units.Micrometres
	Places                  []Place
	Outlines                []Outline
	DesignArea              units.SquareMillimetres // of the designs themselves
	EdgeArea                units.SquareMillimetres // edges, rollers, ends
	LayoutArea              units.SquareMillimetres // between designs
	Cutting                 cut.Estimate
	Weeding                 units.Milliseconds
	Band                    int
	Card                    machines.Card
	Roll, RollWords, Lot    string // the lot is the order's own, or else that of the roll
}

// Drawn is the film that the layout takes.
func (l Layout) Drawn() units.SquareMillimetres {
	return l.DesignArea + l.EdgeArea + l.LayoutArea
}

// Plan is an order worked out.
type Plan struct {
	Layouts   []Layout
	Quote     *prices.Quote // nil where no price list is in force
	Verdict   compliance.Verdict
	Findings  []cut.Finding
	Care      care.Label
	CareWords []string
	Pressing  units.Seconds
	Garments  int64
	Blocks    []string
	Revisions []recipes.RevisionName
	Release   int64
}

// Planner works orders out.
type Planner struct {
	Book     Book
	Workshop machines.Workshop
	Shelf    stock.Shelf
	Heat     *machines.Heat
}

// searchMoves is the effort of the layout search: bounded work rather than time, so that the same order gives the same
// plan. It is shared among the copies, so that an order of any size answers while a person waits.
const searchMoves = 1_200_000

// Plan works an order out for a branch by what is in force, on the day given (YYYY-MM-DD). Nothing is kept.
// Faults: Invalid/ORDER_INVALID with every field, NotFound/DRAWING_NOT_FOUND, NotReady/RECIPE_NOT_IN_FORCE,
// NotFound/MACHINE_NOT_FOUND, Invalid/FIGURE_NOT_FOUND, and those of layout.Pack.
func (p Planner) Plan(ctx context.Context, b branches.Branch, in InForce, o Order, day string) (Plan, error) {
	if err := o.Check().Fault(room, "ORDER_INVALID", "The order can not be planned yet. Mend the fields named."); err != nil {
		return Plan{}, err
	}
	cutter, platen, err := p.machines(ctx, b.Name, o)
	if err != nil {
		return Plan{}, err
	}
	plan := Plan{Release: in.Sheet.Release}
	sheets, err := p.sheets(ctx, b, in, o, cutter, platen, &plan)
	if err != nil {
		return plan, err
	}
	rolls, err := p.Shelf.Rolls(ctx, b.Name)
	if err != nil {
		return plan, err
	}
	for _, s := range sheets {
		l, err := s.laid(ctx, cutter)
		if err != nil {
			return plan, err
		}
		chosen, ok := stock.Chosen(rolls, l.Film, l.Colour, o.Lot, units.Millimetres(l.RollWidth/1000), l.withReprint())
		if ok {
			l.Roll, l.RollWords, l.Lot = chosen.Roll.Name, chosen.Words, chosen.Roll.Lot
		} else {
			l.RollWords = fmt.Sprintf("No roll of %s in %s has %s m left.", l.FilmTitle, l.Colour, stock.Metres(l.withReprint()))
		}
		seconds, err := press.TimeFor(CycleOf(l.Card.Recipe), len(l.Places), int(max(platen.Count, 1)), 1)
		if err != nil {
			return plan, err
		}
		plan.Pressing += seconds
		plan.Blocks = append(plan.Blocks, l.Card.Refusals...)
		plan.Layouts = append(plan.Layouts, l)
	}
	plan.garments(o)
	if err := plan.judged(b, in, o, day); err != nil {
		return plan, err
	}
	plan.cared(o)
	return plan, plan.priced(in, o)
}

func (p Planner) machines(ctx context.Context, branch string, o Order) (cutter, platen machines.Machine, err error) {
	ms, err := p.Workshop.Machines(ctx, branch)
	if err != nil {
		return cutter, platen, err
	}
	find := func(name string, kind machines.Kind) (machines.Machine, error) {
		for _, m := range ms {
			if m.Name == name && m.Kind == kind {
				return m, nil
			}
		}
		return machines.Machine{}, fault.New(fault.NotFound, room, "MACHINE_NOT_FOUND", "This branch has no %s %s. Choose one of its own.", kind, name)
	}
	if cutter, err = find(o.Cutter, machines.Cutter); err == nil {
		platen, err = find(o.Press, machines.Press)
	}
	return cutter, platen, err
}

// withReprint is the length that a roll should have: the layout's, and its longest design once more, so that a reprint
// does not find an empty remnant. Common practice, no source.
func (l Layout) withReprint() units.Millimetres {
	longest := units.Micrometres(0)
	for _, at := range l.Places {
		longest = max(longest, at.Height)
	}
	return units.Millimetres((l.Length + longest + 999) / 1000)
}

// sheet is what is laid out together: one film in one colour.
type sheet struct {
	card     machines.Card
	colour   string
	outlines []Outline
	pieces   []layout.Piece
	lines    []int
	sizes    []string
	weeding  units.Milliseconds
	thin     bool
	most     int // separate pieces of the busiest design
}

func (p Planner) sheets(ctx context.Context, b branches.Branch, in InForce, o Order, cutter, platen machines.Machine, plan *Plan) ([]*sheet, error) {
	var order []*sheet
	byKey := map[string]*sheet{}
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
			s = &sheet{card: machines.Worked(approved.Entry, approved.Recipe, cutter, platen, p.Heat), colour: line.Colour}
			byKey[key], order = s, append(order, s)
			plan.Revisions = append(plan.Revisions, approved.Entry.Revision)
		}
		var worst []cut.Finding
		smallest := math.Inf(1)
		for _, size := range line.Sizes {
			found, factor := s.add(i, size, design)
			if factor < smallest { // what passes at the smallest size passes at the larger ones
				worst, smallest = found, factor
			}
		}
		for _, f := range worst { // places are told on the drawing as it was read
			f.At = cut.Point{X: f.At.X/smallest + corner.X, Y: f.At.Y/smallest + corner.Y}
			plan.Findings = append(plan.Findings, f)
		}
	}
	return order, nil
}

// add takes one size of one line onto the sheet and gives what the blade can not do in it, and how far it was scaled.
func (s *sheet) add(line int, size SizeCount, design cut.Drawing) ([]cut.Finding, float64) {
	factor := 1.0
	if size.Width > 0 && design.Width > 0 {
		factor = float64(size.Width) / 1000 / design.Width
		design = design.Scaled(factor)
	}
	film := s.card.Recipe.Film
	found := cut.Inspect(design, cut.Limits{MinStroke: film.MinStroke, MinGap: film.MinGap, SmallestPiece: film.SmallestPiece})
	for _, f := range found {
		s.thin = s.thin || f.Kind == cut.ThinStroke || f.Kind == cut.NarrowGap || f.Kind == cut.TinyPiece
	}
	s.most = max(s.most, len(design.Shapes))
	s.weeding += cut.Weeding(design) * units.Milliseconds(size.Count)
	mirrored := design.Mirrored()
	up := func(mm float64) units.Micrometres { return units.Micrometres(math.Ceil(mm*1000 - 1e-6)) }
	s.outlines = append(s.outlines, Outline{Rings: mirrored.Rings(), Width: up(design.Width), Height: up(design.Height), Area: design.Area()})
	turns := map[recipes.Turns]layout.Turns{recipes.NoTurn: layout.None, recipes.HalfTurns: layout.Half, recipes.QuarterTurns: layout.Quarter}[film.Turns]
	s.pieces = append(s.pieces, layout.Piece{Key: fmt.Sprintf("%d %s", line+1, size.Size), Width: up(design.Width), Height: up(design.Height), Copies: int(size.Count), Turns: turns, Group: size.Size})
	s.lines, s.sizes = append(s.lines, line), append(s.sizes, size.Size)
	return found, factor
}

// laid packs the sheet on its roll.
func (s *sheet) laid(ctx context.Context, cutter machines.Machine) (Layout, error) {
	r := s.card.Recipe
	copies := 0
	for _, p := range s.pieces {
		copies += p.Copies
	}
	um := func(mm units.Millimetres) units.Micrometres { return units.Micrometres(mm) * 1000 }
	roll := layout.Roll{Width: um(r.Film.RollWidth), EdgeMargin: um(cutter.EdgeMargin), Lead: um(cutter.Lead), Tail: um(cutter.Tail), Gap: um(r.Gap), WeedBorder: um(r.WeedBorder), MaxLength: um(cutter.LongestCut)}
	packed, err := layout.Pack(ctx, roll, s.pieces, layout.Effort{Seed: 1, Moves: searchMoves / max(copies, 10)})
	if err != nil {
		return Layout{}, err
	}
	l := Layout{
		Film: r.Film.Code, FilmTitle: r.Film.Title, Colour: s.colour, RollWidth: roll.Width, EdgeMargin: roll.EdgeMargin, Length: packed.Length, Bound: packed.Bound,
		Outlines: s.outlines, Card: s.card, Weeding: s.weeding, Band: band(s.most, s.thin),
	}
	area := 0.0
	for _, at := range packed.Places {
		o := s.outlines[at.Piece]
		place := Place{Line: s.lines[at.Piece], Size: s.sizes[at.Piece], Outline: at.Piece, X: at.X, Y: at.Y, Width: o.Width, Height: o.Height, Turned: at.Turned()}
		if at.Turned() {
			place.Width, place.Height = o.Height, o.Width
		}
		area += o.Area
		l.Places = append(l.Places, place)
	}
	drawn := units.SquareMillimetres(int64(l.RollWidth) * int64(l.Length) / 1_000_000)
	l.DesignArea = min(units.SquareMillimetres(math.Round(area)), drawn)
	l.EdgeArea = min(packed.Areas.Edges+packed.Areas.Ends, drawn-l.DesignArea)
	l.LayoutArea = drawn - l.DesignArea - l.EdgeArea
	l.Cutting, err = cut.Estimated(l.Rings(), cut.Motion{Speed: r.CutSpeed.Set, TravelSpeed: cutter.Travel, Acceleration: cutter.Acceleration, Passes: int(r.Passes), CornerAngle: stopAngle})
	return l, err
}

// stopAngle is the turn above which a blade is taken to stop. Common practice, no source.
const stopAngle = 30

// band says how hard a design is to cut and weed, for fair comparison: hard with strokes, gaps or pieces at the film's
// limits or more than 40 pieces, middle with more than 10. Common practice, no source.
func band(pieces int, thin bool) int {
	switch {
	case thin || pieces > 40:
		return 2
	case pieces > 10:
		return 1
	}
	return 0
}

// Rings are all outlines of the layout where they lie on the roll, mirrored, in millimetres.
func (l Layout) Rings() []cut.Ring {
	var rings []cut.Ring
	for _, at := range l.Places {
		o := l.Outlines[at.Outline]
		x, y, h := float64(at.X)/1000, float64(at.Y)/1000, float64(o.Height)/1000
		for _, r := range o.Rings {
			ring := make(cut.Ring, len(r))
			for i, p := range r {
				if at.Turned { // a quarter clockwise: a rotation, never a reflection, or the mirroring would be undone
					p = cut.Point{X: h - p.Y, Y: p.X}
				}
				ring[i] = cut.Point{X: x + p.X, Y: y + p.Y}
			}
			rings = append(rings, ring)
		}
	}
	return rings
}

// Hands' times around the press. Common practice, no source: measure your own people.
const (
	loadTime    = units.Seconds(8)
	placeTime   = units.Seconds(6)
	peelTime    = units.Seconds(4)
	takeOffTime = units.Seconds(4)
)

// CycleOf is a recipe's press cycle with the hands' times around it.
func CycleOf(r recipes.Recipe) press.Cycle {
	return press.Cycle{Load: loadTime, PrePress: r.PrePress, Place: placeTime, Dwell: r.Dwell.Set, Peel: press.Peel(r.Peel), PeelWait: r.PeelWait, PeelTime: peelTime, SecondPress: r.SecondPress, TakeOff: takeOffTime}
}

func (plan *Plan) garments(o Order) {
	for _, l := range o.Lines {
		if l.Garment == SameGarment {
			continue
		}
		for _, s := range l.Sizes {
			plan.Garments += s.Count
		}
	}
}
