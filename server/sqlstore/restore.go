package sqlstore

import (
	"context"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const anythingApproved = `SELECT (SELECT count(*) FROM recipes_revision) + (SELECT count(*) FROM recipes_release) + (SELECT count(*) FROM recipes_draft)`

// Restore stores revisions and releases into a store that holds none, nor drafts: all or nothing. Fault
// NotReady/STORE_NOT_EMPTY.
func (s *Store) Restore(ctx context.Context, revisions []recipes.Kept, releases []recipes.SignedRelease) error {
	return s.inWrite(ctx, func(t *writing) error {
		for _, word := range []string{"recipes_draft", "recipes_revision", "recipes_release"} {
			if err := t.lock(ctx, word); err != nil {
				return err
			}
		}
		var n int64
		if err := t.QueryRowContext(ctx, anythingApproved).Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return fault.New(fault.NotReady, "recipes", "STORE_NOT_EMPTY", "There are drafts, revisions or releases here already, so nothing is brought in. Start with an empty store.")
		}
		for _, k := range revisions {
			if err := addRevision(ctx, t, k.Row, k.Sealed); err != nil {
				return err
			}
		}
		for _, r := range releases {
			row, err := releaseRow(r, "")
			if err != nil {
				return err
			}
			if err := addRelease(ctx, t, r, row); err != nil {
				return err
			}
		}
		return nil
	})
}
