package sqlstore

import (
	"context"
	"crypto/sha256"
	"encoding/binary"

	"evenpeel/server/access"
)

const (
	auditLast = `SELECT number, hash FROM access_audit ORDER BY number DESC LIMIT 1`
	auditAdd  = `INSERT INTO access_audit (number, time_us, person, act, object, previous, hash) VALUES ($1, $2, $3, $4, $5, $6, $7)`
	auditFrom = `SELECT number, time_us, person, act, object, previous, hash FROM access_audit WHERE number > $1 ORDER BY number LIMIT $2`
)

// ChainHash is the hash of an audit entry: SHA-256 over the previous hash and then number, time (microseconds since
// 1970), person, act and object, each after its length in bytes. Lengths and whole numbers are 8 bytes, big end first.
func ChainHash(e access.AuditEntry) [32]byte {
	b := append([]byte(nil), e.Previous[:]...)
	for _, n := range []int64{e.Number, micros(e.Time)} {
		b = binary.BigEndian.AppendUint64(b, 8)
		b = binary.BigEndian.AppendUint64(b, uint64(n))
	}
	for _, text := range []string{e.Person, e.Act, e.Object} {
		b = binary.BigEndian.AppendUint64(b, uint64(len(text)))
		b = append(b, text...)
	}
	return sha256.Sum256(b)
}

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
		e.Hash = ChainHash(e)
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
