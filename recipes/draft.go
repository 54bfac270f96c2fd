package recipes

import (
	"regexp"
	"strconv"
	"strings"
	"time"

	"evenpeel/recipes/fault"
)

// Kind is what a record is. It is also the first part of the record's name.
type Kind string

const (
	KindRecipe      Kind = "recipes"
	KindPriceList   Kind = "prices"
	KindNote        Kind = "notes"
	KindCertificate Kind = "certificates"
	KindPlacements  Kind = "placements"
)

// Content is what a draft or revision says: a Recipe, a prices.List, a compliance.Note, a compliance.Certificate or a
// placement.Table.
type Content interface {
	// Check finds everything that keeps it from being approved.
	Check() fault.Fields
}

// RecordName names a record: "recipes/glimmer-cotton".
type RecordName string

var recordName = regexp.MustCompile(`^(recipes|prices|notes|certificates|placements)/[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`)

// Kind is the first part of the name; ok is false where the name is none.
func (n RecordName) Kind() (kind Kind, ok bool) {
	if !recordName.MatchString(string(n)) {
		return "", false
	}
	first, _, _ := strings.Cut(string(n), "/")
	return Kind(first), true
}

// RevisionName names a revision: "recipes/glimmer-cotton/revisions/3".
type RevisionName string

// Revision is the name of the record's revision with that number.
func (n RecordName) Revision(number int64) RevisionName {
	return RevisionName(string(n) + "/revisions/" + strconv.FormatInt(number, 10))
}

// Parts takes a revision's name apart. Fault Invalid/REVISION_NAME_INVALID.
func (n RevisionName) Parts() (RecordName, int64, error) {
	record, number, found := strings.Cut(string(n), "/revisions/")
	v, err := strconv.ParseInt(number, 10, 64)
	if !found || err != nil || v < 1 || !recordName.MatchString(record) {
		return "", 0, fault.New(fault.Invalid, "recipes", "REVISION_NAME_INVALID", "%q is not the name of a revision; one looks like recipes/film-fabric/revisions/3.", string(n))
	}
	return RecordName(record), v, nil
}

// DraftState is where a draft stands. Only Writing, Asked and Refused are open.
type DraftState string

const (
	Writing   DraftState = "writing"
	Asked     DraftState = "asked"
	Refused   DraftState = "refused"
	Approved  DraftState = "approved"
	Discarded DraftState = "discarded"
)

// Open reports whether a draft in this state can still change.
func (s DraftState) Open() bool { return s == Writing || s == Asked || s == Refused }

// Draft is a record being written. Content is kept as the bytes that package sealed made of it, so that the digest
// a second look binds to is the digest of what the store really holds.
type Draft struct {
	ID         string // "drafts/{id}" without the prefix
	Record     RecordName
	BaseNumber int64 // revision it started from; 0 is none
	Content    Sealed
	Etag       int64 // rises with every save
	State      DraftState
	Author     string   // person who started it
	Writers    []string // everybody who changed its content, the author included: none of them may approve it
	Saver      string   // person who saved last
	Updated    time.Time
	Reason     string
	Refusal    string
}

// Revision is a draft that was approved, with what package sealed puts inside the bytes.
type Revision struct {
	Record   RecordName
	Number   int64
	Content  Content
	Trials   []Trial // evidence of a recipe
	Author   string
	Approver string
	Approved time.Time
	Previous Digest // of the revision before; zero for the first
	Seen     Digest // of the content that the approver saw
	Reason   string
}

// RevisionRow is a revision as stores index it. Every column beside Digest is derived from the bytes at write time.
type RevisionRow struct {
	Record   RecordName
	Number   int64
	Title    string
	Digest   Digest
	Author   string
	Approver string
	Approved time.Time
	Reason   string
}

// Name is the revision's name.
func (r RevisionRow) Name() RevisionName { return r.Record.Revision(r.Number) }
