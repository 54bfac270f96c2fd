package sqlstore

import (
	"context"
	"database/sql"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
)

const pagesEnd = `SELECT (SELECT coalesce(max(sequence), 0) FROM runs_run), (SELECT coalesce(max(last), 0) FROM compare_page)`

// catchUpRollUps builds the roll-ups where they do not reach the ledger's end: after migration 0003, or where somebody
// emptied them.
func (s *Store) catchUpRollUps(ctx context.Context) error {
	var ledger, pages int64
	if err := s.read.QueryRowContext(ctx, pagesEnd).Scan(&ledger, &pages); err != nil {
		return s.fault(err)
	}
	if ledger == pages {
		return nil
	}
	return s.RebuildRollUps(ctx)
}

// rebuiltAtOnce is how many runs are read, and how many pages written, at once.
const rebuiltAtOnce = 5_000

var (
	runsFrom     = runSelect + `WHERE sequence > $1 AND sequence <= $2 ORDER BY sequence`
	reprintsFrom = `SELECT r.sequence, p.cause, p.pieces, p.film_mm2 FROM runs_run r JOIN runs_reprint p ON p.branch = r.branch AND p.run = r.id
		WHERE r.sequence > $1 AND r.sequence <= $2 ORDER BY r.sequence, p.place`
)

// RebuildRollUps makes the roll-ups anew from the raw runs, in their order of receipt. Nobody sees a part of it, and
// uploads wait.
func (s *Store) RebuildRollUps(ctx context.Context) error {
	return s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, ledgerLock); err != nil {
			return err
		}
		for _, query := range []string{`DELETE FROM compare_page`, `UPDATE compare_building SET number = number + 1`} {
			if _, err := t.ExecContext(ctx, query); err != nil {
				return err
			}
		}
		b := building{t: t, words: s.words.numbering(), open: map[pageKey]*page{}}
		for from := int64(0); ; from += rebuiltAtOnce {
			more, err := b.take(ctx, from)
			if err != nil {
				return err
			}
			if !more {
				break
			}
		}
		return b.finish(ctx)
	})
}

// building is a building of the pages under way. It holds one open page of each branch and month.
type building struct {
	t     *writing
	words *numbering
	open  map[pageKey]*page
	full  []writtenPage
}

// take takes the runs of a stretch of sequences. more is false where there are none.
func (b *building) take(ctx context.Context, from int64) (more bool, err error) {
	list, err := readStretch(ctx, b.t, from, from+rebuiltAtOnce)
	if err != nil || len(list) == 0 {
		return false, err
	}
	for i := range list {
		r := &list[i]
		if err := b.enter(ctx, r, r, false); err != nil {
			return false, err
		}
		if r.Corrects == "" {
			continue
		}
		old, err := readRun(ctx, b.t, r.Branch, r.Corrects)
		if err != nil {
			return false, err
		}
		if err := b.enter(ctx, &old, r, true); err != nil {
			return false, err
		}
	}
	if len(b.full) >= rebuiltAtOnce {
		return true, b.write(ctx)
	}
	return true, nil
}

// readStretch reads runs with their reprints.
func readStretch(ctx context.Context, q querier, after, to int64) ([]runs.Run, error) {
	list, err := all(ctx, q, scanRun, runsFrom, after, to)
	if err != nil {
		return nil, err
	}
	i := 0
	_, err = all(ctx, q, func(row scanner) (struct{}, error) {
		var sequence int64
		var p runs.Reprint
		err := row.Scan(&sequence, &p.Cause, &p.Count, &p.Film)
		for i < len(list) && list[i].Sequence < sequence {
			i++
		}
		if err == nil && i < len(list) {
			list[i].Reprints = append(list[i].Reprints, p)
		}
		return struct{}{}, err
	}, reprintsFrom, after, to)
	return list, err
}

func (b *building) enter(ctx context.Context, run, act *runs.Run, out bool) error {
	e, err := entryOf(ctx, b.t, b.words, run, revisionOf(run), act, out)
	if err != nil {
		return err
	}
	p := b.open[e.key]
	switch {
	case p == nil:
		p = &page{}
		b.open[e.key] = p
	case !p.fits():
		b.full = append(b.full, writtenPage{e.key, p})
		p = p.after()
		b.open[e.key] = p
	}
	p.add(&e.entry)
	return nil
}

func (b *building) write(ctx context.Context) error {
	err := b.t.engine.pages(ctx, b.t, b.full)
	b.full = b.full[:0]
	return err
}

func (b *building) finish(ctx context.Context) error {
	for key, p := range b.open {
		b.full = append(b.full, writtenPage{key, p})
	}
	if len(b.full) > 0 {
		if err := b.write(ctx); err != nil {
			return err
		}
	}
	return b.words.keep(ctx, b.t)
}

// counted leaves out a run r that came after the instant, or that another took the place of by then.
const counted = `r.received_us <= $5 AND NOT EXISTS (SELECT 1 FROM runs_run c WHERE c.branch = r.branch AND c.corrects = r.id AND c.corrects <> '' AND c.received_us <= $5)`

const cellsRaw = `SELECT r.branch, substr(r.day, 1, 7), r.film, r.fabric, r.band, r.revision, count(*), CAST(sum(r.pieces) AS BIGINT),
	CAST(sum(r.reprints) AS BIGINT), CAST(sum(r.drawn_mm2) AS BIGINT), CAST(sum(r.decorated_mm2) AS BIGINT),
	CAST(sum(r.layout_loss_mm2) AS BIGINT), CAST(sum(r.edge_loss_mm2) AS BIGINT), CAST(sum(r.test_cut_loss_mm2) AS BIGINT),
	CAST(sum(r.weeding_loss_mm2) AS BIGINT), CAST(sum(r.reprint_film_mm2) AS BIGINT), CAST(sum(r.roll_end_loss_mm2) AS BIGINT),
	CAST(sum(r.achievable_mm2) AS BIGINT), CAST(sum(CASE WHEN r.achievable_mm2 <> 0 THEN r.drawn_mm2 ELSE 0 END) AS BIGINT)
	FROM runs_run r WHERE r.day >= $1 AND r.day <= $2 AND ($3 = '' OR r.film = $3) AND ($4 = '' OR r.fabric = $4) AND ` + counted + `
	GROUP BY r.branch, substr(r.day, 1, 7), r.film, r.fabric, r.band, r.revision`

const causesRaw = `SELECT r.branch, r.film, r.fabric, p.cause, CAST(sum(p.pieces) AS BIGINT)
	FROM runs_run r JOIN runs_reprint p ON p.branch = r.branch AND p.run = r.id
	WHERE r.day >= $1 AND r.day <= $2 AND ($3 = '' OR r.film = $3) AND ($4 = '' OR r.fabric = $4) AND ` + counted + `
	GROUP BY r.branch, r.film, r.fabric, p.cause`

// Anew answers Cells and CauseCounts from the raw runs alone, by reading all of them: to check the roll-ups by. Faults as
// Cells.
func (s *Store) Anew(ctx context.Context, span compare.Span) (cells []compare.Cell, causes []compare.Cause, err error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, nil, err
	}
	args := []any{span.From, span.To, span.Film, span.Fabric, x.asOf}
	err = s.inRead(ctx, func(tx *sql.Tx) (err error) {
		cells, err = all(ctx, tx, func(row scanner) (c compare.Cell, err error) {
			var v sums
			into := []any{&c.Branch, &c.Period, &c.Film, &c.Fabric, &c.Band, &c.Revision}
			for i := range packedSums {
				into = append(into, &v[i])
			}
			err = row.Scan(append(into, &v[sumDrawnKnown])...)
			v.onto(&c)
			return c, err
		}, cellsRaw, args...)
		if err != nil {
			return err
		}
		causes, err = all(ctx, tx, func(row scanner) (c compare.Cause, err error) {
			err = row.Scan(&c.Branch, &c.Film, &c.Fabric, &c.Cause, &c.Count)
			return c, err
		}, causesRaw, args...)
		return err
	})
	return cells, causes, err
}
