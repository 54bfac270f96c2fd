package cut

import (
	"math"
	"slices"
)

// fillRule says which winding numbers are inside: SVG 2, painting, "fill-rule".
type fillRule byte

const (
	nonZero fillRule = iota
	evenOdd
	overlapOnly // where two clean regions overlap
)

func (r fillRule) inside(winding int32) bool {
	switch r {
	case evenOdd:
		return winding&1 != 0
	case overlapOnly:
		return winding > 1
	}
	return winding != 0
}

// covered gives the boundary of what the rings cover under the rule: rings that neither cross nor overlap, outer ones
// clockwise on the screen, holes the other way. crossings are the places where the given rings truly cross.
func covered(rings []Ring, rule fillRule) (out []Ring, crossings []Point, err error) {
	if lyingDown(rings) {
		out, crossings, err = coveredUpright(transposed(rings), rule)
		for i, p := range crossings {
			crossings[i] = Point{p.Y, p.X}
		}
		return transposed(out), crossings, err
	}
	return coveredUpright(rings, rule)
}

// lyingDown reports whether rings are so long and low, as a dashed line is, that many of their edges stand side by side
// in every band across: turned over, few do.
func lyingDown(rings []Ring) bool {
	b, x, y := emptyBox(), 0.0, 0.0
	for _, r := range rings {
		for i, p := range r {
			q := r[(i+1)%len(r)]
			b.take(p)
			x, y = x+math.Abs(q.X-p.X), y+math.Abs(q.Y-p.Y)
		}
	}
	return y*(b.maxX-b.minX) > 8*x*(b.maxY-b.minY)
}

// transposed is the rings with x and y changed over, run backwards so that they wind as before.
func transposed(rings []Ring) []Ring {
	out := make([]Ring, len(rings))
	for i, r := range rings {
		out[i] = make(Ring, len(r))
		for k, p := range r {
			out[i][len(r)-1-k] = Point{p.Y, p.X}
		}
	}
	return out
}

func coveredUpright(rings []Ring, rule fillRule) (out []Ring, crossings []Point, err error) {
	edges, crossings, err := arranged(latticeEdges(rings))
	if err != nil {
		return nil, nil, err
	}
	w, err := windings(edges)
	if err != nil {
		return nil, nil, err
	}
	var kept []edge // here an edge runs a→b with the inside on its left, whatever its direction
	for i, e := range edges {
		plus, minus := rule.inside(w[i]), rule.inside(w[i]-e.weight)
		switch {
		case plus && !minus:
			kept = append(kept, edge{e.a, e.b, 1})
		case minus && !plus:
			kept = append(kept, edge{e.b, e.a, 1})
		}
	}
	return chained(kept), crossings, nil
}

// dust is half the width in mm below which a ring is no shape, only what rounding to the lattice left between others.
const dust = 0.0005

// chained joins directed edges end to start. Where several leave one place, the sharpest left turn is taken, and a run
// that comes back to a place it has passed gives up the loop between: so rings touch themselves nowhere, and regions or
// holes that only touch at a point are rings of their own.
func chained(edges []edge) []Ring {
	slices.SortFunc(edges, func(e, f edge) int {
		if c := compareNodes(e.a, f.a); c != 0 {
			return c
		}
		return compareNodes(e.b, f.b)
	})
	used := make([]bool, len(edges))
	var rings []Ring
	for first := range edges {
		if used[first] {
			continue
		}
		c := chain{passed: map[node]int{}}
		for at := first; at >= 0; at = following(edges, used, at) {
			used[at] = true
			shared := at > 0 && edges[at-1].a == edges[at].a || at+1 < len(edges) && edges[at+1].a == edges[at].a
			rings = c.step(edges[at].a, shared, rings)
			if edges[at].b == edges[first].a {
				rings = c.close(0, rings)
				break
			}
		}
	}
	return rings
}

// chain is a run of nodes; shared marks those that several edges leave, which must stay where they are.
type chain struct {
	run    []node
	shared []bool
	passed map[node]int
}

func (c *chain) step(n node, shared bool, rings []Ring) []Ring {
	if shared {
		if i, again := c.passed[n]; again && i < len(c.run) && c.run[i] == n {
			rings = c.close(i, rings)
		}
		c.passed[n] = len(c.run)
	}
	c.run, c.shared = append(c.run, n), append(c.shared, shared)
	return rings
}

// close gives up the loop from place i on as a ring, unless it is dust.
func (c *chain) close(i int, rings []Ring) []Ring {
	ring := simplified(c.run[i:], c.shared[i:])
	c.run, c.shared = c.run[:i], c.shared[:i]
	if len(ring) >= 3 && math.Abs(ring.Area()) > dust*ring.Length() {
		rings = append(rings, ring)
	}
	return rings
}

func following(edges []edge, used []bool, at int) int {
	i, _ := slices.BinarySearchFunc(edges, edges[at].b, func(e edge, n node) int { return compareNodes(e.a, n) })
	best, bestTurn := -1, math.Inf(-1)
	for ; i < len(edges) && edges[i].a == edges[at].b; i++ {
		if !used[i] {
			if t := turn(edges[at], edges[i]); t > bestTurn {
				best, bestTurn = i, t
			}
		}
	}
	return best
}

func turn(e, f edge) float64 {
	u, v := e.b.point().minus(e.a.point()), f.b.point().minus(f.a.point())
	return math.Atan2(u.cross(v), u.dot(v))
}

// simplified drops points that lie on the line of their neighbours to within one lattice step.
func simplified(run []node, shared []bool) Ring {
	var ring Ring
	n := len(run)
	before := run[n-1]
	for i, p := range run {
		after := run[(i+1)%n]
		chord := math.Hypot(float64(after.x-before.x), float64(after.y-before.y))
		ahead := (after.x-p.x)*(p.x-before.x)+(after.y-p.y)*(p.y-before.y) > 0
		if !shared[i] && ahead && math.Abs(float64(side(before, after, p))) <= chord {
			continue
		}
		ring = append(ring, p.point())
		before = p
	}
	return ring
}

// shapesOf groups clean rings (as covered gives them) into shapes: each hole goes to the smallest outer ring around it.
func shapesOf(rings []Ring, colour string) []Shape {
	var shapes []Shape
	var boxes []box
	var holes []Ring
	for _, r := range rings {
		if a := r.Area(); a > 0 {
			shapes = append(shapes, Shape{Colour: colour, Rings: []Ring{r}, Area: a})
			boxes = append(boxes, r.box())
		} else if a < 0 {
			holes = append(holes, r)
		}
	}
	outer := make([]float64, len(shapes))
	for i := range shapes {
		outer[i] = shapes[i].Area
	}
	for _, h := range holes {
		p := lerp(h[0], h[1], 0.5)
		owner := -1
		for i := range shapes {
			if boxes[i].holds(p) && (owner < 0 || outer[i] < outer[owner]) && shapes[i].Rings[0].Holds(p) {
				owner = i
			}
		}
		if owner >= 0 {
			shapes[owner].Rings = append(shapes[owner].Rings, h)
			shapes[owner].Area += h.Area()
		}
	}
	return shapes
}
