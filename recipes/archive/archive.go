// Package archive is everything that head office approved, as one signed file: to move between installations, and
// against the day on which the store is lost. A file that was torn or edited is refused, and the place is named.
//
// Room: archive
// Holds: Archive, Write, Read
// May touch: recipes, recipes/fault, recipes/sealed
// Never: a clock it was not handed, a private key, drafts, people, runs
package archive

import (
	"bufio"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
)

const room = "archive"

// Reasons of this room's faults; the list is append-only.
const (
	NotAnArchive fault.Reason = "NOT_AN_ARCHIVE"
	Torn         fault.Reason = "ARCHIVE_TORN"
	Edited       fault.Reason = "ARCHIVE_EDITED"
	Unsigned     fault.Reason = "ARCHIVE_UNSIGNED"
	OtherKey     fault.Reason = "ARCHIVE_OF_OTHER_OFFICE"
	TooLong      fault.Reason = "ARCHIVE_TOO_LARGE"
)

// MaxParts bounds what is read into memory: at some kilobytes each, about a gigabyte.
const MaxParts = 250_000

// magic begins every file.
const magic = "evenpeel archive 1\n"

// Archive is what a file holds.
type Archive struct {
	Head      recipes.ArchiveHead
	Revisions []recipes.Kept // each record's in rising order
	Releases  []recipes.SignedRelease
}

// Text is what the office's key signs at the end of a file.
func Text(hash [32]byte) []byte { return append([]byte("evenpeel archive\n"), hash[:]...) }

// frame is the place in a file, and the hash that covers everything up to it.
type frame struct {
	part   int64 // number of the part that comes, from 1
	offset int64 // of its first byte
	hash   [32]byte
}

func begin() frame { return frame{1, int64(len(magic)), sha256.Sum256([]byte(magic))} }

// after is the frame behind a part.
func (f frame) after(part []byte) frame {
	h := sha256.New()
	h.Write(f.hash[:])
	h.Write(length(part))
	h.Write(part)
	return frame{f.part + 1, f.offset + 4 + 32 + int64(len(part)), [32]byte(h.Sum(nil))}
}

func length(part []byte) []byte { return binary.BigEndian.AppendUint32(nil, uint32(len(part))) }

// Write writes a file; sign is the office's key.
func Write(to io.Writer, a Archive, sign func(text []byte) []byte) error {
	w := bufio.NewWriter(to)
	w.WriteString(magic) // the first error stays with the writer, and Flush gives it
	at := begin()
	a.Head.Revisions, a.Head.Releases = int64(len(a.Revisions)), int64(len(a.Releases))
	put := func(p sealed.ArchivePart) error {
		part, err := sealed.SealPart(p)
		if err != nil {
			return err
		}
		at = at.after(part)
		w.Write(length(part))
		w.Write(at.hash[:])
		_, err = w.Write(part)
		return err
	}
	if err := put(sealed.ArchivePart{Head: &a.Head}); err != nil {
		return err
	}
	for i := range a.Revisions {
		if err := put(sealed.ArchivePart{Revision: &a.Revisions[i].Sealed}); err != nil {
			return err
		}
	}
	for i := range a.Releases {
		if err := put(sealed.ArchivePart{Release: &a.Releases[i]}); err != nil {
			return err
		}
	}
	if err := put(sealed.ArchivePart{End: sign(Text(at.hash))}); err != nil {
		return err
	}
	return w.Flush()
}

// Read reads a file and checks all of it: every hash, the signature, each record's chain, the chain of releases, and that
// every revision released is there. first is the key that the reader knows the office by; nil takes the file's own word
// for it, which the caller has to say. Faults Invalid/NOT_AN_ARCHIVE, TooLarge/ARCHIVE_TOO_LARGE, Broken/ARCHIVE_TORN,
// Broken/ARCHIVE_EDITED, Broken/ARCHIVE_UNSIGNED, NotReady/ARCHIVE_OF_OTHER_OFFICE, and those of VerifyChain.
func Read(from io.Reader, first []byte) (Archive, error) {
	var a Archive
	r := bufio.NewReader(from)
	start := make([]byte, len(magic))
	if _, err := io.ReadFull(r, start); err != nil || string(start) != magic {
		return a, fault.New(fault.Invalid, room, NotAnArchive, "This is no file of this program, or one of a newer program.")
	}
	at := begin()
	for {
		part, next, err := at.read(r)
		if err != nil {
			return a, err
		}
		p, err := sealed.OpenPart(part)
		if err != nil {
			return a, at.edited("%s", words(err)).Because(err)
		}
		switch {
		case at.part == 1 != (p.Head != nil):
			return a, at.edited("It does not stand where it should.")
		case p.Head != nil:
			a.Head = *p.Head
			if a.Head.Revisions+a.Head.Releases > MaxParts {
				return a, fault.New(fault.TooLarge, room, TooLong, "The file says that it holds %d parts; at most %d are read.", a.Head.Revisions+a.Head.Releases, MaxParts)
			}
		case p.Revision != nil:
			k, err := kept(*p.Revision)
			if err != nil {
				return a, at.edited("%s", words(err)).Because(err)
			}
			a.Revisions = append(a.Revisions, k)
		case p.Release != nil:
			a.Releases = append(a.Releases, *p.Release)
		default:
			return a, a.closed(at, p.End, r, first)
		}
		if int64(len(a.Revisions)) > a.Head.Revisions || int64(len(a.Releases)) > a.Head.Releases {
			return a, at.edited("The file holds more than its beginning says.")
		}
		at = next
	}
}

// read reads the part at the frame.
func (f frame) read(r io.Reader) ([]byte, frame, error) {
	head := make([]byte, 36)
	if _, err := io.ReadFull(r, head); err != nil {
		return nil, f, f.torn(err)
	}
	size := binary.BigEndian.Uint32(head)
	if size > sealed.MaxPart {
		return nil, f, f.edited("It says that it has %d bytes, which none has.", size)
	}
	part := make([]byte, size)
	if _, err := io.ReadFull(r, part); err != nil {
		return nil, f, f.torn(err)
	}
	next := f.after(part)
	if next.hash != [32]byte(head[4:]) {
		return nil, f, f.edited("Its hash is another than the one written.")
	}
	return part, next, nil
}

func (f frame) torn(cause error) error {
	if !errors.Is(cause, io.EOF) && !errors.Is(cause, io.ErrUnexpectedEOF) {
		return fault.New(fault.Unavailable, room, Torn, "The file can not be read on at byte %d.", f.offset).Because(cause)
	}
	return fault.New(fault.Broken, room, Torn, "The file ends in the middle of part %d, which begins at byte %d. Nothing of it is used; take another copy.", f.part, f.offset)
}

func (f frame) edited(why string, args ...any) *fault.Fault {
	return fault.New(fault.Broken, room, Edited, "Part %d, which begins at byte %d, was changed after it was written. "+why+" Nothing of the file is used; take another copy.", append([]any{f.part, f.offset}, args...)...)
}

func words(err error) string {
	if f, ok := fault.As(err); ok {
		return f.Words
	}
	return "It can not be read."
}

// kept is a revision with the row that stores index it by.
func kept(s recipes.Sealed) (recipes.Kept, error) {
	rev, err := sealed.Codec{}.OpenRevision(s)
	if err != nil {
		return recipes.Kept{}, err
	}
	return recipes.Kept{Sealed: s, Row: rowOf(rev, s)}, nil
}

func rowOf(rev recipes.Revision, s recipes.Sealed) recipes.RevisionRow {
	return recipes.RevisionRow{
		Record: rev.Record, Number: rev.Number, Title: recipes.TitleOf(rev.Content), Digest: s.Digest(), Author: rev.Author, Approver: rev.Approver, Approved: rev.Approved.UTC(), Reason: rev.Reason,
	}
}

// closed checks what can be judged only when all has been read.
func (a Archive) closed(at frame, signature []byte, rest io.Reader, first []byte) error {
	if n, _ := rest.Read(make([]byte, 1)); n > 0 {
		return at.edited("Something was written after the end.")
	}
	if int64(len(a.Revisions)) != a.Head.Revisions || int64(len(a.Releases)) != a.Head.Releases {
		return at.edited("The file holds %d revisions and %d releases, but its beginning says %d and %d.", len(a.Revisions), len(a.Releases), a.Head.Revisions, a.Head.Releases)
	}
	if len(a.Head.Key) != ed25519.PublicKeySize || !ed25519.Verify(a.Head.Key, Text(at.hash), signature) {
		return fault.New(fault.Broken, room, Unsigned, "The file is not signed with the key that it names. Nothing of it is used; take another copy.")
	}
	if first != nil && string(first) != string(a.Head.FirstKey) {
		return fault.New(fault.NotReady, room, OtherKey, "The file is of another office: its first key is %s, and %s was expected.", recipes.KeyName(a.Head.FirstKey), recipes.KeyName(first))
	}
	return a.Verify()
}

// Verify checks the chains: each record's revisions, the releases from the first key on, and that the file's key is the
// one at their end.
func (a Archive) Verify() error {
	if err := VerifyRevisions(a.Revisions); err != nil {
		return err
	}
	known := map[recipes.Released]bool{}
	for _, k := range a.Revisions {
		known[recipes.Released{Revision: k.Row.Name(), Digest: k.Row.Digest}] = true
	}
	if _, err := recipes.VerifyChain(sealed.Codec{}, a.Head.FirstKey, a.Releases); err != nil {
		return err
	}
	for _, r := range a.Releases {
		for _, rev := range r.Release.Revisions {
			if !known[rev] {
				return fault.New(fault.Broken, room, Edited, "Release %d puts %s in force, but that revision is not in the file.", r.Release.Number, string(rev.Revision))
			}
		}
	}
	// The key at the end of the chain signs the file, so that nobody with a key that was given up can write one.
	last := a.Head.FirstKey
	for _, r := range a.Releases {
		if len(r.Release.NextKey) > 0 {
			last = r.Release.NextKey
		}
	}
	if string(last) != string(a.Head.Key) {
		return fault.New(fault.Broken, room, Unsigned, "The file is signed with the key %s, but the office's key is %s.", recipes.KeyName(a.Head.Key), recipes.KeyName(last))
	}
	return nil
}

// VerifyRevisions checks that each record's revisions count up from 1 and each names the one before. Faults
// Broken/REVISION_MISSING, Broken/REVISION_CHAIN_BROKEN, and those of opening one.
func VerifyRevisions(all []recipes.Kept) error {
	type end struct {
		number int64
		digest recipes.Digest
	}
	ends := map[recipes.RecordName]end{}
	for _, k := range all {
		rev, err := sealed.Codec{}.OpenRevision(k.Sealed)
		if err != nil {
			return err
		}
		before := ends[rev.Record]
		switch {
		case rev.Number != before.number+1 || rev.Record != k.Row.Record || rev.Number != k.Row.Number:
			return fault.New(fault.Broken, room, "REVISION_MISSING", "Revision %d of %s should come next, but revision %d is there.", before.number+1, string(rev.Record), rev.Number)
		case rev.Previous != before.digest:
			return fault.New(fault.Broken, room, "REVISION_CHAIN_BROKEN", "Revision %d of %s does not follow the revision before it.", rev.Number, string(rev.Record))
		}
		// A row beside the bytes that says something else was changed behind the program's back.
		if row := rowOf(rev, k.Sealed); row != k.Row {
			return fault.New(fault.Broken, room, "ROW_CHANGED", "The list says other things about revision %d of %s than its sealed bytes.", rev.Number, string(rev.Record))
		}
		ends[rev.Record] = end{rev.Number, k.Sealed.Digest()}
	}
	return nil
}
