// Package sealed is where records become bytes and bytes become records. It is the only package that marshals one.
// What is lost at the border: nothing; a field that this program does not know makes Open refuse, so that an old
// program may pass a new record on but never reasons about it.
//
// Room: sealed
// Holds: Codec (Seal, Open, Content, Masked), the mapping between records and plain Go
// May touch: proto, recipes, recipes/units, recipes/fault, recipes/prices, recipes/compliance, recipes/compliance/care, recipes/placement, google.golang.org/protobuf
// Never: SQL, Redis, RPC, re-encoding of what is sealed
package sealed

import (
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const room = "sealed"

// MaxSize bounds a record's bytes.
const MaxSize = 256 << 10

// Sealed and Digest are those of recipes, under the names that readers of this room expect.
type (
	Sealed = recipes.Sealed
	Digest = recipes.Digest
)

// Unseal checks bytes against the digest they are known by. Fault Broken/BYTES_CHANGED.
func Unseal(content []byte, want Digest) (Sealed, error) { return recipes.Unseal(content, want) }

// Codec implements recipes.Sealer.
type Codec struct{}

var _ recipes.Sealer = Codec{}

// SealRevision marshals an approved revision, once. Fault TooLarge/RECORD_TOO_LARGE.
func (Codec) SealRevision(r recipes.Revision) (Sealed, error) {
	content, err := contentMessage(r.Content)
	if err != nil {
		return Sealed{}, err
	}
	content.Trials = trialMessages(r.Trials)
	return marshalled(&recordv1.Revision{
		Record: string(r.Record), Number: r.Number, Content: content, Author: r.Author, Approver: r.Approver,
		ApproveTime: timestamppb.New(r.Approved), PreviousSha256: digestBytes(r.Previous), SeenSha256: digestBytes(r.Seen), Reason: r.Reason,
	})
}

// OpenRevision reads a sealed revision. Fault NotReady/RECORD_TOO_NEW, Broken/RECORD_UNREADABLE.
func (Codec) OpenRevision(s Sealed) (recipes.Revision, error) {
	var m recordv1.Revision
	if err := opened(s, &m); err != nil {
		return recipes.Revision{}, err
	}
	content, err := contentOf(m.GetContent())
	if err != nil {
		return recipes.Revision{}, err
	}
	r := recipes.Revision{Record: recipes.RecordName(m.GetRecord()), Number: m.GetNumber(), Content: content, Trials: trialsOf(m.GetContent()), Author: m.GetAuthor(), Approver: m.GetApprover(), Approved: m.GetApproveTime().AsTime(), Reason: m.GetReason()}
	if r.Previous, err = digestOf(m.GetPreviousSha256()); err != nil {
		return r, err
	}
	r.Seen, err = digestOf(m.GetSeenSha256())
	return r, err
}

// SealRelease marshals a release, once.
func (Codec) SealRelease(r recipes.Release) (Sealed, error) {
	m := &recordv1.Release{Number: r.Number, Branches: r.Branches, EffectiveTime: timeMessage(r.Effective), Approver: r.Approver, ReleaseTime: timeMessage(r.Made), PreviousSha256: digestBytes(r.Previous), Reason: r.Reason, Widens: r.Widens, Cancels: r.Cancels, NextKey: r.NextKey, FromKey: r.FromKey, Proposer: r.Proposer}
	for _, record := range r.Withdrawn {
		m.Withdrawn = append(m.Withdrawn, string(record))
	}
	for _, rev := range r.Revisions {
		m.Revisions = append(m.Revisions, &recordv1.Released{Revision: string(rev.Revision), Sha256: rev.Digest[:]})
	}
	for _, market := range r.Markets {
		m.Markets = append(m.Markets, string(market))
	}
	return marshalled(m)
}

// OpenRelease reads a sealed release. Fault NotReady/RECORD_TOO_NEW, Broken/RECORD_UNREADABLE.
func (Codec) OpenRelease(s Sealed) (recipes.Release, error) {
	var m recordv1.Release
	if err := opened(s, &m); err != nil {
		return recipes.Release{}, err
	}
	r := recipes.Release{Number: m.GetNumber(), Branches: m.GetBranches(), Effective: timeOf(m.GetEffectiveTime()), Approver: m.GetApprover(), Made: timeOf(m.GetReleaseTime()), Reason: m.GetReason(), Widens: m.GetWidens(), Cancels: m.GetCancels(), NextKey: m.GetNextKey(), FromKey: m.GetFromKey(), Proposer: m.GetProposer()}
	for _, record := range m.GetWithdrawn() {
		r.Withdrawn = append(r.Withdrawn, recipes.RecordName(record))
	}
	for _, rev := range m.GetRevisions() {
		digest, err := digestOf(rev.GetSha256())
		if err != nil {
			return r, err
		}
		r.Revisions = append(r.Revisions, recipes.Released{Revision: recipes.RevisionName(rev.GetRevision()), Digest: digest})
	}
	for _, market := range m.GetMarkets() {
		r.Markets = append(r.Markets, recipes.Market(market))
	}
	var err error
	r.Previous, err = digestOf(m.GetPreviousSha256())
	return r, err
}

// Content makes a draft's bytes out of a record's content.
func (Codec) Content(c recipes.Content) (Sealed, error) {
	m, err := contentMessage(c)
	if err != nil {
		return Sealed{}, err
	}
	return marshalled(m)
}

// OpenContent reads a draft's bytes.
func (Codec) OpenContent(s Sealed) (recipes.Content, error) {
	m, err := ContentMessage(s)
	if err != nil {
		return nil, err
	}
	return contentOf(m)
}

// ContentMessage is a draft's content as the wire carries it.
func ContentMessage(s Sealed) (*recordv1.Content, error) {
	var m recordv1.Content
	return &m, opened(s, &m)
}

// FromMessage makes a draft's bytes out of what the wire brought.
func FromMessage(m *recordv1.Content) (Sealed, error) {
	if m.GetContent() == nil {
		return Sealed{}, fault.New(fault.Invalid, room, "CONTENT_MISSING", "The draft has no content; say what it is: a recipe, a price list, a note or a certificate.")
	}
	if err := refuseUnknown(m.ProtoReflect()); err != nil {
		return Sealed{}, err
	}
	return marshalled(m)
}

func marshalled(m proto.Message) (Sealed, error) {
	// Deterministic keeps golden files calm; nothing depends on it, since sealed bytes are never encoded again.
	b, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		return Sealed{}, fault.New(fault.Invalid, room, "RECORD_UNREADABLE", "This record holds text that is not UTF-8.").Because(err)
	}
	if len(b) > MaxSize {
		return Sealed{}, fault.New(fault.TooLarge, room, "RECORD_TOO_LARGE", "This record has %d bytes; at most %d are kept. Split it.", len(b), MaxSize)
	}
	return recipes.SealBytes(b), nil
}

func opened(s Sealed, m proto.Message) error {
	if s.Size() > MaxSize {
		return fault.New(fault.TooLarge, room, "RECORD_TOO_LARGE", "This record has %d bytes; at most %d are read.", s.Size(), MaxSize)
	}
	if err := proto.Unmarshal(s.Content(), m); err != nil {
		return fault.New(fault.Broken, room, "RECORD_UNREADABLE", "A sealed record can not be read. Tell head office.").Because(err)
	}
	return refuseUnknown(m.ProtoReflect())
}

// refuseUnknown walks a message: a field that this program does not know may change what the others mean.
func refuseUnknown(m protoreflect.Message) (err error) {
	tooNew := fault.New(fault.NotReady, room, "RECORD_TOO_NEW", "This record was written by a newer program. Update this one, then try again.")
	if len(m.GetUnknown()) > 0 {
		return tooNew
	}
	m.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case fd.Kind() == protoreflect.EnumKind && !fd.IsList():
			if fd.Enum().Values().ByNumber(v.Enum()) == nil {
				err = tooNew
			}
		case fd.Kind() != protoreflect.MessageKind:
		case fd.IsList():
			for i := 0; i < v.List().Len() && err == nil; i++ {
				err = refuseUnknown(v.List().Get(i).Message())
			}
		default:
			err = refuseUnknown(v.Message())
		}
		return err == nil
	})
	return err
}

// timeMessage leaves an instant that is not set out.
func timeMessage(t time.Time) *timestamppb.Timestamp {
	if t.IsZero() {
		return nil
	}
	return timestamppb.New(t)
}

func timeOf(m *timestamppb.Timestamp) time.Time {
	if m == nil {
		return time.Time{}
	}
	return m.AsTime()
}

func digestBytes(d Digest) []byte {
	if d.Zero() {
		return nil
	}
	return d[:]
}

func digestOf(b []byte) (Digest, error) {
	if len(b) == 0 {
		return Digest{}, nil
	}
	return recipes.ParseDigest(b)
}
