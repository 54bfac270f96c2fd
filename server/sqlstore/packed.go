package sqlstore

import (
	"context"
	"slices"
	"sync"
)

// packedBytes bounds the pages kept in memory for months that spans cut: at 10 million runs of 500 branches a month takes 15 MB.
const packedBytes = 128 << 20

// packedPage is a page as read.
type packedPage struct {
	part, received int64 // received is when its newest entry was, in µs
	content        []byte
}

// packedMonth are the pages of one month by branch. It holds everything up to through, and perhaps more. It is never
// changed; a newer one takes its place.
type packedMonth struct {
	pages    map[string][]packedPage
	through  int64
	building int64
	bytes    int
	used     int64
}

// packedMonths keeps those that were asked for last.
type packedMonths struct {
	mu     sync.Mutex
	months map[string]*packedMonth
	clock  int64
	bytes  int
}

func (p *packedMonths) find(month string) *packedMonth {
	p.mu.Lock()
	defer p.mu.Unlock()
	m := p.months[month]
	if m != nil {
		p.clock++
		m.used = p.clock
	}
	return m
}

func (p *packedMonths) put(month string, m *packedMonth) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.months == nil {
		p.months = map[string]*packedMonth{}
	}
	if old := p.months[month]; old != nil {
		p.bytes -= old.bytes
	}
	p.clock++
	m.used = p.clock
	p.months[month] = m
	p.bytes += m.bytes
	for p.bytes > packedBytes && len(p.months) > 1 {
		oldest := month
		for k, x := range p.months {
			if x.used < p.months[oldest].used {
				oldest = k
			}
		}
		p.bytes -= p.months[oldest].bytes
		delete(p.months, oldest)
	}
}

const monthPages = `SELECT branch, part, newest_us, content FROM compare_page WHERE month = $1 AND last > $2`

// month answers a month's pages, complete up to the cube's sequence as it was at the call.
func (s *Store) month(ctx context.Context, month string) (*packedMonth, error) {
	c := s.cube
	have := s.packed.find(month)
	c.mu.RLock()
	through, building, last := c.sequence, c.building, int64(0)
	if m := c.months[month]; m != nil {
		last = m.last
	}
	c.mu.RUnlock()
	if have != nil && have.building != building {
		have = nil
	}
	if have != nil && last <= have.through {
		return have, nil
	}
	next := &packedMonth{pages: map[string][]packedPage{}, through: through, building: building}
	since := int64(-1)
	if have != nil {
		since = have.through
		for branch, list := range have.pages {
			next.pages[branch] = list
		}
		next.bytes = have.bytes
	}
	type found struct {
		branch string
		packedPage
	}
	list, err := all(ctx, s.read, func(row scanner) (f found, err error) {
		err = row.Scan(&f.branch, &f.part, &f.received, &f.content)
		return f, err
	}, monthPages, month, since)
	if err != nil {
		return nil, s.fault(err)
	}
	for _, f := range list {
		pages := slices.Clone(next.pages[f.branch])
		if i := slices.IndexFunc(pages, func(p packedPage) bool { return p.part == f.part }); i >= 0 {
			next.bytes -= len(pages[i].content)
			pages[i] = f.packedPage
		} else {
			pages = append(pages, f.packedPage)
		}
		next.pages[f.branch] = pages
		next.bytes += len(f.content)
	}
	s.packed.put(month, next)
	return next, nil
}
