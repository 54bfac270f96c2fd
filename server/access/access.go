// Package access is who a person is and what they may do: signing in, sessions, and one table of who may call
// what. For every call it answers two questions: who asks, and may they. What is lost at the border: passwords
// and tokens; only their hashes are kept.
//
// Room: access
// Holds: Guard, Person, Session, Directory, Table, Allowed, the session cookie
// May touch: recipes/fault, golang.org/x/crypto, google.golang.org/protobuf
// Never: SQL, Redis, a clock it was not handed, the text of a password or token in an error
package access

import (
	"context"

	"evenpeel/recipes/fault"
)

const room = "access"

// Reasons of this room's faults; the list is append-only.
const (
	SignInRefused      fault.Reason = "SIGN_IN_REFUSED"
	SignInSlowed       fault.Reason = "SIGN_IN_SLOWED"
	SignInBusy         fault.Reason = "SIGN_IN_BUSY"
	SessionEnded       fault.Reason = "SESSION_ENDED"
	NotYourRole        fault.Reason = "NOT_YOUR_ROLE"
	NotYourBranch      fault.Reason = "NOT_YOUR_BRANCH"
	PersonInvalid      fault.Reason = "PERSON_INVALID"
	RoleNeedsBranch    fault.Reason = "ROLE_NEEDS_BRANCH"
	FirstPersonExists  fault.Reason = "FIRST_PERSON_EXISTS"
	WordWrong          fault.Reason = "WORD_WRONG"
	NotYourself        fault.Reason = "NOT_YOURSELF"
	SessionUnconfirmed fault.Reason = "SESSION_UNCONFIRMED"
)

type personKey struct{}

type caller struct {
	person  Person
	session Session
}

// WithPerson hands on who asks, and by which session.
func WithPerson(ctx context.Context, p Person, s Session) context.Context {
	return context.WithValue(ctx, personKey{}, caller{p, s})
}

// PersonFrom is who asks; false where nobody is signed in.
func PersonFrom(ctx context.Context) (Person, bool) {
	c, ok := ctx.Value(personKey{}).(caller)
	return c.person, ok
}

// SessionFrom is the session that asks; false where nobody is signed in.
func SessionFrom(ctx context.Context) (Session, bool) {
	c, ok := ctx.Value(personKey{}).(caller)
	return c.session, ok
}

// Has reports whether the person holds the role.
func (p Person) Has(role Role) bool {
	for _, r := range p.Roles {
		if r == role {
			return true
		}
	}
	return false
}

func sessionEnded() *fault.Fault {
	return fault.New(fault.NotSignedIn, room, SessionEnded, "You are not signed in, or your session has ended. Sign in again.")
}
