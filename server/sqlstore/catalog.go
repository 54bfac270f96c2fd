package sqlstore

import (
	"cmp"
	"context"
	"slices"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const sealedByDigest = `SELECT content FROM recipes_sealed WHERE digest = $1`

// Sealed reads bytes by digest. Faults NotFound/REVISION_NOT_FOUND, Broken/BYTES_CHANGED.
func (s *Store) Sealed(ctx context.Context, digest recipes.Digest) (recipes.Sealed, error) {
	var content []byte
	switch err := s.read.QueryRowContext(ctx, sealedByDigest, digest[:]).Scan(&content); {
	case none(err):
		return recipes.Sealed{}, revisionNotFound()
	case err != nil:
		return recipes.Sealed{}, s.fault(err)
	}
	return recipes.Unseal(content, digest)
}

func revisionNotFound() error {
	return fault.New(fault.NotFound, "recipes", "REVISION_NOT_FOUND", "There is no such revision. Look at the record's list of revisions.")
}

const revisionColumns = `record, number, title, digest, author, approver, approved_us, reason`

const (
	revisionByNumber = `SELECT ` + revisionColumns + ` FROM recipes_revision WHERE record = $1 AND number = $2`
	revisionNewest   = `SELECT ` + revisionColumns + ` FROM recipes_revision WHERE record = $1 ORDER BY number DESC LIMIT 1`
	revisionsOf      = `SELECT ` + revisionColumns + ` FROM recipes_revision WHERE record = $1 ORDER BY number DESC`
	recordsOf        = `SELECT ` + revisionColumns + ` FROM recipes_revision r
		WHERE ($1 = '' OR kind = $1) AND number = (SELECT max(number) FROM recipes_revision n WHERE n.record = r.record)`
)

func scanRevision(row scanner) (recipes.RevisionRow, error) {
	var r recipes.RevisionRow
	var digest []byte
	var approved int64
	err := row.Scan(&r.Record, &r.Number, &r.Title, &digest, &r.Author, &r.Approver, &approved, &r.Reason)
	if err != nil {
		return r, err
	}
	r.Approved = instant(approved)
	r.Digest, err = digestOf(digest)
	return r, err
}

// Revision reads one row; number 0 is the newest. Fault NotFound/REVISION_NOT_FOUND.
func (s *Store) Revision(ctx context.Context, record recipes.RecordName, number int64) (recipes.RevisionRow, error) {
	query, args := revisionNewest, []any{record}
	if number != 0 {
		query, args = revisionByNumber, append(args, number)
	}
	r, err := scanRevision(s.read.QueryRowContext(ctx, query, args...))
	if none(err) {
		return r, revisionNotFound()
	}
	return r, s.fault(err)
}

// Revisions lists a record's rows, newest first. Fault NotFound/RECORD_NOT_FOUND.
func (s *Store) Revisions(ctx context.Context, record recipes.RecordName) ([]recipes.RevisionRow, error) {
	rows, err := all(ctx, s.read, scanRevision, revisionsOf, record)
	if err == nil && len(rows) == 0 {
		return nil, fault.New(fault.NotFound, "recipes", "RECORD_NOT_FOUND", "Nothing was ever approved under the name %s.", record)
	}
	return rows, s.fault(err)
}

// Records lists the newest row of each record of the kind ("" is all), by name.
func (s *Store) Records(ctx context.Context, kind recipes.Kind) ([]recipes.RevisionRow, error) {
	rows, err := all(ctx, s.read, scanRevision, recordsOf, kind)
	// Sorted here and in the other lists, since databases sort text by their own language.
	slices.SortFunc(rows, func(a, b recipes.RevisionRow) int { return cmp.Compare(a.Record, b.Record) })
	return rows, s.fault(err)
}

const releasesAbove = `SELECT r.number, r.digest, s.content, r.signature, r.key_name, r.revisions, r.markets, r.branches,
	r.effective_us, r.approver, r.made_us, r.previous, r.reason, r.proposer, r.widens, r.cancels, r.withdrawn, r.next_key, r.from_key
	FROM recipes_release r JOIN recipes_sealed s ON s.digest = r.digest WHERE r.number > $1 ORDER BY r.number`

// releasedColumn is one entry of the column revisions.
type releasedColumn struct {
	Revision recipes.RevisionName `json:"revision"`
	Digest   []byte               `json:"digest"`
}

func scanRelease(row scanner) (recipes.SignedRelease, error) {
	var r recipes.SignedRelease
	var digest, content, previous []byte
	var revisions, markets, branches, withdrawn string
	var effective, made int64
	if err := row.Scan(&r.Release.Number, &digest, &content, &r.Signature, &r.Key, &revisions, &markets, &branches,
		&effective, &r.Release.Approver, &made, &previous, &r.Release.Reason,
		&r.Release.Proposer, &r.Release.Widens, &r.Release.Cancels, &withdrawn, &r.Release.NextKey, &r.Release.FromKey); err != nil {
		return r, err
	}
	r.Release.Effective, r.Release.Made = instant(effective), instant(made)
	var released []releasedColumn
	for text, into := range map[string]any{revisions: &released, markets: &r.Release.Markets, branches: &r.Release.Branches, withdrawn: &r.Release.Withdrawn} {
		if err := readList(text, into); err != nil {
			return r, err
		}
	}
	for _, c := range released {
		d, err := digestOf(c.Digest)
		if err != nil {
			return r, err
		}
		r.Release.Revisions = append(r.Release.Revisions, recipes.Released{Revision: c.Revision, Digest: d})
	}
	var err error
	if r.Release.Previous, err = digestOf(previous); err != nil {
		return r, err
	}
	want, err := digestOf(digest)
	if err != nil {
		return r, err
	}
	r.Sealed, err = recipes.Unseal(content, want)
	return r, err
}

// Releases lists every release with a number above the one given, in rising order. Fault Broken/BYTES_CHANGED.
func (s *Store) Releases(ctx context.Context, above int64) ([]recipes.SignedRelease, error) {
	list, err := all(ctx, s.read, scanRelease, releasesAbove, above)
	return list, s.fault(err)
}

const newestRelease = `SELECT coalesce(max(number), 0) FROM recipes_release`

// NewestRelease is the highest number; 0 where there is none.
func (s *Store) NewestRelease(ctx context.Context) (int64, error) {
	var n int64
	err := s.read.QueryRowContext(ctx, newestRelease).Scan(&n)
	return n, s.fault(err)
}
