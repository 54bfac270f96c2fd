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

// step is one ring of an outline, and the corner that its cut starts from.
type step struct{ ring, start int }

// wayOf puts the rings of an outline as it lies into the order of cutting. The order is found once for each line: its
// outlines differ only in size and angle, which change nothing in what lies near what.
func (ps *poses) wayOf(outline int, rings []cut.Ring) []cut.Ring {
	line := ps.outlines[outline].Line
	steps, known := ps.ways[line]
	if !known || len(steps) != len(rings) {
		steps = stepsOf(rings, cut.Ordered(rings, cut.Point{}))
		if ps.ways == nil {
			ps.ways = map[int][]step{}
		}
		ps.ways[line] = steps
	}
	way := make([]cut.Ring, 0, len(steps))
	for _, s := range steps {
		r := rings[s.ring]
		k := s.start % max(len(r), 1)
		way = append(way, append(append(make(cut.Ring, 0, len(r)), r[k:]...), r[:k]...))
	}
	return way
}

// stepsOf finds the rings again in the order that they were put in, each by its start.
func stepsOf(rings, ordered []cut.Ring) (steps []step) {
	corners := map[cut.Point][]step{}
	for i, r := range rings {
		for j, p := range r {
			corners[p] = append(corners[p], step{i, j})
		}
	}
	used := make([]bool, len(rings))
	for _, r := range ordered {
		for _, s := range corners[r[0]] {
			if !used[s.ring] && len(rings[s.ring]) == len(r) && rings[s.ring][(s.start+1)%len(r)] == r[1%len(r)] {
				used[s.ring], steps = true, append(steps, s)
				break
			}
		}
	}
	for i, r := range rings { // none is left out, whatever happens above
		if !used[i] && len(r) > 0 {
			steps = append(steps, step{ring: i})
		}
	}
	return steps
}
