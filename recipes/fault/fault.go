// Package fault is the one error type that crosses a room's door. Below the door, plain errors are wrapped with
// %w; at the door they become a Fault, or they are treated as Broken and shown as a reference number only.
// What is lost at the border: Cause is for the log and never reaches a person.
//
// Room: fault
// Holds: Fault, Kind, Field, Gather
// May touch: nothing
// Never: words of a driver or a stack trace in Words
package fault

import (
	"errors"
	"fmt"
	"strings"
)

// Kind is the class of a fault. The list is append-only: clients branch on it.
type Kind string

const (
	NotFound    Kind = "NOT_FOUND"     // the thing named does not exist, or not for this person
	Invalid     Kind = "INVALID"       // the input is wrong; Fields say where
	MovedOn     Kind = "MOVED_ON"      // somebody else was first; read again
	NotAllowed  Kind = "NOT_ALLOWED"   // this person may not do this
	NotSignedIn Kind = "NOT_SIGNED_IN" // no session, or it has ended
	NotReady    Kind = "NOT_READY"     // the act is right but not yet, or no longer
	TooLarge    Kind = "TOO_LARGE"     // over a stated limit
	Gone        Kind = "GONE"          // it existed and was retired
	Unavailable Kind = "UNAVAILABLE"   // a part of the service is away; try again
	Broken      Kind = "BROKEN"        // our fault
)

// Reason is a stable word for programs: "DRAFT_MOVED_ON". Each room lists its own in one place.
type Reason string

// Field is one place in the input and what is wrong there, in words for the person.
type Field struct{ Path, Words string }

// Fault is an error with words fit for the person at the counter.
type Fault struct {
	Kind   Kind
	Room   string
	Reason Reason
	Words  string            // what is wrong, where, and what to do
	Fields []Field           // all of them at once
	Facts  map[string]string // for programs: who was first, the limit, …
	Cause  error             // for the log only
}

// New makes a Fault; words may carry fmt verbs.
func New(kind Kind, room string, reason Reason, words string, args ...any) *Fault {
	return &Fault{Kind: kind, Room: room, Reason: reason, Words: fmt.Sprintf(words, args...)}
}

// Error gives the words, the fields and the cause, for logs and tests.
func (f *Fault) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s/%s: %s", f.Kind, f.Room, f.Reason, f.Words)
	for _, field := range f.Fields {
		fmt.Fprintf(&b, "; %s: %s", field.Path, field.Words)
	}
	if f.Cause != nil {
		fmt.Fprintf(&b, " (%v)", f.Cause)
	}
	return b.String()
}

// Unwrap gives the cause.
func (f *Fault) Unwrap() error { return f.Cause }

// Because attaches the cause for the log and returns f.
func (f *Fault) Because(cause error) *Fault { f.Cause = cause; return f }

// With attaches one fact for programs and returns f.
func (f *Fault) With(key, value string) *Fault {
	if f.Facts == nil {
		f.Facts = map[string]string{}
	}
	f.Facts[key] = value
	return f
}

// As finds the Fault in err's chain.
func As(err error) (*Fault, bool) {
	var f *Fault
	return f, errors.As(err, &f)
}

// Is reports whether err holds a Fault of the kind.
func Is(err error, kind Kind) bool { f, ok := As(err); return ok && f.Kind == kind }

// Fields gathers the faults of one input so that a person sees them all at once.
type Fields []Field

// Add notes that the value at path is wrong; words may carry fmt verbs.
func (fs *Fields) Add(path, words string, args ...any) {
	*fs = append(*fs, Field{path, fmt.Sprintf(words, args...)})
}

// Under puts every field of inner under the prefix: "breaks[2]" and "price" give "breaks[2].price".
func (fs *Fields) Under(prefix string, inner Fields) {
	for _, f := range inner {
		f.Path = prefix + "." + f.Path
		*fs = append(*fs, f)
	}
}

// Fault is nil where nothing was gathered, otherwise one Invalid fault with every field.
func (fs Fields) Fault(room string, reason Reason, words string) error {
	if len(fs) == 0 {
		return nil
	}
	return &Fault{Kind: Invalid, Room: room, Reason: reason, Words: words, Fields: fs}
}
