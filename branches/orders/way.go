package orders

import (
	"slices"

	"evenpeel/recipes/cut"
)

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

// insideFirst moves every place whose box lies inside another's to before that one.
func (l Layout) insideFirst(order []int) []int {
	for k := 0; k < len(order); k++ {
		outer := l.Places[order[k]]
		for j := k + 1; j < len(order); j++ {
			in := l.Places[order[j]]
			if in.X >= outer.X && in.Y >= outer.Y && in.X+in.Width <= outer.X+outer.Width && in.Y+in.Height <= outer.Y+outer.Height && in.Width*in.Height < outer.Width*outer.Height {
				moved := order[j]
				order = slices.Insert(slices.Delete(order, j, j+1), k, moved)
				outer = l.Places[order[k+1]]
				k++
			}
		}
	}
	return order
}
