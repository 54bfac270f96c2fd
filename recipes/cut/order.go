package cut

import (
	"cmp"
	"math"
	"slices"
)

const (
	neighbourLimit = 4000 // groups up to which the nearest neighbour is searched for among all
	exchangeLimit  = 1500 // groups up to which 2-opt tries every exchange
	exchangeRounds = 8
)

// Ordered puts rings into an order with little pen-up travel from the given place: nearest neighbour, then 2-opt, both
// bounded. A ring inside another is always cut before it, since the outer cut frees the piece. Each ring is turned so
// that it starts at the vertex nearest to where the blade comes from. The rings themselves are not changed.
func Ordered(rings []Ring, from Point) []Ring {
	groups := nested(rings)
	if len(groups) == 0 {
		return nil
	}
	sequence := nearestFirst(groups, from)
	exchange(groups, sequence, from)
	best := laidOut(groups, sequence, from)
	given := make([]int, len(groups))
	for i := range given {
		given[i] = i
	}
	if asGiven := laidOut(groups, given, from); Travel(asGiven, from) < Travel(best, from) {
		return asGiven
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

// group is an outermost ring, last, after all rings inside it, inner ones first.
type group struct {
	rings []Ring
	at    Point
}

// depths counts for each ring the rings around it.
func depths(rings []Ring) (depth []int, top []int) {
	order := make([]int, 0, len(rings))
	area := make([]float64, len(rings))
	boxes := make([]box, len(rings))
	for i, r := range rings {
		area[i], boxes[i] = math.Abs(r.Area()), r.box()
		if len(r) > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(area[j], area[i]) })
	depth, top = make([]int, len(rings)), make([]int, len(rings))
	for k, i := range order {
		top[i] = i
		p := lerp(rings[i][0], rings[i][1%len(rings[i])], 0.5)
		for _, j := range order[:k] {
			if boxes[j].holds(p) && rings[j].Holds(p) {
				if depth[i] == 0 {
					top[i] = top[j]
				}
				depth[i]++
			}
		}
	}
	return depth, top
}

func nested(rings []Ring) []group {
	depth, top := depths(rings)
	members := map[int][]int{}
	var tops []int
	for i, r := range rings {
		if len(r) == 0 {
			continue
		}
		if depth[i] == 0 {
			tops = append(tops, i)
		}
		members[top[i]] = append(members[top[i]], i)
	}
	groups := make([]group, 0, len(tops))
	for _, t := range tops {
		list := members[t]
		slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(depth[j], depth[i]) })
		g := group{at: rings[t][0]}
		at := rings[t][0]
		for start := 0; start < len(list); { // nearest first within one depth
			end := start
			for end < len(list) && depth[list[end]] == depth[list[start]] {
				end++
			}
			level := list[start:end]
			for k := range level {
				if len(level) <= neighbourLimit {
					best := k
					for j := k + 1; j < len(level); j++ {
						if at.to(rings[level[j]][0]) < at.to(rings[level[best]][0]) {
							best = j
						}
					}
					level[k], level[best] = level[best], level[k]
				}
				at = rings[level[k]][0]
				g.rings = append(g.rings, rings[level[k]])
			}
			start = end
		}
		groups = append(groups, g)
	}
	return groups
}

func nearestFirst(groups []group, from Point) []int {
	sequence := make([]int, len(groups))
	for i := range sequence {
		sequence[i] = i
	}
	if len(groups) > neighbourLimit { // bands to and fro: no search
		b := emptyBox()
		for _, g := range groups {
			b.take(g.at)
		}
		band := (b.maxY-b.minY)/math.Sqrt(float64(len(groups))/2) + 1e-9
		slices.SortStableFunc(sequence, func(i, j int) int {
			p, q := groups[i].at, groups[j].at
			r, s := int((p.Y-b.minY)/band), int((q.Y-b.minY)/band)
			if r != s {
				return cmp.Compare(r, s)
			}
			if r%2 == 1 {
				p, q = q, p
			}
			return cmp.Compare(p.X, q.X)
		})
		return sequence
	}
	at := from
	for k := range sequence {
		best, least := k, math.Inf(1)
		for j := k; j < len(sequence); j++ {
			p := groups[sequence[j]].at
			if d := (p.X-at.X)*(p.X-at.X) + (p.Y-at.Y)*(p.Y-at.Y); d < least {
				best, least = j, d
			}
		}
		sequence[k], sequence[best] = sequence[best], sequence[k]
		at = groups[sequence[k]].at
	}
	return sequence
}

// exchange reverses stretches of the sequence while that shortens the way (2-opt on an open path).
func exchange(groups []group, sequence []int, from Point) {
	n := len(sequence)
	window := n
	if n > exchangeLimit {
		window = exchangeLimit * exchangeLimit / n
	}
	at := func(i int) Point {
		if i < 0 {
			return from
		}
		return groups[sequence[i]].at
	}
	for range exchangeRounds {
		better := false
		for i := 0; i < n-1; i++ {
			before := at(i - 1)
			for j := i + 1; j < min(n, i+1+window); j++ {
				gain := before.to(at(i)) - before.to(at(j))
				if j+1 < n {
					gain += at(j).to(at(j+1)) - at(i).to(at(j+1))
				}
				if gain > 1e-9 {
					slices.Reverse(sequence[i : j+1])
					better = true
				}
			}
		}
		if !better {
			return
		}
	}
}

// laidOut gives the rings of the groups in sequence, each started at the vertex nearest to where the blade comes from.
func laidOut(groups []group, sequence []int, from Point) []Ring {
	var out []Ring
	for _, s := range sequence {
		for _, r := range groups[s].rings {
			best := 0
			for i := range r {
				if from.to(r[i]) < from.to(r[best]) {
					best = i
				}
			}
			turned := make(Ring, 0, len(r))
			turned = append(append(turned, r[best:]...), r[:best]...)
			out = append(out, turned)
			from = turned[0]
		}
	}
	return out
}
