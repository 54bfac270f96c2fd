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
func (sqliteEngine) lock(context.Context, *sql.Tx, string) error { return nil }

// reading needs no option: a reader in WAL sees the state at its first query.
func (sqliteEngine) reading() *sql.TxOptions { return nil }

// bulk prepares one row and repeats it: many rows in one statement make this driver look names up in square time.
func (e sqliteEngine) bulk(ctx context.Context, t *writing, table string, columns []string, rows [][]any) error {
	return e.repeat(ctx, t, "INSERT INTO "+table+" ("+strings.Join(columns, ", ")+") VALUES (?"+strings.Repeat(", ?", len(columns)-1)+")", rows)
}

// asked is how many ids one query asks for; a fixed number, so that its text is one text. 50 keeps the driver quick.
const asked = 50

var knownIDs = "SELECT id FROM runs_run WHERE branch = ? AND id IN (?" + strings.Repeat(", ?", asked-1) + ")"

func (sqliteEngine) known(ctx context.Context, t *writing, keys []runKey) ([]runKey, error) {
	stmt, err := t.PrepareContext(ctx, knownIDs)
	if err != nil {
		return nil, err
	}
	defer stmt.Close()
	var known []runKey
	args := make([]any, asked+1)
	for len(keys) > 0 {
		n := 1
		for n < len(keys) && n < asked && keys[n].branch == keys[0].branch {
			n++
		}
		args[0] = keys[0].branch
		for i := range asked {
			args[i+1] = keys[min(i, n-1)].id
		}
		rows, err := stmt.QueryContext(ctx, args...)
		if err != nil {
			return nil, err
		}
		for rows.Next() {
			key := runKey{branch: keys[0].branch}
			if err := rows.Scan(&key.id); err != nil {
				rows.Close()
				return nil, err
			}
			known = append(known, key)
		}
		if err := rows.Close(); err != nil {
			return nil, err
		}
		keys = keys[n:]
	}
	return known, nil
}

func (sqliteEngine) ends(ctx context.Context, t *writing, keys []pageKey) (map[pageKey]*page, error) {
	stmt, err := t.PrepareContext(ctx, "SELECT part, last, newest_us, content FROM compare_page WHERE branch = $1 AND month = $2 ORDER BY part DESC LIMIT 1")
	if err != nil {
		return nil, err
	}
	defer stmt.Close()
	ends := make(map[pageKey]*page, len(keys))
	for _, key := range keys {
		p := &page{}
		switch err := stmt.QueryRowContext(ctx, key.branch, key.month).Scan(&p.part, &p.last, &p.newest, &p.content); {
		case err == nil:
			ends[key] = p
		case !none(err):
			return nil, err
		}
	}
	return ends, nil
}

const pageUpsert = `INSERT INTO compare_page (branch, month, part, last, newest_us, content) VALUES ($1, $2, $3, $4, $5, $6)
	ON CONFLICT (branch, month, part) DO UPDATE SET last = excluded.last, newest_us = excluded.newest_us, content = excluded.content`

func (e sqliteEngine) pages(ctx context.Context, t *writing, list []writtenPage) error {
	rows := make([][]any, len(list))
	for i, p := range list {
		rows[i] = []any{p.branch, p.month, p.part, p.last, p.newest, p.content}
	}
	return e.repeat(ctx, t, pageUpsert, rows)
}

func (sqliteEngine) repeat(ctx context.Context, t *writing, query string, rows [][]any) error {
	if len(rows) == 0 {
		return nil
	}
	stmt, err := t.PrepareContext(ctx, query)
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
