package layout

import (
	"context"
	"slices"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout/nest"
)

// Improve searches on from a layout that Verify accepts and never returns a longer one: first by boxes for
// Effort.Moves, then by true outlines for Effort.Evaluations, the outlines between each other, inside each
// other's bays and, unless the roll forbids it, holes. Locked places stay exactly where they are; boxes then are
// not searched. With Effort.Grouped the groups must lie on stretches of their own, as Pack leaves them, and keep
// them. improved, if not nil, is called with every shorter layout as it is found, each accepted by Verify, from
// one goroutine at a time. A context that ends early ends the search early. Faults: as Pack, and Invalid
// LAYOUT_INVALID.
func Improve(ctx context.Context, r Roll, ps []Piece, from Layout, e Effort, improved func(Layout)) (Layout, error) {
	if err := check(r, ps, e); err != nil {
		return Layout{}, err
	}
	if err := Verify(r, ps, from); err != nil {
		return Layout{}, err
	}
	if err := ctx.Err(); err != nil {
		return Layout{}, stopped(err)
	}
	im := &improvement{ctx: ctx, r: r, ps: measured(ps), e: e, improved: improved, best: from, designs: map[int]*nest.Design{}}
	im.best.Places = slices.Clone(from.Places)
	im.best.Moves, im.best.Evaluations = 0, 0
	im.best = im.finish(im.best)
	if e.Grouped {
		parts, ok := stretches(im.ps, from.Places)
		if !ok {
			return Layout{}, fault.New(fault.Invalid, room, LayoutInvalid, "The groups of this layout do not lie on stretches of their own. Lay it out anew, by group.")
		}
		im.stretch(parts)
	} else {
		im.boxes()
		im.outlines()
	}
	return im.best, release(r, im.ps, im.best)
}

// improvement is one call of Improve.
type improvement struct {
	ctx      context.Context
	r        Roll
	ps       []Piece
	e        Effort
	improved func(Layout)
	best     Layout
	designs  map[int]*nest.Design
	partial  bool // best is one of several films: not every copy is on it
}

// finish fills in what follows from the places.
func (im *improvement) finish(l Layout) Layout {
	slices.SortStableFunc(l.Places, along)
	if outlined(im.ps) {
		l.Bound = outlineBound(im.r, im.ps, l.Places)
	} else if !im.partial {
		s := newStrip(im.r, im.ps)
		l.Bound = im.r.length(lowestHeight(im.r.strip()/s.unit, s.kinds) * s.unit)
	}
	l.Areas = areas(im.r, im.ps, l)
	return l
}

// take keeps a shorter layout that Verify accepts.
func (im *improvement) take(l Layout) bool {
	l.Moves, l.Evaluations = im.best.Moves, im.best.Evaluations
	l = im.finish(l)
	if l.Length >= im.best.Length {
		return false
	}
	if im.partial && !holds(im.r, im.ps, l) || !im.partial && release(im.r, im.ps, l) != nil {
		return false
	}
	im.best = l
	if im.improved != nil {
		out := l
		out.Places = slices.Clone(l.Places)
		im.improved(out)
	}
	return true
}

func locked(places []Place) bool {
	return slices.ContainsFunc(places, func(at Place) bool { return at.Locked })
}

// boxes searches by box, from the order in which the pieces lie.
func (im *improvement) boxes() {
	if im.e.Moves == 0 || locked(im.best.Places) {
		return
	}
	s := newStrip(im.r, im.ps)
	q := s.search(s.kinds)
	q.best, q.height = s.spots(im.best)
	if outlined(im.ps) { // outlines may lie closer than their boxes could
		q.height = (int64(im.best.Length-im.r.Lead-im.r.Tail) + int64(im.r.Gap)) / s.unit
	}
	q.found = func() { im.take(s.layout(q, s.deal())) }
	seq := make([]wish, 0, len(q.best))
	for _, b := range q.best {
		w := wishFor(b.kind)
		if b.w != s.kinds[b.kind].ways[0].w {
			w = w.flip()
		}
		seq = append(seq, w)
	}
	q.start()
	q.add(seq, q.height)
	q.run(im.ctx, im.e)
	im.best.Moves += q.moves
}
