package sqlstore

import (
	"context"
	"database/sql"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/recipes/fault"
)

// The time that a reporter has been at it is found before film, fabric and branch are chosen: another film's run that
// morning counts too.
const worksQuery = `SELECT branch, id, order_name, film, fabric, lot, cutter, press, recipe, band, revision, start_us, end_us, on_us,
	pieces, reprints, drawn_mm2, decorated_mm2, achievable_mm2, layout_loss_mm2, edge_loss_mm2, test_cut_loss_mm2,
	weeding_loss_mm2, reprint_film_mm2, roll_end_loss_mm2
	FROM (SELECT r.*, r.start_us - min(r.start_us) OVER (PARTITION BY r.branch, r.reporter, r.start_us / 86400000000) AS on_us
		FROM runs_run r WHERE r.day >= $1 AND r.day <= $2 AND ($6 = '' OR r.branch = $6)
			AND r.end_us / 86400000000 % $8 = 0 AND ` + counted + `) w
	WHERE ($3 = '' OR film = $3) AND ($4 = '' OR fabric = $4) ORDER BY branch, start_us, id LIMIT $7`

const reasonsQuery = `SELECT p.branch, p.run, p.cause, p.pieces FROM runs_run r
	JOIN runs_reprint p ON p.branch = r.branch AND p.run = r.id
	WHERE r.day >= $1 AND r.day <= $2 AND ($3 = '' OR r.film = $3) AND ($4 = '' OR r.fabric = $4) AND ($6 = '' OR r.branch = $6)
	AND r.end_us / 86400000000 % $7 = 0 AND ` + counted + ` ORDER BY p.branch, p.run, p.place`

// Works lists runs one by one. Faults as Cells, TooLarge/TOO_MANY_WORKS.
func (s *Store) Works(ctx context.Context, branch string, span compare.Span) ([]compare.Work, error) {
	x, err := stretchOf(span)
	if err != nil {
		return nil, err
	}
	nth := max(1, int64(span.NthDay))
	var works []compare.Work
	err = s.inRead(ctx, func(tx *sql.Tx) (err error) {
		works, err = all(ctx, tx, copies{}.work, worksQuery, span.From, span.To, span.Film, span.Fabric, x.asOf, branch, compare.MaxWorks+1, nth)
		if err != nil {
			return err
		}
		if len(works) > compare.MaxWorks {
			return fault.New(fault.TooLarge, room, TooManyWorks, "These days hold more than %d runs, too many to look at one by one. Choose fewer days, one film or one branch.", compare.MaxWorks)
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
		}, reasonsQuery, span.From, span.To, span.Film, span.Fabric, x.asOf, branch, nth)
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

func (s copies) work(row scanner) (compare.Work, error) {
	var w compare.Work
	var start, end, on int64
	err := row.Scan(&w.Branch, &w.ID, &w.Order, &w.Film, &w.Fabric, &w.Lot, &w.Cutter, &w.Press, &w.Recipe, &w.Band, &w.Revision, &start, &end, &on,
		&w.Pieces, &w.Reprints, &w.Drawn, &w.Decorated, &w.Achievable, &w.LayoutLoss, &w.EdgeLoss, &w.TestCutLoss, &w.WeedingLoss, &w.ReprintLoss, &w.RollEndLoss)
	w.Pieces += w.Reprints
	for _, text := range []*string{&w.Branch, &w.Order, &w.Film, &w.Fabric, &w.Lot, &w.Cutter, &w.Press, &w.Recipe} {
		s.one(text)
	}
	w.Start, w.End, w.OnFor = instant(start), instant(end), time.Duration(on)*time.Microsecond
	return w, err
}
