package sqlstore

import (
	"context"
	"os"

	"evenpeel/recipes/fault"
)

// Copy writes a whole, consistent copy of an SQLite store to a new file while work goes on. Faults Invalid/COPY_EXISTS
// where the file is there already, NotReady/COPY_NOT_HERE with PostgreSQL, which has its own tools for it.
func (s *Store) Copy(ctx context.Context, path string) error {
	if _, ok := s.engine.(sqliteEngine); !ok {
		return fault.New(fault.NotReady, room, CopyNotHere, "This store is PostgreSQL. Copy it with pg_dump, or with what its host offers.")
	}
	// Made first, with the same narrow rights as the store: the copy holds the same passwords. SQLite fills an empty file.
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	switch {
	case os.IsExist(err):
		return fault.New(fault.Invalid, room, CopyExists, "There is a file %s already. Name a new one.", path)
	case err != nil:
		return fault.New(fault.Unavailable, room, StoreAway, "The copy can not be written to %s.", path).Because(err)
	}
	f.Close()
	if _, err := s.read.ExecContext(ctx, "VACUUM INTO $1", path); err != nil {
		os.Remove(path) // half a copy is worse than none
		return s.fault(err)
	}
	return nil
}
