package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"evenpeel/branches/compare"
	"evenpeel/recipes/fault"
)

// One stretch of days after another, and in it one branch after another: runs of one day lie together in the file, and few
// of them are passed over. A sample's days are a stretch each; else the span is one.
const worksOf = `WITH RECURSIVE d (us) AS (SELECT CAST($1 AS BIGINT) UNION ALL SELECT us + CAST($3 AS BIGINT) FROM d WHERE us + CAST($3 AS BIGINT) <= CAST($2 AS BIGINT)),
	b AS MATERIALIZED (SELECT DISTINCT branch FROM compare_page WHERE $6 = '' OR branch = $6)
	SELECT %s FROM d CROSS JOIN b CROSS JOIN runs_run r %s
	WHERE r.branch = b.branch AND r.end_us >= d.us AND r.end_us < d.us + CAST($4 AS BIGINT) AND ` + counted + ` %s`

var (
	worksQuery = fmt.Sprintf(worksOf, `r.branch, r.id, r.order_name, r.film, r.fabric, r.lot, r.cutter, r.press, r.recipe, r.band, r.revision, r.start_us, r.end_us, r.reporter,
	r.pieces, r.reprints, r.drawn_mm2, r.decorated_mm2, r.achievable_mm2, r.layout_loss_mm2, r.edge_loss_mm2, r.test_cut_loss_mm2,
	r.weeding_loss_mm2, r.reprint_film_mm2, r.roll_end_loss_mm2`, "", "")
	reasonsQuery = fmt.Sprintf(worksOf, `p.branch, p.run, p.cause, p.pieces`, `CROSS JOIN runs_reprint p`,
		`AND p.branch = r.branch AND p.run = r.id AND r.reprints > 0 ORDER BY p.branch, p.run, p.place`)
)

// worksArgs are the arguments of both queries.
func worksArgs(x *stretch, branch string, nth int64) []any {
	first, last := int64(x.from), int64(x.to)
	if nth == 1 {
		return []any{first * dayMicros, first * dayMicros, dayMicros, (last - first + 1) * dayMicros, x.asOf, branch}
	}
	first += (nth - first%nth) % nth
	if first > last { // none of its days is in the sample
		return []any{first * dayMicros, first * dayMicros, dayMicros, 0, x.asOf, branch}
	}
	return []any{first * dayMicros, last * dayMicros, nth * dayMicros, dayMicros, x.asOf, branch}
}

// Works lists runs one by one. Faults as Cells, TooLarge/TOO_MANY_WORKS.
func (s *Store) Works(ctx context.Context, branch string, span compare.Span) ([]compare.Work, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	args := worksArgs(x, branch, max(1, int64(span.NthDay)))
	var works []compare.Work
	err = s.inRead(ctx, func(tx *sql.Tx) (err error) {
		day := shift{copies: copies{}, began: map[reporterDay]int64{}}
		if works, err = day.read(ctx, tx, x, args); err != nil {
			return err
		}
		at := make(map[runKey]*compare.Work, len(works))
		for i := range works {
			at[runKey{works[i].Branch, works[i].ID}] = &works[i]
		}
		causes := copies{}
		_, err = all(ctx, tx, func(row scanner) (struct{}, error) {
			var key runKey
			var r compare.Reason
			err := row.Scan(&key.branch, &key.id, &r.Cause, &r.Count)
			causes.one(&r.Cause)
			if w := at[key]; w != nil {
				w.Reasons = append(w.Reasons, r)
			}
			return struct{}{}, err
		}, reasonsQuery, args...)
		return err
	})
	if err != nil {
		return nil, s.fault(err)
	}
	return works, nil
}

// copies keeps one copy of each text: very many runs have few films, machines and lots between them.
type copies map[string]string

func (s copies) one(text *string) {
	if kept, ok := s[*text]; ok {
		*text = kept
		return
	}
	s[*text] = *text
}

// reporterDay names the UTC day of one reporter at one branch.
type reporterDay struct {
	branch, reporter string
	day              int64
}

// shift finds out how long each run's reporter had been at it, before film and fabric are chosen: another film's run that morning
// counts too.
type shift struct {
	copies
	began map[reporterDay]int64 // the first start, in µs
	days  []reporterDay         // of each run kept
}

// read answers the runs of the stretch's film and fabric, by branch, start and id. Others it only looks at.
func (s *shift) read(ctx context.Context, tx *sql.Tx, x *stretch, args []any) ([]compare.Work, error) {
	rows, err := tx.QueryContext(ctx, worksQuery, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var works []compare.Work
	for rows.Next() {
		w, err := s.work(rows)
		if err != nil {
			return nil, err
		}
		if !x.takes(stratum{film: w.Film, fabric: w.Fabric}) {
			s.days = s.days[:len(s.days)-1]
			continue
		}
		if works = append(works, w); len(works) > compare.MaxWorks {
			return nil, fault.New(fault.TooLarge, room, TooManyWorks, "These days hold more than %d runs, too many to look at one by one. Choose fewer days, one film or one branch.", compare.MaxWorks)
		}
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	for i := range works {
		works[i].OnFor = works[i].Start.Sub(instant(s.began[s.days[i]]))
	}
	slices.SortFunc(works, func(a, b compare.Work) int {
		return cmp.Or(strings.Compare(a.Branch, b.Branch), a.Start.Compare(b.Start), strings.Compare(a.ID, b.ID))
	})
	return works, nil
}

func (s *shift) work(row scanner) (compare.Work, error) {
	var w compare.Work
	var start, end int64
	var reporter string
	err := row.Scan(&w.Branch, &w.ID, &w.Order, &w.Film, &w.Fabric, &w.Lot, &w.Cutter, &w.Press, &w.Recipe, &w.Band, &w.Revision, &start, &end, &reporter,
		&w.Pieces, &w.Reprints, &w.Drawn, &w.Decorated, &w.Achievable, &w.LayoutLoss, &w.EdgeLoss, &w.TestCutLoss, &w.WeedingLoss, &w.ReprintLoss, &w.RollEndLoss)
	w.Pieces += w.Reprints
	for _, text := range []*string{&w.Branch, &w.Order, &w.Film, &w.Fabric, &w.Lot, &w.Cutter, &w.Press, &w.Recipe, &reporter} {
		s.one(text)
	}
	w.Start, w.End = instant(start), instant(end)
	key := reporterDay{w.Branch, reporter, start / dayMicros}
	if first, ok := s.began[key]; !ok || start < first {
		s.began[key] = start
	}
	s.days = append(s.days, key)
	return w, err
}
