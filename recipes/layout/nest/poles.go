package nest

import (
	"container/heap"
	"math"
	"slices"
)

const (
	fewCircles  = 6    // enough where they cover wellCovered of the area
	mostCircles = 10   // 16 got farther on jakobs2 and shapes0 in 10 s, less far on mao, fu, albano and dighe1
	wellCovered = 0.9  // of the area
	mostCells   = 400  // divided for one circle: a sliver has no good place at all
	leastRadius = 0.02 // of the first circle's: smaller ones say nothing
)

// inscribed are circles inside the outline, largest first, each as large as goes outside those before it.
func inscribed(rings [][]Point, area float64) []circle {
	var edges []edge
	low, high := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, ring := range rings {
		last := ring[len(ring)-1]
		for _, p := range ring {
			edges = append(edges, edge{x0: last.X, y0: last.Y, x1: p.X, y1: p.Y})
			low = Point{min(low.X, p.X), min(low.Y, p.Y)}
			high = Point{max(high.X, p.X), max(high.Y, p.Y)}
			last = p
		}
	}
	g := ground{edges: edges, rings: rings, low: low, high: high}
	var out []circle
	covered := 0.0
	for len(out) < mostCircles && (len(out) < fewCircles || covered < wellCovered*area) {
		c := g.pole(out)
		if c.r <= 0 || len(out) > 0 && c.r < leastRadius*out[0].r {
			break
		}
		out = append(out, c)
		covered += math.Pi * c.r * c.r
	}
	if len(out) == 0 { // thinner than any circle found: its middle edge stands for it
		out = append(out, circle{(low.X + high.X) / 2, (low.Y + high.Y) / 2, 0})
	}
	slices.SortStableFunc(out, func(a, b circle) int { return int(math.Copysign(1, b.r-a.r)) })
	return out
}

// ground is what the search for poles knows of an outline. Every circle is looked for in the same squares, so what was
// measured for one holds for the next.
type ground struct {
	edges     []edge
	rings     [][]Point
	low, high Point
	roots     []*square
	squared   []float64 // distances from one middle, by edge
}

// square is one of the squares, with how far its middle lies inside the outline, and the edges that can be the nearest to
// any point of it.
type square struct {
	x, y, half, room float64
	near             []int32
	quarters         []*square
}

// cell is a square in the search for one pole, with the most radius any point of it could have.
type cell struct {
	*square
	most float64
}

type cells []cell

func (q cells) Len() int           { return len(q) }
func (q cells) Less(i, j int) bool { return q[i].most > q[j].most }
func (q cells) Swap(i, j int)      { q[i], q[j] = q[j], q[i] }
func (q *cells) Push(x any)        { *q = append(*q, x.(cell)) }
func (q *cells) Pop() any {
	old := *q
	last := old[len(old)-1]
	*q = old[:len(old)-1]
	return last
}

// square measures a square that is part of another, or of the whole where that is nil. What lies farther from a middle
// than the nearest edge and the square's width is never the nearest within it.
func (g *ground) square(x, y, half float64, whole *square) *square {
	near, inside, known := []int32(nil), false, false
	if whole != nil {
		near, inside = whole.near, whole.room > 0
		known = math.Abs(whole.room) > 2*math.Hypot(x-whole.x, y-whole.y) // no edge lies between
	} else {
		near = make([]int32, len(g.edges))
		for i := range near {
			near[i] = int32(i)
		}
	}
	least := math.Inf(1)
	g.squared = g.squared[:0]
	for _, i := range near {
		e := &g.edges[i]
		d := fromSegment(x, y, e.x0, e.y0, e.x1, e.y1)
		g.squared = append(g.squared, d)
		least = min(least, d)
	}
	q := &square{x: x, y: y, half: half, room: math.Sqrt(least)}
	reach := (q.room + 2*math.Sqrt2*half) * (1 + 1e-9)
	for k, i := range near {
		if g.squared[k] <= reach*reach {
			q.near = append(q.near, i)
		}
	}
	if !known {
		inside = false
		for _, ring := range g.rings {
			inside = inside != within(ring, Point{x, y})
		}
	}
	if !inside {
		q.room = -q.room
	}
	return q
}

// spread are the squares that the search begins with.
func (g *ground) spread() []*square {
	if g.roots == nil {
		low, high := g.low, g.high
		half := max(min(high.X-low.X, high.Y-low.Y)/2, (high.X-low.X+high.Y-low.Y)/64)
		for x := low.X + half; x-half < high.X; x += 2 * half {
			for y := low.Y + half; y-half < high.Y; y += 2 * half {
				g.roots = append(g.roots, g.square(x, y, half, nil))
			}
		}
	}
	return g.roots
}

// divided are the four quarters of a square.
func (g *ground) divided(q *square) []*square {
	if q.quarters == nil {
		h := q.half / 2
		for _, at := range [...]Point{{q.x - h, q.y - h}, {q.x + h, q.y - h}, {q.x - h, q.y + h}, {q.x + h, q.y + h}} {
			q.quarters = append(q.quarters, g.square(at.X, at.Y, h, q))
		}
	}
	return q.quarters
}

// pole is the largest circle inside the edges and outside the others, to within a hundredth of its radius.
func (g *ground) pole(others []circle) circle {
	best := circle{}
	var queue cells
	add := func(q *square) {
		r := q.room
		for _, c := range others {
			r = min(r, math.Hypot(q.x-c.x, q.y-c.y)-c.r)
		}
		if r > best.r {
			best = circle{q.x, q.y, r}
		}
		if most := r + q.half*math.Sqrt2; most > best.r*1.01 {
			heap.Push(&queue, cell{q, most})
		}
	}
	for _, q := range g.spread() {
		add(q)
	}
	size := min(g.high.X-g.low.X, g.high.Y-g.low.Y)
	for tried := 0; len(queue) > 0 && tried < mostCells; tried++ {
		c := heap.Pop(&queue).(cell)
		if c.most <= best.r*1.01 || c.half < size/500 {
			break
		}
		for _, q := range g.divided(c.square) {
			add(q)
		}
	}
	return best
}

// fromSegment is the squared distance of a point from a segment.
func fromSegment(px, py, x0, y0, x1, y1 float64) float64 {
	dx, dy, qx, qy := x1-x0, y1-y0, px-x0, py-y0
	along, length := qx*dx+qy*dy, dx*dx+dy*dy
	switch {
	case along <= 0 || length == 0:
		return qx*qx + qy*qy
	case along >= length:
		qx, qy = px-x1, py-y1
		return qx*qx + qy*qy
	}
	c := qx*dy - qy*dx
	return c * c / length
}
