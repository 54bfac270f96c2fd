package sqlstore

import (
	"context"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const draftColumns = `id, record, base_number, content, digest, etag, state, author, writers, saver, updated_us, reason, refusal`

const (
	draftByID    = `SELECT ` + draftColumns + ` FROM recipes_draft WHERE id = $1`
	draftOpen    = `SELECT ` + draftColumns + ` FROM recipes_draft WHERE record = $1 AND state IN ('writing', 'asked', 'refused')`
	draftsOpen   = `SELECT ` + draftColumns + ` FROM recipes_draft WHERE state IN ('writing', 'asked', 'refused') ORDER BY updated_us DESC, id`
	draftsOf     = `SELECT ` + draftColumns + ` FROM recipes_draft WHERE state = $1 ORDER BY updated_us DESC, id`
	draftAdd     = `INSERT INTO recipes_draft (` + draftColumns + `) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`
	draftReplace = `UPDATE recipes_draft SET record = $2, base_number = $3, content = $4, digest = $5, etag = $6, state = $7,
		author = $8, writers = $9, saver = $10, updated_us = $11, reason = $12, refusal = $13 WHERE id = $1 AND etag = $6 - 1`
)

func scanDraft(row scanner) (recipes.Draft, error) {
	var d recipes.Draft
	var content, digest []byte
	var writers string
	var updated int64
	if err := row.Scan(&d.ID, &d.Record, &d.BaseNumber, &content, &digest, &d.Etag, &d.State, &d.Author, &writers,
		&d.Saver, &updated, &d.Reason, &d.Refusal); err != nil {
		return d, err
	}
	d.Updated = instant(updated)
	if err := readList(writers, &d.Writers); err != nil {
		return d, err
	}
	want, err := digestOf(digest)
	if err != nil {
		return d, err
	}
	d.Content, err = recipes.Unseal(content, want)
	return d, err
}

func draftRow(d recipes.Draft) ([]any, error) {
	writers, err := list(d.Writers)
	digest := d.Content.Digest()
	return []any{d.ID, d.Record, d.BaseNumber, d.Content.Content(), digest[:], d.Etag, d.State, d.Author, writers,
		d.Saver, micros(d.Updated), d.Reason, d.Refusal}, err
}

// Drafts lists drafts in the state ("" is all open ones), newest first.
func (s *Store) Drafts(ctx context.Context, state recipes.DraftState) ([]recipes.Draft, error) {
	if state == "" {
		list, err := all(ctx, s.read, scanDraft, draftsOpen)
		return list, s.fault(err)
	}
	list, err := all(ctx, s.read, scanDraft, draftsOf, state)
	return list, s.fault(err)
}

// Draft reads one. Fault NotFound/DRAFT_NOT_FOUND.
func (s *Store) Draft(ctx context.Context, id string) (recipes.Draft, error) {
	d, err := scanDraft(s.read.QueryRowContext(ctx, draftByID, id))
	if none(err) {
		return d, draftNotFound()
	}
	return d, s.fault(err)
}

func draftNotFound() error {
	return fault.New(fault.NotFound, "recipes", "DRAFT_NOT_FOUND", "There is no such draft. Look at the list of drafts.")
}

// AddDraft stores a new draft; the same id again answers the stored one. Fault MovedOn/DRAFT_OPEN.
func (s *Store) AddDraft(ctx context.Context, d recipes.Draft) (recipes.Draft, error) {
	var stored recipes.Draft
	err := s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, "recipes_draft"); err != nil {
			return err
		}
		var err error
		if stored, err = scanDraft(t.QueryRowContext(ctx, draftByID, d.ID)); !none(err) {
			return err
		}
		switch open, err := scanDraft(t.QueryRowContext(ctx, draftOpen, d.Record)); {
		case err == nil && d.State.Open():
			return fault.New(fault.MovedOn, "recipes", "DRAFT_OPEN", "%s is already writing a draft of this record. Open that one.", open.Author).With("draft", open.ID)
		case err != nil && !none(err):
			return err
		}
		row, err := draftRow(d)
		if err != nil {
			return err
		}
		if _, err := t.ExecContext(ctx, draftAdd, row...); err != nil {
			return err
		}
		stored, err = scanDraft(t.QueryRowContext(ctx, draftByID, d.ID))
		return err
	})
	if err != nil {
		return recipes.Draft{}, err
	}
	return stored, nil
}

// PutDraft replaces the draft if it stands at the etag before. Faults MovedOn/DRAFT_MOVED_ON, NotFound/DRAFT_NOT_FOUND.
func (s *Store) PutDraft(ctx context.Context, d recipes.Draft) error {
	return s.inWrite(ctx, func(t *writing) error { return replaceDraft(ctx, t, d) })
}

func replaceDraft(ctx context.Context, t *writing, d recipes.Draft) error {
	row, err := draftRow(d)
	if err != nil {
		return err
	}
	n, err := t.change(ctx, draftReplace, row...)
	if err != nil || n == 1 {
		return err
	}
	switch stands, err := scanDraft(t.QueryRowContext(ctx, draftByID, d.ID)); {
	case none(err):
		return draftNotFound()
	case err != nil:
		return err
	default:
		return recipes.MovedOn(stands)
	}
}

const (
	keepSealed   = `INSERT INTO recipes_sealed (digest, content) VALUES ($1, $2) ON CONFLICT (digest) DO NOTHING`
	keepRevision = `INSERT INTO recipes_revision (record, number, kind, title, digest, author, approver, approved_us, reason)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`
	newestRevision = `SELECT coalesce(max(number), 0) FROM recipes_revision WHERE record = $1`
	keepRelease    = `INSERT INTO recipes_release (number, digest, signature, key_name, revisions, markets, branches, effective_us,
		approver, made_us, previous, reason, request, proposer, widens, cancels, withdrawn, next_key, from_key)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)`
	releaseOf = `SELECT number FROM recipes_release WHERE request = $1`
)

// KeepRevision stores sealed bytes and row and closes the draft, all or nothing, if the draft still stands at the
// etag before. Faults MovedOn/DRAFT_MOVED_ON, MovedOn/REVISION_TAKEN.
func (s *Store) KeepRevision(ctx context.Context, d recipes.Draft, row recipes.RevisionRow, sealed recipes.Sealed) error {
	return s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, "recipes_revision"); err != nil {
			return err
		}
		if err := replaceDraft(ctx, t, d); err != nil {
			return err
		}
		return addRevision(ctx, t, row, sealed)
	})
}

func addRevision(ctx context.Context, t *writing, row recipes.RevisionRow, sealed recipes.Sealed) error {
	var newest int64
	if err := t.QueryRowContext(ctx, newestRevision, row.Record).Scan(&newest); err != nil {
		return err
	}
	if row.Number != newest+1 {
		return fault.New(fault.MovedOn, "recipes", "REVISION_TAKEN", "Revision %d of this record was approved a moment ago. Look at it, then approve again.", newest)
	}
	digest := sealed.Digest()
	if _, err := t.ExecContext(ctx, keepSealed, digest[:], sealed.Content()); err != nil {
		return err
	}
	kind, _ := row.Record.Kind()
	_, err := t.ExecContext(ctx, keepRevision, row.Record, row.Number, kind, row.Title, digest[:], row.Author, row.Approver, micros(row.Approved), row.Reason)
	return err
}

// KeepRelease stores a release whose number is the newest plus one, which keeps the numbers without gaps. Fault
// MovedOn/RELEASE_TAKEN, also where the request made a release already.
func (s *Store) KeepRelease(ctx context.Context, r recipes.SignedRelease, request string) error {
	row, err := releaseRow(r, request)
	if err != nil {
		return s.fault(err)
	}
	return s.inWrite(ctx, func(t *writing) error { return addRelease(ctx, t, r, row) })
}

// releaseRow is a release as its table holds it.
func releaseRow(s recipes.SignedRelease, request string) ([]any, error) {
	r := s.Release
	released := make([]releasedColumn, len(r.Revisions))
	for i, v := range r.Revisions {
		released[i] = releasedColumn{v.Revision, v.Digest[:]}
	}
	lists := make([]string, 4)
	for i, v := range []any{released, r.Markets, r.Branches, r.Withdrawn} {
		var err error
		if lists[i], err = list(v); err != nil {
			return nil, err
		}
	}
	var asked any // NULL where nobody named a request, so that two of these do not collide
	if request != "" {
		asked = request
	}
	digest := s.Sealed.Digest()
	return []any{r.Number, digest[:], bytesOf(s.Signature), s.Key, lists[0], lists[1], lists[2], micros(r.Effective), r.Approver,
		micros(r.Made), r.Previous[:], r.Reason, asked, r.Proposer, r.Widens, r.Cancels, lists[3], r.NextKey, r.FromKey}, nil
}

func addRelease(ctx context.Context, t *writing, r recipes.SignedRelease, row []any) error {
	if err := t.lock(ctx, "recipes_release"); err != nil {
		return err
	}
	var newest int64
	if err := t.QueryRowContext(ctx, newestRelease).Scan(&newest); err != nil {
		return err
	}
	if r.Release.Number != newest+1 {
		return releaseTaken()
	}
	digest := r.Sealed.Digest()
	if _, err := t.ExecContext(ctx, keepSealed, digest[:], r.Sealed.Content()); err != nil {
		return err
	}
	_, err := t.ExecContext(ctx, keepRelease, row...)
	if err != nil && t.engine.meaning(err) == duplicate {
		return releaseTaken()
	}
	return err
}

func releaseTaken() error {
	return fault.New(fault.MovedOn, "recipes", "RELEASE_TAKEN", "Another release was made a moment ago. Look at it, then release again.")
}

// ReleaseOf finds the release that a request made; number 0 where there is none.
func (s *Store) ReleaseOf(ctx context.Context, request string) (int64, error) {
	var n int64
	err := s.read.QueryRowContext(ctx, releaseOf, request).Scan(&n)
	if none(err) {
		return 0, nil
	}
	return n, s.fault(err)
}
