package layout

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Pack places every copy of every piece by its box, at once. Faults: Invalid ROLL_INVALID, PIECE_INVALID, EFFORT_INVALID,
// NO_PIECES, PIECE_TOO_WIDE, PIECE_TOO_LONG, OVER_MAX_LENGTH (facts "fit", "copies", "length_um"; Split takes
// such orders); TooLarge TOO_MANY; Unavailable STOPPED when ctx ended before the greedy layout. A context that
// ends later gives the best layout so far.
func Pack(ctx context.Context, r Roll, ps []Piece, e Effort) (Layout, error) {
	if err := check(r, ps, e); err != nil {
		return Layout{}, err
	}
	if err := ctx.Err(); err != nil {
		return Layout{}, stopped(err)
	}
	if e.Grouped {
		return packGroups(ctx, r, measured(ps), e)
	}
	return pack(ctx, r, measured(ps), e)
}

func pack(ctx context.Context, r Roll, ps []Piece, e Effort) (Layout, error) {
	s := newStrip(r, ps)
	q := s.search(s.kinds)
	q.start()
	q.run(ctx, e)
	if q.height > s.limit() {
		return Layout{}, s.overLength(q)
	}
	l := s.layout(q, s.deal())
	return l, release(r, ps, l)
}

func stopped(cause error) error {
	return fault.New(fault.Unavailable, room, Stopped, "The layout was stopped before it began. Try again.").Because(cause)
}

// strip is an order in the engine's terms: boxes with border and gap, in the largest unit that keeps all whole,
// so that an order drawn in other units is packed alike.
type strip struct {
	r     Roll
	ps    []Piece
	unit  int64
	kinds []kind
	of    []int32 // kind of each piece
}

func newStrip(r Roll, ps []Piece) *strip {
	s := &strip{r: r, ps: ps, unit: r.strip()}
	for _, p := range ps {
		for _, b := range r.ways(p) {
			s.unit = divisor(divisor(s.unit, b.w), b.h)
		}
	}
	type key struct{ first, second box }
	known := map[key]int32{}
	for _, p := range ps {
		ways := r.ways(p)
		for i := range ways {
			ways[i].w /= s.unit
			ways[i].h /= s.unit
		}
		id := key{ways[0], ways[len(ways)-1]}
		k, ok := known[id]
		if !ok {
			k = int32(len(s.kinds))
			known[id] = k
			for i := range ways {
				ways[i].kind = k
			}
			s.kinds = append(s.kinds, kind{ways: ways})
		}
		s.kinds[k].count += int32(p.Copies)
		s.of = append(s.of, k)
	}
	return s
}

func divisor(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (s *strip) search(kinds []kind) *search {
	width := s.r.strip() / s.unit
	return &search{e: newEngine(width, kinds), floor: lowestHeight(width, kinds)}
}

func (s *strip) limit() int64 {
	if s.r.height() == far {
		return far
	}
	return s.r.height() / s.unit
}

// spots are the places of a layout in the engine's terms, in the order along the roll, and their height.
func (s *strip) spots(l Layout) (spots []spot, height int64) {
	places := slices.Clone(l.Places)
	slices.SortStableFunc(places, along)
	for _, at := range places {
		p := s.ps[at.Piece]
		w, h := s.r.side(p.Width), s.r.side(p.Height)
		if at.Turned() {
			w, h = h, w
		}
		x := int64(at.X - s.r.EdgeMargin - s.r.WeedBorder)
		y := int64(at.Y - s.r.Lead - s.r.WeedBorder)
		spots = append(spots, spot{box{w / s.unit, h / s.unit, s.of[at.Piece]}, x / s.unit, y / s.unit})
		height = max(height, y/s.unit+h/s.unit)
	}
	return spots, height
}

func along(a, b Place) int {
	return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X))
}

type copyOf struct{ piece, copy int }

// deal lists the copies of each kind, group after group in the order in which groups first appear.
func (s *strip) deal() [][]copyOf {
	rank := map[string]int{}
	for _, p := range s.ps {
		if _, ok := rank[p.Group]; !ok {
			rank[p.Group] = len(rank)
		}
	}
	hands := make([][]copyOf, len(s.kinds))
	for i, p := range s.ps {
		for c := range p.Copies {
			hands[s.of[i]] = append(hands[s.of[i]], copyOf{i, c})
		}
	}
	for _, hand := range hands {
		slices.SortStableFunc(hand, func(a, b copyOf) int {
			return cmp.Compare(rank[s.ps[a.piece].Group], rank[s.ps[b.piece].Group])
		})
	}
	return hands
}

// layout is the best packing of q on the film. Boxes of one kind are dealt out along the roll group by group:
// at no cost of film, what is weeded together lies closer. What is dealt leaves hands.
func (s *strip) layout(q *search, hands [][]copyOf) Layout {
	r := s.r
	spots := slices.Clone(q.best)
	slices.SortStableFunc(spots, func(a, b spot) int { return cmp.Or(cmp.Compare(a.y, b.y), cmp.Compare(a.x, b.x)) })
	l := Layout{Length: r.length(q.height * s.unit), Bound: r.length(q.floor * s.unit), Moves: q.moves}
	for _, b := range spots {
		hand := &hands[b.kind]
		one := (*hand)[0]
		*hand = (*hand)[1:]
		at := Place{
			Piece: one.piece, Copy: one.copy,
			X: r.EdgeMargin + r.WeedBorder + units.Micrometres(b.x*s.unit),
			Y: r.Lead + r.WeedBorder + units.Micrometres(b.y*s.unit),
		}
		if b.w*s.unit != r.side(s.ps[one.piece].Width) {
			at.Angle = quarterTurn
		}
		l.Places = append(l.Places, at)
	}
	if outlined(s.ps) {
		l.Bound = outlineBound(r, s.ps, l.Places)
	}
	l.Areas = areas(r, s.ps, l)
	return l
}

func (s *strip) overLength(q *search) error {
	fit := 0
	for _, seq := range orders(s.kinds) {
		q.e.fill(seq, s.limit())
		fit = max(fit, len(q.e.spots))
	}
	fits := fmt.Sprintf(": %d of %d copies fit", fit, len(q.best))
	return overLength(s.r, s.r.length(q.height*s.unit), len(q.best), fits).With("fit", strconv.Itoa(fit))
}

func overLength(r Roll, length units.Micrometres, copies int, fits string) *fault.Fault {
	return fault.New(fault.Invalid, room, OverMaxLength,
		"The layout needs %s of film, one cut may be %s%s. Split the order over several cuts, or use a wider roll.", mm(length), mm(r.MaxLength), fits).
		With("copies", strconv.Itoa(copies)).With("length_um", strconv.FormatInt(int64(length), 10))
}
