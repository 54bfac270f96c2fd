package cut

import (
	"cmp"
	"math"
	"slices"
)

// The search for a short way: from the nearest neighbour, edges are exchanged (2-opt) and runs of up to three places
// moved (Or-opt) among near neighbours until nothing gets shorter; then small kicks (a local double bridge) are tried and
// taken back where they do not help. All of it is counted, not timed, so that the same places give the same way.
// Sources: Croes 1958 (2-opt); Or 1976; Bentley 1992 (neighbour lists, don't-look bits); Martin, Otto and Felten 1991
// (double bridge), all from memory.
const (
	neighbours     = 8
	neighbourLimit = 4000 // places up to which the nearest neighbour is searched for among all
	kicksEach      = 5    // for each place
	kicksAtMost    = 2000
	kickReach      = 12          // places that one kick spans at most, three times over
	swapsAtMost    = 100_000_000 // places moved in all reversals together
)

// tour is a closed way through places; an open one is closed by a last place that is no distance from any other.
type tour struct {
	points  []Point
	open    bool // the last node is that place, and stays beside node 0
	order   []int32
	at      []int32 // position of each node in order
	near    [][]int32
	look    []int32 // nodes to look at
	waiting []bool
	journal [][2]int32 // reversals since the last kick, by their first and last position
	swaps   int
}

// shortWay gives an order of the points with a short way through them from the given place.
func shortWay(points []Point, from Point) []int {
	sequence := nearestFirst(points, from)
	if len(points) < 3 {
		return sequence
	}
	t := newTour(append([]Point{from}, points...), true)
	for i, p := range sequence {
		t.order[i+1] = int32(p + 1)
	}
	t.search()
	return t.sequence()
}

func newTour(points []Point, open bool) *tour {
	n := len(points)
	t := &tour{points: points, open: open, near: nearLists(points)}
	if open {
		t.near = append(t.near, nil)
		n++
	}
	t.order, t.at, t.waiting = make([]int32, n), make([]int32, n), make([]bool, n)
	for i := range t.order {
		t.order[i] = int32(i)
	}
	return t
}

// sequence is the open way, numbered as the points were handed in.
func (t *tour) sequence() []int {
	n := len(t.order)
	out := make([]int, 0, n-2)
	first, step := int(t.at[0]), 1
	if t.next(0) == int32(n-1) {
		step = n - 1
	}
	for k := 1; k < n-1; k++ {
		out = append(out, int(t.order[(first+k*step)%n])-1)
	}
	return out
}

func (t *tour) next(a int32) int32 {
	if i := int(t.at[a]) + 1; i < len(t.order) {
		return t.order[i]
	}
	return t.order[0]
}

func (t *tour) before(a int32) int32 {
	if i := t.at[a] - 1; i >= 0 {
		return t.order[i]
	}
	return t.order[len(t.order)-1]
}

func (t *tour) way(a, b int32) float64 {
	if last := int32(len(t.points)); t.open && (a == last || b == last) {
		if a == 0 || b == 0 {
			return -1e9 // never worth parting
		}
		return 0
	}
	x, y := t.points[a].X-t.points[b].X, t.points[a].Y-t.points[b].Y
	return math.Sqrt(x*x + y*y) // asked for most of the time; Hypot costs three times as much
}

func (t *tour) length() float64 {
	sum := 0.0
	for _, a := range t.order {
		sum += t.way(a, t.next(a))
	}
	return sum
}

func (t *tour) wake(nodes ...int32) {
	for _, a := range nodes {
		if !t.waiting[a] {
			t.waiting[a] = true
			t.look = append(t.look, a)
		}
	}
}

func (t *tour) search() {
	for i, a := range t.order {
		t.at[a] = int32(i)
	}
	t.wake(t.order...)
	t.settle()
	n := len(t.order)
	if n < 8 {
		return
	}
	seed := uint64(n)
	random := func(below int) int { // a counted-on generator: Knuth's MMIX constants
		seed = seed*6364136223846793005 + 1442695040888963407
		return int(seed >> 33 % uint64(below))
	}
	span := min(kickReach, (n-2)/3)
	for range min(kicksEach*n, kicksAtMost) {
		if t.swaps > swapsAtMost {
			return
		}
		t.journal = t.journal[:0]
		gain := t.kick(random(n), 1+random(span), 1+random(span))
		gain += t.settle()
		if gain < -1e-9 {
			for i := len(t.journal) - 1; i >= 0; i-- {
				t.flip(int(t.journal[i][0]), int(t.journal[i][1]))
			}
		}
	}
}

// kick swaps two runs of p and q places after position i, and says what that gained.
func (t *tour) kick(i, p, q int) float64 {
	n := len(t.order)
	if i+p+q+1 >= n {
		i = n - p - q - 2
	}
	a, b := t.order[i], t.order[i+1]
	c, d := t.order[i+p], t.order[i+p+1]
	e, f := t.order[i+p+q], t.order[i+p+q+1]
	gain := t.way(a, b) + t.way(c, d) + t.way(e, f) - t.way(a, d) - t.way(e, b) - t.way(c, f)
	for _, r := range [][2]int{{i + 1, i + p}, {i + p + 1, i + p + q}, {i + 1, i + p + q}} {
		t.flip(r[0], r[1])
		t.journal = append(t.journal, [2]int32{int32(r[0]), int32(r[1])})
	}
	t.wake(a, b, c, d, e, f)
	return gain
}

// settle looks at waiting nodes until none can be bettered, and says what that gained.
func (t *tour) settle() float64 {
	sum := 0.0
	for len(t.look) > 0 {
		a := t.look[len(t.look)-1]
		t.look = t.look[:len(t.look)-1]
		t.waiting[a] = false
		for t.swaps <= swapsAtMost {
			gain := t.exchange(a)
			if gain == 0 {
				gain = t.move(a)
			}
			if gain == 0 {
				break
			}
			sum += gain
		}
	}
	return sum
}

const worthIt = 1e-7 // mm: less than that is rounding

// exchange tries 2-opt from a: one of its two edges for one to a near neighbour.
func (t *tour) exchange(a int32) float64 {
	for _, forward := range []bool{true, false} {
		step := t.next
		if !forward {
			step = t.before
		}
		b := step(a)
		for _, c := range t.near[a] {
			saved := t.way(a, b) - t.way(a, c)
			if saved <= worthIt {
				break
			}
			d := step(c)
			if gain := saved + t.way(c, d) - t.way(b, d); gain > worthIt && c != b {
				t.twoOpt(a, b, c, d)
				t.wake(a, b, c, d)
				return gain
			}
		}
	}
	return 0
}

// move tries Or-opt from a: the run of one to three places that begins at a, either way round the tour, is put between a
// near neighbour of a and the place beside it.
func (t *tour) move(a int32) float64 {
	for _, forward := range []bool{true, false} {
		ahead, back := t.next, t.before
		if !forward {
			ahead, back = back, ahead
		}
		end := a
		for length := 1; length <= 3 && length < len(t.order)-3; length++ {
			if length > 1 {
				end = ahead(end)
			}
			p, n := back(a), ahead(end)
			freed := t.way(p, a) + t.way(end, n) - t.way(p, n)
			if freed <= worthIt {
				continue
			}
			for _, c := range t.near[a] {
				if freed-t.way(a, c) <= worthIt {
					break
				}
				if t.between(c, a, end, forward) {
					continue
				}
				for _, beside := range []int32{t.next(c), t.before(c)} {
					gain := freed - t.way(c, a) - t.way(end, beside) + t.way(c, beside)
					if gain <= worthIt || t.between(beside, a, end, forward) {
						continue
					}
					t.carry(p, a, end, n, c, beside)
					t.wake(p, n, a, end, c, beside)
					return gain
				}
			}
		}
	}
	return 0
}

// between reports whether x lies on the run from a to end.
func (t *tour) between(x, a, end int32, forward bool) bool {
	if !forward {
		a, end = end, a
	}
	n := int32(len(t.order))
	return (t.at[x]-t.at[a]+n)%n <= (t.at[end]-t.at[a]+n)%n
}

// carry takes the run a…end from between p and n and puts it between c and beside, a next to c, by 2-opt steps.
func (t *tour) carry(p, a, end, n, c, beside int32) {
	// seen along p → a … end → n …, is c or beside met first?
	ahead := t.next
	if t.next(p) != a {
		ahead = t.before
	}
	first, second := c, beside
	if ahead(c) != beside {
		first, second = beside, c
	}
	// p [a…end] n … first second: turn [a…end] n … first round, then n … first back: first [end…a] second
	if first != p {
		t.twoOpt(p, a, first, second)
		if n != first || p != first {
			t.twoOpt(p, first, n, end)
		}
	}
	if first == c { // the run stands the wrong way round: a belongs to c
		t.twoOpt(first, end, a, second)
	}
}

// twoOpt takes the edges a–b and c–d out and puts a–c and b–d in; b follows a as d follows c, either way round.
func (t *tour) twoOpt(a, b, c, d int32) {
	from, to := t.at[b], t.at[c]
	if t.next(a) != b {
		from, to = t.at[a], t.at[d]
	}
	n := len(t.order)
	inner := (int(to)-int(from)+n)%n + 1
	if 2*inner > n { // the rest, turned, is the same way round
		from, to = (to+1)%int32(n), (from-1+int32(n))%int32(n)
	}
	t.flip(int(from), int(to))
	t.journal = append(t.journal, [2]int32{from, to})
}

// flip reverses the places from position i to j, round the end of the list where j comes before i.
func (t *tour) flip(i, j int) {
	n := len(t.order)
	count := (j - i + n) % n
	t.swaps += count
	for k := 0; k <= count/2-(count+1)%2; k++ {
		x, y := i+k, j-k
		if x >= n {
			x -= n
		}
		if y < 0 {
			y += n
		}
		t.order[x], t.order[y] = t.order[y], t.order[x]
		t.at[t.order[x]], t.at[t.order[y]] = int32(x), int32(y)
	}
}

// nearLists gives for each point its nearest others, from a grid of about two points a cell.
func nearLists(points []Point) [][]int32 {
	n := len(points)
	b := emptyBox()
	for _, p := range points {
		b.take(p)
	}
	size := max(math.Sqrt((b.maxX-b.minX)*(b.maxY-b.minY)/float64(n)*2), (b.maxX-b.minX+b.maxY-b.minY)/float64(n), 1e-6)
	g := newCells(n, size, func(i int) (Point, Point) { return points[i], points[i] })
	lists := make([][]int32, n)
	var found []int32
	for i, p := range points {
		found = found[:0]
		column, row := g.column(p.X), g.row(p.Y)
		for reach, enough := 1, false; ; reach++ {
			found = found[:0]
			for y := max(row-reach, 0); y <= min(row+reach, g.rows-1); y++ {
				for x := max(column-reach, 0); x <= min(column+reach, g.cols-1); x++ {
					found = append(found, g.in(y*g.cols+x)...)
				}
			}
			if enough || len(found) == n { // one ring of cells more than the count asks for
				break
			}
			enough = len(found) > neighbours
		}
		slices.SortFunc(found, func(a, b int32) int {
			return cmp.Or(cmp.Compare(p.to(points[a]), p.to(points[b])), cmp.Compare(a, b))
		})
		for _, j := range found {
			if int(j) != i && len(lists[i]) < neighbours {
				lists[i] = append(lists[i], j)
			}
		}
	}
	return lists
}

// nearestFirst goes to the nearest place not yet visited, over and over; many places are run through in bands.
func nearestFirst(points []Point, from Point) []int {
	sequence := make([]int, len(points))
	for i := range sequence {
		sequence[i] = i
	}
	if len(points) > neighbourLimit { // bands to and fro: no search
		b := emptyBox()
		for _, p := range points {
			b.take(p)
		}
		band := (b.maxY-b.minY)/math.Sqrt(float64(len(points))/2) + 1e-9
		slices.SortStableFunc(sequence, func(i, j int) int {
			p, q := points[i], points[j]
			r, s := int((p.Y-b.minY)/band), int((q.Y-b.minY)/band)
			if r != s {
				return cmp.Compare(r, s)
			}
			if r%2 == 1 {
				p, q = q, p
			}
			return cmp.Compare(p.X, q.X)
		})
		return sequence
	}
	at := from
	for k := range sequence {
		best, least := k, math.Inf(1)
		for j := k; j < len(sequence); j++ {
			p := points[sequence[j]]
			if d := (p.X-at.X)*(p.X-at.X) + (p.Y-at.Y)*(p.Y-at.Y); d < least {
				best, least = j, d
			}
		}
		sequence[k], sequence[best] = sequence[best], sequence[k]
		at = points[sequence[k]]
	}
	return sequence
}
