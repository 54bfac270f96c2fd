package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"io"
	"net"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"

	"evenpeel/recipes/fault"
)

type postgresEngine struct{}

func openPostgres(ctx context.Context, dsn string) (*Store, error) {
	c, err := pgxpool.ParseConfig(dsn)
	if err != nil {
		// The driver's error repeats the address, which may hold a password: it is dropped.
		return nil, fault.New(fault.Invalid, room, AddressInvalid, "The store's address can not be read; one looks like postgres://user@host/name?sslmode=verify-full.")
	}
	pool, err := pgxpool.NewWithConfig(ctx, c)
	if err != nil {
		return nil, fault.New(fault.Unavailable, room, StoreAway, "The store can not be reached.").Because(err)
	}
	db := stdlib.OpenDBFromPool(pool)
	return &Store{write: db, read: db, engine: postgresEngine{}, close: func() error {
		err := db.Close()
		pool.Close()
		return err
	}}, nil
}

// lock takes an advisory lock that ends with the transaction.
func (postgresEngine) lock(ctx context.Context, tx *sql.Tx, word string) error {
	_, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock(hashtextextended($1, 0))", word)
	return err
}

func (postgresEngine) reading() *sql.TxOptions {
	return &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
}

// copyFrom is the number of rows from which COPY, which asks the server for the columns' types first, is the quicker.
const copyFrom = 8

func (e postgresEngine) bulk(ctx context.Context, t *writing, table string, columns []string, rows [][]any) error {
	if len(rows) < copyFrom {
		return e.repeat(ctx, t, insert(table, columns), rows)
	}
	return t.conn.Raw(func(c any) error {
		_, err := c.(*stdlib.Conn).Conn().CopyFrom(ctx, pgx.Identifier{table}, columns, pgx.CopyFromRows(rows))
		return err
	})
}

// repeat sends all of them at once and then reads all answers.
func (postgresEngine) repeat(ctx context.Context, t *writing, query string, rows [][]any) error {
	if len(rows) == 0 {
		return nil
	}
	var batch pgx.Batch
	for _, row := range rows {
		batch.Queue(query, row...)
	}
	return t.conn.Raw(func(c any) error { return c.(*stdlib.Conn).Conn().SendBatch(ctx, &batch).Close() })
}

// known, ends and pages hand lists over as arrays, so that each is one round trip.
func (postgresEngine) known(ctx context.Context, t *writing, keys []runKey) ([]runKey, error) {
	branches, ids := make([]string, len(keys)), make([]string, len(keys))
	for i, key := range keys {
		branches[i], ids[i] = key.branch, key.id
	}
	return all(ctx, t, func(row scanner) (key runKey, err error) {
		err = row.Scan(&key.branch, &key.id)
		return key, err
	}, `SELECT r.branch, r.id FROM unnest($1::text[], $2::text[]) AS k (branch, id)
		JOIN LATERAL (SELECT branch, id FROM runs_run WHERE branch = k.branch AND id = k.id LIMIT 1) r ON true`, branches, ids)
}

func (postgresEngine) ends(ctx context.Context, t *writing, keys []pageKey) (map[pageKey]*page, error) {
	branches, months := make([]string, len(keys)), make([]string, len(keys))
	for i, key := range keys {
		branches[i], months[i] = key.branch, key.month
	}
	found, err := all(ctx, t, func(row scanner) (writtenPage, error) {
		p := writtenPage{page: &page{}}
		err := row.Scan(&p.branch, &p.month, &p.part, &p.last, &p.newest, &p.content)
		return p, err
	}, `SELECT k.branch, k.month, p.part, p.last, p.newest_us, p.content FROM unnest($1::text[], $2::text[]) AS k (branch, month)
		JOIN LATERAL (SELECT part, last, newest_us, content FROM compare_page WHERE branch = k.branch AND month = k.month ORDER BY part DESC LIMIT 1) p ON true`,
		branches, months)
	if err != nil {
		return nil, err
	}
	ends := make(map[pageKey]*page, len(found))
	for _, p := range found {
		ends[p.pageKey] = p.page
	}
	return ends, nil
}

func (postgresEngine) pages(ctx context.Context, t *writing, list []writtenPage) error {
	branches, months, contents := make([]string, len(list)), make([]string, len(list)), make([][]byte, len(list))
	parts, lasts, newest := make([]int64, len(list)), make([]int64, len(list)), make([]int64, len(list))
	for i, p := range list {
		branches[i], months[i], contents[i], parts[i], lasts[i], newest[i] = p.branch, p.month, p.content, p.part, p.last, p.newest
	}
	_, err := t.ExecContext(ctx, `INSERT INTO compare_page (branch, month, part, last, newest_us, content)
		SELECT * FROM unnest($1::text[], $2::text[], $3::bigint[], $4::bigint[], $5::bigint[], $6::bytea[])
		ON CONFLICT (branch, month, part) DO UPDATE SET last = excluded.last, newest_us = excluded.newest_us, content = excluded.content`,
		branches, months, parts, lasts, newest, contents)
	return err
}

func (postgresEngine) meaning(err error) meaning {
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		var unreachable *pgconn.ConnectError
		var network net.Error
		if pgconn.SafeToRetry(err) || errors.As(err, &unreachable) || errors.As(err, &network) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) {
			return away
		}
		return unknown
	}
	switch e.Code {
	case "23505": // unique_violation
		return duplicate
	case "40001", "40P01": // serialization_failure, deadlock_detected
		return tryAgain
	case "22021", "22P05": // character_not_in_repertoire, untranslatable_character
		return badText
	case "55P03": // lock_not_available
		return away
	case "53100": // disk_full
		return full
	}
	switch e.Code[:min(2, len(e.Code))] {
	case "08", "53", "57", "58": // connection, out of resources, stopped by the operator, disk
		return away
	}
	return unknown
}
