package cut

import "math"

// measurer finds the discs that touch an outline twice.
type measurer struct {
	list    []flank
	grid    cells
	limit   float64
	outside bool
	tests   int
	listed  int32   // the flank that near holds for, or −1
	near    []int32 // flanks that a disc on that one can touch
	seen    []int32 // by flank: the turn in which it was looked at last
	turn    int32
	starts  []float64
	other   int32 // the flank that the last width was measured against, and where
	touch   Point
}

func newMeasurer(list []flank, limit float64, outside bool) *measurer {
	m := &measurer{list: list, limit: limit, outside: outside, listed: -1, seen: make([]int32, len(list)), starts: make([]float64, len(list))}
	for i := range m.starts {
		m.starts[i] = math.NaN()
	}
	m.grid = newCells(len(list), limit/2, func(i int) (Point, Point) { return list[i].a, list[i].b })
	return m
}

// facing is 1 where the film is measured, which lies on the left, and -1 where the space outside is.
func (m *measurer) facing() float64 {
	if m.outside {
		return -1
	}
	return 1
}

// enlist gathers what discs on flank i can touch, and reports whether there is anything, or may be: for a long flank
// each disc looks for itself. Touching points that face each other lie within 15° of the normal as seen from each other.
func (m *measurer) enlist(i int32, n Point) bool {
	f := &m.list[i]
	if f.length > 4*m.limit {
		return true
	}
	m.listed, m.near, m.turn = i, m.near[:0], m.turn+1
	aside := m.limit * aslant
	b := emptyBox()
	for _, u := range [...]float64{-aside, f.length + aside} {
		p := f.a.plus(f.dir.times(u))
		b.take(p)
		b.take(p.plus(n.times(m.limit)))
	}
	m.visit(b, func(j int32) {
		if m.seen[j] == m.turn || j == i {
			return
		}
		m.seen[j] = m.turn
		e := &m.list[j]
		from, to := e.a.minus(f.a), e.b.minus(f.a)
		u, v, du, dv := f.dir.dot(from), n.dot(from), f.dir.dot(to), n.dot(to)
		if max(v, dv) > 0 && min(v, dv) < m.limit && max(u, du) > -aside && min(u, du) < f.length+aside {
			m.near = append(m.near, j)
		}
	})
	return len(m.near) > 0
}

// visit goes through the flanks in the cells that a box covers; one in several cells is met in each.
func (m *measurer) visit(b box, one func(j int32)) {
	g := &m.grid
	left, right := g.column(b.minX), g.column(b.maxX)
	for row := g.row(b.minY); row <= g.row(b.maxY); row++ {
		for c := left; c <= right; c++ {
			list := g.in(row*g.cols + c)
			m.tests += len(list)
			for _, j := range list {
				one(j)
			}
		}
	}
}

// width is the local width at p on flank i, seen along the normal n, where it is below the limit, and the middle of the
// disc that shows it.
func (m *measurer) width(i int32, p, n Point) (size float64, at Point, ok bool) {
	f := &m.list[i]
	best := m.limit / 2
	var touch Point
	var other int32 = -1
	try := func(j int32) {
		if j == i {
			return
		}
		if r, q, good := touching(p, n, &m.list[j], best); good && !m.tip(f, p, j, q, r) {
			best, touch, other = r, q, j
		}
	}
	if m.listed == i {
		m.tests += len(m.near)
		for _, j := range m.near {
			try(j)
		}
	} else { // the disc lies on one side of p: only the box round it can matter
		middle, reach := p.plus(n.times(m.limit/2)), m.limit/2
		m.visit(box{middle.X - reach, middle.Y - reach, middle.X + reach, middle.Y + reach}, try)
	}
	if other < 0 || m.blocked(p, touch, i, other) {
		return 0, at, false
	}
	m.other, m.touch = other, touch
	return 2 * best, lerp(p, touch, 0.5), true
}

// touching gives the disc that touches the outline at p (inward normal n) and flank e, where its radius is below best
// and the two touching points face each other. It is asked for most of the time, so nothing is divided or rooted before it
// is known to count: a disc through q has the radius |q−p|²/2n·(q−p), and the chord of one that touches a side in
// direction of its normal m spans an angle that hangs on n·m alone.
func touching(p, n Point, e *flank, best float64) (r float64, q Point, ok bool) {
	ax, ay := e.a.X-p.X, e.a.Y-p.Y
	bx, by := e.b.X-p.X, e.b.Y-p.Y
	da, db := n.X*ax+n.Y*ay, n.X*bx+n.Y*by
	if da <= 0 && db <= 0 {
		return 0, q, false
	}
	r = best
	if aa := ax*ax + ay*ay; da > 0 && aa < 2*da*r && 4*da*da >= facing*facing*aa && aa > nowhere {
		r, q, ok = aa/(2*da), e.a, true
	}
	if bb := bx*bx + by*by; db > 0 && bb < 2*db*r && 4*db*db >= facing*facing*bb && bb > nowhere {
		r, q, ok = bb/(2*db), e.b, true
	}
	mx, my := -e.dir.Y, e.dir.X
	h := -(mx*ax + my*ay) // distance of p from the line of e
	if h < 0 {
		h, mx, my = -h, -mx, -my
	}
	if k := n.X*mx + n.Y*my; k <= 1-facing*facing/2 && h < r*(1-k) && h > 0 {
		radius := h / (1 - k)
		fx, fy := (n.X-mx)*radius, (n.Y-my)*radius
		if s := (fx-ax)*e.dir.X + (fy-ay)*e.dir.Y; s >= 0 && s <= e.length && fx*fx+fy*fy > nowhere {
			r, q, ok = radius, Point{p.X + fx, p.Y + fy}, true
		}
	}
	return r, q, ok
}

// tip reports whether p and q are the two sides of one tapering tip.
func (m *measurer) tip(f *flank, p Point, j int32, q Point, r float64) bool {
	e := &m.list[j]
	if e.ring != f.ring || p.to(q) >= nearParallel*r {
		return false
	}
	way := math.Abs(f.along + p.to(f.a) - e.along - q.to(e.a))
	way = min(way, f.round-way)
	return way < taperReach*2*r
}

// blocked reports whether the outline passes between p and q: then q is seen through something else.
func (m *measurer) blocked(p, q Point, i, j int32) bool {
	hit := false
	m.grid.along(p, q, func(c int) {
		for _, k := range m.grid.in(c) {
			m.tests++
			if k == i || k == j || hit {
				continue
			}
			e := &m.list[k]
			d := q.minus(p)
			a, b := d.cross(e.a.minus(p)), d.cross(e.b.minus(p))
			if a*b < 0 {
				s, t := e.dir.cross(p.minus(e.a)), e.dir.cross(q.minus(e.a))
				near := 1e-6 * m.limit
				hit = s*t < 0 && math.Abs(s) > near && math.Abs(t) > near
			}
		}
	})
	return hit
}
