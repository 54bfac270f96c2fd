package nest

import (
	"math"
	"slices"
)

// nearness is the scratch of one narrow test.
type nearness struct {
	a, b   []edge
	levels []float64
	spans  [2][]float64
}

// collide reports whether b, moved by dx, dy into a's frame, comes nearer to a than the distance, or overlaps
// it where the distance is zero. Exact on whole coordinates.
func (n *nearness) collide(a, b *shape, dx, dy, distance float64) bool {
	x0, y0 := max(a.box.x0, b.box.x0+dx)-distance, max(a.box.y0, b.box.y0+dy)-distance
	x1, y1 := min(a.box.x1, b.box.x1+dx)+distance, min(a.box.y1, b.box.y1+dy)+distance
	n.a, n.b = n.a[:0], n.b[:0]
	for i := range a.edges {
		e := &a.edges[i]
		if e.y1 >= y0 && e.y0 <= y1 && e.right >= x0 && e.left <= x1 {
			n.a = append(n.a, *e)
		}
	}
	for i := range b.edges {
		e := &b.edges[i]
		if e.y1+dy >= y0 && e.y0+dy <= y1 && e.right+dx >= x0 && e.left+dx <= x1 {
			n.b = append(n.b, edge{e.x0 + dx, e.y0 + dy, e.x1 + dx, e.y1 + dy, e.left + dx, e.right + dx})
		}
	}
	touched := false
	if distance > 0 {
		d2 := distance * distance * (1 - 1e-14)
		for i := range n.a {
			e := &n.a[i]
			for j := range n.b {
				f := &n.b[j]
				if f.y1 <= e.y0-distance || f.y0 >= e.y1+distance || f.right <= e.left-distance || f.left >= e.right+distance {
					continue
				}
				if nearer(e, f, d2) {
					return true
				}
			}
		}
	} else {
		for i := range n.a {
			e := &n.a[i]
			for j := range n.b {
				f := &n.b[j]
				if f.y1 < e.y0 || f.y0 > e.y1 || f.right < e.left || f.left > e.right {
					continue
				}
				crosses, meets := crossing(e, f)
				if crosses {
					return true
				}
				touched = touched || meets
			}
		}
	}
	if touched {
		return n.overlap(a, b, dx, dy)
	}
	for _, p := range a.starts {
		if b.holds(p.X-dx, p.Y-dy) {
			return true
		}
	}
	for _, p := range b.starts {
		if a.holds(p.X+dx, p.Y+dy) {
			return true
		}
	}
	return false
}

// crossing reports whether the segments cross properly, or at least meet.
func crossing(e, f *edge) (crosses, meets bool) {
	ex, ey, fx, fy := e.x1-e.x0, e.y1-e.y0, f.x1-f.x0, f.y1-f.y0
	a := ex*(f.y0-e.y0) - ey*(f.x0-e.x0)
	b := ex*(f.y1-e.y0) - ey*(f.x1-e.x0)
	if a > 0 && b > 0 || a < 0 && b < 0 {
		return false, false
	}
	c := fx*(e.y0-f.y0) - fy*(e.x0-f.x0)
	d := fx*(e.y1-f.y0) - fy*(e.x1-f.x0)
	if c > 0 && d > 0 || c < 0 && d < 0 {
		return false, false
	}
	if a != 0 && b != 0 && c != 0 && d != 0 {
		return true, true
	}
	return false, true
}

// nearer reports whether two segments come nearer than the root of d2.
func nearer(e, f *edge, d2 float64) bool {
	if fromSegment(e.x0, e.y0, f.x0, f.y0, f.x1, f.y1) < d2 || fromSegment(e.x1, e.y1, f.x0, f.y0, f.x1, f.y1) < d2 ||
		fromSegment(f.x0, f.y0, e.x0, e.y0, e.x1, e.y1) < d2 || fromSegment(f.x1, f.y1, e.x0, e.y0, e.x1, e.y1) < d2 {
		return true
	}
	crosses, _ := crossing(e, f)
	return crosses
}

// holds reports whether the point lies inside, by the even-odd rule.
func (s *shape) holds(x, y float64) bool {
	if x <= s.box.x0 || x >= s.box.x1 || y <= s.box.y0 || y >= s.box.y1 {
		return false
	}
	in := false
	for i := range s.edges {
		e := &s.edges[i]
		if e.y0 <= y && y < e.y1 && (e.x1-e.x0)*(y-e.y0)-(e.y1-e.y0)*(x-e.x0) > 0 {
			in = !in
		}
	}
	return in
}

// overlap settles shapes whose edges meet but do not cross: between two neighbouring heights of corners nothing
// changes sides, so the middle line of each such band shows whether both have inside in common.
func (n *nearness) overlap(a, b *shape, dx, dy float64) bool {
	n.levels = n.levels[:0]
	low, high := max(a.box.y0, b.box.y0+dy), min(a.box.y1, b.box.y1+dy)
	for i := range a.edges {
		n.levels = append(n.levels, a.edges[i].y0, a.edges[i].y1)
	}
	for i := range b.edges {
		n.levels = append(n.levels, b.edges[i].y0+dy, b.edges[i].y1+dy)
	}
	slices.Sort(n.levels)
	last := low
	for _, y := range n.levels {
		if y <= low || y > high || y == last {
			continue
		}
		mid := (last + y) / 2
		last = y
		n.spans[0] = a.spansAt(n.spans[0][:0], mid, 0)
		n.spans[1] = b.spansAt(n.spans[1][:0], mid-dy, dx)
		i, j := 0, 0
		for i+1 < len(n.spans[0]) && j+1 < len(n.spans[1]) {
			if min(n.spans[0][i+1], n.spans[1][j+1])-max(n.spans[0][i], n.spans[1][j]) > 1e-6 {
				return true
			}
			if n.spans[0][i+1] < n.spans[1][j+1] {
				i += 2
			} else {
				j += 2
			}
		}
	}
	return false
}

// spansAt are the crossings of the line at height y, sorted, moved by dx.
func (s *shape) spansAt(into []float64, y, dx float64) []float64 {
	for i := range s.edges {
		e := &s.edges[i]
		if e.y0 <= y && y < e.y1 {
			into = append(into, e.x0+(e.x1-e.x0)*((y-e.y0)/(e.y1-e.y0))+dx)
		}
	}
	slices.Sort(into)
	return into
}

var inf = math.Inf(1)
