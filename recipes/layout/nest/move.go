package nest

import "math"

// How a piece looks for a better place. The counts and steps are those of the source in nest.go; fewer
// samples were tried there and here and are worse.
const (
	nearSamples = 25 // around where it lies
	wideSamples = 50 // anywhere on the strip
	kept        = 3  // of the samples, refined
	sameWithin  = 0.05
)

// Steps of the two descents, as parts of the piece's smaller side.
const (
	coarseFrom, coarseTo = 0.25, 0.02
	fineFrom, fineTo     = 0.01, 0.001
)

// Turning steps of a free piece, in millidegrees, for the same two descents.
const (
	coarseTurnFrom, coarseTurnTo = 5_000, 500
	fineTurnFrom, fineTurnTo     = 500, 20
)

type candidate struct {
	x, y  float64
	angle int32
	cost  float64
}

// shortlist are the best candidates that differ, the best first.
type shortlist struct {
	list [kept]candidate
	n    int
	near float64
}

func (l *shortlist) bound() float64 {
	if l.n < kept {
		return inf
	}
	return l.list[l.n-1].cost
}

func (l *shortlist) add(c candidate) {
	if c.cost >= l.bound() {
		return
	}
	at := l.n
	for k := range l.n {
		o := &l.list[k]
		if o.angle == c.angle && math.Abs(o.x-c.x) < l.near && math.Abs(o.y-c.y) < l.near {
			if o.cost <= c.cost {
				return
			}
			at = k
			break
		}
	}
	if at == l.n {
		if l.n < kept {
			l.n++
		} else {
			at = kept - 1
		}
	}
	l.list[at] = c
	for ; at > 0 && l.list[at].cost < l.list[at-1].cost; at-- {
		l.list[at], l.list[at-1] = l.list[at-1], l.list[at]
	}
}

// look is the cost of a candidate, its place first moved onto the strip and to whole units.
func (s *Search) look(i int, sh *shape, x, y, bound float64) candidate {
	x, y = s.clamp(sh, math.Floor(x+0.5), math.Floor(y+0.5))
	return candidate{x, y, sh.angle, s.cost(i, sh, x, y, bound)}
}

// relocate looks for a better place for piece i and moves it there if there is one.
func (s *Search) relocate(i int) {
	now := candidate{s.x[i], s.y[i], s.shapes[i].angle, s.weighted(i)}
	d := s.pieces[i]
	sh := s.shapes[i]
	side := min(sh.w, sh.h)
	best := shortlist{near: sameWithin * side}
	best.add(now)
	cx, cy, w, h := s.x[i], s.y[i], sh.w, sh.h
	for range nearSamples {
		sh := s.at(i, s.anyAngle(d))
		if sh.h > s.length || sh.w > s.width {
			continue
		}
		x, y := cx+(s.rng.Float64()-0.5)*w+(w-sh.w)/2, cy+(s.rng.Float64()-0.5)*h+(h-sh.h)/2
		best.add(s.look(i, sh, x, y, best.bound()))
	}
	for range wideSamples {
		sh := s.at(i, s.anyAngle(d))
		if sh.h > s.length || sh.w > s.width {
			continue
		}
		x, y := s.rng.Float64()*(s.width-sh.w), s.rng.Float64()*(s.length-sh.h)
		best.add(s.look(i, sh, x, y, best.bound()))
	}
	top := candidate{cost: inf}
	for k := range best.n {
		c := s.descend(i, best.list[k], coarseFrom*side, coarseTo*side, coarseTurnFrom, coarseTurnTo)
		if c.cost < top.cost {
			top = c
		}
		if top.cost == 0 {
			break
		}
	}
	if top.cost > 0 {
		top = s.descend(i, top, fineFrom*side, fineTo*side, fineTurnFrom, fineTurnTo)
	}
	if top.cost > 0 {
		top = s.snap(i, top, snapWithin*side)
	}
	if top.cost < now.cost {
		s.put(i, s.at(i, top.angle), top.x, top.y)
		s.relate(i)
	}
}

// descend walks downhill along one axis after another, in both directions, longer steps after a success and
// shorter ones after a failure, until steps are short.
func (s *Search) descend(i int, c candidate, from, to, turnFrom, turnTo float64) candidate {
	stepX, stepY := from, from
	d := s.pieces[i]
	turn := turnFrom
	axes := 4
	if d.free {
		axes = 6 // turning gets double the chance
	}
	sh := s.at(i, c.angle)
	fresh := true
	axis := 0
	for stepX >= to || stepY >= to || d.free && turn >= turnTo {
		if fresh {
			axis = s.rng.IntN(axes)
		}
		if axis >= 4 {
			if s.wiggle(i, &c, &turn) {
				fresh = false
			} else {
				fresh = true
			}
			sh = s.at(i, c.angle)
			continue
		}
		dx, dy := 0.0, 0.0
		switch axis {
		case 0:
			dx = max(stepX, 1)
		case 1:
			dy = max(stepY, 1)
		case 2:
			dx, dy = max(stepX, 1), max(stepY, 1)
		case 3:
			dx, dy = max(stepX, 1), -max(stepY, 1)
		}
		better := c
		for _, sign := range [2]float64{1, -1} {
			if t := s.look(i, sh, c.x+sign*dx, c.y+sign*dy, better.cost); t.cost < better.cost {
				better = t
			}
		}
		factor := 0.5
		fresh = true
		if better.cost < c.cost {
			c, factor, fresh = better, 1.1, false
			if c.cost == 0 {
				return c
			}
		}
		switch axis {
		case 0:
			stepX *= factor
		case 1:
			stepY *= factor
		default:
			factor = math.Sqrt(factor)
			stepX *= factor
			stepY *= factor
		}
	}
	return c
}

// wiggle turns a free piece a little about its middle.
func (s *Search) wiggle(i int, c *candidate, turn *float64) bool {
	sh := s.at(i, c.angle)
	mx, my := c.x+sh.w/2, c.y+sh.h/2
	better := *c
	for _, sign := range [2]float64{1, -1} {
		angle := (c.angle + int32(sign*max(*turn, 1)) + 720_000) % 360_000
		sh := s.at(i, angle)
		if sh.w > s.width || sh.h > s.length {
			continue
		}
		if t := s.look(i, sh, mx-sh.w/2, my-sh.h/2, better.cost); t.cost < better.cost {
			better = t
		}
	}
	if better.cost < c.cost {
		*c = better
		*turn *= 1.1
		return true
	}
	*turn *= 0.5
	return false
}
