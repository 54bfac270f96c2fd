package compare

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// ascending gives the places of the values in rising order, equal ones in the order given; not-a-number counts as
// infinitely large, so that it never makes a finding.
func ascending(values []float64) []int {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	rank := func(v float64) float64 {
		if math.IsNaN(v) {
			return math.Inf(1)
		}
		return v
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(rank(values[a]), rank(values[b])) })
	return order
}

// compareCells orders cells by everything that names them. What names them differs early, so each comparison is made only
// where it is needed.
func compareCells(a, b *Cell) int {
	if c := strings.Compare(a.Branch, b.Branch); c != 0 {
		return c
	}
	if c := strings.Compare(a.Period, b.Period); c != 0 {
		return c
	}
	if c := strings.Compare(a.Film, b.Film); c != 0 {
		return c
	}
	return cmp.Or(strings.Compare(a.Fabric, b.Fabric), cmp.Compare(a.Band, b.Band), cmp.Compare(a.Revision, b.Revision), cmp.Compare(a.Drawn, b.Drawn), cmp.Compare(a.Pieces, b.Pieces))
}
