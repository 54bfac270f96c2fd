package storetest

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

func person(id string) access.Person {
	return access.Person{
		Name: "people/" + id, Email: id + "@evenpeel.example", Title: "Ms " + id, Roles: []access.Role{access.OfficeEditor, access.Auditor},
		Branch: harbour, Barred: true, Password: "$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA",
	}
}

var accessPromises = []promise{
	{"a person is found by name and by address", func(t *testing.T, s Stores) {
		ada, bo := person("ada"), person("bo")
		ada.Email = "z@evenpeel.example"
		must(t, s.AddPerson(t.Context(), ada, false))
		must(t, s.AddPerson(t.Context(), bo, false))
		same(t, got(s.Person(t.Context(), "people/ada"))(t), ada)
		same(t, got(s.PersonByEmail(t.Context(), bo.Email))(t), bo)
		same(t, got(s.People(t.Context()))(t), []access.Person{bo, ada})
		_, err := s.Person(t.Context(), "people/cy")
		refused(t, err, fault.NotFound, "PERSON_NOT_FOUND")
		_, err = s.PersonByEmail(t.Context(), "cy@evenpeel.example")
		refused(t, err, fault.NotFound, "PERSON_NOT_FOUND")
	}},
	{"an address belongs to one person", func(t *testing.T, s Stores) {
		ada, bo := person("ada"), person("bo")
		must(t, s.AddPerson(t.Context(), ada, false))
		must(t, s.AddPerson(t.Context(), bo, false))
		bo.Email = ada.Email
		refused(t, s.PutPerson(t.Context(), bo), fault.Invalid, "EMAIL_TAKEN")
		bo.Name = "people/cy"
		refused(t, s.AddPerson(t.Context(), bo, false), fault.Invalid, "EMAIL_TAKEN")
	}},
	{"a person is replaced whole", func(t *testing.T, s Stores) {
		p := person("ada")
		refused(t, s.PutPerson(t.Context(), p), fault.NotFound, "PERSON_NOT_FOUND")
		must(t, s.AddPerson(t.Context(), p, false))
		p = access.Person{Name: p.Name, Email: "new@evenpeel.example", Roles: []access.Role{access.BranchManager}}
		must(t, s.PutPerson(t.Context(), p))
		same(t, got(s.Person(t.Context(), p.Name))(t), p)
	}},
	{"of many first persons at once, one is first", func(t *testing.T, s Stores) {
		var won atomic.Int64
		atOnce(6, func(i int) {
			switch err := s.AddPerson(t.Context(), person(fmt.Sprint("p", i)), true); {
			case err == nil:
				won.Add(1)
			case !fault.Is(err, fault.NotReady):
				t.Error(err)
			}
		})
		same(t, won.Load(), int64(1))
		refused(t, s.AddPerson(t.Context(), person("late"), true), fault.NotReady, "FIRST_PERSON_EXISTS")
	}},
	{"sessions are kept, seen and ended", func(t *testing.T, s Stores) {
		one := access.Session{Hash: access.SessionHash{1}, Person: "people/ada", Started: noon, Seen: noon, Ends: noon.Add(time.Hour)}
		two, other := one, one
		two.Hash, other.Hash, other.Person = access.SessionHash{2}, access.SessionHash{3}, "people/bo"
		for _, n := range []access.Session{one, two, other} {
			must(t, s.AddSession(t.Context(), n))
		}
		one.Seen = noon.Add(time.Minute)
		must(t, s.SeeSessions(t.Context(), []access.SessionHash{one.Hash, {99}}, one.Seen))
		must(t, s.SeeSessions(t.Context(), []access.SessionHash{one.Hash}, noon)) // late news of an earlier use
		must(t, s.SeeSessions(t.Context(), nil, noon))
		same(t, got(s.Session(t.Context(), one.Hash))(t), one)
		must(t, s.EndSession(t.Context(), one.Hash))
		must(t, s.EndSession(t.Context(), one.Hash))
		_, err := s.Session(t.Context(), one.Hash)
		refused(t, err, fault.NotSignedIn, "SESSION_ENDED")
		same(t, got(s.EndSessions(t.Context(), "people/ada"))(t), 1)
		_, err = s.Session(t.Context(), two.Hash)
		refused(t, err, fault.NotSignedIn, "SESSION_ENDED")
		same(t, got(s.Session(t.Context(), other.Hash))(t), other)
	}},
	{"many sessions are read at once, with whose they are", func(t *testing.T, s Stores) {
		ada := person("ada")
		must(t, s.AddPerson(t.Context(), ada, false))
		var hashes []access.SessionHash
		for i := range 700 {
			n := access.Session{Hash: access.SessionHash{byte(i), byte(i >> 8)}, Person: ada.Name, Started: noon, Seen: noon, Ends: noon.Add(time.Hour)}
			if i%100 == 0 {
				n.Person = "people/nobody"
			}
			must(t, s.AddSession(t.Context(), n))
			hashes = append(hashes, n.Hash)
		}
		list := got(s.Standings(t.Context(), append(hashes, access.SessionHash{1, 2, 3})))(t)
		same(t, len(list), 693)
		for _, standing := range list {
			same(t, standing.Person, ada)
			same(t, standing.Session, got(s.Session(t.Context(), standing.Session.Hash))(t))
		}
		same(t, len(got(s.Standings(t.Context(), nil))(t)), 0)
		before := got(s.Marks(t.Context(), noon))(t)
		must(t, s.AddSession(t.Context(), access.Session{Hash: access.SessionHash{7, 7, 7}, Person: ada.Name, Started: noon.Add(time.Second), Seen: noon, Ends: noon}))
		must(t, s.SeeSessions(t.Context(), hashes, noon))
		same(t, got(s.Marks(t.Context(), noon))(t), before) // what begins later changes nothing
		must(t, s.EndSession(t.Context(), hashes[0]))
		without := got(s.Marks(t.Context(), noon))(t)
		if without == before {
			t.Fatal("a session ended, and the marks stay the same")
		}
		ada.Barred = !ada.Barred
		must(t, s.PutPerson(t.Context(), ada))
		if got(s.Marks(t.Context(), noon))(t) == without {
			t.Fatal("a person was barred, and the marks stay the same")
		}
		same(t, got(s.Marks(t.Context(), noon.Add(-time.Second)))(t).Sessions, int64(0))
		must(t, s.SeeSessions(t.Context(), hashes, noon.Add(time.Minute)))
		for _, standing := range got(s.Standings(t.Context(), hashes))(t) {
			same(t, standing.Session.Seen, noon.Add(time.Minute))
		}
	}},
	{"each entry of the audit chain carries the hash of the one before, however many write", func(t *testing.T, s Stores) {
		const writers, each = 6, 5
		atOnce(writers, func(i int) {
			for n := range each {
				e := access.AuditEntry{Time: noon.Add(time.Duration(n)), Person: fmt.Sprint("people/p", i), Act: "ApproveDraft", Object: fmt.Sprint("drafts/", n)}
				if err := s.AppendAudit(t.Context(), e); err != nil {
					t.Error(err)
				}
			}
		})
		entries := got(s.Audit(t.Context(), 0, 1000))(t)
		same(t, len(entries), writers*each)
		var previous [32]byte
		for i, e := range entries {
			same(t, e.Number, int64(i+1))
			same(t, e.Previous, previous)
			same(t, e.Hash, chained(e))
			previous = e.Hash
		}
		same(t, got(s.Audit(t.Context(), 3, 2))(t), entries[3:5])
	}},
}

// chained computes an entry's hash once more, from what the interface says about it.
func chained(e access.AuditEntry) [32]byte {
	h := sha256.New()
	h.Write(e.Previous[:])
	field := func(b []byte) {
		var length [8]byte
		binary.BigEndian.PutUint64(length[:], uint64(len(b)))
		h.Write(length[:])
		h.Write(b)
	}
	number, at := make([]byte, 8), make([]byte, 8)
	binary.BigEndian.PutUint64(number, uint64(e.Number))
	binary.BigEndian.PutUint64(at, uint64(e.Time.UnixMicro()))
	field(number)
	field(at)
	for _, text := range []string{e.Person, e.Act, e.Object} {
		field([]byte(text))
	}
	return [32]byte(h.Sum(nil))
}
