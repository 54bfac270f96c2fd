package orders

import (
	"context"
	"fmt"
	"slices"

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

// Cut is one stretch of film, fed and cut at once.
type Cut struct {
	Length, RollWidth units.Micrometres
	Roll, Words, Lot  string            // the roll or remnant to take, and why; Roll is empty where none suffices
	Left              units.Millimetres // on it afterwards
	Remnant           units.Millimetres // of that, worth putting away as a remnant; 0 is none
}

// Layout is one film in one colour on the roll.
type Layout struct {
	Film, FilmTitle, Colour string
	RollWidth               units.Micrometres
	EdgeMargin              units.Micrometres
	Gap, WeedBorder         units.Micrometres
	Length, Bound           units.Micrometres // of all cuts
	Cuts                    []Cut
	Places                  []Place
	Outlines                []Outline
	TrueOutlines            bool                    // laid out and checked by outlines rather than by the boxes around them
	Turns                   Turns                   // what the film allows
	DesignArea              units.SquareMillimetres // of the designs themselves
	EdgeArea                units.SquareMillimetres // edges, rollers, ends
	LayoutArea              units.SquareMillimetres // between designs
	Cutting                 cut.Estimate
	Weeding                 units.Milliseconds
	Band                    int
	Card                    machines.Card
	Roll, RollWords, Lot    string            // of the first cut
	RowsLength              units.Micrometres // film that plain rows take
	SavedMoney              int64             // net against plain rows, in minor units
}

// Saved is the film saved against plain rows.
func (l Layout) Saved() units.Micrometres { return max(l.RowsLength-l.Length, 0) }

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
	Seen     *Inspections // nil inspects anew every time
}

// Plan works an order out for a branch by what is in force, on the day given (YYYY-MM-DD). Layouts that the client holds
// are checked and taken; the others are laid out. Nothing is kept.
// Faults: Invalid/ORDER_INVALID with every field, NotFound/DRAWING_NOT_FOUND, NotReady/RECIPE_NOT_IN_FORCE,
// NotFound/MACHINE_NOT_FOUND, Invalid/FIGURE_NOT_FOUND, Invalid/LAYOUT_INVALID, and those of layout.Pack.
func (p Planner) Plan(ctx context.Context, b branches.Branch, in InForce, o Order, held []Held, day string) (Plan, error) {
	w, err := p.begun(ctx, b, in, o, held, day)
	if err != nil {
		return Plan{}, err
	}
	return w.finished()
}

// work is an order while it is being planned.
type work struct {
	branch branches.Branch
	in     InForce
	order  Order
	day    string
	platen machines.Machine
	rolls  []stock.Roll
	sheets []*sheet
	laid   [][]stretch // the cuts of each sheet
	heldAs []int       // index among the layouts handed in, or −1
	plan   Plan        // what does not hang on how things lie
}

// begun reads the order and lays it out.
func (p Planner) begun(ctx context.Context, b branches.Branch, in InForce, o Order, held []Held, day string) (*work, error) {
	if err := o.Check().Fault(room, "ORDER_INVALID", "The order can not be planned yet. Mend the fields named."); err != nil {
		return nil, err
	}
	cutter, platen, err := p.machines(ctx, b.Name, o)
	if err != nil {
		return nil, err
	}
	w := &work{branch: b, in: in, order: o, day: day, platen: platen, plan: Plan{Release: in.Sheet.Release}}
	if w.sheets, err = p.sheets(ctx, b, in, o, cutter, platen, &w.plan); err != nil {
		return nil, err
	}
	if w.rolls, err = p.Shelf.Rolls(ctx, b.Name); err != nil {
		return nil, err
	}
	for _, h := range held {
		if h.Layout < 0 || h.Layout >= len(w.sheets) {
			return nil, fault.New(fault.Invalid, room, layout.LayoutInvalid, "A layout was handed in for number %d, but this order has %d.", h.Layout+1, len(w.sheets))
		}
	}
	for i, s := range w.sheets {
		h, at, ok := heldFor(held, i)
		var cuts []stretch
		if ok {
			cuts, err = s.held(ctx, h, at, w.rolls)
		} else {
			at = -1
			cuts, err = s.laid(ctx, w.rolls, o.Lot)
		}
		if err != nil {
			return nil, err
		}
		w.laid, w.heldAs = append(w.laid, cuts), append(w.heldAs, at)
	}
	return w, nil
}

// finished is the plan as things lie now.
func (w *work) finished() (Plan, error) {
	plan := w.plan
	plan.Revisions, plan.Blocks = slices.Clone(plan.Revisions), nil
	rolls := slices.Clone(w.rolls)
	for i, s := range w.sheets {
		l, err := s.layoutOf(w.laid[i])
		if err != nil {
			return plan, err
		}
		if err := l.take(rolls, w.order.Lot, fmt.Sprintf("keep[%d]", w.heldAs[i])); err != nil {
			return plan, err
		}
		seconds, err := press.TimeFor(CycleOf(l.Card.Recipe), len(l.Places), int(max(w.platen.Count, 1)), 1)
		if err != nil {
			return plan, err
		}
		plan.Pressing += seconds
		plan.Blocks = append(plan.Blocks, l.Card.Refusals...)
		plan.Layouts = append(plan.Layouts, l)
	}
	plan.garments(w.order)
	if err := plan.judged(w.branch, w.in, w.order, w.day); err != nil {
		return plan, err
	}
	plan.cared(w.order)
	return plan, plan.priced(w.in, w.order)
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
