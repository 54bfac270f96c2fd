package press

import (
	"container/heap"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Output is what a bench gives in steady work.
type Output struct {
	GarmentsPerHour int64         // whole garments, rounded down
	Overstay        units.Seconds // the longest a garment stays on a press after its heat step because no hands are free
	Bound           string        // what holds the work up: "hands", "press", or "waiting" where neither is always busy
}

// Hourly is the steady output of operators who share presses. Work is handed out by one plain rule, the same every
// time: the garment furthest along first, then a garment to be loaded again, then a new one. Nobody rests, nothing
// fails, and presses open by themselves; plan with less.
//
// Faults: Invalid CYCLE_INVALID with every wrong field; TooLarge PRESS_TOO_LARGE over MaxPresses or MaxOperators.
func Hourly(c Cycle, presses, operators int) (Output, error) {
	if err := benchCheck(c, 1, presses, operators); err != nil {
		return Output{}, err
	}
	// 720 is divided by every number of presses up to 6 and by most beyond, so that a repeating pattern is
	// measured over whole repeats; the last garments are left out because no new ones compete with them for hands.
	const span, tail = 720, 80
	b := newBench(c, presses, operators)
	b.run(2*span + tail)
	took := b.finished[2*span-1] - b.finished[span-1]
	out := Output{GarmentsPerHour: int64(3600 * span / took), Overstay: b.overstay, Bound: "waiting"}
	var hands, onPress units.Seconds
	for _, s := range c.Timeline() {
		if s.Hands {
			hands += s.Seconds
		}
		if s.OnPress {
			onPress += s.Seconds
		}
	}
	// Busy for all but a hundredth of the time counts as always.
	busy := func(each units.Seconds, count int) bool { return 100*span*each >= 99*took*units.Seconds(count) }
	switch {
	case busy(hands, operators):
		out.Bound = "hands"
	case busy(onPress, presses):
		out.Bound = "press"
	}
	return out, nil
}

// TimeFor is the time from the first load to the last garment done, by the rule of Hourly. No garments take no time.
//
// Faults: as Hourly; also TooLarge over MaxGarments.
func TimeFor(c Cycle, garments, presses, operators int) (units.Seconds, error) {
	if err := benchCheck(c, garments, presses, operators); err != nil {
		return 0, err
	}
	b := newBench(c, presses, operators)
	b.run(garments)
	return b.now, nil
}

func benchCheck(c Cycle, garments, presses, operators int) error {
	fields := c.faults()
	for _, n := range []struct {
		path        string
		value, most int
		least       int
	}{{"garments", garments, MaxGarments, 0}, {"presses", presses, MaxPresses, 1}, {"operators", operators, MaxOperators, 1}} {
		if n.value > n.most {
			return fault.New(fault.TooLarge, room, PressTooLarge, "%d %s is more than the %d that can be planned at once. Split the work.", n.value, n.path, n.most)
		}
		if n.value < n.least {
			fields.Add(n.path, "is %d; must be at least %d", n.value, n.least)
		}
	}
	return fields.Fault(room, CycleInvalid, cycleWords)
}

// bench is the state of one schedule. Everything is in whole seconds.
type bench struct {
	steps       []Step
	now         units.Seconds
	freePresses int
	freeHands   int
	running     places // ends of steps under way, earliest first
	ready       places // garments that wait for hands and need no new press, furthest along first
	again       []place
	finished    []units.Seconds
	overstay    units.Seconds
}

// place is one garment: the step it is in or waits for, and a key to order by.
type place struct {
	key     units.Seconds
	garment int
	step    int
	since   units.Seconds
}

type places []place

func (p places) Len() int { return len(p) }
func (p places) Less(i, j int) bool {
	return p[i].key < p[j].key || p[i].key == p[j].key && p[i].garment < p[j].garment
}
func (p places) Swap(i, j int) { p[i], p[j] = p[j], p[i] }
func (p *places) Push(x any)   { *p = append(*p, x.(place)) }
func (p *places) Pop() any {
	last := (*p)[len(*p)-1]
	*p = (*p)[:len(*p)-1]
	return last
}

func newBench(c Cycle, presses, operators int) *bench {
	return &bench{steps: c.Timeline(), freePresses: presses, freeHands: operators}
}

// run works through the garments; it ends because every step ends and each garment has a fixed number of them.
func (b *bench) run(garments int) {
	begun := 0
	for len(b.finished) < garments {
		for b.freeHands > 0 && len(b.ready) > 0 {
			b.begin(heap.Pop(&b.ready).(place))
		}
		for b.freePresses > 0 && len(b.again) > 0 && b.handsFor(b.again[0].step) {
			next := b.again[0]
			b.again = b.again[1:]
			b.freePresses--
			b.begin(next)
		}
		for b.freePresses > 0 && begun < garments && len(b.again) == 0 && b.handsFor(0) {
			b.freePresses--
			b.begin(place{garment: begun})
			begun++
		}
		b.now = b.running[0].key
		for len(b.running) > 0 && b.running[0].key == b.now {
			b.end(heap.Pop(&b.running).(place))
		}
	}
}

func (b *bench) handsFor(step int) bool { return !b.steps[step].Hands || b.freeHands > 0 }

func (b *bench) begin(p place) {
	s := b.steps[p.step]
	if s.Hands {
		b.freeHands--
		if p.step > 0 && s.OnPress && b.steps[p.step-1].HeatOn {
			b.overstay = max(b.overstay, b.now-p.since)
		}
	}
	p.key = b.now + s.Seconds
	heap.Push(&b.running, p)
}

// end closes a step and queues, or begins, the next one of the same garment.
func (b *bench) end(p place) {
	s := b.steps[p.step]
	if s.Hands {
		b.freeHands++
	}
	p.step++
	p.since = b.now
	last := p.step == len(b.steps)
	if s.OnPress && (last || !b.steps[p.step].OnPress) {
		b.freePresses++
	}
	switch {
	case last:
		b.finished = append(b.finished, b.now)
	case b.steps[p.step].OnPress && !s.OnPress:
		b.again = append(b.again, p)
	case b.steps[p.step].Hands:
		p.key = -units.Seconds(p.step)
		heap.Push(&b.ready, p)
	default:
		b.begin(p)
	}
}
