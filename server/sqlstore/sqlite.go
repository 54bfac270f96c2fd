package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"evenpeel/recipes/fault"
)

// sqliteReaders is the size of the read pool: WAL lets them read while the one writer writes.
const sqliteReaders = 8

// Synchronous is FULL, not NORMAL: a tablet forgets a run once it is told that the run is stored, and with NORMAL the
// last commits before a power cut may be lost. It costs one flush to disk for each commit, which batches share.
const sqlitePragmas = "_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=busy_timeout(5000)&_pragma=foreign_keys(1)&_pragma=cache_size(-65536)&_pragma=temp_store(MEMORY)"

type sqliteEngine struct{}

func openSQLite(path string) (*Store, error) {
	if path == "" || strings.ContainsRune(path, 0) {
		return nil, fault.New(fault.Invalid, room, AddressInvalid, "The store's address names no file; write sqlite:/folder/file.db.")
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
		return nil, fault.New(fault.Unavailable, room, StoreAway, "The folder of the store can not be made: %s.", filepath.Dir(path)).Because(err)
	}
	// The file holds password hashes, so nobody else may read it; SQLite gives its side files the same rights.
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fault.New(fault.Unavailable, room, StoreAway, "The file of the store can not be opened: %s.", path).Because(err)
	}
	f.Close()
	name := "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + sqlitePragmas
	write, err := sql.Open("sqlite", name+"&_txlock=immediate")
	if err != nil {
		return nil, fault.New(fault.Unavailable, room, StoreAway, "The store can not be opened.").Because(err)
	}
	write.SetMaxOpenConns(1)
	read, err := sql.Open("sqlite", name+"&_txlock=deferred")
	if err != nil {
		write.Close()
		return nil, fault.New(fault.Unavailable, room, StoreAway, "The store can not be opened.").Because(err)
	}
	read.SetMaxOpenConns(sqliteReaders)
	read.SetMaxIdleConns(sqliteReaders)
	return &Store{write: write, read: read, engine: sqliteEngine{}, close: func() error {
		return errors.Join(read.Close(), write.Close())
	}}, nil
}

// lock has nothing to do: _txlock=immediate and one connection make every writing transaction the only one.
func (sqliteEngine) lock(context.Context, *sql.Tx, string, bool) error { return nil }

// reading needs no option: a reader in WAL sees the state at its first query.
func (sqliteEngine) reading() *sql.TxOptions { return nil }

// bulk prepares one row and repeats it: many rows in one statement make this driver look names up in square time.
func (sqliteEngine) bulk(ctx context.Context, t *writing, table string, columns []string, rows [][]any) error {
	stmt, err := t.PrepareContext(ctx, insert(table, columns))
	if err != nil {
		return err
	}
	defer stmt.Close()
	for _, row := range rows {
		if _, err := stmt.ExecContext(ctx, row...); err != nil {
			return err
		}
	}
	return nil
}

func (sqliteEngine) meaning(err error) meaning {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return unknown
	}
	switch e.Code() {
	case sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY, sqlite3.SQLITE_CONSTRAINT_UNIQUE:
		return duplicate
	}
	switch e.Code() & 0xff { // the low byte is the class of an extended code
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN,
		sqlite3.SQLITE_READONLY, sqlite3.SQLITE_NOMEM, sqlite3.SQLITE_INTERRUPT, sqlite3.SQLITE_PROTOCOL:
		return away
	case sqlite3.SQLITE_FULL:
		return full
	}
	return unknown
}

// insert is the text that inserts one row.
func insert(table string, columns []string) string {
	var b strings.Builder
	b.WriteString("INSERT INTO " + table + " (" + strings.Join(columns, ", ") + ") VALUES (")
	for i := range columns {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString("$" + strconv.Itoa(i+1))
	}
	return b.String() + ")"
}
