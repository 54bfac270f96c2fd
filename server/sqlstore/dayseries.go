package sqlstore

import (
	"slices"
	"time"
)

// daySeries are sums by day, in the order of days.
type daySeries struct{ cells []dayCell }

type dayCell struct {
	day  int32 // since 1970
	sums sums
}

func (d *daySeries) add(day int32, v *sums) {
	i := len(d.cells) - 1 // nearly always the newest day
	if i < 0 || d.cells[i].day != day {
		var found bool
		i, found = d.from(day)
		if !found {
			d.cells = slices.Insert(d.cells, i, dayCell{day: day})
		}
	}
	for k := range v {
		d.cells[i].sums[k] += v[k]
	}
}

// from is the place of the first cell at day or later.
func (d *daySeries) from(day int32) (int, bool) {
	return slices.BinarySearchFunc(d.cells, day, func(c dayCell, day int32) int { return int(c.day) - int(day) })
}

// between are the cells of a stretch of days, both ends included.
func (d *daySeries) between(from, to int32) []dayCell {
	i, _ := d.from(from)
	j, _ := d.from(to + 1)
	return d.cells[i:j]
}

// dayNumber is the day of a midnight in UTC since 1970.
func dayNumber(t time.Time) int32 { return int32(t.Unix() / 86400) }

// dayOf is a day number as spans write it.
func dayText(day int32) string { return time.Unix(int64(day)*86400, 0).UTC().Format(time.DateOnly) }
