package sqlstore

import (
	"cmp"
	"context"
	"slices"

	"evenpeel/branches/runs"
)

// sums are the columns that roll-ups add up, in the order of the tables: runs, pieces, reprints, then areas. pieces
// leaves reprints out, as runs do; comparison counts both, and gets both from here.
type sums [12]int64

// sumNames are the columns' names in compare_month; compare_day has the first daySums of them.
var sumNames = [len(sums{})]string{
	"runs", "pieces", "reprints", "drawn_mm2", "decorated_mm2", "layout_loss_mm2", "edge_loss_mm2", "test_cut_loss_mm2",
	"weeding_loss_mm2", "reprint_film_mm2", "roll_end_loss_mm2", "achievable_mm2",
}

const daySums = 5

func sumsOf(r *runs.Run) sums {
	return sums{1, r.Pieces, r.ReprintCount(), int64(r.Drawn), int64(r.Decorated), int64(r.LayoutLoss), int64(r.EdgeLoss),
		int64(r.TestCutLoss), int64(r.WeedingLoss), int64(r.ReprintFilm()), int64(r.RollEndLoss), int64(r.Achievable)}
}

func (s *sums) add(other sums, times int64) {
	for i, v := range other {
		s[i] += times * v
	}
}

type monthKey struct {
	month, branch, film, fabric string
	band, revision              int64
}

type dayKey struct{ branch, day string }

type causeKey struct{ month, branch, film, fabric, cause string }

// rollUps are the changes that one batch makes, added up before they go to the database.
type rollUps struct {
	months map[monthKey]*sums
	days   map[dayKey]*sums
	causes map[causeKey]int64
}

func newRollUps() rollUps {
	return rollUps{map[monthKey]*sums{}, map[dayKey]*sums{}, map[causeKey]int64{}}
}

// add counts a run times times: 1, or −1 for a run that is corrected.
func (u rollUps) add(r *runs.Run, revision, times int64) {
	day := dayOf(r.End)
	month := day[:len("2006-01")]
	of := sumsOf(r)
	addTo(u.months, monthKey{month, r.Branch, r.Film, string(r.Fabric), int64(r.Band), revision}, of, times)
	addTo(u.days, dayKey{r.Branch, day}, of, times)
	for _, p := range r.Reprints {
		u.causes[causeKey{month, r.Branch, r.Film, string(r.Fabric), p.Cause}] += times * p.Count
	}
}

func addTo[K comparable](m map[K]*sums, key K, of sums, times int64) {
	s := m[key]
	if s == nil {
		s = new(sums)
		m[key] = s
	}
	s.add(of, times)
}

var (
	monthUpsert = upsert("compare_month", []string{"month", "branch", "film", "fabric", "band", "revision"}, sumNames[:])
	dayUpsert   = upsert("compare_day", []string{"branch", "day"}, sumNames[:daySums])
	causeUpsert = upsert("compare_cause", []string{"month", "branch", "film", "fabric", "cause"}, []string{"pieces"})
)

// upsert is the text that adds to a row of sums, or makes it.
func upsert(table string, keys, sums []string) string {
	q := insert(table, slices.Concat(keys, sums)) + " ON CONFLICT ("
	for i, k := range keys {
		if i > 0 {
			q += ", "
		}
		q += k
	}
	q += ") DO UPDATE SET "
	for i, c := range sums {
		if i > 0 {
			q += ", "
		}
		q += c + " = " + table + "." + c + " + excluded." + c
	}
	return q
}

// keep adds the changes to the tables, in the order of the keys, so that the database's pages are met in order.
func (u rollUps) keep(ctx context.Context, t *writing) error {
	months := ordered(u.months, func(a, b monthKey) int {
		return cmp.Or(cmp.Compare(a.month, b.month), cmp.Compare(a.branch, b.branch), cmp.Compare(a.film, b.film),
			cmp.Compare(a.fabric, b.fabric), cmp.Compare(a.band, b.band), cmp.Compare(a.revision, b.revision))
	}, func(k monthKey, s *sums) []any {
		return s.onto([]any{k.month, k.branch, k.film, k.fabric, k.band, k.revision}, len(s))
	})
	days := ordered(u.days, func(a, b dayKey) int {
		return cmp.Or(cmp.Compare(a.branch, b.branch), cmp.Compare(a.day, b.day))
	}, func(k dayKey, s *sums) []any { return s.onto([]any{k.branch, k.day}, daySums) })
	causes := ordered(u.causes, func(a, b causeKey) int {
		return cmp.Or(cmp.Compare(a.month, b.month), cmp.Compare(a.branch, b.branch), cmp.Compare(a.film, b.film),
			cmp.Compare(a.fabric, b.fabric), cmp.Compare(a.cause, b.cause))
	}, func(k causeKey, n int64) []any { return []any{k.month, k.branch, k.film, k.fabric, k.cause, n} })
	for _, change := range []struct {
		query string
		rows  [][]any
	}{{monthUpsert, months}, {dayUpsert, days}, {causeUpsert, causes}} {
		if err := repeat(ctx, t, change.query, change.rows); err != nil {
			return err
		}
	}
	return nil
}

func (s *sums) onto(row []any, n int) []any {
	for _, v := range s[:n] {
		row = append(row, v)
	}
	return row
}

func ordered[K comparable, V any](m map[K]V, compare func(a, b K) int, row func(K, V) []any) [][]any {
	keys := make([]K, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, compare)
	rows := make([][]any, len(keys))
	for i, k := range keys {
		rows[i] = row(k, m[k])
	}
	return rows
}

// repeat does one prepared query for each row.
func repeat(ctx context.Context, t *writing, query string, rows [][]any) error {
	if len(rows) == 0 {
		return nil
	}
	stmt, err := t.PrepareContext(ctx, query)
	if err != nil {
		return err
	}
	defer stmt.Close()
	for _, row := range rows {
		if _, err := stmt.ExecContext(ctx, row...); err != nil {
			return err
		}
	}
	return nil
}

// notCorrected leaves out a run r that another took the place of.
const notCorrected = `NOT EXISTS (SELECT 1 FROM runs_run c WHERE c.branch = r.branch AND c.corrects = r.id AND c.corrects <> '')`

// rawSums are the sums over raw rows r, in the order of the type.
const rawSums = `count(*), CAST(sum(r.pieces) AS BIGINT), CAST(sum(r.reprints) AS BIGINT), CAST(sum(r.drawn_mm2) AS BIGINT),
	CAST(sum(r.decorated_mm2) AS BIGINT), CAST(sum(r.layout_loss_mm2) AS BIGINT), CAST(sum(r.edge_loss_mm2) AS BIGINT),
	CAST(sum(r.test_cut_loss_mm2) AS BIGINT), CAST(sum(r.weeding_loss_mm2) AS BIGINT), CAST(sum(r.reprint_film_mm2) AS BIGINT),
	CAST(sum(r.roll_end_loss_mm2) AS BIGINT), CAST(sum(r.achievable_mm2) AS BIGINT)`

var rebuild = []string{
	`DELETE FROM compare_month`,
	`DELETE FROM compare_day`,
	`DELETE FROM compare_cause`,
	`INSERT INTO compare_month SELECT substr(r.day, 1, 7), r.branch, r.film, r.fabric, r.band, r.revision, ` + rawSums + `
		FROM runs_run r WHERE ` + notCorrected + ` GROUP BY substr(r.day, 1, 7), r.branch, r.film, r.fabric, r.band, r.revision`,
	`INSERT INTO compare_day SELECT r.branch, r.day, count(*), CAST(sum(r.pieces) AS BIGINT), CAST(sum(r.reprints) AS BIGINT),
		CAST(sum(r.drawn_mm2) AS BIGINT), CAST(sum(r.decorated_mm2) AS BIGINT)
		FROM runs_run r WHERE ` + notCorrected + ` GROUP BY r.branch, r.day`,
	`INSERT INTO compare_cause SELECT substr(r.day, 1, 7), r.branch, r.film, r.fabric, p.cause, CAST(sum(p.pieces) AS BIGINT)
		FROM runs_run r JOIN runs_reprint p ON p.branch = r.branch AND p.run = r.id WHERE ` + notCorrected + `
		GROUP BY substr(r.day, 1, 7), r.branch, r.film, r.fabric, p.cause`,
}

// RebuildRollUps makes the roll-ups anew from the raw runs. Nobody sees a part of it.
func (s *Store) RebuildRollUps(ctx context.Context) error {
	return s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, rollUpsLock); err != nil {
			return err
		}
		for _, query := range rebuild {
			if _, err := t.ExecContext(ctx, query); err != nil {
				return err
			}
		}
		return nil
	})
}
