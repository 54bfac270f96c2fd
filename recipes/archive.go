package recipes

import "time"

// ArchiveHead says what a file with everything approved holds.
type ArchiveHead struct {
	Written             time.Time
	Program             string
	FirstKey            []byte // Ed25519: the chain of releases begins with it
	Key                 []byte // signs the file
	Revisions, Releases int64
}
