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

// reach is where a stretch begins and ends along the roll, without borders.
type reach struct {
	members   []int // of the places
	low, high units.Micrometres
}

// reaches gathers the places that of gives the same number, in order along the roll.
func reaches(ps []Piece, places []Place, of func(i int) int) []reach {
	heights := map[laid]units.Micrometres{}
	at := map[int]int{}
	var out []reach
	for i, pl := range places {
		key := laid{pl.Piece, pl.Angle}
		h, ok := heights[key]
		if !ok {
			_, high := extentOf(Outlined(ps[pl.Piece], Place{Angle: pl.Angle}))
			h = high.Y
			heights[key] = h
		}
		k, ok := at[of(i)]
		if !ok {
			k = len(out)
			at[of(i)] = k
			out = append(out, reach{low: pl.Y})
		}
		one := &out[k]
		one.members = append(one.members, i)
		one.low, one.high = min(one.low, pl.Y), max(one.high, pl.Y+h)
	}
	slices.SortStableFunc(out, func(a, b reach) int { return cmp.Compare(a.low, b.low) })
	return out
}

// stretches finds the places of each group along the roll; ok is false where two groups reach past each other.
func stretches(ps []Piece, places []Place) (parts []reach, ok bool) {
	group := map[string]int{}
	parts = reaches(ps, places, func(i int) int {
		g := ps[places[i].Piece].Group
		if _, known := group[g]; !known {
			group[g] = len(group)
		}
		return group[g]
	})
	for i := 1; i < len(parts); i++ {
		if parts[i].low < parts[i-1].high {
			return nil, false
		}
	}
	return parts, true
}

// windows cuts the places, which are in order along the roll, into equal parts.
func windows(ps []Piece, places []Place) []reach {
	n := (len(places) + perStretch - 1) / perStretch
	return reaches(ps, places, func(i int) int { return i * n / len(places) })
}

// part is one stretch, its places with Y from its own start.
type part struct {
	places []Place
	length units.Micrometres // both borders included
	start  units.Micrometres // on the roll; kept where a place is locked
	locked bool
}

// stretch improves each part of the best layout for itself and puts them one after the other.
func (im *improvement) stretch(members []reach) {
	from := im.best
	var parts []*part
	for _, m := range members {
		p := &part{start: m.low - im.r.WeedBorder, length: m.high - m.low + 2*im.r.WeedBorder}
		for _, i := range m.members {
			p.places = append(p.places, from.Places[i])
			p.locked = p.locked || from.Places[i].Locked
		}
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
