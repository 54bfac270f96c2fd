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
	var out []circle
	covered := 0.0
	for len(out) < mostCircles && (len(out) < fewCircles || covered < wellCovered*area) {
		c := pole(edges, rings, out, low, high)
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

// cell is a square of the search for a pole, with the most radius any point of it could have.
type cell struct{ x, y, half, most float64 }

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

// pole is the largest circle inside the edges and outside the others, to within a hundredth of its radius.
func pole(edges []edge, rings [][]Point, others []circle, low, high Point) circle {
	room := func(x, y float64) float64 {
		d := math.Inf(1)
		for i := range edges {
			e := &edges[i]
			d = min(d, fromSegment(x, y, e.x0, e.y0, e.x1, e.y1))
		}
		d = math.Sqrt(d)
		in := false
		for _, ring := range rings {
			in = in != within(ring, Point{x, y})
		}
		if !in {
			d = -d
		}
		for _, c := range others {
			d = min(d, math.Hypot(x-c.x, y-c.y)-c.r)
		}
		return d
	}
	best := circle{}
	var queue cells
	add := func(x, y, half float64) {
		r := room(x, y)
		if r > best.r {
			best = circle{x, y, r}
		}
		if most := r + half*math.Sqrt2; most > best.r*1.01 {
			heap.Push(&queue, cell{x, y, half, most})
		}
	}
	size := min(high.X-low.X, high.Y-low.Y)
	half := max(size/2, (high.X-low.X+high.Y-low.Y)/64)
	for x := low.X + half; x-half < high.X; x += 2 * half {
		for y := low.Y + half; y-half < high.Y; y += 2 * half {
			add(x, y, half)
		}
	}
	for tried := 0; len(queue) > 0 && tried < mostCells; tried++ {
		c := heap.Pop(&queue).(cell)
		if c.most <= best.r*1.01 || c.half < size/500 {
			break
		}
		h := c.half / 2
		add(c.x-h, c.y-h, h)
		add(c.x+h, c.y-h, h)
		add(c.x-h, c.y+h, h)
		add(c.x+h, c.y+h, h)
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
