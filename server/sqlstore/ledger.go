package sqlstore

import (
	"context"
	"database/sql"
	"strings"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

var runColumns = []string{
	"branch", "id", "order_name", "recipe", "revision", "recipe_digest", "film", "fabric", "colour", "lot", "cutter", "press",
	"band", "pieces", "good", "reprints", "drawn_mm2", "drawn_length_mm", "decorated_mm2", "layout_loss_mm2", "edge_loss_mm2",
	"test_cut_loss_mm2", "weeding_loss_mm2", "reprint_film_mm2", "roll_end_loss_mm2", "achievable_mm2", "start_us", "end_us",
	"day", "timed_dwell_seconds", "corrects", "reporter", "sequence", "received_us",
}

var reprintColumns = []string{"branch", "run", "place", "cause", "pieces", "film_mm2"}

var (
	runSelect = `SELECT ` + strings.Join(runColumns, ", ") + `,
		coalesce((SELECT c.id FROM runs_run c WHERE c.branch = r.branch AND c.corrects = r.id AND c.corrects <> ''), '') FROM runs_run r `
	runByID   = runSelect + `WHERE branch = $1 AND id = $2`
	runsFirst = `WHERE branch = $1 ORDER BY end_us DESC, id DESC LIMIT $2`
	runsBelow = `WHERE branch = $1 AND (end_us, id) < ($3, $4) ORDER BY end_us DESC, id DESC LIMIT $2`
)

const (
	reprintsOf      = `SELECT cause, pieces, film_mm2 FROM runs_reprint WHERE branch = $1 AND run = $2 ORDER BY place`
	reprintsOfThose = `SELECT p.run, p.cause, p.pieces, p.film_mm2 FROM (SELECT id FROM runs_run ` // then which, and the join
)

// runRow is a run as its columns hold it.
func runRow(r *runs.Run, revision int64) []any {
	return []any{
		r.Branch, r.ID, r.Order, string(r.Recipe), revision, r.RecipeDigest[:], r.Film, string(r.Fabric), r.Colour, r.Lot, r.Cutter, r.Press,
		int64(r.Band), r.Pieces, r.Good, r.ReprintCount(), int64(r.Drawn), int64(r.DrawnLength), int64(r.Decorated), int64(r.LayoutLoss), int64(r.EdgeLoss),
		int64(r.TestCutLoss), int64(r.WeedingLoss), int64(r.ReprintFilm()), int64(r.RollEndLoss), int64(r.Achievable), micros(r.Start), micros(r.End),
		dayOf(r.End), int64(r.TimedDwell), r.Corrects, r.Reporter, r.Sequence, micros(r.Received),
	}
}

// revisionOf is the number of the recipe's revision, 0 without one. A stored run's name was read once before.
func revisionOf(r *runs.Run) int64 {
	if r.Recipe == "" {
		return 0
	}
	_, number, _ := r.Recipe.Parts()
	return number
}

// dayOf is the UTC day of an instant, as columns and spans write it.
func dayOf(t time.Time) string { return t.UTC().Format(time.DateOnly) }

func scanRun(row scanner) (runs.Run, error) {
	var r runs.Run
	var digest []byte
	var revision, reprints, reprintFilm, start, end, received int64
	var day string
	err := row.Scan(&r.Branch, &r.ID, &r.Order, &r.Recipe, &revision, &digest, &r.Film, &r.Fabric, &r.Colour, &r.Lot, &r.Cutter, &r.Press,
		&r.Band, &r.Pieces, &r.Good, &reprints, &r.Drawn, &r.DrawnLength, &r.Decorated, &r.LayoutLoss, &r.EdgeLoss,
		&r.TestCutLoss, &r.WeedingLoss, &reprintFilm, &r.RollEndLoss, &r.Achievable, &start, &end,
		&day, &r.TimedDwell, &r.Corrects, &r.Reporter, &r.Sequence, &received, &r.CorrectedBy)
	if err != nil {
		return r, err
	}
	r.Start, r.End, r.Received = instant(start), instant(end), instant(received)
	r.RecipeDigest, err = recipes.ParseDigest(digest)
	return r, err
}

// withReprints reads what was made again in a run. Runs are stored whole, so a run that is seen has all of them.
func withReprints(ctx context.Context, q querier, r *runs.Run) error {
	var err error
	r.Reprints, err = all(ctx, q, func(row scanner) (runs.Reprint, error) {
		var p runs.Reprint
		err := row.Scan(&p.Cause, &p.Count, &p.Film)
		return p, err
	}, reprintsOf, r.Branch, r.ID)
	return err
}

func readRun(ctx context.Context, q querier, branch, id string) (runs.Run, error) {
	r, err := scanRun(q.QueryRowContext(ctx, runByID, branch, id))
	if none(err) {
		return r, fault.New(fault.NotFound, "runs", "RUN_NOT_FOUND", "There is no such run in this branch. Look at the branch's list of runs.").With("run", id)
	}
	if err == nil {
		err = withReprints(ctx, q, &r)
	}
	return r, err
}

// Run reads one. Fault NotFound/RUN_NOT_FOUND.
func (s *Store) Run(ctx context.Context, branch, id string) (r runs.Run, err error) {
	err = s.inRead(ctx, func(tx *sql.Tx) (err error) {
		r, err = readRun(ctx, tx, branch, id)
		return err
	})
	return r, err
}

// Runs lists a branch's runs, newest end first, below the one named by (before, id); "" starts at the newest. At most
// 10 000 come at once.
func (s *Store) Runs(ctx context.Context, branch string, before time.Time, id string, most int) (list []runs.Run, err error) {
	which, args := runsFirst, []any{branch, limit(most)}
	if id != "" {
		which, args = runsBelow, append(args, micros(before), id)
	}
	err = s.inRead(ctx, func(tx *sql.Tx) (err error) {
		if list, err = all(ctx, tx, scanRun, runSelect+which, args...); err != nil {
			return err
		}
		at := make(map[string]*runs.Run, len(list))
		for i := range list {
			at[list[i].ID] = &list[i]
		}
		_, err = all(ctx, tx, func(row scanner) (struct{}, error) {
			var run string
			var p runs.Reprint
			err := row.Scan(&run, &p.Cause, &p.Count, &p.Film)
			if r := at[run]; err == nil && r != nil {
				r.Reprints = append(r.Reprints, p)
			}
			return struct{}{}, err
		}, reprintsOfThose+which+`) r JOIN runs_reprint p ON p.branch = $1 AND p.run = r.id ORDER BY p.run, p.place`, args...)
		return err
	})
	return list, err
}

// NewestSequence is the place of the last run in the order of receipt, 0 before the first.
func (s *Store) NewestSequence(ctx context.Context) (sequence int64, err error) {
	err = s.read.QueryRowContext(ctx, newestRun).Scan(&sequence)
	if none(err) {
		return 0, nil
	}
	return sequence, s.fault(err)
}
