package layout

import (
	"cmp"
	"context"
	"slices"

	"evenpeel/recipes/units"
)

// A stretch is a part of the roll that no other pieces reach into, with a straight seam between it and the next.
// Groups get stretches to stay together for weeding; very long layouts get them to be searched piece by piece.

// bare is the roll of one stretch: the film's ends and the longest cut are the whole layout's business.
func (r Roll) bare() Roll {
	r.Lead, r.Tail, r.MaxLength = 0, 0, 0
	return r
}

// groups are the pieces of each group, in the order in which groups first appear.
func groups(ps []Piece) [][]int {
	at := map[string]int{}
	var out [][]int
	for i, p := range ps {
		k, ok := at[p.Group]
		if !ok {
			k = len(out)
			at[p.Group] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], i)
	}
	return out
}

// packGroups packs every group on its own stretch; the moves are shared out by copies.
func packGroups(ctx context.Context, r Roll, ps []Piece, e Effort) (Layout, error) {
	whole := Layout{Length: r.Lead}
	copies := 0
	for _, p := range ps {
		copies += p.Copies
	}
	for _, members := range groups(ps) {
		var part []Piece
		n := 0
		for _, i := range members {
			part = append(part, ps[i])
			n += ps[i].Copies
		}
		l, err := pack(ctx, r.bare(), part, Effort{Seed: e.Seed, Moves: e.Moves * n / copies})
		if err != nil {
			return Layout{}, err
		}
		for _, at := range l.Places {
			at.Piece = members[at.Piece]
			at.Y += whole.Length
			whole.Places = append(whole.Places, at)
		}
		whole.Length += l.Length + r.Gap
		whole.Moves += l.Moves
	}
	whole.Length += r.Tail - r.Gap
	if r.MaxLength > 0 && whole.Length > r.MaxLength {
		return Layout{}, overLength(r, whole.Length, len(whole.Places), "")
	}
	im := improvement{r: r, ps: ps}
	whole = im.finish(whole)
	return whole, release(r, ps, whole)
}

// stretches finds the places of each group along the roll; ok is false where two groups reach past each other.
func stretches(ps []Piece, places []Place) (parts [][]int, ok bool) {
	at := map[string]int{}
	for i, pl := range places {
		g := ps[pl.Piece].Group
		k, known := at[g]
		if !known {
			k = len(parts)
			at[g] = k
			parts = append(parts, nil)
		}
		parts[k] = append(parts[k], i)
	}
	lowest := func(part []int) (low, high units.Micrometres) {
		low = MaxCut
		for _, i := range part {
			_, top := extentOf(Outlined(ps[places[i].Piece], places[i]))
			low, high = min(low, places[i].Y), max(high, top.Y)
		}
		return low, high
	}
	slices.SortFunc(parts, func(a, b []int) int {
		la, _ := lowest(a)
		lb, _ := lowest(b)
		return cmp.Compare(la, lb)
	})
	last := units.Micrometres(-1)
	for _, part := range parts {
		low, high := lowest(part)
		if low < last {
			return nil, false
		}
		last = high
	}
	return parts, true
}

// windows cuts the places, which are in order along the roll, into equal parts.
func windows(places []Place) [][]int {
	n := (len(places) + perStretch - 1) / perStretch
	parts := make([][]int, n)
	for i := range places {
		k := i * n / len(places)
		parts[k] = append(parts[k], i)
	}
	return parts
}

// part is one stretch, its places with Y from its own start.
type part struct {
	places []Place
	length units.Micrometres // both borders included
	start  units.Micrometres // on the roll; kept where a place is locked
	locked bool
}

// stretch improves each part of the best layout for itself and puts them one after the other.
func (im *improvement) stretch(members [][]int) {
	from := im.best
	var parts []*part
	for _, m := range members {
		p := &part{}
		low, high := MaxCut, units.Micrometres(0)
		for _, i := range m {
			at := from.Places[i]
			_, top := extentOf(Outlined(im.ps[at.Piece], at))
			low, high = min(low, at.Y), max(high, top.Y)
			p.places = append(p.places, at)
			p.locked = p.locked || at.Locked
		}
		p.start = low - im.r.WeedBorder
		p.length = high - low + 2*im.r.WeedBorder
		for i := range p.places {
			p.places[i].Y -= p.start
		}
		parts = append(parts, p)
	}
	n := len(from.Places)
	for k, p := range parts {
		share := func(all int) int { return all * len(p.places) / n }
		im.improvePart(p, Effort{Seed: im.e.Seed + uint64(k), Moves: share(im.e.Moves), Evaluations: share(im.e.Evaluations)}, func() {
			im.take(im.assembled(parts))
		})
	}
}

// assembled puts the parts one after the other.
func (im *improvement) assembled(parts []*part) Layout {
	var l Layout
	start, end := im.r.Lead, im.r.Lead
	for _, p := range parts {
		if p.locked {
			start = p.start
		}
		for _, at := range p.places {
			at.Y += start
			l.Places = append(l.Places, at)
		}
		end = start + p.length
		start = end + im.r.Gap
	}
	l.Length = end + im.r.Tail
	return l
}

// improvePart shortens one stretch; better is called when that is done.
func (im *improvement) improvePart(p *part, e Effort, better func()) {
	bare := im.r.bare()
	keep := func(places []Place, length units.Micrometres) bool {
		if !holds(bare, im.ps, Layout{Places: places, Length: length}) {
			return false
		}
		p.places, p.length = places, length
		return true
	}
	if e.Moves > 0 && !p.locked {
		im.packPart(p, e, keep)
	}
	if e.Evaluations > 0 && (outlined(im.ps) || p.locked) && len(p.places) <= 4*mostTogether {
		s := outlineStrip{bare, im.ps, im.designs}
		im.best.Evaluations += s.nest(im.ctx, p.places, p.length, 0, e.Seed, e.Evaluations, keep)
	}
	better()
}

// packPart tries the boxes of a stretch anew.
func (im *improvement) packPart(p *part, e Effort, keep func([]Place, units.Micrometres) bool) {
	var sub []Piece
	var of []int
	at := map[int]int{}
	copies := map[int][]int{}
	for _, pl := range p.places {
		if _, ok := at[pl.Piece]; !ok {
			at[pl.Piece] = len(sub)
			of = append(of, pl.Piece)
			one := im.ps[pl.Piece]
			one.Copies = 0
			sub = append(sub, one)
		}
		sub[at[pl.Piece]].Copies++
		copies[pl.Piece] = append(copies[pl.Piece], pl.Copy)
	}
	l, err := pack(im.ctx, im.r.bare(), sub, e)
	if err != nil {
		return
	}
	im.best.Moves += l.Moves
	for i, pl := range l.Places {
		l.Places[i].Piece, l.Places[i].Copy = of[pl.Piece], copies[of[pl.Piece]][pl.Copy]
	}
	if l.Length < p.length {
		keep(l.Places, l.Length)
	}
}
