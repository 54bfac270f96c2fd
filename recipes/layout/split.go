package layout

import (
	"context"
	"slices"

	"evenpeel/recipes/fault"
)

// Split places the pieces, by their boxes, on as many cuts of Roll.MaxLength as they need, each as short as found; Effort is
// spent on each cut; Spread on one film does the same and goes on by outlines. Verify takes them all together. Faults: as Pack, but TooLarge TOO_MANY_CUTS instead of
// OVER_MAX_LENGTH.
func Split(ctx context.Context, r Roll, ps []Piece, e Effort) ([]Layout, error) {
	if err := check(r, ps, e); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, stopped(err)
	}
	ps = measured(ps)
	s := newStrip(r, ps)
	hands := s.deal()
	var cuts []Layout
	for {
		rest := slices.Clone(s.kinds)
		left := 0
		for k := range rest {
			rest[k].count = int32(len(hands[k]))
			left += len(hands[k])
		}
		if left == 0 {
			return cuts, release(r, ps, cuts...)
		}
		if len(cuts) == MaxCuts {
			return nil, fault.New(fault.TooLarge, room, TooManyCuts, "The order needs more than %d cuts of %s. Split it.", MaxCuts, mm(r.MaxLength))
		}
		q := s.search(rest)
		if q.floor <= s.limit() {
			q.start()
			q.run(ctx, e)
		}
		if q.best == nil || q.height > s.limit() {
			q = s.fullest(q, rest)
			q.start()
			q.run(ctx, e)
		}
		cuts = append(cuts, s.layout(q, hands))
	}
}

// fullest is a search over those boxes that fill one cut best: most area of the start orders.
func (s *strip) fullest(q *search, rest []kind) *search {
	var best []spot
	bestArea := int64(0)
	for _, seq := range orders(rest) {
		q.e.fill(seq, s.limit())
		area := int64(0)
		for _, b := range q.e.spots {
			area += b.w * b.h
		}
		if area > bestArea {
			best, bestArea = slices.Clone(q.e.spots), area
		}
	}
	part := slices.Clone(rest)
	for k := range part {
		part[k].count = 0
	}
	for _, b := range best {
		part[b.kind].count++
	}
	full := s.search(part)
	full.best = best
	for _, b := range best {
		full.height = max(full.height, b.y+b.h)
	}
	return full
}
