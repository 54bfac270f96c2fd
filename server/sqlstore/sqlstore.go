// Package sqlstore keeps everything that the rooms promise to keep, in SQLite (one file) or PostgreSQL (many server
// processes). It decides nothing: it stores what it is handed and answers with the faults that the interfaces promise.
// What is lost at the border: times are kept to the microsecond in UTC; an empty and a missing list of a release's
// branches are told apart, but a time's zone is not.
//
// One text of every query serves both engines. What differs is in type engine: what is done to many rows at once, the
// lock that keeps two writers apart, the transaction for reading, and what an error of the driver means.
//
// Room: sqlstore
// Holds: Store, the migrations, the roll-ups for comparison
// May touch: recipes, recipes/fault, recipes/units, branches, branches/machines, branches/stock, branches/orders, branches/runs, branches/compare, server/access, go.uber.org/zap, github.com/jackc/pgx/v5, github.com/pressly/goose/v3, modernc.org/sqlite
// Never: Redis, RPC, a clock, marshalling a record, a query built from input
package sqlstore

import (
	"context"
	"database/sql"
	"strings"

	"go.uber.org/zap"

	"evenpeel/recipes/fault"
)

// Store is the record of truth. Every exported method is one transaction.
type Store struct {
	write, read *sql.DB // one and the same with PostgreSQL
	engine      engine
	uploads     *uploads
	words       *words
	cube        *cube
	packed      packedMonths
	log         *zap.Logger
	close       func() error
}

// engine is what differs between databases.
type engine interface {
	// lock keeps other transactions that lock the same word out until this one ends. SQLite has one writer anyway.
	lock(ctx context.Context, tx *sql.Tx, word string) error
	// reading are the options under which two queries see one state.
	reading() *sql.TxOptions
	// bulk inserts rows into a table as fast as the engine can, inside the transaction.
	bulk(ctx context.Context, t *writing, table string, columns []string, rows [][]any) error
	// repeat does one query for each row of arguments.
	repeat(ctx context.Context, t *writing, query string, rows [][]any) error
	// known are those of the keys, in order, under which a run is stored.
	known(ctx context.Context, t *writing, keys []runKey) ([]runKey, error)
	// ends are the last pages of the keys that have any.
	ends(ctx context.Context, t *writing, keys []pageKey) (map[pageKey]*page, error)
	// pages writes pages.
	pages(ctx context.Context, t *writing, list []writtenPage) error
	// meaning says what an error of the driver means, by its code.
	meaning(err error) meaning
}

type meaning int

const (
	unknown   meaning = iota
	duplicate         // a key exists already
	tryAgain          // the engine gave up on one of two transactions; nothing was stored
	away              // full, locked, not reachable
	badText           // a character that the engine can not keep
	full              // no room on the disk; nothing was stored
)

// Open opens the store and brings its tables up to date. dsn is "sqlite:/folder/file.db" (folder and file are made) or
// "postgres://…". Faults: Invalid/STORE_ADDRESS_INVALID, NotReady/SCHEMA_NEWER, Unavailable/STORE_AWAY.
func Open(ctx context.Context, dsn string, log *zap.Logger) (*Store, error) {
	if log == nil {
		log = zap.NewNop()
	}
	var s *Store
	var err error
	switch {
	case strings.HasPrefix(dsn, "sqlite:"):
		s, err = openSQLite(strings.TrimPrefix(dsn, "sqlite:"))
	case strings.HasPrefix(dsn, "postgres://"), strings.HasPrefix(dsn, "postgresql://"):
		s, err = openPostgres(ctx, dsn)
	default:
		// The address may hold a password, so it is not repeated.
		return nil, fault.New(fault.Invalid, room, AddressInvalid, "The store's address is neither sqlite:/folder/file.db nor postgres://user@host/name.")
	}
	if err != nil {
		return nil, err
	}
	s.log, s.uploads, s.words, s.cube = log, newUploads(), &words{}, newCube()
	if err := s.migrate(ctx); err != nil {
		s.Close()
		return nil, err
	}
	if err := s.catchUpRollUps(ctx); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// Close lets go of the database.
func (s *Store) Close() error { return s.close() }

// Ping asks whether the database answers. Fault Unavailable/STORE_AWAY.
func (s *Store) Ping(ctx context.Context) error {
	var one int
	return s.fault(s.read.QueryRowContext(ctx, "SELECT 1").Scan(&one))
}

// writing is a transaction that may write.
type writing struct {
	*sql.Tx
	conn   *sql.Conn
	engine engine
}

// lock keeps other writers of the same word out until the transaction ends.
func (t *writing) lock(ctx context.Context, word string) error {
	return t.engine.lock(ctx, t.Tx, word)
}

// change does one query and says how many rows it changed.
func (t *writing) change(ctx context.Context, query string, args ...any) (int64, error) {
	r, err := t.ExecContext(ctx, query, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// attempts is how often a transaction is tried that the engine gave up on in favour of another.
const attempts = 4

// inWrite runs do in one transaction. What do returns is a Fault or an error of the driver.
func (s *Store) inWrite(ctx context.Context, do func(t *writing) error) error {
	var err error
	for range attempts {
		if err = s.writeOnce(ctx, do); err == nil || s.engine.meaning(err) != tryAgain {
			break
		}
	}
	return s.fault(err)
}

func (s *Store) writeOnce(ctx context.Context, do func(t *writing) error) error {
	conn, err := s.write.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // after Commit it does nothing
	if err := do(&writing{tx, conn, s.engine}); err != nil {
		return err
	}
	return tx.Commit()
}

// inRead runs do over one state of the database.
func (s *Store) inRead(ctx context.Context, do func(tx *sql.Tx) error) error {
	tx, err := s.read.BeginTx(ctx, s.engine.reading())
	if err != nil {
		return s.fault(err)
	}
	defer tx.Rollback()
	return s.fault(do(tx))
}

// querier is a pool or a transaction.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// scanner is a row, or rows at one of them.
type scanner interface{ Scan(into ...any) error }

// all reads every row of a query.
func all[T any](ctx context.Context, q querier, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		list = append(list, one)
	}
	return list, rows.Err()
}
