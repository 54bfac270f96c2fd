package cut

import (
	"cmp"
	"math"
	"slices"
)

// group is an outermost ring, last, after all rings inside it, inner ones first.
type group struct {
	rings []Ring
	at    Point // where the blade comes to and, rings being closed, roughly leaves from
}

// depths counts for each ring the rings around it, and names the outermost of them (itself where there is none).
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

// nested gathers rings into groups in the order of their outermost rings. Within a group, the deepest come first, each
// depth along a short way.
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
		for start := 0; start < len(list); {
			end := start
			for end < len(list) && depth[list[end]] == depth[list[start]] {
				end++
			}
			level := list[start:end]
			points := make([]Point, len(level))
			for k, i := range level {
				points[k] = rings[i][0]
			}
			for _, k := range shortWay(points, at) {
				g.rings = append(g.rings, rings[level[k]])
				at = points[k]
			}
			start = end
		}
		groups = append(groups, g)
	}
	return groups
}
