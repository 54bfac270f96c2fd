package sqlstore

import (
	"cmp"
	"context"
	"slices"
	"time"

	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

const personColumns = `name, email, title, roles, branch, barred, password`

const (
	personByName  = `SELECT ` + personColumns + ` FROM access_person WHERE name = $1`
	personByEmail = `SELECT ` + personColumns + ` FROM access_person WHERE email = $1`
	people        = `SELECT ` + personColumns + ` FROM access_person`
	personCount   = `SELECT count(*) FROM access_person`
	personAdd     = `INSERT INTO access_person (` + personColumns + `) VALUES ($1, $2, $3, $4, $5, $6, $7)`
	personReplace = `UPDATE access_person SET email = $2, title = $3, roles = $4, branch = $5, barred = $6, password = $7 WHERE name = $1`
)

func scanPerson(row scanner) (access.Person, error) {
	var p access.Person
	var roles string
	if err := row.Scan(&p.Name, &p.Email, &p.Title, &roles, &p.Branch, &p.Barred, &p.Password); err != nil {
		return p, err
	}
	err := readList(roles, &p.Roles)
	return p, err
}

func personRow(p access.Person) ([]any, error) {
	roles, err := list(p.Roles)
	return []any{p.Name, p.Email, p.Title, roles, p.Branch, p.Barred, p.Password}, err
}

func (s *Store) person(ctx context.Context, query, key string) (access.Person, error) {
	p, err := scanPerson(s.read.QueryRowContext(ctx, query, key))
	if none(err) {
		return p, personNotFound()
	}
	return p, s.fault(err)
}

// Person reads one by name. Fault NotFound/PERSON_NOT_FOUND.
func (s *Store) Person(ctx context.Context, name string) (access.Person, error) {
	return s.person(ctx, personByName, name)
}

// PersonByEmail reads one by address, lower case. Fault NotFound/PERSON_NOT_FOUND.
func (s *Store) PersonByEmail(ctx context.Context, email string) (access.Person, error) {
	return s.person(ctx, personByEmail, email)
}

func personNotFound() error {
	return fault.New(fault.NotFound, "access", "PERSON_NOT_FOUND", "There is no such person. Look at the list of people.")
}

// People lists all, by address.
func (s *Store) People(ctx context.Context) ([]access.Person, error) {
	list, err := all(ctx, s.read, scanPerson, people)
	slices.SortFunc(list, func(a, b access.Person) int { return cmp.Compare(a.Email, b.Email) })
	return list, s.fault(err)
}

// AddPerson stores a new one; with first set only where there is nobody yet. Faults Invalid/EMAIL_TAKEN,
// Invalid/PERSON_TAKEN, NotReady/FIRST_PERSON_EXISTS.
func (s *Store) AddPerson(ctx context.Context, p access.Person, first bool) error {
	row, err := personRow(p)
	if err != nil {
		return s.fault(err)
	}
	return s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, "access_person"); err != nil {
			return err
		}
		if first {
			var n int64
			if err := t.QueryRowContext(ctx, personCount).Scan(&n); err != nil {
				return err
			}
			if n > 0 {
				return fault.New(fault.NotReady, "access", "FIRST_PERSON_EXISTS", "Somebody was here first. Ask them to add you.")
			}
		}
		if err := emailFree(ctx, t, p); err != nil {
			return err
		}
		switch _, err := scanPerson(t.QueryRowContext(ctx, personByName, p.Name)); {
		case err == nil:
			return fault.New(fault.Invalid, "access", "PERSON_TAKEN", "There is a person with this name already. Choose another.")
		case !none(err):
			return err
		}
		_, err := t.ExecContext(ctx, personAdd, row...)
		return err
	})
}

func emailFree(ctx context.Context, t *writing, p access.Person) error {
	switch other, err := scanPerson(t.QueryRowContext(ctx, personByEmail, p.Email)); {
	case none(err), err == nil && other.Name == p.Name:
		return nil
	case err != nil:
		return err
	}
	f := fault.New(fault.Invalid, "access", "EMAIL_TAKEN", "Somebody has this address already. Use another, or change that person.")
	f.Fields = fault.Fields{{Path: "email", Words: "is taken"}}
	return f
}

// PutPerson replaces one. Faults NotFound/PERSON_NOT_FOUND, Invalid/EMAIL_TAKEN.
func (s *Store) PutPerson(ctx context.Context, p access.Person) error {
	row, err := personRow(p)
	if err != nil {
		return s.fault(err)
	}
	return s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, "access_person"); err != nil {
			return err
		}
		if err := emailFree(ctx, t, p); err != nil {
			return err
		}
		n, err := t.change(ctx, personReplace, row...)
		if err == nil && n == 0 {
			return personNotFound()
		}
		return err
	})
}

const (
	sessionAdd    = `INSERT INTO access_session (hash, person, started_us, seen_us, ends_us) VALUES ($1, $2, $3, $4, $5)`
	sessionByHash = `SELECT person, started_us, seen_us, ends_us FROM access_session WHERE hash = $1`
	sessionSee    = `UPDATE access_session SET seen_us = $1 WHERE seen_us < $1 AND hash IN `
	standings     = `SELECT s.hash, s.started_us, s.seen_us, s.ends_us, p.name, p.email, p.title, p.roles, p.branch, p.barred, p.password
		FROM access_session s JOIN access_person p ON p.name = s.person WHERE s.hash IN `
	// The rest of a division, since the sum of whole times would leave 64 bits.
	sessionMarks = `SELECT s.n, s.began, p.n, p.barred
		FROM (SELECT count(*) AS n, CAST(coalesce(sum(started_us % 1000000007), 0) AS BIGINT) AS began FROM access_session WHERE started_us <= $1) s,
		(SELECT count(*) AS n, count(CASE WHEN barred THEN 1 END) AS barred FROM access_person) p`
	sessionEnd  = `DELETE FROM access_session WHERE hash = $1`
	sessionsEnd = `DELETE FROM access_session WHERE person = $1`
)

// AddSession stores a session.
func (s *Store) AddSession(ctx context.Context, n access.Session) error {
	_, err := s.write.ExecContext(ctx, sessionAdd, n.Hash[:], n.Person, micros(n.Started), micros(n.Seen), micros(n.Ends))
	return s.fault(err)
}

// Session reads one, whether its end has come or not: the store has no clock. Fault NotSignedIn/SESSION_ENDED.
func (s *Store) Session(ctx context.Context, hash access.SessionHash) (access.Session, error) {
	n := access.Session{Hash: hash}
	var started, seen, ends int64
	err := s.read.QueryRowContext(ctx, sessionByHash, hash[:]).Scan(&n.Person, &started, &seen, &ends)
	if none(err) {
		return access.Session{}, fault.New(fault.NotSignedIn, "access", "SESSION_ENDED", "You are signed out. Sign in again.")
	}
	n.Started, n.Seen, n.Ends = instant(started), instant(seen), instant(ends)
	return n, s.fault(err)
}

// sessionsAtOnce is how many one statement names.
const sessionsAtOnce = 200

// Standings reads many sessions, each with its person, in any order; what is not there is left out.
func (s *Store) Standings(ctx context.Context, hashes []access.SessionHash) (found []access.Standing, err error) {
	for chunk := range slices.Chunk(hashes, sessionsAtOnce) {
		args := make([]any, len(chunk))
		for i := range chunk {
			args[i] = chunk[i][:]
		}
		list, err := all(ctx, s.read, scanStanding, standings+places(1, len(args), 1), args...)
		if err != nil {
			return nil, s.fault(err)
		}
		found = append(found, list...)
	}
	return found, nil
}

func scanStanding(row scanner) (access.Standing, error) {
	var n access.Standing
	var hash []byte
	var roles string
	var started, seen, ends int64
	if err := row.Scan(&hash, &started, &seen, &ends, &n.Person.Name, &n.Person.Email, &n.Person.Title, &roles, &n.Person.Branch, &n.Person.Barred, &n.Person.Password); err != nil {
		return n, err
	}
	copy(n.Session.Hash[:], hash)
	n.Session.Person = n.Person.Name
	n.Session.Started, n.Session.Seen, n.Session.Ends = instant(started), instant(seen), instant(ends)
	return n, readList(roles, &n.Person.Roles)
}

// Marks gives numbers that change where a session that began up to an instant has ended, or a person was barred.
func (s *Store) Marks(ctx context.Context, began time.Time) (k access.Marks, err error) {
	err = s.read.QueryRowContext(ctx, sessionMarks, micros(began)).Scan(&k.Sessions, &k.Began, &k.People, &k.Barred)
	return k, s.fault(err)
}

// SeeSessions stores when they were last used; an earlier time than stored, or an unknown session, changes nothing.
func (s *Store) SeeSessions(ctx context.Context, hashes []access.SessionHash, seen time.Time) error {
	return s.inWrite(ctx, func(t *writing) error {
		for chunk := range slices.Chunk(hashes, sessionsAtOnce) {
			args := []any{micros(seen)}
			for i := range chunk {
				args = append(args, chunk[i][:])
			}
			if _, err := t.ExecContext(ctx, sessionSee+places(1, len(chunk), 2), args...); err != nil {
				return err
			}
		}
		return nil
	})
}

// EndSession removes one; an unknown one is no fault.
func (s *Store) EndSession(ctx context.Context, hash access.SessionHash) error {
	_, err := s.write.ExecContext(ctx, sessionEnd, hash[:])
	return s.fault(err)
}

// EndSessions removes all of a person and says how many.
func (s *Store) EndSessions(ctx context.Context, person string) (int, error) {
	r, err := s.write.ExecContext(ctx, sessionsEnd, person)
	if err != nil {
		return 0, s.fault(err)
	}
	n, err := r.RowsAffected()
	return int(n), s.fault(err)
}
