package layout

import (
	"cmp"
	"math"
	"slices"
)

// The engine packs boxes that already carry their border and gap into a strip that carries one gap more, so
// that it knows nothing of spacing. Best-fit skyline after Burke, Kendall & Whitwell 2004 (Oper. Res. 52(4))
// with the touching-side score of Wei et al. 2017: take the lowest step of the skyline and put there the box
// that closes most sides exactly, the earliest in the sequence among equals.
//
// Boxes of equal size are one kind. A step asks for kinds by exact width and by exact height through a hash,
// so a placement costs a few look-ups and not a scan over every box.

const far = int64(1) << 60 // height of the wall at the edge of the strip

// box is one kind in one orientation.
type box struct {
	w, h int64
	kind int32
}

// kind is all boxes of one size.
type kind struct {
	ways  []box // the orientations that go into the strip, one or two, the wider first
	count int32
}

// wish is one entry of a sequence: a kind, and whether its last orientation is preferred to its first where
// no side matches.
type wish int32

func wishFor(kind int32) wish { return wish(kind << 1) }
func (w wish) kind() int32    { return int32(w >> 1) }
func (w wish) flipped() bool  { return w&1 == 1 }
func (w wish) flip() wish     { return w ^ 1 }

type step struct{ x, y, w int64 }

// spot is where the engine put a box.
type spot struct {
	box
	x, y int64
}

type span struct{ from, to int32 }

type engine struct {
	width    int64
	area     int64 // of all boxes
	kinds    []kind
	narrow   []int32 // kinds by their narrowest way
	narrowW  []int64 // that way's width, in the same order
	byWidth  []box
	byHeight []box // inside one height by rising width
	widths   index
	heights  index

	// scratch of one packing
	left, head []int32 // by kind: boxes unplaced, next of its positions
	first      []int32 // by kind: where its positions start
	pos        []int32 // positions in the sequence, kind after kind
	seq        []wish  // what is being packed
	next, prev []int32 // unplaced positions in sequence order; n is the end
	sky        []step
	spots      []spot
}

func newEngine(width int64, kinds []kind) *engine {
	e := &engine{width: width, kinds: kinds}
	n := int32(0)
	e.first = make([]int32, len(kinds))
	for k, kd := range kinds {
		e.first[k] = n
		n += kd.count
		e.area += int64(kd.count) * kd.ways[0].w * kd.ways[0].h
		e.narrow = append(e.narrow, int32(k))
		e.byWidth = append(e.byWidth, kd.ways...)
	}
	e.byHeight = slices.Clone(e.byWidth)
	slices.SortStableFunc(e.byWidth, func(a, b box) int { return cmp.Compare(a.w, b.w) })
	slices.SortStableFunc(e.byHeight, func(a, b box) int {
		if a.h != b.h {
			return cmp.Compare(a.h, b.h)
		}
		return cmp.Compare(a.w, b.w)
	})
	e.widths = indexOf(e.byWidth, func(b box) int64 { return b.w })
	e.heights = indexOf(e.byHeight, func(b box) int64 { return b.h })
	slices.SortStableFunc(e.narrow, func(a, b int32) int { return cmp.Compare(narrowest(kinds[a]), narrowest(kinds[b])) })
	for _, k := range e.narrow {
		e.narrowW = append(e.narrowW, narrowest(kinds[k]))
	}
	e.left, e.head = make([]int32, len(kinds)), make([]int32, len(kinds))
	e.pos, e.next, e.prev = make([]int32, n), make([]int32, n+1), make([]int32, n+1)
	e.spots = make([]spot, 0, n)
	return e
}

func narrowest(k kind) int64 {
	w := k.ways[0].w
	for _, b := range k.ways {
		w = min(w, b.w)
	}
	return w
}

// pack lays the sequence of kinds out below limit and leaves the result in e.spots and e.sky. It gives up, and
// says false, as soon as the film already wasted shows that limit can not be held.
func (e *engine) pack(seq []wish, limit int64) bool {
	spare := int64(math.MaxInt64)
	if limit < far {
		spare = e.width*limit - e.area
	}
	return e.lay(seq, limit, spare)
}

// fill lays out what of the sequence goes below limit; e.spots holds it.
func (e *engine) fill(seq []wish, limit int64) bool { return e.lay(seq, limit, math.MaxInt64) }

// lay packs until all is placed, nothing more fits below limit, or more than spare area lies empty for good.
func (e *engine) lay(seq []wish, limit, spare int64) bool {
	n := int32(len(seq))
	for k := range e.kinds {
		e.left[k], e.head[k] = 0, e.first[k]
	}
	for i, w := range seq {
		k := w.kind()
		e.pos[e.first[k]+e.left[k]] = int32(i)
		e.left[k]++
		e.next[i], e.prev[i] = int32(i)+1, int32(i)-1
	}
	e.next[n], e.prev[n], e.prev[0], e.seq = 0, n-1, n, seq // position n is the ring's anchor
	e.sky = append(e.sky[:0], step{0, 0, e.width})
	e.spots = e.spots[:0]
	thinnest := 0
	for placed := int32(0); placed < n; {
		i := e.lowest()
		s := e.sky[i]
		hl, hr := far, far
		if i > 0 {
			hl = e.sky[i-1].y - s.y
		}
		if i+1 < len(e.sky) {
			hr = e.sky[i+1].y - s.y
		}
		for e.left[e.narrow[thinnest]] == 0 {
			thinnest++
		}
		b, right, ok := box{}, false, false
		if e.narrowW[thinnest] <= s.w {
			b, right, ok = e.choose(s.w, hl, hr, limit-s.y, n)
		}
		if !ok {
			up := min(hl, hr)
			if up == far {
				return false
			}
			if spare -= s.w * up; spare < 0 {
				return false
			}
			e.raise(i, up)
			continue
		}
		x := s.x
		if right {
			x += s.w - b.w
		}
		e.spots = append(e.spots, spot{b, x, s.y})
		p := e.pos[e.head[b.kind]]
		e.head[b.kind]++
		e.left[b.kind]--
		e.next[e.prev[p]], e.prev[e.next[p]] = e.next[p], e.prev[p]
		e.put(i, b, right)
		placed++
	}
	return true
}

// choose finds the best box for a step of width w between walls of height hl and hr with room above it.
func (e *engine) choose(w, hl, hr, room int64, end int32) (best box, right, ok bool) {
	score, at := -1, end
	r := e.widths.find(w)
	for _, b := range e.byWidth[r.from:r.to] {
		if e.left[b.kind] == 0 || b.h > room {
			continue
		}
		s := 1
		if b.h == hl {
			s++
		}
		if b.h == hr {
			s++
		}
		if p := e.pos[e.head[b.kind]]; s > score || s == score && p < at {
			best, score, at = b, s, p
		}
	}
	if score >= 2 {
		return best, false, true
	}
	for side, wall := range [2]int64{hl, hr} {
		if wall > room || side == 1 && hl == hr {
			continue
		}
		r := e.heights.find(wall)
		for _, b := range e.byHeight[r.from:r.to] {
			if b.w >= w {
				break
			}
			if e.left[b.kind] == 0 {
				continue
			}
			if p := e.pos[e.head[b.kind]]; score < 1 || p < at {
				best, score, at, right = b, 1, p, side == 1
			}
		}
	}
	if score == 1 {
		return best, right && best.w < w, true
	}
	return e.earliest(w, room, hr > hl, end)
}
