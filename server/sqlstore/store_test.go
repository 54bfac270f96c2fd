package sqlstore_test

import (
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"flag"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenpeel/branches/orders"
	"evenpeel/branches/runs"
	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/server/access"
	"evenpeel/server/sqlstore"
	"evenpeel/server/storetest"
	"evenpeel/server/storetest/postgrestest"
)

var write = flag.Bool("write", false, "write testdata/schema.sql anew")

// house is a store with the one thing more that the contract asks for.
type house struct {
	*sqlstore.Store
	poison func(t *testing.T, digest recipes.Digest, content []byte)
}

func (h house) Poison(t *testing.T, digest recipes.Digest, content []byte) {
	h.poison(t, digest, content)
}

func open(t testing.TB, dsn string) *sqlstore.Store {
	t.Helper()
	s, err := sqlstore.Open(t.Context(), dsn, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// behind changes a database without the store.
func behind(t *testing.T, driver, dsn string, queries ...string) {
	t.Helper()
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range queries {
		if _, err := db.Exec(q); err != nil {
			t.Fatalf("%s: %v", q, err)
		}
	}
}

func TestContract_sqlite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Stores {
		path := filepath.Join(t.TempDir(), "deep", "a b%?.db")
		return house{open(t, "sqlite:"+path), func(t *testing.T, digest recipes.Digest, content []byte) {
			behind(t, "sqlite", "file:"+(&url.URL{Path: path}).EscapedPath(), "DROP TRIGGER recipes_sealed_no_UPDATE",
				"UPDATE recipes_sealed SET content = x'"+hex.EncodeToString(content)+"' WHERE digest = x'"+digest.String()+"'")
		}}
	})
}

func TestContract_postgres(t *testing.T) {
	fresh := postgrestest.Start(t, func(dsn string) {
		s, err := sqlstore.Open(t.Context(), dsn, nil)
		if err == nil {
			err = s.Close()
		}
		if err != nil {
			t.Fatal(err)
		}
	})
	storetest.Run(t, func(t *testing.T) storetest.Stores {
		dsn := fresh(t)
		return house{open(t, dsn), func(t *testing.T, digest recipes.Digest, content []byte) {
			behind(t, "pgx", dsn, "DROP TRIGGER recipes_sealed_kept ON recipes_sealed",
				`UPDATE recipes_sealed SET content = '\x`+hex.EncodeToString(content)+`' WHERE digest = '\x`+digest.String()+"'")
		}}
	})
}

// oneRow puts a row into each of them, so that a guard for each row has something to guard.
func oneRow(t *testing.T, s *sqlstore.Store) {
	t.Helper()
	sealed := recipes.SealBytes([]byte("sealed"))
	d := recipes.Draft{ID: "d", Record: "notes/n", Content: sealed, Etag: 1, State: recipes.Writing}
	r := stock.Roll{Name: "branches/b/rolls/r", Length: 1}
	_, err := s.AddDraft(t.Context(), d)
	d.Etag, d.State = 2, recipes.Approved
	_, _, err2 := s.Append(t.Context(), []runs.Run{{ID: "r", Branch: "branches/b", End: time.Unix(0, 0), Reprints: []runs.Reprint{{Cause: "other", Count: 1}}}})
	_, err3 := s.AddOrder(t.Context(), orders.KeptOrder{Name: "o"})
	err = errors.Join(err, err2, err3,
		s.KeepRevision(t.Context(), d, recipes.RevisionRow{Record: "notes/n", Number: 1}, sealed),
		s.KeepRelease(t.Context(), recipes.SignedRelease{Release: recipes.Release{Number: 1}, Sealed: sealed}, ""),
		s.AddRoll(t.Context(), r, stock.Movement{ID: "m"}), s.PutDrawing(t.Context(), orders.KeptDrawing{Name: "d"}),
		s.AppendAudit(t.Context(), access.AuditEntry{}))
	if err != nil {
		t.Fatal(err)
	}
}

// guarded tries to change and to remove rows of the tables that are only added to.
func guarded(t *testing.T, driver, dsn string) {
	t.Helper()
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for table, column := range map[string]string{
		"recipes_sealed": "content", "recipes_revision": "title", "recipes_release": "reason", "stock_movement": "why", "orders_drawing": "title",
		"orders_order": "title", "runs_run": "lot", "runs_reprint": "cause", "access_audit": "act",
	} {
		var n int
		if err := db.QueryRow("SELECT count(*) FROM " + table).Scan(&n); err != nil || n == 0 {
			t.Fatalf("%s holds %d rows: %v", table, n, err)
		}
		if _, err := db.Exec("UPDATE " + table + " SET " + column + " = " + column); err == nil {
			t.Errorf("a row of %s can be changed", table)
		}
		if _, err := db.Exec("DELETE FROM " + table); err == nil {
			t.Errorf("a row of %s can be removed", table)
		}
	}
}

func TestKept_tablesAreOnlyAddedTo_sqlite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "house.db")
	oneRow(t, open(t, "sqlite:"+path))
	guarded(t, "sqlite", "file:"+path)
}

func TestKept_tablesAreOnlyAddedTo_postgres(t *testing.T) {
	dsn := postgrestest.Start(t, nil)(t)
	oneRow(t, open(t, dsn))
	guarded(t, "pgx", dsn)
}

func TestOpen_refusesANewerSchema(t *testing.T) {
	path := filepath.Join(t.TempDir(), "house.db")
	open(t, "sqlite:"+path).Close()
	behind(t, "sqlite", "file:"+path, "INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)")
	_, err := sqlstore.Open(t.Context(), "sqlite:"+path, nil)
	f, ok := fault.As(err)
	if !ok || f.Kind != fault.NotReady || f.Reason != sqlstore.SchemaNewer || f.Facts["tables"] != "99" {
		t.Fatalf("got %v, want fault SCHEMA_NEWER for 99", err)
	}
}

func TestOpen_refusesANewerSchema_postgres(t *testing.T) {
	dsn := postgrestest.Start(t, nil)(t)
	open(t, dsn).Close()
	behind(t, "pgx", dsn, "INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, true)")
	_, err := sqlstore.Open(t.Context(), dsn, nil)
	if f, ok := fault.As(err); !ok || f.Kind != fault.NotReady || f.Reason != sqlstore.SchemaNewer {
		t.Fatalf("got %v, want fault SCHEMA_NEWER", err)
	}
}

func TestOpen_refusesWhatItCanNotReach(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for dsn, want := range map[string]fault.Kind{
		"mysql://secret@host": fault.Invalid, "sqlite:": fault.Invalid, "postgres://%zz:secret@": fault.Invalid,
		"sqlite:" + file + "/below/house.db": fault.Unavailable, "postgres://secret@/x?host=" + t.TempDir(): fault.Unavailable,
	} {
		_, err := sqlstore.Open(t.Context(), dsn, nil)
		f, ok := fault.As(err)
		if !ok || f.Kind != want {
			t.Errorf("%s: got %v, want %s", dsn, err, want)
		} else if strings.Contains(f.Words, "secret") {
			t.Errorf("%s: words repeat the address: %s", dsn, f.Words)
		}
	}
}

func TestOpen_twiceKeepsWhatIsThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "house.db")
	s := open(t, "sqlite:"+path)
	oneRow(t, s)
	s = open(t, "sqlite:"+path)
	if n, err := s.NewestRelease(t.Context()); n != 1 || err != nil {
		t.Fatalf("got release %d, %v, want 1", n, err)
	}
	if err := s.Ping(t.Context()); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("got rights %v, %v, want 0600", info.Mode(), err)
	}
}

func TestStore_thatIsAwaySaysSo(t *testing.T) {
	s := open(t, "sqlite:"+filepath.Join(t.TempDir(), "house.db"))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := s.Branches(ctx)
	if !fault.Is(err, fault.Unavailable) || !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v, want Unavailable because of the end of the context", err)
	}
}

func TestAppend_takesOnlySoManyAtOnce(t *testing.T) {
	s := open(t, "sqlite:"+filepath.Join(t.TempDir(), "house.db"))
	_, _, err := s.Append(t.Context(), make([]runs.Run, sqlstore.MaxRuns+1))
	if f, ok := fault.As(err); !ok || f.Kind != fault.TooLarge || f.Reason != sqlstore.TooManyRuns {
		t.Fatalf("got %v, want TOO_MANY_RUNS", err)
	}
}

func TestCopy_isWhole(t *testing.T) {
	folder := t.TempDir()
	s := open(t, "sqlite:"+filepath.Join(folder, "house.db"))
	oneRow(t, s)
	to := filepath.Join(folder, "copy.db")
	if err := s.Copy(t.Context(), to); err != nil {
		t.Fatal(err)
	}
	if n, err := open(t, "sqlite:"+to).NewestRelease(t.Context()); n != 1 || err != nil {
		t.Fatalf("got release %d, %v, want 1", n, err)
	}
	if f, ok := fault.As(s.Copy(t.Context(), to)); !ok || f.Reason != sqlstore.CopyExists {
		t.Fatalf("got %v, want COPY_EXISTS", f)
	}
}

// TestSchema_isTheOneWritten keeps the tables that all migrations come to beside the code, to be read and reviewed.
func TestSchema_isTheOneWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "house.db")
	open(t, "sqlite:"+path)
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL AND tbl_name NOT LIKE 'goose%' AND tbl_name NOT LIKE 'sqlite%' ORDER BY tbl_name, type DESC, name")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var b strings.Builder
	b.WriteString("-- What all migrations come to in SQLite. Written by: go test ./server/sqlstore -run Schema -write\n")
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			t.Fatal(err)
		}
		b.WriteString("\n" + text + ";\n")
	}
	golden := filepath.Join("testdata", "schema.sql")
	if *write {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), b.String()); diff != "" {
		t.Fatalf("the schema differs from testdata/schema.sql; write it anew with -write if that is meant (-want +got):\n%s", diff)
	}
}
