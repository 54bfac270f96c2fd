package sqlstore

import (
	"context"
	"database/sql"
)

// ledgerTables is migration 0003. It is Go because rows that are kept have to get their place in the order of receipt
// once, past their guard.
//
// Before: runs have no order of receipt; roll-ups are rows that SQL adds up. During: one transaction. After: every run has
// a sequence without gaps and an instant of receipt (that of older runs is their end), and the roll-up is compare_page,
// empty; Open fills it.
//
// A page holds what up to some eighty runs of one branch and month add to every sum, packed, in the order of receipt; only
// its end grows. pages.go says how. last is the sequence of its last entry, newest_us the latest receipt in it.
var ledgerTables = []string{
	`ALTER TABLE runs_run ADD COLUMN sequence BIGINT NOT NULL DEFAULT 0`,
	`ALTER TABLE runs_run ADD COLUMN received_us BIGINT NOT NULL DEFAULT 0`,
	`DROP INDEX runs_run_day`,
	`DROP TABLE compare_month`,
	`DROP TABLE compare_day`,
	`DROP TABLE compare_cause`,
	`CREATE TABLE compare_page (
    branch    TEXT   NOT NULL,
    month     TEXT   NOT NULL CHECK (length(month) = 7),
    part      BIGINT NOT NULL,
    last      BIGINT NOT NULL,
    newest_us BIGINT NOT NULL,
    content   BYTEA  NOT NULL,
    PRIMARY KEY (branch, month, part)
)`,
	`CREATE INDEX compare_page_month ON compare_page (month)`,
	`CREATE INDEX compare_page_last ON compare_page (last)`,
	`CREATE INDEX compare_page_newest ON compare_page (newest_us)`,
	// What the numbers inside pages mean: numbered from 0 without gaps, never changed.
	`CREATE TABLE compare_stratum (
    id       BIGINT NOT NULL PRIMARY KEY,
    film     TEXT   NOT NULL,
    fabric   TEXT   NOT NULL,
    band     BIGINT NOT NULL,
    revision BIGINT NOT NULL
)`,
	`CREATE TABLE compare_cause (
    id    BIGINT NOT NULL PRIMARY KEY,
    cause TEXT   NOT NULL
)`,
	// One row: how often the pages were built anew. Copies in memory of an older building are dropped.
	`CREATE TABLE compare_building (number BIGINT NOT NULL)`,
	`INSERT INTO compare_building (number) VALUES (0)`,
}

const sequenceIndex = `CREATE UNIQUE INDEX runs_run_sequence ON runs_run (sequence)`

func ledgerSQLite(ctx context.Context, tx *sql.Tx) error {
	return inOrder(ctx, tx, ledgerTables, []string{
		`DROP TRIGGER runs_run_no_UPDATE`,
		`UPDATE runs_run SET sequence = rowid, received_us = end_us`, // rows were only ever added, so rowid is their order
		sequenceIndex,
	}, []string{guard("runs_run", "UPDATE")})
}

func ledgerPostgres(ctx context.Context, tx *sql.Tx) error {
	return inOrder(ctx, tx, ledgerTables, []string{
		`ALTER TABLE runs_run DISABLE TRIGGER runs_run_kept`,
		`UPDATE runs_run SET sequence = o.place, received_us = end_us
			FROM (SELECT ctid AS at, row_number() OVER (ORDER BY ctid) AS place FROM runs_run) o WHERE runs_run.ctid = o.at`,
		`ALTER TABLE runs_run ENABLE TRIGGER runs_run_kept`,
		sequenceIndex,
		`ALTER TABLE compare_page ALTER COLUMN content SET STORAGE EXTERNAL`, // pages are packed: compressing them costs and gains nothing
	})
}

func inOrder(ctx context.Context, tx *sql.Tx, lists ...[]string) error {
	for _, list := range lists {
		for _, query := range list {
			if _, err := tx.ExecContext(ctx, query); err != nil {
				return err
			}
		}
	}
	return nil
}
