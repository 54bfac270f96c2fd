package demo

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"evenpeel/recipes"
	"evenpeel/server/sqlstore"
)

// stopping is a store that is gone after some revisions, as after a kill.
type stopping struct {
	*sqlstore.Store
	left int
}

var errStopped = errors.New("stopped")

func (s *stopping) KeepRevision(ctx context.Context, d recipes.Draft, row recipes.RevisionRow, sealed recipes.Sealed) error {
	if s.left--; s.left < 0 {
		return errStopped
	}
	return s.Store.KeepRevision(ctx, d, row, sealed)
}

func TestHalf_seesALoadThatWasStopped(t *testing.T) {
	s, err := sqlstore.Open(t.Context(), "sqlite:"+filepath.Join(t.TempDir(), "half.db"), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	half := func(want bool, s *sqlstore.Store) {
		t.Helper()
		if got, err := Half(t.Context(), s); err != nil || got != want {
			t.Errorf("half: %v, %v, want %v", got, err, want)
		}
	}
	half(false, s)
	if _, err := Load(t.Context(), &stopping{s, 5}, newGuard(s), newKey(), now); !errors.Is(err, errStopped) {
		t.Fatal(err)
	}
	half(true, s)
	half(false, demo(t).store)
}
