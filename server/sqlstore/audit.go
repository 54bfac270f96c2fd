package sqlstore

import (
	"context"

	"evenpeel/server/access"
)

const (
	auditLast = `SELECT number, hash FROM access_audit ORDER BY number DESC LIMIT 1`
	auditAdd  = `INSERT INTO access_audit (number, time_us, person, act, object, previous, hash) VALUES ($1, $2, $3, $4, $5, $6, $7)`
	auditFrom = `SELECT number, time_us, person, act, object, previous, hash FROM access_audit WHERE number > $1 ORDER BY number LIMIT $2`
)

// AppendAudit stores what was done. Number, Previous and Hash are computed here.
func (s *Store) AppendAudit(ctx context.Context, e access.AuditEntry) error {
	return s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, "access_audit"); err != nil {
			return err
		}
		var last int64
		var previous []byte
		if err := t.QueryRowContext(ctx, auditLast).Scan(&last, &previous); err != nil && !none(err) {
			return err
		}
		e.Number, e.Previous = last+1, [32]byte{}
		copy(e.Previous[:], previous)
		e.Hash = access.ChainHash(e)
		_, err := t.ExecContext(ctx, auditAdd, e.Number, micros(e.Time), e.Person, e.Act, e.Object, e.Previous[:], e.Hash[:])
		return err
	})
}

// Audit lists entries with a number above the one given, in rising order, at most 10 000.
func (s *Store) Audit(ctx context.Context, above int64, most int) ([]access.AuditEntry, error) {
	list, err := all(ctx, s.read, func(row scanner) (access.AuditEntry, error) {
		var e access.AuditEntry
		var at int64
		var previous, hash []byte
		err := row.Scan(&e.Number, &at, &e.Person, &e.Act, &e.Object, &previous, &hash)
		e.Time = instant(at)
		copy(e.Previous[:], previous)
		copy(e.Hash[:], hash)
		return e, err
	}, auditFrom, above, limit(most))
	return list, s.fault(err)
}

// NewestAudit is the highest number; 0 where there is none.
func (s *Store) NewestAudit(ctx context.Context) (n int64, err error) {
	err = s.read.QueryRowContext(ctx, `SELECT coalesce(max(number), 0) FROM access_audit`).Scan(&n)
	return n, s.fault(err)
}
