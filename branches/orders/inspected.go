package orders

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"evenpeel/recipes/cut"
)

// Inspections remembers what the blade can not do in which drawing at which size: while a person types, the same
// drawings are planned again and again. A drawing is named by its digest, so that what is remembered stays true. The
// zero value is ready; nil remembers nothing.
type Inspections struct {
	mu    sync.Mutex
	known map[inspection][]cut.Finding
}

type inspection struct {
	drawing, figure string
	factor          float64
	limits          cut.Limits
}

// mostInspections bounds the memory: some kilobytes each at most.
const mostInspections = 2000

// of gives the findings, remembered or made by inspect; they are the caller's own.
func (n *Inspections) of(key inspection, inspect func() []cut.Finding) []cut.Finding {
	if n == nil {
		return inspect()
	}
	n.mu.Lock()
	found, ok := n.known[key]
	n.mu.Unlock()
	if !ok {
		found = inspect()
		n.mu.Lock()
		if n.known == nil || len(n.known) >= mostInspections {
			n.known = map[inspection][]cut.Finding{}
		}
		n.known[key] = found
		n.mu.Unlock()
	}
	return slices.Clone(found)
}

// look is one design to be inspected at its smallest size.
type look struct {
	sheet  *sheet
	design cut.Drawing
	corner cut.Point
	factor float64
	key    inspection
}

// looked inspects every design, side by side on all cores; the findings are in the order of the looks. A panic is passed on
// to the caller, who can recover from it.
func (p Planner) looked(looks []look) [][]cut.Finding {
	found := make([][]cut.Finding, len(looks))
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
				found[i] = p.Seen.of(l.key, func() []cut.Finding { return cut.Inspect(l.design.Scaled(l.factor), l.key.limits) })
			}
		})
	}
	all.Wait()
	if r := broke.Load(); r != nil {
		panic(r)
	}
	return found
}
