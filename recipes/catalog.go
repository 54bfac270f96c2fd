package recipes

import (
	"context"
	"time"
)

// Catalog reads what was approved. A branch is handed a Catalog and never a Desk.
type Catalog interface {
	// Sealed reads bytes by digest. Fault NotFound/REVISION_NOT_FOUND, Broken/BYTES_CHANGED.
	Sealed(ctx context.Context, digest Digest) (Sealed, error)
	// Revision reads one row; number 0 is the newest. Fault NotFound/REVISION_NOT_FOUND.
	Revision(ctx context.Context, record RecordName, number int64) (RevisionRow, error)
	// Revisions lists a record's rows, newest first. Fault NotFound/RECORD_NOT_FOUND.
	Revisions(ctx context.Context, record RecordName) ([]RevisionRow, error)
	// Records lists the newest row of each record of the kind ("" is all), by name.
	Records(ctx context.Context, kind Kind) ([]RevisionRow, error)
	// Releases lists every release with a number above the one given, in rising order.
	Releases(ctx context.Context, above int64) ([]SignedRelease, error)
	// NewestRelease is the highest number; 0 where there is none. It is cheap: watchers and pulls ask it often.
	NewestRelease(ctx context.Context) (int64, error)
}

// Desk changes drafts, keeps revisions and releases. Each method is one transaction.
type Desk interface {
	// Drafts lists drafts in the state ("" is all open ones), newest first.
	Drafts(ctx context.Context, state DraftState) ([]Draft, error)
	// Draft reads one. Fault NotFound/DRAFT_NOT_FOUND.
	Draft(ctx context.Context, id string) (Draft, error)
	// AddDraft stores a new draft; the same id again answers the stored one. Fault MovedOn/DRAFT_OPEN where the
	// record has another open draft (Facts: draft).
	AddDraft(ctx context.Context, d Draft) (Draft, error)
	// PutDraft replaces the draft if it stands at the etag before: stored Etag == d.Etag−1. Fault
	// MovedOn/DRAFT_MOVED_ON (Facts: saver, time), NotFound/DRAFT_NOT_FOUND.
	PutDraft(ctx context.Context, d Draft) error
	// KeepRevision stores sealed bytes and row and closes the draft, all or nothing, if the draft still stands at the
	// etag; two at once: exactly one wins. Fault MovedOn/DRAFT_MOVED_ON, MovedOn/REVISION_TAKEN.
	KeepRevision(ctx context.Context, d Draft, row RevisionRow, s Sealed) error
	// KeepRelease stores a release whose number is the newest plus one. The same request answers the stored one
	// through ReleaseOf. Fault MovedOn/RELEASE_TAKEN.
	KeepRelease(ctx context.Context, r SignedRelease, request string) error
	// ReleaseOf finds the release that a request made; number 0 where there is none.
	ReleaseOf(ctx context.Context, request string) (int64, error)
	// Releases is as in Catalog, and never behind what another process kept.
	Releases(ctx context.Context, above int64) ([]SignedRelease, error)

	// AddProposal stores a new proposal; the same id again answers the stored one.
	AddProposal(ctx context.Context, p Proposal) (Proposal, error)
	// Proposal reads one. Fault NotFound/PROPOSAL_NOT_FOUND.
	Proposal(ctx context.Context, id string) (Proposal, error)
	// Proposals lists the open ones, or all; see SortProposals for their order.
	Proposals(ctx context.Context, closed bool) ([]Proposal, error)
	// PutProposal replaces one that stands at the etag before. Fault NotReady/PROPOSAL_CLOSED.
	PutProposal(ctx context.Context, p Proposal) error
	// KeepProposed keeps a release as KeepRelease does and closes the proposal it was made of, all or nothing. Faults
	// MovedOn/RELEASE_TAKEN, NotReady/PROPOSAL_CLOSED.
	KeepProposed(ctx context.Context, p Proposal, r SignedRelease, request string) error
}

// Kept is one sealed revision with its row.
type Kept struct {
	Row    RevisionRow
	Sealed Sealed
}

// Restorer brings everything approved into an empty store.
type Restorer interface {
	// Restore stores revisions, each record's in rising order, and releases, in order, into a store that holds none, nor
	// drafts: all or nothing. Fault NotReady/STORE_NOT_EMPTY.
	Restore(ctx context.Context, revisions []Kept, releases []SignedRelease) error
}

// Reach is what one branch is known to hold.
type Reach struct {
	Branch   string
	Held     int64 // newest release that it pulled
	Pulled   time.Time
	Since    time.Time // when it first held that one
	Opened   int64     // newest release of which somebody opened a card
	OpenedAt time.Time // when that was noted first
}

// Use is when runs at a branch named a revision.
type Use struct {
	Branch      string
	Revision    RevisionName
	First, Last time.Time // ends of runs
}

// Reaches keeps who pulled what.
type Reaches interface {
	// NoteReach stores that the branch holds the release; a lower number than stored changes only the time. Since,
	// Opened and OpenedAt are not looked at: the store knows them.
	NoteReach(ctx context.Context, r Reach) error
	// NoteOpened stores that a card of the release was opened; a lower or equal number than stored changes nothing.
	NoteOpened(ctx context.Context, branch string, release int64, at time.Time) error
	// NoteReaches does the same for many branches at once, each of them once.
	NoteReaches(ctx context.Context, list []Reach) error
	// Reaches lists what is known, by branch.
	Reaches(ctx context.Context) ([]Reach, error)
	// RevisionUses lists which revisions runs named, by branch and revision.
	RevisionUses(ctx context.Context) ([]Use, error)
}
