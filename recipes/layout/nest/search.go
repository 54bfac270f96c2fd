package nest

import (
	"math"
	"math/rand/v2"
)

// Search is one search over a strip: where every piece lies, who is in whose way and how much that counts.
type Search struct {
	*strip
	n           int
	rng         *rand.Rand
	length      float64 // of the strip now
	shapes      []*shape
	x, y        []float64
	boxes       []rect
	loss        []float64 // n × n, unweighted; symmetric
	weight      []float64
	near        nearness
	own         []*shape // the shape of a free piece as it lies
	trial       *shape   // a free piece as it is looked at
	order       []int
	evaluations int
	killer      int       // the piece that made the last place too costly
	byX, byY    []float64 // scratch of snap
	pause       func() bool
	stopped     bool
	ended       bool
	resume      chan bool
	shared      scene // the shortest layout of all searches
	next        int   // evaluations at which to pause
	best, top   scene // shortest layout since the last start, and of all
	large       []int // free pieces that make up most of the area
}

func newSearch(s *strip, seed, stream uint64) *Search {
	n := len(s.pieces)
	q := &Search{strip: s, n: n, rng: rand.New(rand.NewPCG(seed, stream)), shapes: make([]*shape, n),
		x: make([]float64, n), y: make([]float64, n), boxes: make([]rect, n),
		loss: make([]float64, n*n), weight: make([]float64, n*n), own: make([]*shape, n), trial: &shape{}}
	for i, d := range s.pieces {
		if d.free {
			q.own[i] = &shape{}
		}
	}
	q.large = largest(s)
	return q
}

// at is piece i at an angle; for a free piece the shape is only good until the next call.
func (s *Search) at(i int, angle int32) *shape {
	d := s.pieces[i]
	if !d.free {
		for _, sh := range d.shapes {
			if sh.angle == angle {
				return sh
			}
		}
		for k, a := range d.angles { // an angle that gives an already known shape
			if a == angle {
				d.turn(s.trial, angle)
				for _, sh := range d.shapes {
					if sameEdges(sh, s.trial) {
						return sh
					}
				}
				return d.shapes[k%len(d.shapes)]
			}
		}
		return d.shapes[0]
	}
	if s.trial.d != d || s.trial.angle != angle || len(s.trial.edges) == 0 {
		d.turn(s.trial, angle)
	}
	return s.trial
}

// put lays piece i down, without looking at losses.
func (s *Search) put(i int, sh *shape, x, y float64) {
	if d := s.pieces[i]; d.free {
		if s.own[i].d != d || s.own[i].angle != sh.angle || len(s.own[i].edges) == 0 {
			d.turn(s.own[i], sh.angle)
		}
		sh = s.own[i]
	}
	s.shapes[i], s.x[i], s.y[i] = sh, x, y
	s.boxes[i] = rect{x + sh.box.x0, y + sh.box.y0, x + sh.box.x1, y + sh.box.y1}
}

// clamp moves a corner to the nearest place at which the shape lies on the strip.
func (s *Search) clamp(sh *shape, x, y float64) (float64, float64) {
	if most := s.width - sh.w; x > most {
		x = most
	}
	if most := s.length - sh.h; y > most {
		y = most
	}
	if x < 0 {
		x = 0
	}
	if y < 0 {
		y = 0
	}
	return x, y
}

// relate works out the losses of piece i against all others.
func (s *Search) relate(i int) {
	g := s.distance
	b := s.boxes[i]
	x0, y0, x1, y1 := b.x0-g, b.y0-g, b.x1+g, b.y1+g
	for j := range s.boxes {
		o := &s.boxes[j]
		v := 0.0
		if j != i && !(s.fixed[i] && s.fixed[j]) && !(o.y1 <= y0 || o.y0 >= y1 || o.x1 <= x0 || o.x0 >= x1) {
			v = s.severity(s.shapes[i], s.x[i], s.y[i], s.shapes[j], s.x[j], s.y[j], inf)
		}
		s.loss[i*s.n+j], s.loss[j*s.n+i] = v, v
	}
}

// relateAll works out all losses and forgets the weights.
func (s *Search) relateAll() {
	for i := range s.n {
		s.relate(i)
	}
	for k := range s.weight {
		s.weight[k] = 1
	}
}

// total is the unweighted loss.
func (s *Search) total() float64 {
	sum := 0.0
	for i := range s.n {
		for _, v := range s.loss[i*s.n : i*s.n+i] {
			sum += v
		}
	}
	return sum
}

// weighted is what piece i costs where it lies.
func (s *Search) weighted(i int) float64 {
	sum := 0.0
	w := s.weight[i*s.n : (i+1)*s.n]
	for j, v := range s.loss[i*s.n : (i+1)*s.n] {
		if v != 0 {
			sum += v * w[j]
		}
	}
	return sum
}

// reweigh makes pairs in each other's way count more, by how badly, and lets the others fade.
func (s *Search) reweigh() {
	worst := 0.0
	for _, v := range s.loss {
		worst = max(worst, v)
	}
	if worst == 0 {
		return
	}
	for k, v := range s.loss {
		if v > 0 {
			s.weight[k] *= 1.2 + 0.8*v/worst
		} else if w := s.weight[k]; w > 1 {
			s.weight[k] = max(1, w*0.95)
		}
	}
}

// scene is where everything lies, and how long the strip is.
type scene struct {
	spots  []Spot
	length float64
	loss   float64
}

func (s *Search) save(into *scene) {
	into.spots = into.spots[:0]
	for i := range s.n {
		into.spots = append(into.spots, Spot{s.x[i], s.y[i], s.shapes[i].angle})
	}
	into.length = s.length
}

func (s *Search) load(from *scene) {
	s.length = from.length
	for i, p := range from.spots {
		s.put(i, s.at(i, p.Angle), p.X, p.Y)
	}
}

func (s *scene) clone() *scene {
	c := *s
	c.spots = append([]Spot(nil), s.spots...)
	return &c
}

// scatter lays everything down anywhere on a strip of the length, if it fits at all.
func (s *Search) scatter(length float64) bool {
	s.evaluations += s.n
	s.length = length
	for i, d := range s.pieces {
		if s.fixed[i] {
			continue
		}
		sh := s.at(i, s.anyAngle(d))
		if sh.h > length || sh.w > s.width {
			if sh = s.lower(i); sh == nil {
				return false
			}
		}
		s.put(i, sh, math.Floor(s.rng.Float64()*(s.width-sh.w+1)), math.Floor(s.rng.Float64()*(length-sh.h+1)))
	}
	s.relateAll()
	return true
}

const freeAngles = 16 // start angles of a piece that may lie at any

func (s *Search) anyAngle(d *Design) int32 {
	if d.free {
		return int32(s.rng.IntN(freeAngles)) * (360_000 / freeAngles)
	}
	return d.shapes[s.rng.IntN(len(d.shapes))].angle
}

// due reports whether the search should stop; it waits for its partners where a round is over.
func (s *Search) due() bool {
	if !s.stopped && s.evaluations >= s.next {
		s.stopped = s.pause()
	}
	return s.stopped
}
