package orders

import "evenpeel/recipes/cut"

// ordered are the outlines of one cut in the order in which the blade takes them: design after design, so that film is
// drawn back and forth as little as can be and one design is done before the next, and within a design as cut.Ordered
// has it. A design that lies inside another is cut before it. The order of the designs is that of cut.Ordered over the
// places where each begins.
func (l Layout) ordered(ps *poses, cutIndex int) []cut.Ring {
	starts := map[cut.Point][]int{}
	var points []cut.Ring
	for i, at := range l.Places {
		way := ps.of(at.Outline, at.Angle).way
		if at.Cut != cutIndex || len(way) == 0 {
			continue
		}
		first := way[0][0]
		p := cut.Point{X: float64(at.X)/1000 + first.X, Y: float64(at.Y)/1000 + first.Y}
		points, starts[p] = append(points, cut.Ring{p}), append(starts[p], i)
	}
	var order []int
	for _, r := range cut.Ordered(points, cut.Point{}) {
		order = append(order, starts[r[0]][0])
		starts[r[0]] = starts[r[0]][1:]
	}
	if l.TrueOutlines {
		order = l.insideFirst(order)
	}
	var rings []cut.Ring
	for _, i := range order {
		at := l.Places[i]
		for _, r := range ps.of(at.Outline, at.Angle).way {
			ring := make(cut.Ring, len(r))
			for j, p := range r {
				ring[j] = cut.Point{X: float64(at.X)/1000 + p.X, Y: float64(at.Y)/1000 + p.Y}
			}
			rings = append(rings, ring)
		}
	}
	return rings
}

// insideFirst is the order with every place whose box lies inside another's before that one.
func (l Layout) insideFirst(order []int) []int {
	out, done := make([]int, 0, len(order)), make([]bool, len(l.Places))
	var visit func(i int)
	visit = func(i int) {
		done[i] = true
		for _, j := range order {
			if !done[j] && l.Places[j].inside(l.Places[i]) {
				visit(j)
			}
		}
		out = append(out, i)
	}
	for _, i := range order {
		if !done[i] {
			visit(i)
		}
	}
	return out
}

// inside reports whether the box of a place lies inside that of another, which is larger.
func (at Place) inside(outer Place) bool {
	return at.X >= outer.X && at.Y >= outer.Y && at.X+at.Width <= outer.X+outer.Width && at.Y+at.Height <= outer.Y+outer.Height && (at.Width < outer.Width || at.Height < outer.Height)
}
