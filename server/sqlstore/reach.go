package sqlstore

import (
	"cmp"
	"context"
	"slices"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes"
)

const (
	reachInsert  = `INSERT INTO recipes_reach (branch, held, pulled_us, since_us) VALUES `
	reachReplace = ` ON CONFLICT (branch) DO UPDATE SET pulled_us = excluded.pulled_us,
		since_us = CASE WHEN excluded.held > recipes_reach.held THEN excluded.since_us ELSE recipes_reach.since_us END,
		held = CASE WHEN excluded.held > recipes_reach.held THEN excluded.held ELSE recipes_reach.held END`
	noteOpened = `INSERT INTO recipes_reach (branch, held, pulled_us, since_us, opened, opened_us) VALUES ($1, 0, 0, 0, $2, $3)
		ON CONFLICT (branch) DO UPDATE SET opened = excluded.opened, opened_us = excluded.opened_us
		WHERE excluded.opened > recipes_reach.opened`
	reaches = `SELECT branch, held, pulled_us, since_us, opened, opened_us FROM recipes_reach`
	keepUse = `INSERT INTO recipes_use (branch, revision, first_us, last_us) VALUES ($1, $2, $3, $4)
		ON CONFLICT (branch, revision) DO UPDATE SET
		first_us = CASE WHEN excluded.first_us < recipes_use.first_us THEN excluded.first_us ELSE recipes_use.first_us END,
		last_us = CASE WHEN excluded.last_us > recipes_use.last_us THEN excluded.last_us ELSE recipes_use.last_us END`
	usesAll = `SELECT branch, revision, first_us, last_us FROM recipes_use`
)

// NoteReach stores that the branch holds the release; a lower number than stored changes only the time.
func (s *Store) NoteReach(ctx context.Context, r recipes.Reach) error {
	return s.NoteReaches(ctx, []recipes.Reach{r})
}

// reachesAtOnce is how many rows one statement writes: SQLite reads the places of a long list in quadratic time.
const reachesAtOnce = 100

// NoteReaches does the same for many branches at once, each of them once.
func (s *Store) NoteReaches(ctx context.Context, list []recipes.Reach) error {
	return s.inWrite(ctx, func(t *writing) error {
		for chunk := range slices.Chunk(list, reachesAtOnce) {
			var args []any
			for _, r := range chunk {
				args = append(args, r.Branch, r.Held, micros(r.Pulled), micros(r.Pulled))
			}
			if _, err := t.ExecContext(ctx, reachInsert+places(len(chunk), 4, 1)+reachReplace, args...); err != nil {
				return err
			}
		}
		return nil
	})
}

// NoteOpened stores that a card of the release was opened; a lower or equal number than stored changes nothing.
func (s *Store) NoteOpened(ctx context.Context, branch string, release int64, at time.Time) error {
	_, err := s.write.ExecContext(ctx, noteOpened, branch, release, micros(at))
	return s.fault(err)
}

// Reaches lists what is known, by branch.
func (s *Store) Reaches(ctx context.Context) ([]recipes.Reach, error) {
	list, err := all(ctx, s.read, func(row scanner) (recipes.Reach, error) {
		var r recipes.Reach
		var pulled, since, opened int64
		err := row.Scan(&r.Branch, &r.Held, &pulled, &since, &r.Opened, &opened)
		r.Pulled, r.Since, r.OpenedAt = knownInstant(pulled), knownInstant(since), knownInstant(opened)
		return r, err
	}, reaches)
	slices.SortFunc(list, func(a, b recipes.Reach) int { return cmp.Compare(a.Branch, b.Branch) })
	return list, s.fault(err)
}

// knownInstant is the zero time for 0, which stands for what is not known.
func knownInstant(us int64) time.Time {
	if us == 0 {
		return time.Time{}
	}
	return instant(us)
}

// RevisionUses lists which revisions runs named, by branch and revision.
func (s *Store) RevisionUses(ctx context.Context) ([]recipes.Use, error) {
	list, err := all(ctx, s.read, func(row scanner) (recipes.Use, error) {
		var u recipes.Use
		var first, last int64
		err := row.Scan(&u.Branch, &u.Revision, &first, &last)
		u.First, u.Last = instant(first), instant(last)
		return u, err
	}, usesAll)
	slices.SortFunc(list, compareUses)
	return list, s.fault(err)
}

func compareUses(a, b recipes.Use) int {
	return cmp.Or(cmp.Compare(a.Branch, b.Branch), cmp.Compare(a.Revision, b.Revision))
}

// keepUses notes which revisions the runs of a batch named, in the batch's own transaction.
func keepUses(ctx context.Context, t *writing, fresh map[runKey]*runs.Run) error {
	byKey := map[[2]string]recipes.Use{}
	for _, r := range fresh {
		if r.Recipe == "" {
			continue
		}
		key := [2]string{r.Branch, string(r.Recipe)}
		u, ok := byKey[key]
		if !ok {
			u = recipes.Use{Branch: r.Branch, Revision: r.Recipe, First: r.End, Last: r.End}
		}
		if r.End.Before(u.First) {
			u.First = r.End
		}
		if r.End.After(u.Last) {
			u.Last = r.End
		}
		byKey[key] = u
	}
	list := make([]recipes.Use, 0, len(byKey))
	for _, u := range byKey {
		list = append(list, u)
	}
	slices.SortFunc(list, compareUses) // two batches write in one order, so neither waits for the other for ever
	rows := make([][]any, len(list))
	for i, u := range list {
		rows[i] = []any{u.Branch, string(u.Revision), micros(u.First), micros(u.Last)}
	}
	return t.engine.repeat(ctx, t, keepUse, rows)
}
