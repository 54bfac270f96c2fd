package nest

import (
	"cmp"
	"math"
	"slices"
)

const (
	enoughCorners = 12    // outlines with fewer are left alone
	finestGrowth  = 0.001 // of the area: always worth it
	coarseGrowth  = 0.004 // of the area: where more than wantedCorners are left
	wantedCorners = 40
)

// simplified is an outline around the given one with few corners: again and again the change that adds least
// area, either dropping a corner that points inwards or extending the two edges beside an edge until they
// meet. changed reports whether it did anything: rounding, of made up corners and when turned, may then leave
// the outline outside by less than one unit.
func simplified(rings [][]Point, area float64) (out [][]Point, changed bool) {
	total := 0
	for _, ring := range rings {
		total += len(ring)
	}
	if total <= enoughCorners {
		return rings, false
	}
	budget := 0.0
	for _, limit := range []struct {
		growth float64
		wanted int
	}{{finestGrowth, enoughCorners}, {coarseGrowth, wantedCorners}} {
		c := newCarving(rings)
		c.carve(limit.growth*area-budget, limit.wanted)
		next := c.rings()
		if crossesItself(next) {
			return rings, changed
		}
		rings, changed = next, changed || c.left < total
		budget += c.spent
	}
	return rings, changed
}

// carving is a set of rings as linked corners.
type carving struct {
	at         []Point
	prev, next []int
	gone       []bool
	size       []int // corners left of the ring of each corner's ring
	ring       []int
	byX        []int // corners by X, with those made later in extra
	extra      []int
	left       int
	spent      float64
}

func newCarving(rings [][]Point) *carving {
	c := &carving{}
	for k, ring := range rings {
		from := len(c.at)
		for i, p := range ring {
			c.at = append(c.at, p)
			c.prev = append(c.prev, from+(i+len(ring)-1)%len(ring))
			c.next = append(c.next, from+(i+1)%len(ring))
			c.ring = append(c.ring, k)
		}
		c.size = append(c.size, len(ring))
	}
	c.gone = make([]bool, len(c.at))
	c.left = len(c.at)
	for i := range c.at {
		c.byX = append(c.byX, i)
	}
	slices.SortFunc(c.byX, func(a, b int) int { return cmp.Compare(c.at[a].X, c.at[b].X) })
	return c
}

// change is one thing that could be done at corner i.
type change struct {
	i      int
	growth float64
	merge  bool // of the edge i → next
	at     Point
}

// best is the cheapest change at corner i.
func (c *carving) best(i int) (change, bool) {
	p, n := c.prev[i], c.next[i]
	if c.size[c.ring[i]] <= 3 {
		return change{}, false
	}
	turn := cross(c.at[p], c.at[i], c.at[n])
	if turn <= 0 {
		return change{i: i, growth: -turn / 2}, true
	}
	m := c.next[n]
	if m == p || c.size[c.ring[i]] <= 4 || cross(c.at[i], c.at[n], c.at[m]) <= 0 {
		return change{}, false
	}
	a, b, d, e := c.at[p], c.at[i], c.at[n], c.at[m]
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, d.X-e.X, d.Y-e.Y
	den := ux*vy - uy*vx
	if den == 0 {
		return change{}, false
	}
	t := ((d.X-b.X)*vy - (d.Y-b.Y)*vx) / den
	w := ((d.X-b.X)*uy - (d.Y-b.Y)*ux) / den
	if t <= 0 || w <= 0 {
		return change{}, false
	}
	q := Point{math.Round(b.X + t*ux), math.Round(b.Y + t*uy)}
	return change{i: i, growth: math.Abs(cross(b, d, q)) / 2, merge: true, at: q}, true
}

// carve makes changes, the cheapest first in doubling steps of growth, until the budget of area is spent or few enough corners are left.
func (c *carving) carve(budget float64, wanted int) {
	for step := budget / 1024; step <= budget/4; step *= 2 {
		for again := true; again; {
			again = false
			for i := 0; i < len(c.at) && c.left > wanted; i++ {
				if c.gone[i] {
					continue
				}
				ch, ok := c.best(i)
				if !ok || ch.growth > step/16 || c.spent+ch.growth > budget || !c.clear(ch) {
					continue
				}
				c.spent += ch.growth
				c.do(ch)
				again = true
			}
		}
	}
}

// clear reports whether no other corner lies in the triangle that the change fills.
func (c *carving) clear(ch change) bool {
	i := ch.i
	t := [3]Point{c.at[c.prev[i]], c.at[i], c.at[c.next[i]]}
	if ch.merge {
		t = [3]Point{c.at[i], ch.at, c.at[c.next[i]]}
	}
	if cross(t[0], t[1], t[2]) < 0 {
		t[1], t[2] = t[2], t[1]
	}
	low, high := min(t[0].X, t[1].X, t[2].X), max(t[0].X, t[1].X, t[2].X)
	free := func(j int) bool {
		p := c.at[j]
		if c.gone[j] || p == t[0] || p == t[1] || p == t[2] {
			return true
		}
		return cross(t[0], t[1], p) < 0 || cross(t[1], t[2], p) < 0 || cross(t[2], t[0], p) < 0
	}
	from, _ := slices.BinarySearchFunc(c.byX, low, func(j int, x float64) int { return cmp.Compare(c.at[j].X, x) })
	for _, j := range c.byX[from:] {
		if c.at[j].X > high {
			break
		}
		if !free(j) {
			return false
		}
	}
	for _, j := range c.extra {
		if !free(j) {
			return false
		}
	}
	return true
}

func (c *carving) do(ch change) {
	i := ch.i
	p, n := c.prev[i], c.next[i]
	c.gone[i] = true
	c.left--
	c.size[c.ring[i]]--
	if !ch.merge {
		c.next[p], c.prev[n] = n, p
		return
	}
	m := c.next[n]
	c.gone[n] = true
	k := len(c.at)
	c.at, c.gone, c.ring = append(c.at, ch.at), append(c.gone, false), append(c.ring, c.ring[i])
	c.prev, c.next = append(c.prev, p), append(c.next, m)
	c.next[p], c.prev[m] = k, k
	c.extra = append(c.extra, k)
}

func (c *carving) rings() [][]Point {
	var out [][]Point
	seen := make([]bool, len(c.at))
	for i := range c.at {
		if c.gone[i] || seen[i] {
			continue
		}
		var ring []Point
		for j := i; !seen[j]; j = c.next[j] {
			seen[j] = true
			ring = append(ring, c.at[j])
		}
		out = append(out, ring)
	}
	return out
}

// crossesItself reports whether two edges of the rings cross.
func crossesItself(rings [][]Point) bool {
	var all []edge
	for _, ring := range rings {
		last := ring[len(ring)-1]
		for _, p := range ring {
			all = append(all, edge{last.X, last.Y, p.X, p.Y, min(last.X, p.X), max(last.X, p.X)})
			last = p
		}
	}
	slices.SortFunc(all, func(a, b edge) int { return cmp.Compare(a.left, b.left) })
	for i := range all {
		for j := i + 1; j < len(all) && all[j].left <= all[i].right; j++ {
			if crosses, _ := crossing(&all[i], &all[j]); crosses {
				return true
			}
		}
	}
	return false
}
