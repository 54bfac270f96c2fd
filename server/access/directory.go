package access

import (
	"context"
	"time"
)

// Role is what a person is.
type Role string

const (
	OfficeEditor     Role = "office-editor"     // writes drafts
	OfficeApprover   Role = "office-approver"   // gives second looks and releases
	BranchOperator   Role = "branch-operator"   // works at a bench
	BranchManager    Role = "branch-manager"    // runs a branch
	FranchiseManager Role = "franchise-manager" // looks after all branches
	Auditor          Role = "auditor"           // reads everything, changes nothing
)

// Roles are all of them.
var Roles = []Role{OfficeEditor, OfficeApprover, BranchOperator, BranchManager, FranchiseManager, Auditor}

// Person is somebody who signs in.
type Person struct {
	Name     string // "people/{id}"
	Email    string // lower case
	Title    string
	Roles    []Role
	Branch   string // "branches/{id}" for people of a branch
	Barred   bool
	Password string // argon2id in PHC form; never leaves this room
}

// SessionHash is the SHA-256 of a session's token; the token itself is kept nowhere.
type SessionHash [32]byte

// Session is one sign-in on one device.
type Session struct {
	Hash    SessionHash
	Person  string
	Started time.Time
	Seen    time.Time
	Ends    time.Time
}

// Standing is a session and whose it is.
type Standing struct {
	Session Session
	Person  Person
}

// Marks are equal where nothing that matters to an open session has changed.
type Marks struct{ Sessions, Began, People, Barred int64 }

// Directory keeps people and sessions.
type Directory interface {
	// Person reads one by name. Fault NotFound/PERSON_NOT_FOUND.
	Person(ctx context.Context, name string) (Person, error)
	// PersonByEmail reads one by address, lower case. Fault NotFound/PERSON_NOT_FOUND.
	PersonByEmail(ctx context.Context, email string) (Person, error)
	// People lists all, by address.
	People(ctx context.Context) ([]Person, error)
	// AddPerson stores a new one. Fault Invalid/EMAIL_TAKEN. With first set it stores only where there is nobody yet,
	// else fault NotReady/FIRST_PERSON_EXISTS.
	AddPerson(ctx context.Context, p Person, first bool) error
	// PutPerson replaces one. Fault NotFound/PERSON_NOT_FOUND.
	PutPerson(ctx context.Context, p Person) error
	// AddSession stores a session.
	AddSession(ctx context.Context, s Session) error
	// Session reads one. Fault NotSignedIn/SESSION_ENDED.
	Session(ctx context.Context, hash SessionHash) (Session, error)
	// Standings reads many sessions, each with its person, in any order; what is not there is left out.
	Standings(ctx context.Context, hashes []SessionHash) ([]Standing, error)
	// Marks gives numbers that change where a session that began up to an instant has ended, or a person was barred:
	// asking for them costs much less than reading all sessions.
	Marks(ctx context.Context, began time.Time) (Marks, error)
	// SeeSessions stores when they were last used; an earlier time than stored, or an unknown session, changes nothing.
	SeeSessions(ctx context.Context, hashes []SessionHash, seen time.Time) error
	// EndSession removes one; an unknown one is no fault.
	EndSession(ctx context.Context, hash SessionHash) error
	// EndSessions removes all of a person and says how many.
	EndSessions(ctx context.Context, person string) (int, error)
}

// Audited keeps the chain of who did what: each entry carries the hash of the one before.
type Audited interface {
	// AppendAudit stores what was done; the store computes Number and Hash.
	AppendAudit(ctx context.Context, e AuditEntry) error
	// Audit lists entries with a number above the one given, in rising order.
	Audit(ctx context.Context, above int64, most int) ([]AuditEntry, error)
	// NewestAudit is the highest number; 0 where there is none.
	NewestAudit(ctx context.Context) (int64, error)
}

// AuditEntry is one act.
type AuditEntry struct {
	Number   int64
	Time     time.Time
	Person   string
	Act      string // "ApproveDraft"
	Object   string // resource name
	Previous [32]byte
	Hash     [32]byte // SHA-256 over the previous hash and the fields above, each with its length
}
