package sqlstore

import (
	"context"
	"slices"
)

// adding is one question to the roll-up: a stretch's sums by branch and group of strata, over the stretch or by month.
type adding struct {
	*stretch
	byMonth bool
	branch  string // "" is every one
	// groups gives each stratum its group, and says how many groups there are.
	groups func(strata []stratum) (group []int32, count int)
	// sums takes a branch's sums of one group, which may have no run left; causes, where set, its causes. month is the
	// stretch's first one where byMonth is not set.
	sums   func(branch, month string, group int, s *sums)
	causes func(branch string, stratum, cause int, pieces int64)
}

// pages are what has to be read entry by entry, by month: of months that the stretch cuts, of those given up, and of those
// that received something after the instant that the stretch is as of.
type pages map[string]*packedMonth

// paged says whether the stretch needs the pages of a month that the cube holds.
func (x *stretch) paged(part monthPart, m *monthCells) bool {
	return m.paged || !part.whole || m.received > x.asOf
}

// entriesFor reads the pages that the stretch needs.
func (s *Store) entriesFor(ctx context.Context, x *stretch) (pages, error) {
	c := s.cube
	c.mu.RLock()
	var asked []string
	for _, part := range x.months {
		if m := c.months[part.month]; m != nil && x.paged(part, m) {
			asked = append(asked, part.month)
		}
	}
	c.mu.RUnlock()
	p := pages{}
	for _, month := range asked {
		m, err := s.month(ctx, month)
		if err != nil {
			return nil, err
		}
		p[month] = m
	}
	return p, nil
}

// reach says whether the pages hold all that the cube does.
func (p pages) reach(c *cube, x *stretch) bool {
	for _, part := range x.months {
		m := c.months[part.month]
		if m == nil || !x.paged(part, m) {
			continue
		}
		if cut := p[part.month]; cut == nil || m.last > cut.through || cut.building != c.building {
			return false
		}
	}
	return true
}

// add answers a question over one state of the ledger: the one at the call, or a later one.
func (s *Store) add(ctx context.Context, a *adding) error {
	for {
		if err := s.catchUp(ctx); err != nil {
			return err
		}
		p, err := s.entriesFor(ctx, a.stretch)
		if err != nil {
			return err
		}
		if done, err := s.addOver(a, p); done || err != nil {
			return err
		}
	}
}

// addOver answers from the cube and the pages read before; done is false where the cube has moved on past them.
func (s *Store) addOver(a *adding, p pages) (done bool, err error) {
	c := s.cube
	c.mu.RLock()
	defer c.mu.RUnlock()
	if !p.reach(c, a.stretch) {
		return false, nil
	}
	strata, _ := s.words.known()
	group, count := a.groups(strata)
	w := adder{adding: a, group: group, acc: make([]sums, count), seen: make([]bool, count), sequence: c.sequence}
	for i, k := range strata {
		if !a.takes(k) {
			w.group[i] = -1
		}
	}
	if a.causes == nil && count == 1 && a.everything() && a.asOf == always {
		w.byDay(c)
		return true, nil
	}
	months := make([]*monthCells, len(a.months))
	for i, part := range a.months {
		months[i] = c.months[part.month]
	}
	for of, branch := range c.branches {
		if a.branch != "" && a.branch != branch {
			continue
		}
		for i := 0; i < len(a.months); i++ {
			part, m := a.months[i], months[i]
			if q := c.quarters[part.month]; !a.byMonth && of < len(q) && q[of] != nil && a.wholeQuarter(i) {
				w.block(q[of])
				for _, part := range a.months[i : i+3] {
					w.later(p[part.month], branch)
				}
				i += 2
				continue
			}
			switch {
			case m == nil:
				continue
			case m.paged, !part.whole && 2*(part.to-part.from) < daysOfMonth, part.begins >= a.asOf: // of the last hardly anything counts
				w.cut(p[part.month].pages[branch], part, 1)
			case of < len(m.blocks) && m.blocks[of] != nil:
				w.block(m.blocks[of])
				w.later(p[part.month], branch)
				if !part.whole { // most of the month: cheaper as the month less its other days
					list := p[part.month].pages[branch]
					w.cut(list, monthPart{from: 1, to: part.from - 1}, -1)
					w.cut(list, monthPart{from: part.to + 1, to: daysOfMonth}, -1)
				}
			}
			if a.byMonth {
				w.tell(branch, part.month)
			}
		}
		if w.tell(branch, a.months[0].month); w.err != nil {
			return true, w.err
		}
	}
	return true, nil
}

// byDay answers what tells no strata apart, from the sums of whole months and, where a month is cut, of days.
func (w *adder) byDay(c *cube) {
	for of, branch := range c.branches {
		if w.branch != "" && w.branch != branch {
			continue
		}
		at := w.from
		for _, part := range w.months {
			end := at + int32(part.to-part.from)
			if m := c.months[part.month]; part.whole && m != nil && of < len(m.totals) {
				w.touch(0).add(&m.totals[of])
			} else if !part.whole {
				for _, d := range c.days[of].between(at, end) {
					w.touch(0).add(&d.sums)
				}
			}
			if at = end + 1; w.byMonth {
				w.tell(branch, part.month)
			}
		}
		w.tell(branch, w.months[0].month)
	}
}

// wholeQuarter says whether the i-th month begins a quarter that lies whole in the stretch. The cube has quarters under
// their first month alone.
func (x *stretch) wholeQuarter(i int) bool {
	return i+2 < len(x.months) && x.months[i].whole && x.months[i+1].whole && x.months[i+2].whole
}

// adder adds up one branch after another.
type adder struct {
	*adding
	group    []int32 // by stratum; −1 where the stretch leaves it out
	acc      []sums
	seen     []bool
	touched  []int32
	reasons  []causeCell
	sequence int64
	err      error
}

func (w *adder) touch(g int32) *sums {
	if !w.seen[g] {
		w.seen[g] = true
		w.touched = append(w.touched, g)
	}
	return &w.acc[g]
}

func (w *adder) block(b *block) {
	if w.causes != nil {
		for _, c := range b.causes {
			if w.group[c.stratum] >= 0 {
				w.reason(c)
			}
		}
		return
	}
	for i, k := range b.strata {
		g := w.group[k]
		if g < 0 {
			continue
		}
		b.onto(w.touch(g), i)
	}
}

const daysOfMonth = 31

// cut adds the entries of some days of a month, or takes them away.
func (w *adder) cut(list []packedPage, part monthPart, times int64) {
	if part.from > part.to {
		return
	}
	for _, page := range list {
		read := entries{content: page.content}
		for read.next() {
			e := &read.entry
			if e.day >= part.from && e.day <= part.to && e.sequence <= w.sequence && e.received <= w.asOf && w.group[e.stratum] >= 0 {
				w.entry(read.rest(), times)
			}
		}
		w.broken(&read)
	}
}

// later takes out again what came after the instant that the stretch is as of.
func (w *adder) later(m *packedMonth, branch string) {
	if w.asOf == always || m == nil {
		return
	}
	for _, page := range m.pages[branch] {
		if page.received <= w.asOf {
			continue
		}
		read := entries{content: page.content}
		for read.next() {
			e := &read.entry
			if e.received > w.asOf && e.sequence <= w.sequence && w.group[e.stratum] >= 0 {
				w.entry(read.rest(), -1)
			}
		}
		w.broken(&read)
	}
}

func (w *adder) broken(read *entries) {
	if err := read.fault(); err != nil {
		w.err = err
	}
}

func (w *adder) entry(e *entry, times int64) {
	if w.causes != nil {
		for _, c := range e.causes {
			w.reason(causeCell{uint32(e.stratum), uint32(c.id), times * c.pieces})
		}
		return
	}
	into := w.touch(w.group[e.stratum])
	for n, v := range &e.sums {
		into[n] += times * v
	}
}

func (w *adder) reason(c causeCell) { w.reasons = append(w.reasons, c) }

// tell hands over what was added up and starts anew.
func (w *adder) tell(branch, month string) {
	for _, g := range w.touched {
		if w.acc[g][sumRuns] != 0 || w.acc[g][sumCorrected] != 0 {
			w.sums(branch, month, int(g), &w.acc[g])
		}
		w.acc[g], w.seen[g] = sums{}, false
	}
	w.touched = w.touched[:0]
	if w.causes == nil {
		return
	}
	slices.SortFunc(w.reasons, func(a, b causeCell) int {
		if a.stratum != b.stratum {
			return int(a.stratum) - int(b.stratum)
		}
		return int(a.cause) - int(b.cause)
	})
	for i := 0; i < len(w.reasons); {
		c := w.reasons[i]
		for i++; i < len(w.reasons) && w.reasons[i].stratum == c.stratum && w.reasons[i].cause == c.cause; i++ {
			c.pieces += w.reasons[i].pieces
		}
		if c.pieces != 0 {
			w.causes(branch, int(c.stratum), int(c.cause), c.pieces)
		}
	}
	w.reasons = w.reasons[:0]
}
