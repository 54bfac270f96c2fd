package orders

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"evenpeel/recipes/cut"
)

// Inspections remembers what the blade can not do in which drawing at which size, and in which order it cuts it: while a
// person types, the same drawings are planned again and again. A drawing is named by its digest, so that what is
// remembered stays true. The zero value is ready; nil remembers nothing.
type Inspections struct {
	findings memory[inspection, []cut.Finding]
	ways     memory[sized, []step]
}

// figureOf names a design: what a drawing has in one colour, or all of it.
type figureOf struct{ drawing, figure string }

// sized is a design at a size.
type sized struct {
	figureOf
	factor float64
}

type inspection struct {
	sized
	limits cut.Limits
}

// mostRemembered bounds a memory: some kilobytes each at most.
const mostRemembered = 2000

// memory keeps what was worked out under what it hangs on.
type memory[K comparable, V any] struct {
	mu    sync.Mutex
	known map[K]V
}

// of gives what is remembered, or worked out now; it is shared, and must not be changed.
func (m *memory[K, V]) of(key K, work func() V) V {
	m.mu.Lock()
	v, ok := m.known[key]
	m.mu.Unlock()
	if !ok {
		v = work()
		m.mu.Lock()
		if m.known == nil || len(m.known) >= mostRemembered {
			m.known = map[K]V{}
		}
		m.known[key] = v
		m.mu.Unlock()
	}
	return v
}

// look is one design to be inspected at its smallest size, and to be put in order where no line before it has it.
type look struct {
	sheet  *sheet
	design cut.Drawing
	corner cut.Point
	key    inspection
	order  *sized // what the order hangs on; nil where it is found for another line
	first  int    // the outline of the sheet that it is found by
}

// looked inspects every design, side by side on all cores, and remembers on the sheets how it is cut; the findings are in
// the order of the looks. A panic is passed on to the caller, who can recover from it.
func (p Planner) looked(looks []look) [][]cut.Finding {
	seen := p.Seen
	if seen == nil {
		seen = &Inspections{}
	}
	found, ways := make([][]cut.Finding, len(looks)), make([][]step, len(looks))
	var next atomic.Int64
	var all sync.WaitGroup
	var broke atomic.Value
	for range min(len(looks), runtime.GOMAXPROCS(0)) {
		all.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					broke.Store(fmt.Sprint(r))
				}
			}()
			for i := int(next.Add(1)) - 1; i < len(looks); i = int(next.Add(1)) - 1 {
				l := looks[i]
				found[i] = slices.Clone(seen.findings.of(l.key, func() []cut.Finding { return cut.Inspect(l.design.Scaled(l.key.factor), l.key.limits) }))
				if l.order != nil {
					ways[i] = seen.ways.of(*l.order, func() []step { return stepsFor(l.sheet.outlines[l.first]) })
				}
			}
		})
	}
	all.Wait()
	if r := broke.Load(); r != nil {
		panic(r)
	}
	for i, l := range looks {
		if l.order != nil {
			l.sheet.ways[l.first] = ways[i]
		}
	}
	return found
}
