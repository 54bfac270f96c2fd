package layout

// fewKinds is up to how many kinds the earliest fitting box is sought kind by kind rather than along the
// sequence, where many copies of one large design would be passed one by one.
const fewKinds = 48

// earliest is the first box of the sequence that fits at all; it goes to the taller wall.
func (e *engine) earliest(w, room int64, right bool, end int32) (box, bool, bool) {
	if len(e.kinds) <= fewKinds {
		best, at := box{}, end
		for k := range e.kinds {
			if e.left[k] == 0 {
				continue
			}
			if p := e.pos[e.head[k]]; p < at {
				if b, ok := e.fitting(p, w, room); ok {
					best, at = b, p
				}
			}
		}
		return best, right, at < end
	}
	for p := e.next[end]; p != end; p = e.next[p] {
		if b, ok := e.fitting(p, w, room); ok {
			return b, right, true
		}
	}
	return box{}, false, false
}

// fitting is the orientation of the box at position p that fits, the preferred one if both do.
func (e *engine) fitting(p int32, w, room int64) (box, bool) {
	wish := e.seq[p]
	ways := e.kinds[wish.kind()].ways
	first, last := ways[0], ways[len(ways)-1]
	if wish.flipped() {
		first, last = last, first
	}
	if first.w <= w && first.h <= room {
		return first, true
	}
	return last, last.w <= w && last.h <= room
}

// lowest is the lowest step, leftmost among equals.
func (e *engine) lowest() int {
	at := 0
	for i, s := range e.sky {
		if s.y < e.sky[at].y {
			at = i
		}
	}
	return at
}

// put raises the part of step i that b now covers and joins steps of one height.
func (e *engine) put(i int, b box, right bool) {
	s := e.sky[i]
	if b.w == s.w {
		e.raise(i, b.h)
		return
	}
	top := s.y + b.h
	if right {
		e.sky[i].w -= b.w
		if i+1 < len(e.sky) && e.sky[i+1].y == top {
			e.sky[i+1].x -= b.w
			e.sky[i+1].w += b.w
			return
		}
		e.insert(i+1, step{s.x + s.w - b.w, top, b.w})
		return
	}
	e.sky[i].x += b.w
	e.sky[i].w -= b.w
	if i > 0 && e.sky[i-1].y == top {
		e.sky[i-1].w += b.w
		return
	}
	e.insert(i, step{s.x, top, b.w})
}

func (e *engine) insert(i int, s step) {
	e.sky = append(e.sky, step{})
	copy(e.sky[i+1:], e.sky[i:])
	e.sky[i] = s
}

// raise lifts the whole of step i and joins it with neighbours of its new height.
func (e *engine) raise(i int, up int64) {
	e.sky[i].y += up
	if i+1 < len(e.sky) && e.sky[i+1].y == e.sky[i].y {
		e.sky[i].w += e.sky[i+1].w
		e.sky = append(e.sky[:i+1], e.sky[i+2:]...)
	}
	if i > 0 && e.sky[i-1].y == e.sky[i].y {
		e.sky[i-1].w += e.sky[i].w
		e.sky = append(e.sky[:i], e.sky[i+1:]...)
	}
}

// top is the height of the packing.
func (e *engine) top() int64 {
	t := int64(0)
	for _, s := range e.sky {
		t = max(t, s.y)
	}
	return t
}

// unevenness is Σ width × height² over the skyline: of two packings of one height the flatter has more to give.
func (e *engine) unevenness() float64 {
	sum := 0.0
	for _, s := range e.sky {
		y := float64(s.y)
		sq := float64(y * y) // the conversions forbid fused multiply-add: one answer on every machine
		sum += float64(float64(s.w) * sq)
	}
	return sum
}

// index finds the boxes of one exact measure: open addressing, a power of two in size, never full.
type index struct {
	keys  []int64
	spans []span
	shift uint
}

func indexOf(sorted []box, measure func(box) int64) index {
	bits := uint(3)
	for 1<<bits < 3*len(sorted) {
		bits++
	}
	x := index{make([]int64, 1<<bits), make([]span, 1<<bits), 64 - bits}
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && measure(sorted[j]) == measure(sorted[i]) {
			j++
		}
		at := x.slot(measure(sorted[i]))
		x.keys[at], x.spans[at] = measure(sorted[i]), span{int32(i), int32(j)}
		i = j
	}
	return x
}

// slot is where key is or would be; measures are above zero, so zero marks an empty slot.
func (x *index) slot(key int64) int {
	at := int(uint64(key) * 0x9E3779B97F4A7C15 >> x.shift)
	for x.keys[at] != 0 && x.keys[at] != key {
		at = (at + 1) & (len(x.keys) - 1)
	}
	return at
}

func (x *index) find(key int64) span {
	at := x.slot(key)
	if x.keys[at] == 0 {
		return span{}
	}
	return x.spans[at]
}
