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
func (postgresEngine) lock(ctx context.Context, tx *sql.Tx, word string, shared bool) error {
	query := "SELECT pg_advisory_xact_lock(hashtextextended($1, 0))"
	if shared {
		query = "SELECT pg_advisory_xact_lock_shared(hashtextextended($1, 0))"
	}
	_, err := tx.ExecContext(ctx, query, word)
	return err
}

func (postgresEngine) reading() *sql.TxOptions {
	return &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
}

// copyFrom is the number of rows from which COPY, which asks the server for the columns' types first, is the quicker.
const copyFrom = 8

func (postgresEngine) bulk(ctx context.Context, t *writing, table string, columns []string, rows [][]any) error {
	if len(rows) < copyFrom {
		query := insert(table, columns)
		for _, row := range rows {
			if _, err := t.ExecContext(ctx, query, row...); err != nil {
				return err
			}
		}
		return nil
	}
	return t.conn.Raw(func(c any) error {
		_, err := c.(*stdlib.Conn).Conn().CopyFrom(ctx, pgx.Identifier{table}, columns, pgx.CopyFromRows(rows))
		return err
	})
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
