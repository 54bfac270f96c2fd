package orders

import (
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"

	"evenpeel/branches"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/prices"
)

// Effort is how hard to search, in work rather than time, so that a search has the same end on every machine.
type Effort struct {
	Moves       int // of the box search, shared among the copies
	Evaluations int // places that the outline search looks at
}

// The efforts: what a person waits for, and what a person does something else for.
var (
	Short = Effort{Moves: 40_000_000, Evaluations: 150_000}
	Long  = Effort{Moves: 400_000_000, Evaluations: 3_000_000}
)

// Step is one shorter layout of an order, or only word of how far the search is.
type Step struct {
	Layout   *Layout // nil where nothing shorter was found since the step before
	Quote    *prices.Quote
	Permille int // of the search done; 1000 is its end
}

// Improve searches for a shorter layout of one film and colour of an order, from where it is among those held or else from
// the planner's own, and sends the start and every shorter layout that it finds, checked and priced. A layout that is
// found while the one before is still being sent takes its place. It ends after the effort, or early with what it has
// when ctx ends. Nothing is kept. Faults are those of Plan and NotFound/LAYOUT_NOT_FOUND; an error of send ends it.
func (p Planner) Improve(ctx context.Context, b branches.Branch, in InForce, o Order, held []Held, index int, effort Effort, day string, send func(Step) error) error {
	w, err := p.begun(ctx, b, in, o, held, day)
	if err != nil {
		return err
	}
	if index < 0 || index >= len(w.sheets) {
		return fault.New(fault.NotFound, room, "LAYOUT_NOT_FOUND", "This order has %d layouts; there is no number %d.", len(w.sheets), index+1)
	}
	step := func(cuts []stretch, permille int) error {
		w.laid[index] = cuts
		plan, err := w.finished()
		if err != nil {
			return err
		}
		return send(Step{&plan.Layouts[index], plan.Quote, permille})
	}
	start := w.laid[index]
	if err := step(start, 0); err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	s, box := w.sheets[index], newest{news: make(chan struct{}, 1)}
	ended := make(chan error, 1)
	go func() {
		defer func() { // nobody else could recover here, and one search must not end the server
			if r := recover(); r != nil {
				ended <- fault.New(fault.Broken, room, "SEARCH_BROKEN", "The search broke off. The layout shown last is good to cut.").Because(fmt.Errorf("panic: %v\n%s", r, debug.Stack()))
			}
		}()
		ended <- s.improve(ctx, start, effort, box.put)
	}()
	for {
		select {
		case <-box.news:
			if cuts, permille := box.take(); cuts != nil {
				if err := step(cuts, min(permille, 999)); err != nil {
					stop()
					<-ended
					return err
				}
			}
		case err := <-ended:
			if err != nil && ctx.Err() == nil {
				return err
			}
			if cuts, _ := box.take(); cuts != nil {
				return step(cuts, 1000)
			}
			return send(Step{Permille: 1000})
		}
	}
}

// newest holds the last layout found until it is sent.
type newest struct {
	news chan struct{}

	mu       sync.Mutex
	cuts     []stretch
	permille int
}

func (n *newest) put(cuts []stretch, permille int) {
	n.mu.Lock()
	n.cuts, n.permille = cuts, permille
	n.mu.Unlock()
	select {
	case n.news <- struct{}{}:
	default:
	}
}

func (n *newest) take() ([]stretch, int) {
	n.mu.Lock()
	defer n.mu.Unlock()
	cuts := n.cuts
	n.cuts = nil
	return cuts, n.permille
}

// improve searches on, one cut after the other, and puts every shorter layout of the whole.
func (s *sheet) improve(ctx context.Context, start []stretch, effort Effort, put func([]stretch, int)) error {
	now := slices.Clone(start)
	all, done := copiesOf(s.pieces), 0
	for i, from := range start {
		pieces, places, back := s.partOf(from.Layout)
		part := len(from.Places)
		e := layout.Effort{Seed: uint64(from.Length), Moves: effort.Moves / max(all, 10), Grouped: s.choices.Grouped && len(start) == 1} // over several films, groups are not kept together
		if s.choices.TrueOutlines {                                                                                                      // boxes are only where the outlines begin
			e.Moves /= 10
			e.Evaluations = int(int64(effort.Evaluations) * int64(part) / int64(all))
		}
		improved := func(l layout.Layout) {
			if l.Length >= now[i].Length {
				return
			}
			now = slices.Clone(now)
			now[i].Layout = back(l)
			put(now, (done*1000+share(l, e)*part)/all)
		}
		from.Places = places
		best, err := layout.Improve(ctx, s.rollOf(from.width), pieces, from.Layout, e, improved)
		if err != nil {
			return err
		}
		improved(best)
		done += part
	}
	return nil
}

// share is how much of an effort was spent, in thousandths.
func share(l layout.Layout, e layout.Effort) int {
	if e.Evaluations > 0 {
		return min(l.Evaluations*1000/e.Evaluations, 1000)
	}
	return min(l.Moves*1000/max(e.Moves, 1), 1000)
}

// partOf are the pieces of one cut alone with its places in their terms, and the way back.
func (s *sheet) partOf(from layout.Layout) ([]layout.Piece, []layout.Place, func(layout.Layout) layout.Layout) {
	var pieces []layout.Piece
	at := map[int]int{}
	var whole []int    // piece of the sheet, by piece of the cut
	var copies [][]int // copy of the sheet, by piece and copy of the cut
	var places []layout.Place
	for _, pl := range from.Places {
		k, known := at[pl.Piece]
		if !known {
			k = len(pieces)
			at[pl.Piece], whole, copies = k, append(whole, pl.Piece), append(copies, nil)
			piece := s.pieces[pl.Piece]
			piece.Copies = 0
			pieces = append(pieces, piece)
		}
		copies[k] = append(copies[k], pl.Copy)
		pl.Piece, pl.Copy = k, pieces[k].Copies
		pieces[k].Copies++
		places = append(places, pl)
	}
	return pieces, places, func(l layout.Layout) layout.Layout {
		back := slices.Clone(l.Places)
		for i, pl := range back {
			back[i].Piece, back[i].Copy = whole[pl.Piece], copies[pl.Piece][pl.Copy]
		}
		l.Places = back
		return l
	}
}
