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
	aslant       = 0.268              // tan 15°, a little over
	nearParallel = 1.9980965          // 2 sin 87.5°: at 175° the sides are parallel to within 5°
	taperReach   = 12                 // a tapering tip is judged as a sharp corner, not as a thin stroke, this many widths from its point
	nowhere      = 1e-18              // mm²: nearer touching points are one
	cornerStep   = 5 * math.Pi / 180
	slackness    = 1.15 // samples are looked at up to this many limits: the narrowest place lies between two of them
	sameSize     = 1e-6 // sizes nearer than this part are one
	sampleLimit  = 60_000
	maxTests     = 80_000_000
)

// side of an outline: from a to b with the film on the left.
type flank struct {
	a, b, dir     Point
	length, along float64 // mm; along is the way from the ring's start
	ring          int32
	round         float64 // length of the whole ring
	first, beyond int32   // of the ring's flanks
}

type place struct {
	at    Point
	size  float64
	taper bool // it lies in a tip that runs out into a corner, and is as narrow as one likes nearer to it
}

func flanksOf(shapes []Shape) []flank {
	var list []flank
	ring := int32(0)
	for _, s := range shapes {
		for _, r := range s.Rings {
			along, round, first := 0.0, r.Length(), int32(len(list))
			for i, a := range r {
				b := r[(i+1)%len(r)]
				if u, l := b.minus(a).unit(); l > 0 {
					list = append(list, flank{a: a, b: b, dir: u, length: l, along: along, ring: ring, round: round, first: first})
					along += l
				}
			}
			for i := int(first); i < len(list); i++ {
				list[i].beyond = int32(len(list))
			}
			ring++
		}
	}
	return list
}

// narrow finds where the film (outside false) or the space between (outside true) is narrower than limit mm, the
// narrowest first, one place for each neighbourhood. complete is false where the work allowed ran out.
//
// The outline is sampled with some slack, and from each sample that is narrower than its neighbours the way to the
// narrowest place is followed exactly (see settle), so that what is said to pass at a larger size does pass there.
func narrow(shapes []Shape, limit float64, outside bool) (found []place, complete bool) {
	list := flanksOf(shapes)
	if len(list) == 0 || limit <= 0 {
		return nil, true
	}
	total := 0.0
	for _, f := range list {
		total += f.length
	}
	m := newMeasurer(list, limit*slackness, outside)
	step := max(limit/2, total/sampleLimit)
	keep := func(p place) {
		if p.size < limit*(1-sameSize) {
			found = append(found, p)
		}
	}
	for i := range list {
		f := &list[i]
		if m.tests > maxTests {
			return thinned(found, limit), false
		}
		normal := m.normal(int32(i))
		end := math.Inf(1)
		if m.enlist(int32(i), normal) {
			n := 2 // both ends and the middle at least; halved further, so that a larger drawing is looked at in the same places and more
			for f.length/float64(n) > step {
				n *= 2
			}
			before, here := math.Inf(1), m.start(int32(i))
			for k := range n + 1 {
				s, after := f.length*float64(k)/float64(n), math.Inf(1)
				if k < n {
					after = m.sample(int32(i), f.length*float64(k+1)/float64(n), normal)
				}
				least := here < before && here <= after*(1+sameSize)
				if edge := math.IsInf(before, 1) || math.IsInf(after, 1); !math.IsInf(here, 1) && (least || edge) {
					keep(m.settle(int32(i), s, normal))
				}
				before, here, end = here, after, here
			}
		} else {
			m.starts[i] = end
		}
		m.listed = -1
		next := m.after(int32(i))
		// at a corner that juts into the measured side, a disc may lean on the corner itself in any direction between
		// its two normals
		turn := math.Atan2(f.dir.cross(list[next].dir), f.dir.dot(list[next].dir))
		if turn*m.facing() > -1e-6 || math.Abs(turn) < cornerStep && math.IsInf(end, 1) && math.IsInf(m.start(next), 1) {
			continue
		}
		if p, ok := m.lean(int32(i), normal, turn); ok {
			keep(p)
		}
	}
	return thinned(found, limit), true
}

// lean is the narrowest of the discs that lean on the corner at the end of flank i, their directions within the turn
// from n. Seen from the corner, a disc against another corner or the foot on a flank is narrowest along the line to it.
func (m *measurer) lean(i int32, n Point, turn float64) (best place, ok bool) {
	corner := m.list[i].b
	steps := int(math.Abs(turn)/cornerStep) + 1
	for k := 0; k <= steps; k++ {
		s, c := math.Sincos(turn * float64(k) / float64(steps))
		size, at, good := m.width(i, corner, Point{n.X*c - n.Y*s, n.X*s + n.Y*c})
		for range 4 { // towards where it touches, as long as that lies within the turn and is narrower
			if !good || ok && size >= best.size {
				break
			}
			best, ok = place{at, size, m.tapers(i, corner)}, true
			towards, _ := at.minus(corner).unit()
			angle := math.Atan2(n.cross(towards), n.dot(towards))
			if angle*turn < 0 || math.Abs(angle) > math.Abs(turn) {
				break
			}
			size, at, good = m.width(i, corner, towards)
		}
	}
	return best, ok
}

// normal of a flank points to the side that is measured.
func (m *measurer) normal(i int32) Point { return m.list[i].dir.leftNormal().times(m.facing()) }

// start is the width at the beginning of flank i, remembered: the corner before it asks for it too.
func (m *measurer) start(i int32) float64 {
	if math.IsNaN(m.starts[i]) {
		m.starts[i] = m.sample(i, 0, m.normal(i))
	}
	return m.starts[i]
}

// sample is the width s mm along flank i; +Inf where nothing faces it within the limit.
func (m *measurer) sample(i int32, s float64, normal Point) float64 {
	f := &m.list[i]
	if size, _, ok := m.width(i, f.a.plus(f.dir.times(s)), normal); ok {
		return size
	}
	return math.Inf(1)
}

// settle follows the width from s mm along flank i down to where it is least. Against one other flank, the width is
// least at an end of either, at the foot of an end on the other, or where facing it ends; so those places are tried, and
// where one faces nothing, the last place before it that does is found by halving.
func (m *measurer) settle(i int32, s float64, normal Point) place {
	f := &m.list[i]
	var taper bool
	value := func(s float64) (float64, Point, int32) {
		p := f.a.plus(f.dir.times(s))
		size, at, ok := m.width(i, p, normal)
		if !ok {
			return math.Inf(1), at, -1
		}
		taper = taper || m.tapers(i, p)
		return size, at, m.other
	}
	best, at, other := value(s)
	start := best
	tried := append(make([]float64, 0, 16), s)
	for range 8 {
		e := &m.list[other]
		improved := false
		feet := [...]float64{0, f.length, e.a.minus(f.a).dot(f.dir), e.b.minus(f.a).dot(f.dir), m.under(f, e, e.a, normal), m.under(f, e, e.b, normal)}
		for _, t := range feet {
			t = min(max(t, 0), f.length)
			if math.IsNaN(t) || slices.Contains(tried, t) {
				continue
			}
			tried = append(tried, t)
			size, middle, touched := value(t)
			if touched < 0 { // the last place that faces something
				from, to := s, t
				for math.Abs(to-from) > 1e-8*m.limit {
					half := (from + to) / 2
					if v, p, o := value(half); o < 0 {
						to = half
					} else if v > best { // it rises that way
						break
					} else {
						from, size, middle, touched = half, v, p, o
					}
				}
				t = from
			}
			if touched >= 0 && size < best*(1-1e-12) {
				best, at, other, s, improved = size, middle, touched, t, true
			}
		}
		if !improved {
			break
		}
	}
	return place{at, max(best, start/slackness), taper} // a steeper dip is a crevice, and not looked into at other sizes
}

// after is the flank that follows i on its ring.
func (m *measurer) after(i int32) int32 {
	if i+1 < m.list[i].beyond {
		return i + 1
	}
	return m.list[i].first
}

// tapers reports whether between p on flank i and the place last touched there is nothing but one tip: a corner sharper
// than 60°, and sides that hardly bend.
func (m *measurer) tapers(i int32, p Point) bool {
	j := m.other
	f, e := &m.list[i], &m.list[j]
	if f.ring != e.ring {
		return false
	}
	way := e.along + m.touch.to(e.a) - f.along - p.to(f.a)
	if way < 0 {
		way += f.round
	}
	if way > f.round/2 {
		i, j = j, i
	}
	sharp, bent := 0.0, 0.0
	for range m.list[i].beyond - m.list[i].first {
		if i == j {
			break
		}
		next := m.after(i)
		u, v := m.list[i].dir, m.list[next].dir
		turn := math.Abs(math.Atan2(u.cross(v), u.dot(v)))
		bent += turn
		sharp = max(sharp, turn)
		if i = next; bent > math.Pi*5/4 {
			return false
		}
	}
	return sharp > math.Pi*2/3 && bent-sharp < math.Pi/3
}

// under is the place along f at which the disc that touches f and e touches e at its end q: the two flanks' touching
// points lie equally far from where their lines meet.
func (m *measurer) under(f, e *flank, q, normal Point) float64 {
	other := e.dir.leftNormal()
	if other.dot(normal) > 0 {
		other = other.times(-1)
	}
	k := 1 - normal.dot(other)
	d := normal.dot(q.minus(f.a))
	if k < 1e-12 || d <= 0 {
		return math.NaN()
	}
	r := d / k
	centre := q.plus(other.times(r))
	return centre.minus(f.a).dot(f.dir)
}

// thinned keeps the narrowest place of each neighbourhood, at most maxOfKind of them; tips stand for themselves, so that
// they hide nothing that can be mended by enlarging.
func thinned(found []place, limit float64) []place {
	slices.SortFunc(found, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.size, b.size), cmp.Compare(a.at.Y, b.at.Y), cmp.Compare(a.at.X, b.at.X))
	})
	apart := max(3, 4*limit)
	var kept []place
	count := map[bool]int{}
	for _, f := range found {
		near := slices.ContainsFunc(kept, func(k place) bool { return k.taper == f.taper && k.at.to(f.at) < apart })
		if !near && count[f.taper] < maxOfKind {
			kept = append(kept, f)
			count[f.taper]++
		}
	}
	return kept
}
