package sqlstore

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

// MaxRuns is the most runs that one Append takes.
const MaxRuns = 10_000

// Reports of one branch wait for each other; all wait while the roll-ups are built anew.
const (
	rollUpsLock = "compare"
	branchLock  = "runs_run "
)

var runColumns = []string{
	"branch", "id", "order_name", "recipe", "revision", "recipe_digest", "film", "fabric", "colour", "lot", "cutter", "press",
	"band", "pieces", "good", "reprints", "drawn_mm2", "drawn_length_mm", "decorated_mm2", "layout_loss_mm2", "edge_loss_mm2",
	"test_cut_loss_mm2", "weeding_loss_mm2", "reprint_film_mm2", "roll_end_loss_mm2", "achievable_mm2", "start_us", "end_us",
	"day", "timed_dwell_seconds", "corrects", "reporter",
}

var reprintColumns = []string{"branch", "run", "place", "cause", "pieces", "film_mm2"}

var (
	runSelect = `SELECT ` + strings.Join(runColumns, ", ") + ` FROM runs_run `
	runByID   = runSelect + `WHERE branch = $1 AND id = $2`
	runsFirst = runSelect + `WHERE branch = $1 ORDER BY end_us DESC, id DESC LIMIT $2`
	runsBelow = runSelect + `WHERE branch = $1 AND (end_us, id) < ($3, $4) ORDER BY end_us DESC, id DESC LIMIT $2`
)

const (
	correctionOf = `SELECT 1 FROM runs_run WHERE branch = $1 AND corrects = $2 AND corrects <> ''`
	reprintsOf   = `SELECT cause, pieces, film_mm2 FROM runs_reprint WHERE branch = $1 AND run = $2 ORDER BY place`
)

// known is how many ids one query asks for; a fixed number, so that its text is one text. 50 keeps SQLite quick.
const known = 50

var knownIDs = func() string {
	var b strings.Builder
	b.WriteString("SELECT id FROM runs_run WHERE branch = $1 AND id IN (")
	for i := range known {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "$%d", i+2)
	}
	return b.String() + ")"
}()

// runKey names a run: ids are made by clients, so another branch may have made the same.
type runKey struct{ branch, id string }

// Append stores runs, all or none, and their roll-ups in the same transaction. Faults NotFound/RUN_NOT_FOUND and
// NotReady/RUN_CORRECTED_ALREADY for a correction, TooLarge/TOO_MANY_RUNS, Invalid/REVISION_NAME_INVALID.
func (s *Store) Append(ctx context.Context, rs []runs.Run) (stored, knownCount int, err error) {
	if len(rs) > MaxRuns {
		return 0, 0, fault.New(fault.TooLarge, room, TooManyRuns, "%d runs were sent at once; at most %d are taken. Send them in parts.", len(rs), MaxRuns)
	}
	revisions := make([]int64, len(rs))
	for i, r := range rs {
		if r.Recipe == "" {
			continue // worked by hand, without a recipe: revision 0
		}
		if _, revisions[i], err = r.Recipe.Parts(); err != nil {
			return 0, 0, err
		}
	}
	err = s.inWrite(ctx, func(t *writing) error {
		a := appending{t: t, sums: newRollUps(), stored: map[runKey]bool{}, fresh: map[runKey]*runs.Run{}, corrected: map[runKey]bool{}}
		if err := a.open(ctx, rs); err != nil {
			return err
		}
		for i := range rs {
			if err := a.take(ctx, &rs[i], revisions[i]); err != nil {
				return err
			}
		}
		stored, knownCount = len(a.rows), len(rs)-len(a.rows)
		if err := a.keep(ctx); err != nil {
			return err
		}
		return keepUses(ctx, t, a.fresh)
	})
	if err != nil {
		return 0, 0, err
	}
	return stored, knownCount, nil
}

// appending is one Append under way.
type appending struct {
	t              *writing
	sums           rollUps
	stored         map[runKey]bool      // ids of the batch that were stored before it
	fresh          map[runKey]*runs.Run // runs of the batch taken so far
	corrected      map[runKey]bool      // runs that the batch corrects
	rows, reprints [][]any
}

// open locks the batch's branches and finds out which ids are stored.
func (a *appending) open(ctx context.Context, rs []runs.Run) error {
	if err := a.t.engine.lock(ctx, a.t.Tx, rollUpsLock, true); err != nil {
		return err
	}
	ids := map[string][]any{}
	for _, r := range rs {
		ids[r.Branch] = append(ids[r.Branch], r.ID)
	}
	branches := make([]string, 0, len(ids))
	for branch := range ids {
		branches = append(branches, branch)
	}
	slices.Sort(branches) // two batches lock in one order, so neither waits for the other for ever
	for _, branch := range branches {
		if err := a.t.lock(ctx, branchLock+branch); err != nil {
			return err
		}
		for part := range slices.Chunk(ids[branch], known) {
			args := make([]any, 0, known+1)
			args = append(append(args, branch), part...)
			for len(args) <= known {
				args = append(args, part[0])
			}
			found, err := all(ctx, a.t, func(row scanner) (id string, err error) {
				err = row.Scan(&id)
				return id, err
			}, knownIDs, args...)
			if err != nil {
				return err
			}
			for _, id := range found {
				a.stored[runKey{branch, id}] = true
			}
		}
	}
	return nil
}

// take adds one run to what will be kept, unless it is known.
func (a *appending) take(ctx context.Context, r *runs.Run, revision int64) error {
	key := runKey{r.Branch, r.ID}
	if a.stored[key] || a.fresh[key] != nil {
		return nil
	}
	if r.Corrects != "" {
		if err := a.correct(ctx, r); err != nil {
			return err
		}
	}
	a.fresh[key] = r
	a.sums.add(r, revision, 1)
	a.rows = append(a.rows, []any{
		r.Branch, r.ID, r.Order, string(r.Recipe), revision, r.RecipeDigest[:], r.Film, string(r.Fabric), r.Colour, r.Lot, r.Cutter, r.Press,
		int64(r.Band), r.Pieces, r.Good, r.ReprintCount(), int64(r.Drawn), int64(r.DrawnLength), int64(r.Decorated), int64(r.LayoutLoss), int64(r.EdgeLoss),
		int64(r.TestCutLoss), int64(r.WeedingLoss), int64(r.ReprintFilm()), int64(r.RollEndLoss), int64(r.Achievable), micros(r.Start), micros(r.End),
		dayOf(r.End), int64(r.TimedDwell), r.Corrects, r.Reporter,
	})
	for place, p := range r.Reprints {
		a.reprints = append(a.reprints, []any{r.Branch, r.ID, int64(place), p.Cause, p.Count, int64(p.Film)})
	}
	return nil
}

// correct takes the corrected run out of the roll-ups; its raw row stays.
func (a *appending) correct(ctx context.Context, r *runs.Run) error {
	key := runKey{r.Branch, r.Corrects}
	var old runs.Run
	if fresh := a.fresh[key]; fresh != nil {
		old = *fresh
	} else {
		var err error
		if old, err = readRun(ctx, a.t, r.Branch, r.Corrects); err != nil {
			return err
		}
	}
	var one int
	switch err := a.t.QueryRowContext(ctx, correctionOf, r.Branch, r.Corrects).Scan(&one); {
	case err == nil, a.corrected[key]:
		return fault.New(fault.NotReady, "runs", "RUN_CORRECTED_ALREADY", "This run was corrected already. Correct the run that took its place.").With("run", r.Corrects)
	case !none(err):
		return err
	}
	a.corrected[key] = true
	var revision int64
	if old.Recipe != "" {
		var err error
		if _, revision, err = old.Recipe.Parts(); err != nil {
			return err
		}
	}
	a.sums.add(&old, revision, -1)
	return nil
}

// keep writes the rows and the roll-ups.
func (a *appending) keep(ctx context.Context) error {
	if len(a.rows) == 0 {
		return nil
	}
	if err := a.t.engine.bulk(ctx, a.t, "runs_run", runColumns, a.rows); err != nil {
		return err
	}
	if len(a.reprints) > 0 {
		if err := a.t.engine.bulk(ctx, a.t, "runs_reprint", reprintColumns, a.reprints); err != nil {
			return err
		}
	}
	return a.sums.keep(ctx, a.t)
}

// dayOf is the UTC day of an instant, as columns and spans write it.
func dayOf(t time.Time) string { return t.UTC().Format(time.DateOnly) }

func scanRun(row scanner) (runs.Run, error) {
	var r runs.Run
	var digest []byte
	var revision, reprints, reprintFilm, start, end int64
	var day string
	err := row.Scan(&r.Branch, &r.ID, &r.Order, &r.Recipe, &revision, &digest, &r.Film, &r.Fabric, &r.Colour, &r.Lot, &r.Cutter, &r.Press,
		&r.Band, &r.Pieces, &r.Good, &reprints, &r.Drawn, &r.DrawnLength, &r.Decorated, &r.LayoutLoss, &r.EdgeLoss,
		&r.TestCutLoss, &r.WeedingLoss, &reprintFilm, &r.RollEndLoss, &r.Achievable, &start, &end,
		&day, &r.TimedDwell, &r.Corrects, &r.Reporter)
	if err != nil {
		return r, err
	}
	r.Start, r.End = instant(start), instant(end)
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
	err = s.inRead(ctx, func(tx *sql.Tx) (err error) {
		if id == "" {
			list, err = all(ctx, tx, scanRun, runsFirst, branch, limit(most))
		} else {
			list, err = all(ctx, tx, scanRun, runsBelow, branch, limit(most), micros(before), id)
		}
		for i := range list {
			if err == nil {
				err = withReprints(ctx, tx, &list[i])
			}
		}
		return err
	})
	return list, err
}
