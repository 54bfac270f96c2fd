package sqlstore

import (
	"context"
	"database/sql"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/recipes/fault"
)

// maxSpan bounds a span: 20 years and some days.
const maxSpan = 20 * 366 * 24 * time.Hour

// days is a stretch of whole days, both ends included.
type days struct{ from, to string }

// parts takes a span apart: whole months, which the roll-ups answer (none where first is ""), and up to two stretches
// of days at its ends, which only raw runs can. All lie in different months. Faults Invalid/SPAN_INVALID,
// TooLarge/SPAN_TOO_LONG.
func parts(c compare.Span) (first, last string, rest []days, err error) {
	from, err1 := time.Parse(time.DateOnly, c.From)
	to, err2 := time.Parse(time.DateOnly, c.To)
	switch {
	case err1 != nil || err2 != nil || to.Before(from):
		return "", "", nil, fault.New(fault.Invalid, room, SpanInvalid, "%q to %q is no span of days. Write two days as 2026-03-14, the earlier one first.", c.From, c.To)
	case to.Sub(from) > maxSpan:
		return "", "", nil, fault.New(fault.TooLarge, room, SpanTooLong, "%s to %s is longer than 20 years. Choose a shorter span.", c.From, c.To)
	}
	monthEnd := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month()+1, 0, 0, 0, 0, 0, time.UTC) }
	whole, until := from, to
	if from.Day() != 1 {
		end := monthEnd(from)
		if to.Before(end) {
			end = to
		}
		rest = append(rest, days{c.From, end.Format(time.DateOnly)})
		whole = monthEnd(from).AddDate(0, 0, 1)
	}
	if until != monthEnd(until) {
		until = time.Date(to.Year(), to.Month(), 1, 0, 0, 0, 0, time.UTC)
		if !until.Before(whole) {
			rest = append(rest, days{until.Format(time.DateOnly), c.To})
		}
		until = until.AddDate(0, 0, -1)
	}
	if whole.Before(until) {
		first, last = whole.Format("2006-01"), until.Format("2006-01")
	}
	return first, last, rest, nil
}

const filmFabric = ` AND ($3 = '' OR film = $3) AND ($4 = '' OR fabric = $4)`

const cellsWhole = `SELECT branch, month, film, fabric, band, revision, pieces, reprints, drawn_mm2, decorated_mm2, layout_loss_mm2,
	edge_loss_mm2, test_cut_loss_mm2, weeding_loss_mm2, reprint_film_mm2, roll_end_loss_mm2, achievable_mm2, runs
	FROM compare_month WHERE month >= $1 AND month <= $2 AND runs > 0` + filmFabric

const cellsRaw = `SELECT r.branch, substr(r.day, 1, 7), r.film, r.fabric, r.band, r.revision, CAST(sum(r.pieces) AS BIGINT),
	CAST(sum(r.reprints) AS BIGINT), CAST(sum(r.drawn_mm2) AS BIGINT), CAST(sum(r.decorated_mm2) AS BIGINT),
	CAST(sum(r.layout_loss_mm2) AS BIGINT), CAST(sum(r.edge_loss_mm2) AS BIGINT), CAST(sum(r.test_cut_loss_mm2) AS BIGINT),
	CAST(sum(r.weeding_loss_mm2) AS BIGINT), CAST(sum(r.reprint_film_mm2) AS BIGINT), CAST(sum(r.roll_end_loss_mm2) AS BIGINT),
	CAST(sum(r.achievable_mm2) AS BIGINT), count(*)
	FROM runs_run r WHERE r.day >= $1 AND r.day <= $2` + filmFabric + ` AND ` + notCorrected + `
	GROUP BY r.branch, substr(r.day, 1, 7), r.film, r.fabric, r.band, r.revision`

func scanCell(row scanner) (compare.Cell, error) {
	var c compare.Cell
	var runs int64
	err := row.Scan(&c.Branch, &c.Period, &c.Film, &c.Fabric, &c.Band, &c.Revision, &c.Pieces, &c.Reprints, &c.Drawn, &c.Decorated,
		&c.LayoutLoss, &c.EdgeLoss, &c.TestCutLoss, &c.WeedingLoss, &c.ReprintLoss, &c.RollEndLoss, &c.Achievable, &runs)
	c.Pieces += c.Reprints // a run's pieces leave reprints out, a cell's do not
	return c, err
}

// Cells adds up the runs of a span by branch, month, film, fabric, band and recipe revision: whole months come from the
// roll-ups, the rest from the runs, and both give the same to the last unit. In no order. Faults Invalid/SPAN_INVALID,
// TooLarge/SPAN_TOO_LONG.
func (s *Store) Cells(ctx context.Context, span compare.Span) ([]compare.Cell, error) {
	return spanned(ctx, s, span, scanCell, cellsWhole, cellsRaw)
}

// spanned asks one query for the whole months of a span and another for the days at its ends, over one state.
func spanned[T any](ctx context.Context, s *Store, span compare.Span, scan func(scanner) (T, error), whole, raw string) (list []T, err error) {
	first, last, rest, err := parts(span)
	if err != nil {
		return nil, err
	}
	err = s.inRead(ctx, func(tx *sql.Tx) error {
		if first != "" {
			if list, err = all(ctx, tx, scan, whole, first, last, span.Film, span.Fabric); err != nil {
				return err
			}
		}
		for _, d := range rest {
			more, err := all(ctx, tx, scan, raw, d.from, d.to, span.Film, span.Fabric)
			if err != nil {
				return err
			}
			list = append(list, more...)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

const causesWhole = `SELECT branch, film, fabric, cause, CAST(sum(pieces) AS BIGINT) FROM compare_cause
	WHERE month >= $1 AND month <= $2` + filmFabric + ` GROUP BY branch, film, fabric, cause HAVING sum(pieces) > 0`

const causesRaw = `SELECT r.branch, r.film, r.fabric, p.cause, CAST(sum(p.pieces) AS BIGINT)
	FROM runs_run r JOIN runs_reprint p ON p.branch = r.branch AND p.run = r.id
	WHERE r.day >= $1 AND r.day <= $2` + filmFabric + ` AND ` + notCorrected + `
	GROUP BY r.branch, r.film, r.fabric, p.cause HAVING sum(p.pieces) > 0`

// CauseCounts adds up why pieces were made again, over the whole span. In no order. Faults as Cells.
func (s *Store) CauseCounts(ctx context.Context, span compare.Span) ([]compare.Cause, error) {
	list, err := spanned(ctx, s, span, func(row scanner) (compare.Cause, error) {
		var c compare.Cause
		err := row.Scan(&c.Branch, &c.Film, &c.Fabric, &c.Cause, &c.Count)
		return c, err
	}, causesWhole, causesRaw)
	if err != nil {
		return nil, err
	}
	at := map[compare.Cause]int{} // the parts of the span are made one
	var sum []compare.Cause
	for _, c := range list {
		key := c
		key.Count = 0
		i, seen := at[key]
		if !seen {
			at[key] = len(sum)
			sum = append(sum, c)
			continue
		}
		sum[i].Count += c.Count
	}
	return sum, nil
}

const (
	daysAll = `SELECT day, pieces, reprints, drawn_mm2, decorated_mm2 FROM compare_day
		WHERE branch = $1 AND day >= $2 AND day <= $3 AND runs > 0 ORDER BY day`
	// The roll-up by day knows no film; one branch's runs are few enough to add up, found by the index over their end.
	daysOfFilm = `SELECT r.day, CAST(sum(r.pieces) AS BIGINT), CAST(sum(r.reprints) AS BIGINT), CAST(sum(r.drawn_mm2) AS BIGINT),
		CAST(sum(r.decorated_mm2) AS BIGINT) FROM runs_run r WHERE r.branch = $1 AND r.end_us >= $2 AND r.end_us < $5` +
		filmFabric + ` AND ` + notCorrected + ` GROUP BY r.day ORDER BY r.day`
)

// Days counts one branch's days in order, those without a run left out. Faults as Cells.
func (s *Store) Days(ctx context.Context, branch string, span compare.Span) ([]compare.DayCount, error) {
	if _, _, _, err := parts(span); err != nil {
		return nil, err
	}
	scan := func(row scanner) (compare.DayCount, error) {
		var d compare.DayCount
		err := row.Scan(&d.Day, &d.Pieces, &d.Reprints, &d.Drawn, &d.Decorated)
		d.Pieces += d.Reprints
		return d, err
	}
	if span.Film == "" && span.Fabric == "" {
		list, err := all(ctx, s.read, scan, daysAll, branch, span.From, span.To)
		return list, s.fault(err)
	}
	from, err := time.Parse(time.DateOnly, span.From)
	if err != nil {
		return nil, s.fault(err)
	}
	to, err := time.Parse(time.DateOnly, span.To)
	if err != nil {
		return nil, s.fault(err)
	}
	list, err := all(ctx, s.read, scan, daysOfFilm, branch, micros(from), span.Film, span.Fabric, micros(to.AddDate(0, 0, 1)))
	return list, s.fault(err)
}

const lastDays = `SELECT branch, max(day) FROM compare_day WHERE runs > 0 GROUP BY branch`

// LastDays is the last day on which a run of each branch ended, corrected runs left out.
func (s *Store) LastDays(ctx context.Context) (map[string]string, error) {
	last := map[string]string{}
	_, err := all(ctx, s.read, func(row scanner) (struct{}, error) {
		var branch, day string
		err := row.Scan(&branch, &day)
		last[branch] = day
		return struct{}{}, err
	}, lastDays)
	if err != nil {
		return nil, s.fault(err)
	}
	return last, nil
}
