package recipes

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenpeel/recipes/fault"
)

// Sealer turns records into bytes and back; package sealed is the only one that does.
type Sealer interface {
	SealRevision(Revision) (Sealed, error)
	SealRelease(Release) (Sealed, error)
	OpenRelease(Sealed) (Release, error)
	// OpenContent reads a draft's bytes. Fault NotReady/RECORD_TOO_NEW where they hold unknown fields.
	OpenContent(Sealed) (Content, error)
	// OpenTrials reads the trials that a draft's bytes carry.
	OpenTrials(Sealed) ([]Trial, error)
	OpenRevision(Sealed) (Revision, error)
}

// Signer signs a release's digest with the office's key.
type Signer interface {
	Sign(Digest) (signature []byte, key string)
}

// Office is head office's acts. Every act names the person who does it; who may do what is decided before, in access,
// but for the one rule that belongs here: nobody approves their own draft.
type Office struct {
	Catalog Catalog
	Desk    Desk
	Sealer  Sealer
	Signer  Signer
	Now     func() time.Time
	// Released is told of every new release, so that watchers hear of it; may be nil.
	Released func(number int64)
}

// Start opens a draft from a revision (base > 0) or from content. id is the client's, so that asking twice opens one.
// Faults: Invalid/RECORD_NAME_INVALID, Invalid/CONTENT_OF_OTHER_KIND, NotFound/REVISION_NOT_FOUND, MovedOn/DRAFT_OPEN,
// Invalid/REQUEST_ID_REUSED.
func (o Office) Start(ctx context.Context, person, id string, record RecordName, base int64, content Sealed) (Draft, error) {
	if err := o.ofKind(record, content); err != nil {
		return Draft{}, err
	}
	if base > 0 {
		if _, err := o.Catalog.Revision(ctx, record, base); err != nil {
			return Draft{}, err
		}
	}
	now := o.Now()
	d := Draft{ID: id, Record: record, BaseNumber: base, Content: content, Etag: 1, State: Writing, Author: person, Writers: []string{person}, Saver: person, Updated: now}
	stored, err := o.Desk.AddDraft(ctx, d)
	if err == nil && !stored.startedOf(d) {
		return Draft{}, reused("a draft of " + string(stored.Record))
	}
	return stored, err
}

// ofKind checks that a content can be read and is of the record's kind.
func (o Office) ofKind(record RecordName, content Sealed) error {
	kind, ok := record.Kind()
	if !ok {
		return fault.New(fault.Invalid, "recipes", "RECORD_NAME_INVALID", "%q is not the name of a record; one looks like recipes/film-fabric, prices/market, notes/name.", string(record))
	}
	got, err := o.Sealer.OpenContent(content)
	if err != nil {
		return err
	}
	if got == nil || KindOf(got) != kind {
		return fault.New(fault.Invalid, "recipes", "CONTENT_OF_OTHER_KIND", "The content is not of the kind that %s needs.", record)
	}
	return nil
}

// KindOf is the kind of record that a content belongs to; contents say so themselves.
func KindOf(c Content) Kind {
	if c, ok := c.(interface{ RecordKind() string }); ok {
		return Kind(c.RecordKind())
	}
	return ""
}

// RecordKind is "recipes".
func (Recipe) RecordKind() string { return string(KindRecipe) }

// RecordTitle is the recipe's title.
func (r Recipe) RecordTitle() string { return r.Title }

// TitleOf is the title that lists show for a content.
func TitleOf(c Content) string {
	if c, ok := c.(interface{ RecordTitle() string }); ok {
		return c.RecordTitle()
	}
	return ""
}

// Save replaces a draft's content. A draft that was asked or refused goes back to writing: a second look binds to
// content, so an edit needs a new one. Faults: NotFound/DRAFT_NOT_FOUND, NotReady/DRAFT_CLOSED, MovedOn/DRAFT_MOVED_ON,
// Invalid/CONTENT_OF_OTHER_KIND.
func (o Office) Save(ctx context.Context, person, id string, etag int64, content Sealed, reason string) (Draft, error) {
	d, err := o.openAt(ctx, id, etag)
	if err != nil {
		return d, err
	}
	if err := o.ofKind(d.Record, content); err != nil {
		return d, err
	}
	d.Content = content
	if !slices.Contains(d.Writers, person) {
		d.Writers = append(slices.Clone(d.Writers), person)
	}
	if reason != "" {
		d.Reason = reason
	}
	return o.put(ctx, d, person, Writing)
}

// Faults are everything that keeps a draft from being approved.
func (o Office) Faults(d Draft) (fault.Fields, error) {
	content, err := o.Sealer.OpenContent(d.Content)
	if err != nil {
		return nil, err
	}
	trials, err := o.Sealer.OpenTrials(d.Content)
	return append(content.Check(), checkTrials(content, trials)...), err
}

// Ask asks for a second look. Faults: Invalid/CONTENT_INVALID with every field, MovedOn/DRAFT_MOVED_ON, NotReady/DRAFT_CLOSED.
func (o Office) Ask(ctx context.Context, person, id string, etag int64) (Draft, error) {
	d, err := o.openAt(ctx, id, etag)
	if err != nil {
		return d, err
	}
	fs, err := o.Faults(d)
	if err != nil {
		return d, err
	}
	if err := fs.Fault("recipes", "CONTENT_INVALID", fmt.Sprintf("%d things have to be mended before somebody can look at this.", len(fs))); err != nil {
		return d, err
	}
	return o.put(ctx, d, person, Asked)
}

// Refuse sends a draft back with a reason. Faults: NotReady/NOT_ASKED, MovedOn/DRAFT_MOVED_ON.
func (o Office) Refuse(ctx context.Context, person, id string, etag int64, reason string) (Draft, error) {
	d, err := o.openAt(ctx, id, etag)
	if err != nil {
		return d, err
	}
	if d.State != Asked {
		return d, notAsked()
	}
	d.Refusal = person + ": " + reason
	return o.put(ctx, d, person, Refused)
}

// Discard closes a draft for good. Faults: MovedOn/DRAFT_MOVED_ON, NotReady/DRAFT_CLOSED.
func (o Office) Discard(ctx context.Context, person, id string, etag int64) (Draft, error) {
	d, err := o.openAt(ctx, id, etag)
	if err != nil {
		return d, err
	}
	return o.put(ctx, d, person, Discarded)
}

// Approve seals exactly the content that the approver saw, once, and closes the draft.
// Faults: NotAllowed/OWN_DRAFT for everybody who wrote in it, NotReady/NOT_ASKED,
// MovedOn/CHANGED_SINCE_SEEN, MovedOn/DRAFT_MOVED_ON, Invalid/CONTENT_INVALID.
func (o Office) Approve(ctx context.Context, person, id string, seen Digest) (RevisionRow, error) {
	d, err := o.Desk.Draft(ctx, id)
	if err != nil {
		return RevisionRow{}, err
	}
	switch {
	case d.State != Asked:
		return RevisionRow{}, notAsked()
	case slices.Contains(d.Writers, person):
		return RevisionRow{}, fault.New(fault.NotAllowed, "recipes", "OWN_DRAFT", "You wrote this draft, so somebody else has to approve it.")
	case d.Content.Digest() != seen:
		return RevisionRow{}, fault.New(fault.MovedOn, "recipes", "CHANGED_SINCE_SEEN", "%s changed this draft after you opened it. Look at it again before you approve.", strings.TrimPrefix(d.Saver, "people/")).With("saver", d.Saver)
	}
	content, err := o.Sealer.OpenContent(d.Content)
	if err != nil {
		return RevisionRow{}, err
	}
	trials, err := o.Sealer.OpenTrials(d.Content)
	if err != nil {
		return RevisionRow{}, err
	}
	if err := append(content.Check(), checkTrials(content, trials)...).Fault("recipes", "CONTENT_INVALID", "This draft has faults, so it can not be approved."); err != nil {
		return RevisionRow{}, err
	}
	rev := Revision{Record: d.Record, Number: 1, Content: content, Trials: trials, Author: d.Author, Approver: person, Approved: o.Now().Truncate(time.Second), Seen: seen, Reason: d.Reason}
	before, err := o.Catalog.Revision(ctx, d.Record, 0)
	switch {
	case err == nil:
		rev.Number, rev.Previous = before.Number+1, before.Digest
	case !fault.Is(err, fault.NotFound):
		return RevisionRow{}, err
	}
	sealed, err := o.Sealer.SealRevision(rev)
	if err != nil {
		return RevisionRow{}, err
	}
	row := RevisionRow{Record: rev.Record, Number: rev.Number, Title: TitleOf(content), Digest: sealed.Digest(), Author: rev.Author, Approver: rev.Approver, Approved: rev.Approved, Reason: rev.Reason}
	d.State, d.Etag, d.Updated = Approved, d.Etag+1, o.Now()
	return row, o.Desk.KeepRevision(ctx, d, row, sealed)
}

func (o Office) openAt(ctx context.Context, id string, etag int64) (Draft, error) {
	d, err := o.Desk.Draft(ctx, strings.TrimPrefix(id, "drafts/"))
	switch {
	case err != nil:
		return d, err
	case !d.State.Open():
		return d, fault.New(fault.NotReady, "recipes", "DRAFT_CLOSED", "This draft is closed (%s). Start a new one from the revision.", d.State)
	case d.Etag != etag:
		return d, MovedOn(d)
	}
	return d, nil
}

func (o Office) put(ctx context.Context, d Draft, saver string, state DraftState) (Draft, error) {
	d.State, d.Saver, d.Etag, d.Updated = state, saver, d.Etag+1, o.Now()
	return d, o.Desk.PutDraft(ctx, d)
}

func notAsked() error {
	return fault.New(fault.NotReady, "recipes", "NOT_ASKED", "Nobody asked for a second look at this draft, or it was answered already.")
}

// MovedOn is the fault of a save that came second.
func MovedOn(d Draft) error {
	return fault.New(fault.MovedOn, "recipes", "DRAFT_MOVED_ON", "%s saved this draft at %s, after you opened it. Nothing of yours was lost: look at both, then save again.", strings.TrimPrefix(d.Saver, "people/"), d.Updated.UTC().Format("2006-01-02 15:04 UTC")).
		With("saver", d.Saver).With("time", d.Updated.UTC().Format(time.RFC3339))
}
