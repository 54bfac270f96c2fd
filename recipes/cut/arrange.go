package cut

import (
	"math"
	"slices"
)

// tangled reports that outlines cross too often for the work allowed.
type tangled struct{}

func (tangled) Error() string { return "outlines cross too often" }

// arranged splits edges wherever they meet, so that afterwards they touch at their ends only. It gives the places of
// true crossings. Rounding a crossing to the lattice moves edges by less than a lattice step and may make new ones
// meet, so it goes round until nothing is left to split.
func arranged(edges []edge) (split []edge, crossings []Point, err error) {
	edges = merged(edges)
	for round := 0; ; round++ {
		if round == 30 || len(edges) > maxEdges {
			return nil, nil, tangled{}
		}
		cuts, places, ok := meetings(edges)
		if !ok {
			return nil, nil, tangled{}
		}
		if round == 0 {
			crossings = places
		}
		if len(cuts) == 0 {
			return edges, crossings, nil
		}
		edges = merged(cutAt(edges, cuts))
	}
}

type meeting struct {
	edge int32
	at   node
}

func meetings(edges []edge) (cuts []meeting, places []Point, ok bool) {
	if len(edges) == 0 {
		return nil, nil, true
	}
	g := newCells(len(edges), 0, func(i int) (Point, Point) { return edges[i].a.point(), edges[i].b.point() })
	work := 0
	for c := range g.cols * g.rows {
		list := g.in(c)
		if work += len(list) * (len(list) - 1) / 2; work > maxWork {
			return nil, nil, false
		}
		for i, e := range list {
			for _, f := range list[:i] {
				n := len(cuts)
				var place node
				var crossed bool
				cuts, place, crossed = meet(edges, e, f, cuts)
				if crossed && len(cuts) > n {
					places = append(places, place.point())
				}
			}
		}
		if len(cuts) > 2*maxEdges {
			return nil, nil, false
		}
	}
	return cuts, places, true
}

// meet adds where edges i and j must be split; crossed tells a true crossing from a touch.
func meet(edges []edge, i, j int32, cuts []meeting) (_ []meeting, at node, crossed bool) {
	e, f := &edges[i], &edges[j]
	if e.b.y < f.a.y || f.b.y < e.a.y || max(e.a.x, e.b.x) < min(f.a.x, f.b.x) || max(f.a.x, f.b.x) < min(e.a.x, e.b.x) {
		return cuts, at, false
	}
	fa, fb := side(e.a, e.b, f.a), side(e.a, e.b, f.b)
	ea, eb := side(f.a, f.b, e.a), side(f.a, f.b, e.b)
	n := len(cuts)
	if passes(e, f.a, fa) {
		cuts = append(cuts, meeting{i, f.a})
	}
	if passes(e, f.b, fb) {
		cuts = append(cuts, meeting{i, f.b})
	}
	if passes(f, e.a, ea) {
		cuts = append(cuts, meeting{j, e.a})
	}
	if passes(f, e.b, eb) {
		cuts = append(cuts, meeting{j, e.b})
	}
	if sign(fa)*sign(fb) >= 0 || sign(ea)*sign(eb) >= 0 {
		return cuts, at, false
	}
	t := float64(ea) / (float64(ea) - float64(eb))
	at = node{e.a.x + int64(math.Round(t*float64(e.b.x-e.a.x))), e.a.y + int64(math.Round(t*float64(e.b.y-e.a.y)))}
	if len(cuts) == n {
		if at != e.a && at != e.b {
			cuts = append(cuts, meeting{i, at})
		}
		if at != f.a && at != f.b {
			cuts = append(cuts, meeting{j, at})
		}
	}
	return cuts, at, true
}

// passes reports whether e runs by p, not at its ends, within three quarters of a lattice step; away is side(e, p).
// Pulling such an edge onto the point is what makes the rounds end (snap rounding, Hobby 1999, from memory): without
// it, two nearly parallel edges go on making new crossings beside the old ones.
func passes(e *edge, p node, away int64) bool {
	dx, dy := e.b.x-e.a.x, e.b.y-e.a.y
	if p == e.a || p == e.b || (p.x-e.a.x)*dx+(p.y-e.a.y)*dy <= 0 || (p.x-e.b.x)*dx+(p.y-e.b.y)*dy >= 0 {
		return false
	}
	return away == 0 || math.Abs(float64(away)) <= 0.75*math.Hypot(float64(dx), float64(dy))
}

func cutAt(edges []edge, cuts []meeting) []edge {
	slices.SortFunc(cuts, func(m, n meeting) int {
		if m.edge != n.edge {
			return int(m.edge) - int(n.edge)
		}
		return compareNodes(m.at, n.at)
	})
	out := make([]edge, 0, len(edges)+len(cuts))
	k := 0
	for i, e := range edges {
		at := e.a
		for ; k < len(cuts) && int(cuts[k].edge) == i; k++ {
			if p := cuts[k].at; p != at {
				out = append(out, directed(at, p, e.weight))
				at = p
			}
		}
		if at != e.b {
			out = append(out, directed(at, e.b, e.weight))
		}
	}
	return out
}

// directed keeps the rule that an edge runs downward: rounding can turn a nearly level one.
func directed(a, b node, weight int32) edge {
	if compareNodes(a, b) > 0 {
		return edge{b, a, -weight}
	}
	return edge{a, b, weight}
}

// windings gives for each edge the winding number on its −x side (for a level edge: below it).
func windings(edges []edge) ([]int32, error) {
	out := make([]int32, len(edges))
	if len(edges) == 0 {
		return out, nil
	}
	lowest, highest := edges[0].a.y, edges[0].b.y
	for _, e := range edges {
		lowest, highest = min(lowest, e.a.y), max(highest, e.b.y)
	}
	bands := min(len(edges)/2+1, 4096)
	height := (highest-lowest)/int64(bands) + 1
	start := make([]int32, bands+1) // of each band's edges in items
	for _, e := range edges {
		if e.a.y == e.b.y {
			continue
		}
		first, last := (e.a.y-lowest)/height, (e.b.y-lowest)/height
		for b := first; b <= last; b++ {
			start[b+1]++
		}
	}
	for b := range bands {
		if start[b+1] += start[b]; start[b+1] > maxBanded {
			return nil, tangled{}
		}
	}
	items, next := make([]int32, start[bands]), slices.Clone(start)
	for i, e := range edges {
		if e.a.y == e.b.y {
			continue
		}
		first, last := (e.a.y-lowest)/height, (e.b.y-lowest)/height
		for b := first; b <= last; b++ {
			items[next[b]] = int32(i)
			next[b]++
		}
	}
	work := 0
	for i, e := range edges {
		mid := node{e.a.x + e.b.x, e.a.y + e.b.y} // doubled
		band := ((e.a.y+e.b.y)/2 - lowest) / height
		list := items[start[band]:start[band+1]]
		if work += len(list); work > 5*maxWork {
			return nil, tangled{}
		}
		sum := int32(0)
		for _, j := range list {
			f := &edges[j]
			if int(j) == i || 2*f.a.y > mid.y || mid.y >= 2*f.b.y || 2*min(f.a.x, f.b.x) > mid.x {
				continue
			}
			if 2*max(f.a.x, f.b.x) < mid.x || side(node{2 * f.a.x, 2 * f.a.y}, node{2 * f.b.x, 2 * f.b.y}, mid) < 0 {
				sum += f.weight
			}
		}
		out[i] = -sum
	}
	return out, nil
}
