package sqlstore

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"sync/atomic"

	"evenpeel/branches/compare"
	"evenpeel/recipes/units"
)

// Mix adds up by branch, film, fabric and band, as Strata does, into the form that rates are computed from. Faults as Cells.
func (s *Store) Mix(ctx context.Context, span compare.Span) (compare.Mix, error) {
	x, err := stretchOf(span)
	if err != nil {
		return compare.Mix{}, err
	}
	for range mostTries {
		if err := s.catchUp(ctx); err != nil {
			return compare.Mix{}, err
		}
		ready, missing := s.cube.mixable(x)
		if !ready {
			break
		}
		for _, month := range missing {
			if err := s.cutByDay(ctx, month); err != nil {
				return compare.Mix{}, err
			}
		}
		if m, done := s.mixOfCube(x); done {
			return m, nil
		}
	}
	return s.mixOfPages(ctx, x)
}

// mostTries at an answer from memory, while others have the rows that it needs given up.
const mostTries = 3

// mixable says whether the cube can answer, and by which months it lacks the rows by day.
func (c *cube) mixable(x *stretch) (ready bool, missing []string) {
	c.mu.RLock()
	defer c.mu.RUnlock()
	cut := 0
	for _, part := range x.months {
		m := c.months[part.month]
		switch {
		case m == nil:
		case m.paged:
			return false, nil
		case x.paged(part, m):
			if cut++; c.byDay[part.month] == nil {
				missing = append(missing, part.month)
			}
		}
	}
	return cut <= mostCut, missing
}

// mixing adds up one branch after another.
type mixing struct {
	strata []compare.Stratum
	group  []int32 // by a stratum's number: its place in strata; −1 where the stretch leaves it out
	acc    [][rateSums]int64
	room   []compare.Worked
}

// mixOfCube answers from memory; done is false where a month that is cut has been given up meanwhile.
func (s *Store) mixOfCube(x *stretch) (mix compare.Mix, done bool) {
	c := s.cube
	c.mu.RLock()
	defer c.mu.RUnlock()
	w := s.mixing(x)
	type month struct {
		monthPart
		of    *monthCells
		days  *dayRows
		whole []*block // the quarter that begins here, where all of it is asked for
		cut   bool     // days count
		few   bool     // they are added up; else cheaper as the month less its other days
	}
	months := make([]month, len(x.months))
	for i, part := range x.months {
		m := &months[i]
		m.monthPart, m.of, m.days = part, c.months[part.month], c.byDay[part.month]
		if m.of == nil {
			continue
		}
		if m.cut = x.paged(part, m.of); m.cut && (m.of.paged || m.days == nil) {
			return mix, false
		}
		if m.cut {
			m.few = m.of.received > x.asOf || !part.whole && 2*(part.to-part.from) < daysOfMonth
			atomic.StoreInt64(&m.days.used, c.clock.Add(1))
		}
	}
	for i := range months {
		if x.wholeQuarter(i) && !months[i].cut && !months[i+1].cut && !months[i+2].cut {
			months[i].whole = c.quarters[months[i].month]
		}
	}
	for of, branch := range c.branches {
		for i := 0; i < len(months); i++ {
			m := &months[i]
			if of < len(m.whole) && m.whole[of] != nil {
				w.block(m.whole[of])
				i += 2
				continue
			}
			if m.of == nil {
				continue
			}
			if !m.few && of < len(m.of.blocks) && m.of.blocks[of] != nil {
				w.block(m.of.blocks[of])
			}
			switch {
			case !m.cut || of >= len(m.days.branches):
			case m.few:
				w.days(&m.days.branches[of], m.from, m.to, x.asOf, 1)
			default:
				w.days(&m.days.branches[of], 1, m.from-1, x.asOf, -1)
				w.days(&m.days.branches[of], m.to+1, daysOfMonth, x.asOf, -1)
			}
		}
		if rows := w.rows(); len(rows) > 0 {
			mix.Branches = append(mix.Branches, compare.BranchMix{Branch: branch, Rows: rows})
		}
	}
	return w.mix(mix), true
}

// mixOfPages answers where months were given up, or many have got something since the instant that is asked for.
func (s *Store) mixOfPages(ctx context.Context, x *stretch) (mix compare.Mix, err error) {
	var w *mixing
	var of string
	flush := func() {
		if rows := w.rows(); len(rows) > 0 {
			mix.Branches = append(mix.Branches, compare.BranchMix{Branch: of, Rows: rows})
		}
	}
	err = s.add(ctx, &adding{stretch: x, groups: func([]stratum) ([]int32, int) {
		w = s.mixing(x)
		return w.group, len(w.strata)
	}, sums: func(branch, _ string, group int, sum *sums) {
		if branch != of {
			flush()
			of = branch
		}
		w.acc[group] = [rateSums]int64(sum[:rateSums])
	}})
	if err != nil {
		return mix, err
	}
	flush()
	return w.mix(mix), nil
}

func (s *Store) mixing(x *stretch) *mixing {
	strata, _ := s.words.known()
	at := make(map[compare.Stratum]int32, len(strata)/4)
	w := &mixing{group: make([]int32, len(strata))}
	for _, k := range strata {
		plain := compare.Stratum{Film: k.film, Fabric: k.fabric, Band: int(k.band)}
		if _, seen := at[plain]; !seen {
			at[plain] = 0
			w.strata = append(w.strata, plain)
		}
	}
	slices.SortFunc(w.strata, func(a, b compare.Stratum) int {
		return cmp.Or(strings.Compare(a.Film, b.Film), strings.Compare(a.Fabric, b.Fabric), cmp.Compare(a.Band, b.Band))
	})
	for i, k := range w.strata {
		at[k] = int32(i)
	}
	for i, k := range strata {
		w.group[i] = -1
		if x.takes(k) {
			w.group[i] = at[compare.Stratum{Film: k.film, Fabric: k.fabric, Band: int(k.band)}]
		}
	}
	w.acc = make([][rateSums]int64, len(w.strata))
	return w
}

func (w *mixing) block(b *block) {
	if b.wide != nil {
		for i, k := range b.strata {
			if g := w.group[k]; g >= 0 {
				into := &w.acc[g]
				for n := range into {
					into[n] += b.wide[i][n]
				}
			}
		}
		return
	}
	rates := b.rates[:len(b.strata)]
	for i, k := range b.strata {
		if g := w.group[k]; g >= 0 {
			into, v := &w.acc[g], &rates[i]
			into[sumRuns] += int64(v[sumRuns])
			into[sumPieces] += int64(v[sumPieces])
			into[sumReprints] += int64(v[sumReprints])
			into[sumDrawn] += int64(v[sumDrawn])
			into[sumDecorated] += int64(v[sumDecorated])
		}
	}
}

// days adds the rows of some days that came by an instant, or takes them away.
func (w *mixing) days(of *[daysOfMonth + 1][]dayRow, from, to int, by, times int64) {
	for day := from; day <= to; day++ {
		list := of[day]
		for i := range list {
			r := &list[i]
			if g := w.group[r.stratum]; g >= 0 && r.received <= by {
				into := &w.acc[g]
				for n, v := range &r.sums {
					into[n] += times * v
				}
			}
		}
	}
}

// roomRows is how many rows room is made for at once: of many branches, so that none is moved.
const roomRows = 8192

// rows hands over what was added up and starts anew.
func (w *mixing) rows() []compare.Worked {
	if cap(w.room)-len(w.room) < len(w.acc) {
		w.room = make([]compare.Worked, 0, max(roomRows, len(w.acc)))
	}
	from := len(w.room)
	for g := range w.acc {
		v := &w.acc[g]
		if v[sumRuns] != 0 { // a run's pieces leave reprints out, a comparison's do not
			w.room = append(w.room, compare.Worked{Stratum: int32(g), Pieces: v[sumPieces] + v[sumReprints], Reprints: v[sumReprints],
				Drawn: units.SquareMillimetres(v[sumDrawn]), Decorated: units.SquareMillimetres(v[sumDecorated])})
		}
		*v = [rateSums]int64{}
	}
	return w.room[from:len(w.room):len(w.room)]
}

func (w *mixing) mix(m compare.Mix) compare.Mix {
	m.Strata = w.strata
	slices.SortFunc(m.Branches, func(a, b compare.BranchMix) int { return strings.Compare(a.Branch, b.Branch) })
	return m
}
