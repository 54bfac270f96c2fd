package sqlstore

import "context"

// dayRows are the entries of one month by branch and day, with the sums that rates are made of: what the fair view adds up
// where its span cuts the month, or is as of an instant before the month's newest report. They are made when they are first asked for and then kept up by takeIn. 10 million runs of
// 500 branches over two years make some 400 000 rows a month.
type dayRows struct {
	branches [][daysOfMonth + 1][]dayRow
	rows     int
	used     int64
}

type dayRow struct {
	stratum, received int64
	sums              [rateSums]int64
}

// mostDayRows is how many rows of 56 bytes are kept, beyond mostCut months. A span cuts two; where it is as of an instant, a
// few more have got something since.
const (
	mostDayRows = 2_000_000
	mostCut     = 4
)

func (d *dayRows) add(of int, e *entry) {
	for len(d.branches) <= of {
		d.branches = append(d.branches, [daysOfMonth + 1][]dayRow{})
	}
	day := &d.branches[of][e.day&daysOfMonth]
	*day = append(*day, dayRow{e.stratum, e.received, [rateSums]int64(e.sums[:rateSums])})
	d.rows++
}

// cutByDay has the month's rows by day in the cube. A month that grows meanwhile is left for another try.
func (s *Store) cutByDay(ctx context.Context, month string) error {
	m, err := s.month(ctx, month)
	if err != nil {
		return err
	}
	c := s.cube
	c.mu.Lock()
	defer c.mu.Unlock()
	had := c.months[month]
	if had == nil || had.paged || had.last > m.through || m.building != c.building || c.byDay[month] != nil {
		return nil
	}
	rows := &dayRows{used: c.clock.Add(1)}
	for branch, list := range m.pages {
		of, known := c.branchOf[branch]
		if !known {
			continue // it came after the cube's sequence
		}
		for _, page := range list {
			read := entries{content: page.content}
			for read.next() {
				if read.entry.sequence <= m.through {
					rows.add(of, read.rest())
				}
			}
			if err := read.fault(); err != nil {
				return err
			}
		}
	}
	c.byDay[month] = rows
	c.byDayRows += rows.rows
	for c.byDayRows > mostDayRows && len(c.byDay) > mostCut {
		oldest := month
		for k, x := range c.byDay {
			if x.used < c.byDay[oldest].used {
				oldest = k
			}
		}
		c.byDayRows -= c.byDay[oldest].rows
		delete(c.byDay, oldest)
	}
	return nil
}
