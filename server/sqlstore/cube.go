package sqlstore

import (
	"context"
	"database/sql"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"evenpeel/recipes/fault"
)

// cube is the roll-up in the memory of this process: the pages, added up by month, and by day. It is a copy of the ledger up
// to a sequence and never the record of truth: before every answer it takes in what was committed since, by this process or
// another, so an answer is exact as of its beginning. Its memory is bounded: beyond mostCells the oldest months are read
// from their pages where they are asked for.
type cube struct {
	mu                 sync.RWMutex
	building, sequence int64
	branches           []string
	branchOf           map[string]int
	months             map[string]*monthCells
	quarters           map[string][]*block         // by first month, then by branch: sums of three months, revisions together; nil where one of them was given up
	days               []daySeries                 // by branch
	revisionDays       map[filmRevision]*daySeries // over all branches
	received           []int64                     // by branch: its newest report, in µs
	byDay              map[string]*dayRows         // by month: those that spans have cut
	byDayRows          int                         // rows in them
	cells, mostCells   int                         // rows in the blocks of months; how many there may be
	rows               rowCounts
	clock              atomic.Int64 // of the use of byDay
	scratch            [2]scratch   // of months and of quarters
}

// filmRevision is a stratum with the band left out.
type filmRevision struct {
	film, fabric string
	revision     int64
}

// monthCells are one month's sums.
type monthCells struct {
	blocks []*block // by branch; nil, or beyond the end, where there is nothing
	paged  bool     // blocks were given up: its pages answer
	totals []sums   // of a block each
	last   int64    // sequence of the newest entry

	received int64 // when the newest was received, in µs
}

// block holds the sums of one branch and month by stratum, in 32 bits each, which areas up to 4294 m² fit, and in 64
// bits once one does not.
type block struct {
	strata []uint32
	rates  [][rateSums]uint32 // the sums that the fair view reads, apart: it reads them all
	rest   [][len(sums{}) - rateSums]uint32
	wide   []sums // takes the place of both
	causes []causeCell
}

type causeCell struct {
	stratum, cause uint32
	pieces         int64
}

// scratch finds a stratum's row in the block at hand.
type scratch struct {
	of  *block
	row []int32 // by stratum: row + 1
}

// mostCells is how many sums by month are kept, of 60 bytes each; sums by quarter add a third. 10 million runs of 500 branches
// over two years make some 3 million.
const mostCells = 8_000_000

func newCube() *cube {
	c := &cube{mostCells: mostCells}
	c.empty()
	return c
}

// empty forgets everything.
func (c *cube) empty() {
	c.sequence, c.branches, c.days, c.received, c.scratch = 0, nil, nil, nil, [2]scratch{}
	c.branchOf, c.months, c.quarters, c.revisionDays = map[string]int{}, map[string]*monthCells{}, map[string][]*block{}, map[filmRevision]*daySeries{}
	c.byDay, c.byDayRows, c.cells = map[string]*dayRows{}, 0, 0
}

const (
	head       = `SELECT (SELECT coalesce(max(last), 0) FROM compare_page), (SELECT max(number) FROM compare_building)`
	pagesSince = `SELECT branch, month, content FROM compare_page WHERE last > $1`
)

func (s *Store) readHead(ctx context.Context, q querier) (sequence, building int64, err error) {
	err = q.QueryRowContext(ctx, head).Scan(&sequence, &building)
	return sequence, building, err
}

// catchUp takes into the cube what was committed before the call. It does not stop half way where the caller goes away:
// the next one would have to begin again.
func (s *Store) catchUp(ctx context.Context) error {
	c, ctx := s.cube, context.WithoutCancel(ctx)
	sequence, building, err := s.readHead(ctx, s.read)
	if err != nil {
		return s.fault(err)
	}
	c.mu.RLock()
	current := c.building == building && c.sequence >= sequence
	c.mu.RUnlock()
	if current {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return s.inRead(ctx, func(tx *sql.Tx) error {
		sequence, building, err := s.readHead(ctx, tx)
		if err != nil {
			return err
		}
		if building != c.building {
			c.empty()
			c.building = building
		}
		if sequence <= c.sequence {
			return nil
		}
		if err := s.words.refresh(ctx, tx); err != nil {
			return err
		}
		if err := c.takeIn(ctx, tx, s.words); err != nil {
			c.empty() // half taken in: what it holds is no state that ever was
			return err
		}
		c.sequence = sequence
		return nil
	})
}

// Warm takes the roll-up into memory, so that nobody's first view waits for it. Fault Unavailable/STORE_AWAY.
func (s *Store) Warm(ctx context.Context) error { return s.catchUp(ctx) }

// takeIn adds every entry above the cube's sequence.
func (c *cube) takeIn(ctx context.Context, tx *sql.Tx, w *words) error {
	strata, causes := w.known()
	rows, err := tx.QueryContext(ctx, pagesSince, c.sequence)
	if err != nil {
		return err
	}
	defer rows.Close()
	series := make([]*daySeries, len(strata))
	first := make([]int, len(strata)) // by stratum: the first that differs from it in revision at most
	seen := map[stratum]int{}
	for i, k := range strata {
		plain := k
		plain.revision = 0
		if _, ok := seen[plain]; !ok {
			seen[plain] = i
		}
		first[i] = seen[plain]
		key := filmRevision{k.film, k.fabric, k.revision}
		if c.revisionDays[key] == nil {
			c.revisionDays[key] = &daySeries{}
		}
		series[i] = c.revisionDays[key]
	}
	var branch, month string
	var content sql.RawBytes
	for rows.Next() {
		if err := rows.Scan(&branch, &month, &content); err != nil {
			return err
		}
		of := c.branch(branch)
		begins, err := time.Parse("2006-01", month)
		if err != nil {
			return fault.New(fault.Broken, room, StoreBroken, "A page of the roll-up has no month. Build the roll-ups anew from the runs.").Because(err)
		}
		m := c.months[month]
		if m == nil {
			m = &monthCells{}
			c.months[month] = m
		}
		for len(m.totals) <= of {
			m.totals = append(m.totals, sums{})
		}
		var b, q *block
		if !m.paged {
			b = blockOf(&m.blocks, of)
			if quarter, had := c.quarters[quarterOf(begins)]; !had || quarter != nil {
				q = blockOf(&quarter, of)
				c.quarters[quarterOf(begins)] = quarter
			}
			c.cells -= len(b.strata)
		}
		day, byDay := dayNumber(begins)-1, c.byDay[month]
		read := entries{content: content}
		for read.next() {
			if read.entry.sequence <= c.sequence {
				continue
			}
			e := read.rest()
			if e.stratum >= int64(len(strata)) || slices.ContainsFunc(e.causes, func(x cause) bool { return x.id >= int64(len(causes)) }) {
				return fault.New(fault.Broken, room, StoreBroken, "A page of the roll-up names what nobody numbered. Build the roll-ups anew from the runs.")
			}
			if b != nil {
				b.add(b.row(&c.scratch[0], int(e.stratum)), &e.sums)
				b.addCauses(e.stratum, e)
			}
			if q != nil {
				q.add(q.row(&c.scratch[1], first[e.stratum]), &e.sums)
				q.addCauses(int64(first[e.stratum]), e)
			}
			if byDay != nil {
				byDay.add(of, e)
				c.byDayRows++
			}
			m.totals[of].add(&e.sums)
			c.days[of].add(day+int32(e.day), &e.sums)
			series[e.stratum].add(day+int32(e.day), &e.sums)
			m.last, m.received = max(m.last, e.sequence), max(m.received, e.received)
			c.received[of] = max(c.received[of], e.received)
		}
		if err := read.fault(); err != nil {
			return err
		}
		if b != nil {
			c.cells += len(b.strata)
		}
		for c.cells > c.mostCells {
			c.giveUpOldest()
		}
	}
	return rows.Err()
}

// giveUpOldest gives up the blocks of the oldest month that has any, and of its quarter.
func (c *cube) giveUpOldest() {
	oldest := ""
	for month, m := range c.months {
		if !m.paged && (oldest == "" || month < oldest) {
			oldest = month
		}
	}
	m := c.months[oldest]
	for _, b := range m.blocks {
		if b != nil {
			c.cells -= len(b.strata)
		}
	}
	m.blocks, m.paged = nil, true
	begins, _ := time.Parse("2006-01", oldest) // takeIn has read it once
	c.quarters[quarterOf(begins)] = nil
}

// blockOf finds or makes a branch's block.
func blockOf(blocks *[]*block, of int) *block {
	for len(*blocks) <= of {
		*blocks = append(*blocks, nil)
	}
	if (*blocks)[of] == nil {
		(*blocks)[of] = &block{}
	}
	return (*blocks)[of]
}

// quarterOf is the first month of a month's quarter.
func quarterOf(month time.Time) string {
	return time.Date(month.Year(), month.Month()-(month.Month()-1)%3, 1, 0, 0, 0, 0, time.UTC).Format("2006-01")
}

// branch is the number of a branch.
func (c *cube) branch(name string) int {
	n, ok := c.branchOf[name]
	if !ok {
		n = len(c.branches)
		c.branchOf[name] = n
		c.branches, c.days, c.received = append(c.branches, name), append(c.days, daySeries{}), append(c.received, 0)
	}
	return n
}

// row finds or makes a stratum's row.
func (b *block) row(s *scratch, stratum int) int {
	if s.of != b {
		if s.of != nil {
			for _, k := range s.of.strata {
				s.row[k] = 0
			}
		}
		s.of = b
		for i, k := range b.strata {
			s.at(int(k))
			s.row[k] = int32(i) + 1
		}
	}
	s.at(stratum)
	if s.row[stratum] == 0 {
		b.strata = append(b.strata, uint32(stratum))
		if b.wide != nil {
			b.wide = append(b.wide, sums{})
		} else {
			b.rates, b.rest = append(b.rates, [rateSums]uint32{}), append(b.rest, [len(sums{}) - rateSums]uint32{})
		}
		s.row[stratum] = int32(len(b.strata))
	}
	return int(s.row[stratum]) - 1
}

// at makes room for a stratum.
func (s *scratch) at(stratum int) {
	if stratum >= len(s.row) {
		s.row = append(s.row, make([]int32, stratum+1-len(s.row))...)
	}
}

func (b *block) add(row int, v *sums) {
	if b.wide == nil {
		oldRates, oldRest := b.rates[row], b.rest[row]
		into, rest := &b.rates[row], &b.rest[row]
		fits := true
		for i := range into {
			sum := int64(into[i]) + v[i]
			fits = fits && sum == int64(uint32(sum))
			into[i] = uint32(sum)
		}
		for i := range rest {
			sum := int64(rest[i]) + v[rateSums+i]
			fits = fits && sum == int64(uint32(sum))
			rest[i] = uint32(sum)
		}
		if fits {
			return
		}
		b.rates[row], b.rest[row] = oldRates, oldRest
		wide := make([]sums, len(b.rates))
		for i := range wide {
			b.onto(&wide[i], i)
		}
		b.wide, b.rates, b.rest = wide, nil, nil
	}
	b.wide[row].add(v)
}

// onto adds a row to sums.
func (b *block) onto(into *sums, row int) {
	if b.wide != nil {
		into.add(&b.wide[row])
		return
	}
	for i, v := range &b.rates[row] {
		into[i] += int64(v)
	}
	for i, v := range &b.rest[row] {
		into[rateSums+i] += int64(v)
	}
}

func (b *block) addCauses(stratum int64, e *entry) {
	for _, c := range e.causes {
		i := slices.IndexFunc(b.causes, func(x causeCell) bool { return x.stratum == uint32(stratum) && x.cause == uint32(c.id) })
		if i < 0 {
			i = len(b.causes)
			b.causes = append(b.causes, causeCell{stratum: uint32(stratum), cause: uint32(c.id)})
		}
		b.causes[i].pieces += c.pieces
	}
}
