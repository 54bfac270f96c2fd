package sqlstore

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/server/storetest/postgrestest"
)

// oldRuns are rows as they were before migration 0003: the second is corrected by the third, which ended earlier.
var oldRuns = []struct {
	id, corrects string
	pieces       int64
	end          time.Time
}{
	{"a", "", 3, time.Date(2026, 3, 14, 12, 0, 0, 0, time.UTC)},
	{"b", "", 5, time.Date(2026, 3, 31, 23, 59, 0, 0, time.UTC)},
	{"c", "b", 7, time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)},
}

func fromBefore(t *testing.T, dsn string, open func() (*Store, error)) {
	s, err := open()
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.migrator()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	columns := runColumns[:len(runColumns)-2]
	for _, r := range oldRuns {
		_, err := s.write.ExecContext(t.Context(), insert("runs_run", columns), "branches/b", r.id, "", "recipes/g/revisions/2", 2, make([]byte, 32), "glimmer", "cotton",
			"", "", "", "", 1, r.pieces, 1, 0, 100, 1, 60, 0, 0, 0, 0, 0, 0, 90, micros(r.end), micros(r.end), dayOf(r.end), 0, r.corrects, "people/bo")
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = Open(t.Context(), dsn, nil); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for i, want := range oldRuns {
		r, err := s.Run(t.Context(), "branches/b", want.id)
		if err != nil || r.Sequence != int64(i)+1 || !r.Received.Equal(want.end) {
			t.Errorf("run %s: sequence %d, received %s, %v", want.id, r.Sequence, r.Received, err)
		}
	}
	cells, err := s.Cells(t.Context(), compare.Span{From: "2026-03-01", To: "2026-03-31"})
	if err != nil || len(cells) != 1 || cells[0].Pieces != 3+7 || cells[0].Revision != 2 {
		t.Errorf("got %v, %v; want one cell with 10 pieces", cells, err)
	}
	if _, err := s.write.ExecContext(t.Context(), "UPDATE runs_run SET lot = 'x'"); err == nil || !strings.Contains(err.Error(), "only added to") {
		t.Errorf("after the migration a run can be changed: %v", err)
	}
}

func TestMigration3_givesOldRunsTheirPlace_sqlite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "house.db")
	fromBefore(t, "sqlite:"+path, func() (*Store, error) { return openSQLite(path) })
}

func TestMigration3_givesOldRunsTheirPlace_postgres(t *testing.T) {
	dsn := postgrestest.Start(t, nil)(t)
	fromBefore(t, dsn, func() (*Store, error) { return openPostgres(t.Context(), dsn) })
}
