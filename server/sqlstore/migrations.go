package sqlstore

import (
	"context"
	"database/sql"
	"embed"
	"io/fs"
	"strconv"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"evenpeel/recipes/fault"
)

//go:embed migrations/*.sql
var migrations embed.FS

// kept are the tables of migration 0001 that rows are only ever added to.
var kept = []string{
	"recipes_sealed", "recipes_revision", "recipes_release", "stock_movement", "orders_drawing", "orders_order",
	"runs_run", "runs_reprint", "access_audit",
}

// migrator knows every migration.
func (s *Store) migrator() (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	dialect, guard, ledger := goose.DialectSQLite3, guardSQLite, ledgerSQLite
	var options []goose.ProviderOption
	if _, ok := s.engine.(postgresEngine); ok {
		dialect, guard, ledger = goose.DialectPostgres, guardPostgres, ledgerPostgres
		locker, err := lock.NewPostgresSessionLocker() // two processes may start at once
		if err != nil {
			return nil, err
		}
		options = append(options, goose.WithSessionLocker(locker))
	}
	options = append(options, goose.WithLogger(goose.NopLogger()), goose.WithDisableGlobalRegistry(true),
		// 0002 guards the kept tables. It is Go, since triggers are the one piece of DDL that the engines write differently.
		// 0003 goes past that guard once: ledgerTables.
		goose.WithGoMigrations(goose.NewGoMigration(2, &goose.GoFunc{RunTx: guard}, nil), goose.NewGoMigration(3, &goose.GoFunc{RunTx: ledger}, nil)))
	return goose.NewProvider(dialect, s.write, files, options...)
}

// migrate brings the tables up to date, forward only. Fault NotReady/SCHEMA_NEWER.
func (s *Store) migrate(ctx context.Context) error {
	p, err := s.migrator()
	if err != nil {
		return s.fault(err)
	}
	current, target, err := p.GetVersions(ctx)
	if err != nil {
		return s.fault(err)
	}
	if current > target {
		return fault.New(fault.NotReady, room, SchemaNewer, "The store was written by a newer program (tables at %d, this program knows %d). Start the newer program, or restore the copy that was made before it.", current, target).
			With("tables", strconv.FormatInt(current, 10)).With("known", strconv.FormatInt(target, 10))
	}
	if current == target {
		return nil
	}
	_, err = p.Up(ctx)
	return s.fault(err)
}

func guardSQLite(ctx context.Context, tx *sql.Tx) error {
	for _, table := range kept {
		for _, act := range []string{"UPDATE", "DELETE"} {
			if _, err := tx.ExecContext(ctx, guard(table, act)); err != nil {
				return err
			}
		}
	}
	return nil
}

func guard(table, act string) string {
	return "CREATE TRIGGER " + table + "_no_" + act + " BEFORE " + act + " ON " + table + " BEGIN SELECT RAISE(ABORT, '" + table + " is only added to'); END"
}

func guardPostgres(ctx context.Context, tx *sql.Tx) error {
	const refuse = `CREATE FUNCTION kept() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '% is only added to', TG_TABLE_NAME; END $$`
	if _, err := tx.ExecContext(ctx, refuse); err != nil {
		return err
	}
	for _, table := range kept {
		if _, err := tx.ExecContext(ctx, "CREATE TRIGGER "+table+"_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON "+table+" FOR EACH STATEMENT EXECUTE FUNCTION kept()"); err != nil {
			return err
		}
	}
	return nil
}
