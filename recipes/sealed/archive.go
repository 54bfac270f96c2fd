package sealed

import (
	"google.golang.org/protobuf/proto"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

// MaxPart bounds one part of an archive: a record with what stands around it.
const MaxPart = MaxSize + 1<<10

// ArchivePart is one part of an archive; exactly one field is set.
type ArchivePart struct {
	Head     *ArchiveHead
	Revision *Sealed
	Release  *recipes.SignedRelease
	End      []byte // signature
}

// ArchiveHead says what an archive holds.
type ArchiveHead = recipes.ArchiveHead

// SealPart marshals one part.
func SealPart(p ArchivePart) ([]byte, error) {
	var m recordv1.ArchivePart
	switch {
	case p.Head != nil:
		m.Part = &recordv1.ArchivePart_Head{Head: &recordv1.ArchiveHead{
			WriteTime: timeMessage(p.Head.Written), Program: p.Head.Program, FirstKey: p.Head.FirstKey, Key: p.Head.Key, RevisionsCount: p.Head.Revisions, ReleasesCount: p.Head.Releases,
		}}
	case p.Revision != nil:
		d := p.Revision.Digest()
		m.Part = &recordv1.ArchivePart_Revision{Revision: &recordv1.ArchiveRevision{Content: p.Revision.Content(), Sha256: d[:]}}
	case p.Release != nil:
		d := p.Release.Sealed.Digest()
		m.Part = &recordv1.ArchivePart_Release{Release: &recordv1.ArchiveRelease{Content: p.Release.Sealed.Content(), Sha256: d[:], Signature: p.Release.Signature, Key: p.Release.Key}}
	default:
		m.Part = &recordv1.ArchivePart_End{End: &recordv1.ArchiveEnd{Signature: p.End}}
	}
	return proto.MarshalOptions{Deterministic: true}.Marshal(&m)
}

// OpenPart reads one part, and checks the digest of what it holds. Faults Broken/RECORD_UNREADABLE, Broken/BYTES_CHANGED,
// NotReady/RECORD_TOO_NEW.
func OpenPart(b []byte) (ArchivePart, error) {
	var m recordv1.ArchivePart
	if err := proto.Unmarshal(b, &m); err != nil {
		return ArchivePart{}, fault.New(fault.Broken, room, "RECORD_UNREADABLE", "It can not be read.").Because(err)
	}
	if err := refuseUnknown(m.ProtoReflect()); err != nil {
		return ArchivePart{}, err
	}
	switch p := m.GetPart().(type) {
	case *recordv1.ArchivePart_Head:
		h := p.Head
		return ArchivePart{Head: &ArchiveHead{Written: timeOf(h.GetWriteTime()), Program: h.GetProgram(), FirstKey: h.GetFirstKey(), Key: h.GetKey(), Revisions: h.GetRevisionsCount(), Releases: h.GetReleasesCount()}}, nil
	case *recordv1.ArchivePart_Revision:
		s, err := unsealed(p.Revision.GetContent(), p.Revision.GetSha256())
		return ArchivePart{Revision: &s}, err
	case *recordv1.ArchivePart_Release:
		s, err := unsealed(p.Release.GetContent(), p.Release.GetSha256())
		if err != nil {
			return ArchivePart{}, err
		}
		r, err := Codec{}.OpenRelease(s)
		return ArchivePart{Release: &recipes.SignedRelease{Release: r, Sealed: s, Signature: p.Release.GetSignature(), Key: p.Release.GetKey()}}, err
	case *recordv1.ArchivePart_End:
		return ArchivePart{End: append([]byte{}, p.End.GetSignature()...)}, nil
	}
	return ArchivePart{}, fault.New(fault.Broken, room, "RECORD_UNREADABLE", "It is of no kind that is known.")
}

func unsealed(content, digest []byte) (Sealed, error) {
	want, err := recipes.ParseDigest(digest)
	if err != nil {
		return Sealed{}, err
	}
	return Unseal(content, want)
}
