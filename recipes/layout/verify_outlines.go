package layout

import (
	"cmp"
	"math/bits"
	"slices"
)

// line is one straight piece of a contour, upwards: y0 ≤ y1.
type line struct{ x0, y0, x1, y1 int64 }

// contour is a piece at an angle as Verify sees it, the lower left corner of its box at the origin.
type contour struct {
	width, height int64
	box           bool
	lines         []line // by y0
	corners       [][2]int64
}

func contourOf(p Piece, angle Millidegrees, filled bool) *contour {
	rings := Outlined(p, Place{Angle: angle})
	_, high := extentOf(rings)
	c := &contour{width: int64(high.X), height: int64(high.Y), box: len(p.Outline) == 0}
	for i, ring := range rings {
		if len(ring) == 0 || filled && depthOf(rings, i) > 0 {
			continue
		}
		c.corners = append(c.corners, [2]int64{int64(ring[0].X), int64(ring[0].Y)})
		last := ring[len(ring)-1]
		for _, q := range ring {
			l := line{int64(last.X), int64(last.Y), int64(q.X), int64(q.Y)}
			if l.y0 > l.y1 {
				l = line{l.x1, l.y1, l.x0, l.y0}
			}
			if last != q {
				c.lines = append(c.lines, l)
			}
			last = q
		}
	}
	slices.SortFunc(c.lines, func(a, b line) int { return cmp.Compare(a.y0, b.y0) })
	return c
}

// tooNear reports whether b, whose box's corner lies at dx, dy from a's, comes nearer to a than need; with a
// need of zero, whether their insides have anything in common.
func tooNear(a, b *contour, dx, dy, need int64) bool {
	x0, y0 := max(0, dx)-need, max(0, dy)-need
	x1, y1 := min(a.width, b.width+dx)+need, min(a.height, b.height+dy)+need
	near := func(l line) bool {
		return l.y1 >= y0 && l.y0 <= y1 && max(l.x0, l.x1) >= x0 && min(l.x0, l.x1) <= x1
	}
	var as, bs, active []line
	for _, l := range a.lines {
		if near(l) {
			as = append(as, l)
		}
	}
	for _, l := range b.lines {
		if l = (line{l.x0 + dx, l.y0 + dy, l.x1 + dx, l.y1 + dy}); near(l) {
			bs = append(bs, l)
		}
	}
	// A sweep upwards: active are b's lines that have begun and, for a's lines from here on, not ended.
	next := 0
	for _, l := range as {
		for next < len(bs) && bs[next].y0 <= l.y1+need {
			active = append(active, bs[next])
			next++
		}
		active = slices.DeleteFunc(active, func(m line) bool { return m.y1 < l.y0-need })
		for _, m := range active {
			if min(m.x0, m.x1) > max(l.x0, l.x1)+need || max(m.x0, m.x1) < min(l.x0, l.x1)-need {
				continue
			}
			if need > 0 && linesNearer(l, m, need) || need == 0 && cross(l, m) {
				return true
			}
		}
	}
	if need == 0 {
		return shareInside(a, b, dx, dy)
	}
	// No edge of one comes near an edge of the other, so every ring is wholly inside or outside.
	for _, q := range a.corners {
		if b.encloses(q[0]-dx, q[1]-dy) {
			return true
		}
	}
	for _, q := range b.corners {
		if a.encloses(q[0]+dx, q[1]+dy) {
			return true
		}
	}
	return false
}

// side is above zero if the point lies left of the line, which runs upwards.
func (l line) side(x, y int64) int64 {
	return (l.x1-l.x0)*(y-l.y0) - (l.y1-l.y0)*(x-l.x0)
}

// cross reports whether two lines cross at a point that is an end of neither.
func cross(l, m line) bool {
	a, b := l.side(m.x0, m.y0), l.side(m.x1, m.y1)
	c, d := m.side(l.x0, l.y0), m.side(l.x1, l.y1)
	return (a < 0 && b > 0 || a > 0 && b < 0) && (c < 0 && d > 0 || c > 0 && d < 0)
}

// linesNearer reports whether any point of l is nearer than need, above zero, to one of m.
func linesNearer(l, m line, need int64) bool {
	return cross(l, m) || pointNearer(l.x0, l.y0, m, need) || pointNearer(l.x1, l.y1, m, need) ||
		pointNearer(m.x0, m.y0, l, need) || pointNearer(m.x1, m.y1, l, need)
}

func pointNearer(x, y int64, l line, need int64) bool {
	dx, dy, qx, qy := l.x1-l.x0, l.y1-l.y0, x-l.x0, y-l.y0
	along, length := qx*dx+qy*dy, dx*dx+dy*dy
	if along <= 0 {
		return qx*qx+qy*qy < need*need
	}
	if along >= length {
		qx, qy = x-l.x1, y-l.y1
		return qx*qx+qy*qy < need*need
	}
	// The distance is |side| ÷ √length; both sides squared need 128 bits.
	s := l.side(x, y)
	if s < 0 {
		s = -s
	}
	return less128(uint64(s), uint64(s), uint64(need*need), uint64(length))
}

// less128 reports whether a·b < c·d.
func less128(a, b, c, d uint64) bool {
	hi1, lo1 := bits.Mul64(a, b)
	hi2, lo2 := bits.Mul64(c, d)
	return hi1 < hi2 || hi1 == hi2 && lo1 < lo2
}

// encloses reports whether the point, which lies on no line, is inside by the even-odd rule.
func (c *contour) encloses(x, y int64) bool {
	in := false
	for _, l := range c.lines {
		if l.y0 > y {
			break
		}
		if y < l.y1 && l.side(x, y) > 0 {
			in = !in
		}
	}
	return in
}

// shareInside settles contours of which no two lines cross: then between two neighbouring heights of corners
// the order of all lines across the roll stays the same, so the middle of each such band shows whether there is a
// point inside both.
func shareInside(a, b *contour, dx, dy int64) bool {
	var heights []int64
	for _, l := range a.lines {
		heights = append(heights, l.y0, l.y1)
	}
	for _, l := range b.lines {
		heights = append(heights, l.y0+dy, l.y1+dy)
	}
	slices.Sort(heights)
	heights = slices.Compact(heights)
	for i := 1; i < len(heights); i++ {
		if heights[i-1] < max(0, dy) || heights[i] > min(a.height, b.height+dy) {
			continue
		}
		twice := heights[i-1] + heights[i]
		in, other := a.crossings(twice, 0, 0), b.crossings(twice, dx, dy)
		for len(in) > 1 && len(other) > 1 {
			if in[0].less(other[1]) && other[0].less(in[1]) { // both begin before either ends
				return true
			}
			if in[1].less(other[1]) {
				in = in[2:]
			} else {
				other = other[2:]
			}
		}
	}
	return false
}

// fraction is over ÷ under, under above zero.
type fraction struct{ over, under int64 }

func (f fraction) less(g fraction) bool {
	if (f.over < 0) != (g.over < 0) {
		return f.over < 0
	}
	if f.over < 0 {
		return less128(uint64(-g.over), uint64(f.under), uint64(-f.over), uint64(g.under))
	}
	return less128(uint64(f.over), uint64(g.under), uint64(g.over), uint64(f.under))
}

// crossings are where the contour, moved by dx, dy, crosses half the doubled height, sorted. No corner lies there.
func (c *contour) crossings(twice, dx, dy int64) []fraction {
	var out []fraction
	for _, l := range c.lines {
		y0, y1 := 2*(l.y0+dy), 2*(l.y1+dy)
		if y0 < twice && twice < y1 {
			out = append(out, fraction{(l.x0+dx)*(y1-y0) + (l.x1-l.x0)*(twice-y0), y1 - y0})
		}
	}
	slices.SortFunc(out, func(f, g fraction) int {
		switch {
		case f.less(g):
			return -1
		case g.less(f):
			return 1
		}
		return 0
	})
	return out
}
