package cut

import (
	"cmp"
	"math"
	"slices"
)

// The local width at a point of an outline is the diameter of the largest disc that touches it there from inside and
// the outline elsewhere (the medial disc); a gap is the same from outside. A disc counts where its two touching points
// lie at least 150° apart as seen from its centre, i.e. where the two sides run within 30° of parallel: every plain
// corner has small discs in it, and is no thin stroke.
const (
	facing       = 1.9318516525781366 // 2 sin 75°: chord over radius at 150°
	nearParallel = 1.9980965          // 2 sin 87.5°: at 175° the sides are parallel to within 5°
	taperReach   = 12                 // a tapering tip is judged as a sharp corner, not as a thin stroke, this many widths from its point
	cornerStep   = 5 * math.Pi / 180
	sampleLimit  = 60_000
	maxTests     = 80_000_000
)

// side of an outline: from a to b with the film on the left.
type flank struct {
	a, b, dir     Point
	length, along float64 // mm; along is the way from the ring's start
	ring          int32
	round         float64 // length of the whole ring
}

type place struct {
	at   Point
	size float64
}

func flanksOf(shapes []Shape) []flank {
	var list []flank
	ring := int32(0)
	for _, s := range shapes {
		for _, r := range s.Rings {
			along, round := 0.0, r.Length()
			for i, a := range r {
				b := r[(i+1)%len(r)]
				if u, l := b.minus(a).unit(); l > 0 {
					list = append(list, flank{a, b, u, l, along, ring, round})
					along += l
				}
			}
			ring++
		}
	}
	return list
}

// narrow finds where the film (outside false) or the space between (outside true) is narrower than limit mm, the
// narrowest first, one place for each neighbourhood. complete is false where the work allowed ran out.
func narrow(shapes []Shape, limit float64, outside bool) (found []place, complete bool) {
	list := flanksOf(shapes)
	if len(list) == 0 || limit <= 0 {
		return nil, true
	}
	total := 0.0
	for _, f := range list {
		total += f.length
	}
	m := measurer{list: list, limit: limit, outside: outside}
	m.grid = newCells(len(list), limit/2, func(i int) (Point, Point) { return list[i].a, list[i].b })
	step := max(limit/2, total/sampleLimit)
	first := 0
	for i := range list {
		f := &list[i]
		if m.tests > maxTests {
			return thinned(found, limit), false
		}
		normal := f.dir.leftNormal().times(m.facing())
		for k, n := 0, int(f.length/step)+1; k < n; k++ {
			if size, at, ok := m.width(int32(i), lerp(f.a, f.b, (float64(k)+0.5)/float64(n)), normal); ok {
				found = append(found, place{at, size})
			}
		}
		if list[first].ring != f.ring {
			first = i
		}
		next := first
		if i+1 < len(list) && list[i+1].ring == f.ring {
			next = i + 1
		}
		// at a corner that juts into the measured side, a disc may lean on the corner itself in any direction between
		// its two normals
		turn := math.Atan2(f.dir.cross(list[next].dir), f.dir.dot(list[next].dir))
		if turn*m.facing() > -cornerStep {
			continue
		}
		for k, n := 0, int(math.Abs(turn)/cornerStep)+1; k <= n; k++ {
			s, c := math.Sincos(turn * float64(k) / float64(n))
			leaning := Point{normal.X*c - normal.Y*s, normal.X*s + normal.Y*c}
			if size, at, ok := m.width(int32(i), f.b, leaning); ok {
				found = append(found, place{at, size})
			}
		}
	}
	return thinned(found, limit), true
}

type measurer struct {
	list    []flank
	grid    cells
	limit   float64
	outside bool
	tests   int
}

// facing is 1 where the film is measured, which lies on the left, and -1 where the space outside is.
func (m *measurer) facing() float64 {
	if m.outside {
		return -1
	}
	return 1
}

// width is the local width at p on flank i, seen along the normal n, where it is below the limit, and the middle of the
// disc that shows it.
func (m *measurer) width(i int32, p, n Point) (size float64, at Point, ok bool) {
	f := &m.list[i]
	best := m.limit / 2
	var touch Point
	var other int32 = -1
	g := &m.grid
	// the disc lies on one side of p: only the box round it can matter
	middle := p.plus(n.times(m.limit / 2))
	reach := m.limit / 2
	left, right := g.column(middle.X-reach), g.column(middle.X+reach)
	for row := g.row(middle.Y - reach); row <= g.row(middle.Y+reach); row++ {
		for c := left; c <= right; c++ {
			for _, j := range g.in(row*g.cols + c) {
				m.tests++
				if j == i {
					continue
				}
				if r, q, good := touching(p, n, &m.list[j], best); good && !m.tip(f, p, j, q, r) {
					best, touch, other = r, q, j
				}
			}
		}
	}
	if other < 0 || m.blocked(p, touch, i, other) {
		return 0, at, false
	}
	return 2 * best, lerp(p, touch, 0.5), true
}

// touching gives the disc that touches the outline at p (inward normal n) and flank e, where its radius is below best
// and the two touching points face each other.
func touching(p, n Point, e *flank, best float64) (r float64, q Point, ok bool) {
	ea, eb := e.a.minus(p), e.b.minus(p)
	da, db := n.dot(ea), n.dot(eb)
	if da <= 0 && db <= 0 {
		return 0, q, false
	}
	r = best
	try := func(radius float64, at Point) {
		if d := at.length(); radius > 0 && radius < r && d >= facing*radius && d > 1e-9 {
			r, q, ok = radius, at.plus(p), true
		}
	}
	if da > 0 {
		try(ea.dot(ea)/(2*da), ea)
	}
	if db > 0 {
		try(eb.dot(eb)/(2*db), eb)
	}
	normal := e.dir.leftNormal()
	h := -normal.dot(ea) // distance of p from the line of e
	if h < 0 {
		h, normal = -h, normal.times(-1)
	}
	if k := n.dot(normal); k < 1-1e-12 {
		radius := h / (1 - k)
		foot := n.times(radius).minus(normal.times(radius))
		if s := foot.minus(ea).dot(e.dir); s >= 0 && s <= e.length {
			try(radius, foot)
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

// thinned keeps the narrowest place of each neighbourhood, at most maxOfKind of them.
func thinned(found []place, limit float64) []place {
	slices.SortFunc(found, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.size, b.size), cmp.Compare(a.at.Y, b.at.Y), cmp.Compare(a.at.X, b.at.X))
	})
	apart := max(3, 4*limit)
	var kept []place
	for _, f := range found {
		near := slices.ContainsFunc(kept, func(k place) bool { return k.at.to(f.at) < apart })
		if !near {
			if kept = append(kept, f); len(kept) == maxOfKind {
				break
			}
		}
	}
	return kept
}
