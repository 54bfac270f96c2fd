package cut

// Ordered puts rings into an order with little pen-up travel from the given place. A ring inside another is always cut
// before it, and with it, since the outer cut frees the piece. Which outermost ring comes when is found by a search (see
// shortWay); then each ring is turned so that it starts where the way past it is shortest, and the search is tried again
// with those places. The rings themselves are not changed, and the way is never longer than in the order given.
func Ordered(rings []Ring, from Point) []Ring {
	groups := nested(rings)
	if len(groups) == 0 {
		return nil
	}
	var best []Ring
	shortest := 0.0
	take := func(sequence []int) {
		list := turned(groups, sequence, from)
		if way := Travel(list, from); best == nil || way < shortest-1e-9 {
			best, shortest = list, way
		}
	}
	given := make([]int, len(groups))
	for i := range given {
		given[i] = i
	}
	take(given)
	for range 2 {
		points := make([]Point, len(groups))
		for i, g := range groups {
			points[i] = g.at
		}
		sequence := shortWay(points, from)
		take(sequence)
		k, moved := 0, false
		for _, s := range sequence { // next time, each group stands where its outermost ring starts now
			k += len(groups[s].rings)
			if at := best[k-1][0]; at != groups[s].at {
				groups[s].at, moved = at, true
			}
		}
		if !moved {
			break
		}
	}
	return best
}

// Travel is the pen-up way in mm through the rings in their order, from the given place; each closed ring ends where
// it starts.
func Travel(rings []Ring, from Point) float64 {
	sum := 0.0
	for _, r := range rings {
		if len(r) > 0 {
			sum += from.to(r[0])
			from = r[0]
		}
	}
	return sum
}

// startRounds bounds how often starts are chosen anew; two or three are usual.
const startRounds = 12

// turned gives the rings of the groups in sequence, each started where the way from the start before it and to the start
// after it is shortest, over and over until nothing gets shorter.
func turned(groups []group, sequence []int, from Point) []Ring {
	var list []Ring
	for _, s := range sequence {
		list = append(list, groups[s].rings...)
	}
	start := make([]int, len(list))
	at := from
	for i, r := range list {
		start[i] = nearestTo(r, func(p Point) float64 { return at.to(p) })
		at = r[start[i]]
	}
	for range startRounds {
		changed := false
		at = from
		for i, r := range list {
			way := func(p Point) float64 { return at.to(p) }
			if i+1 < len(list) {
				next := list[i+1][start[i+1]]
				way = func(p Point) float64 { return at.to(p) + p.to(next) }
			}
			if k := nearestTo(r, way); way(r[k]) < way(r[start[i]])-1e-9 {
				start[i], changed = k, true
			}
			at = r[start[i]]
		}
		if !changed {
			break
		}
	}
	out := make([]Ring, len(list))
	for i, r := range list {
		out[i] = append(append(make(Ring, 0, len(r)), r[start[i]:]...), r[:start[i]]...)
	}
	return out
}

func nearestTo(r Ring, way func(Point) float64) int {
	best, least := 0, way(r[0])
	for i, p := range r {
		if w := way(p); w < least {
			best, least = i, w
		}
	}
	return best
}
