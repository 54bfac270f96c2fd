package cut

import (
	"cmp"
	"math"
	"slices"
)

// The joining of shapes works on whole numbers of a tenth of a micrometre, so that "left of" is exact: with 20 m as
// the largest drawing, products of differences stay well inside 63 bits.
const (
	latticePerMM = 10_000
	maxExtent    = 20_000 // mm
	maxPoints    = 200_000
	maxEdges     = 400_000
	maxWork      = 60_000_000 // edge pairs looked at in one joining
	maxBanded    = 20_000_000 // edges listed in all the bands of one joining: 80 MB
)

type node struct{ x, y int64 }

func onLattice(p Point) node {
	return node{int64(math.Round(p.X * latticePerMM)), int64(math.Round(p.Y * latticePerMM))}
}

func (n node) point() Point { return Point{float64(n.x) / latticePerMM, float64(n.y) / latticePerMM} }

func compareNodes(a, b node) int {
	if c := cmp.Compare(a.y, b.y); c != 0 {
		return c
	}
	return cmp.Compare(a.x, b.x)
}

// edge runs from a down to b (or to the right where level); weight counts how often, and which way, outlines run it.
type edge struct {
	a, b   node
	weight int32
}

// side is positive where p lies to the left of a→b in the sense (x right, y down): on the −x side of a downward edge.
func side(a, b, p node) int64 { return (b.x-a.x)*(p.y-a.y) - (b.y-a.y)*(p.x-a.x) }

func sign(v int64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

func latticeEdges(rings []Ring) []edge {
	var edges []edge
	for _, r := range rings {
		for i, p := range r {
			a, b := onLattice(p), onLattice(r[(i+1)%len(r)])
			switch c := compareNodes(a, b); {
			case c < 0:
				edges = append(edges, edge{a, b, 1})
			case c > 0:
				edges = append(edges, edge{b, a, -1})
			}
		}
	}
	return edges
}

// merged adds up the weights of edges that coincide. Edges that cancel vanish: they bound nothing.
func merged(edges []edge) []edge {
	slices.SortFunc(edges, func(e, f edge) int {
		if c := compareNodes(e.a, f.a); c != 0 {
			return c
		}
		return compareNodes(e.b, f.b)
	})
	out := edges[:0]
	for _, e := range edges {
		if n := len(out); n > 0 && out[n-1].a == e.a && out[n-1].b == e.b {
			out[n-1].weight += e.weight
		} else {
			if n > 0 && out[n-1].weight == 0 {
				out = out[:n-1]
			}
			out = append(out, e)
		}
	}
	if n := len(out); n > 0 && out[n-1].weight == 0 {
		out = out[:n-1]
	}
	return out
}

// cells is a grid over edges: for each cell the edges that pass through it.
type cells struct {
	minX, minY, size float64
	cols, rows       int
	start            []int32
	items            []int32
}

// newCells lays a grid of cells at least size wide; from and to give the ends of edge i.
func newCells(count int, size float64, ends func(i int) (a, b Point)) cells {
	b := emptyBox()
	length := 0.0
	for i := range count {
		p, q := ends(i)
		b.take(p)
		b.take(q)
		length += p.to(q)
	}
	w, h := b.maxX-b.minX, b.maxY-b.minY
	limit := float64(4*count + 1024)
	size = max(size, math.Sqrt(w*h/limit), (w+h)/limit, length/(2*limit), 1e-9)
	g := cells{minX: b.minX, minY: b.minY, size: size, cols: int(w/size) + 1, rows: int(h/size) + 1}
	g.start = make([]int32, g.cols*g.rows+1)
	for i := range count {
		p, q := ends(i)
		g.along(p, q, func(c int) { g.start[c+1]++ })
	}
	for i := 1; i < len(g.start); i++ {
		g.start[i] += g.start[i-1]
	}
	g.items = make([]int32, g.start[len(g.start)-1])
	next := slices.Clone(g.start)
	for i := range count {
		p, q := ends(i)
		g.along(p, q, func(c int) { g.items[next[c]] = int32(i); next[c]++ })
	}
	return g
}

func (g *cells) column(x float64) int { return min(max(int((x-g.minX)/g.size), 0), g.cols-1) }
func (g *cells) row(y float64) int    { return min(max(int((y-g.minY)/g.size), 0), g.rows-1) }

// along visits the cells that the segment passes: row by row, the columns it covers there.
func (g *cells) along(p, q Point, visit func(cell int)) {
	if p.Y > q.Y {
		p, q = q, p
	}
	top, bottom := g.row(p.Y), g.row(q.Y)
	for r := top; r <= bottom; r++ {
		x0, x1 := p.X, q.X
		if top != bottom {
			slope := (q.X - p.X) / (q.Y - p.Y)
			if r > top {
				x0 = p.X + slope*(g.minY+float64(r)*g.size-p.Y)
			}
			if r < bottom {
				x1 = p.X + slope*(g.minY+float64(r+1)*g.size-p.Y)
			}
		}
		slack := g.size * 1e-6
		lo, hi := g.column(min(x0, x1)-slack), g.column(max(x0, x1)+slack)
		for c := lo; c <= hi; c++ {
			visit(r*g.cols + c)
		}
	}
}

func (g *cells) in(cell int) []int32 { return g.items[g.start[cell]:g.start[cell+1]] }
