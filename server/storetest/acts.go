package storetest

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

func proposal(id string) recipes.Proposal {
	return recipes.Proposal{
		ID: id, Content: recipes.SealBytes([]byte("plan of " + id)), State: recipes.ProposalAsked, Etag: 1, Proposer: "people/ada", Proposed: noon,
		Plan: recipes.Release{
			Revisions: []recipes.Released{{Revision: glimmer.Revision(1), Digest: recipes.Digest{1}}}, Withdrawn: []recipes.RecordName{"notes/hot"},
			Markets: []recipes.Market{"EU"}, Branches: []string{"branches/a"}, Effective: noon.Add(time.Hour), Proposer: "people/ada", Reason: "spring",
		},
	}
}

// answered is a proposal after its answer, and the release that was made of it.
func answered(p recipes.Proposal, number int64) (recipes.Proposal, recipes.SignedRelease) {
	r := release(number)
	r.Release.Proposer = p.Proposer
	p.State, p.Etag, p.Release = recipes.ProposalApproved, p.Etag+1, number
	return p, r
}

var actPromises = []promise{
	{"every act comes back as it was kept", func(t *testing.T, s Stores) {
		trial, wide, undo, key := release(1), release(2), release(3), release(4)
		wide.Release.Widens, wide.Release.Branches = 1, nil
		wide.Release.Withdrawn, wide.Release.Proposer = []recipes.RecordName{"notes/hot"}, "people/ada"
		undo.Release.Cancels, undo.Release.Revisions = 1, nil
		key.Release.FromKey, key.Release.NextKey = []byte("the key"), []byte("the next key")
		want := []recipes.SignedRelease{trial, wide, undo, key}
		for _, r := range want {
			must(t, s.KeepRelease(t.Context(), r, ""))
		}
		same(t, got(s.Releases(t.Context(), 0))(t), want)
	}},
	{"a release is cancelled once", func(t *testing.T, s Stores) {
		must(t, s.KeepRelease(t.Context(), release(1), ""))
		for number := range int64(2) {
			undo := release(number + 2)
			undo.Release.Cancels = 1
			if err := s.KeepRelease(t.Context(), undo, ""); number == 0 {
				must(t, err)
			} else {
				refused(t, err, fault.MovedOn, "RELEASE_TAKEN")
			}
		}
	}},
	{"a proposal comes back as it was added, and the same id again answers the stored one", func(t *testing.T, s Stores) {
		want := proposal("p")
		same(t, got(s.AddProposal(t.Context(), want))(t), want)
		other := want
		other.Proposer = "people/bo"
		same(t, got(s.AddProposal(t.Context(), other))(t), want)
		same(t, got(s.Proposal(t.Context(), "p"))(t), want)
		open := proposal("q") // an instant that is not chosen stays so
		open.Plan.Effective = time.Time{}
		same(t, got(s.AddProposal(t.Context(), open))(t), open)
		_, err := s.Proposal(t.Context(), "r")
		refused(t, err, fault.NotFound, "PROPOSAL_NOT_FOUND")
	}},
	{"open proposals come first, the soonest first", func(t *testing.T, s Stores) {
		for i, in := range []time.Duration{3, 1, 2} {
			p := proposal(fmt.Sprint("p", i))
			p.Plan.Effective = noon.Add(in * time.Hour)
			got(s.AddProposal(t.Context(), p))(t)
		}
		done := proposal("p1")
		done.State, done.Etag, done.Refusal = recipes.ProposalRefused, 2, "people/cy: no"
		must(t, s.PutProposal(t.Context(), done))
		ids := func(closed bool) (ids []string) {
			for _, p := range got(s.Proposals(t.Context(), closed))(t) {
				ids = append(ids, p.ID)
			}
			return ids
		}
		same(t, ids(false), []string{"p2", "p0"})
		same(t, ids(true), []string{"p2", "p0", "p1"})
		refused(t, s.PutProposal(t.Context(), done), fault.NotReady, "PROPOSAL_CLOSED")
	}},
	{"a proposal and its release are kept together or not at all", func(t *testing.T, s Stores) {
		p := got(s.AddProposal(t.Context(), proposal("p")))(t)
		approved, r := answered(p, 2) // not the next number
		refused(t, s.KeepProposed(t.Context(), approved, r, "proposals/p"), fault.MovedOn, "RELEASE_TAKEN")
		same(t, got(s.Proposal(t.Context(), "p"))(t), p)
		approved, r = answered(p, 1)
		must(t, s.KeepProposed(t.Context(), approved, r, "proposals/p"))
		same(t, got(s.Proposal(t.Context(), "p"))(t), approved)
		same(t, got(s.ReleaseOf(t.Context(), "proposals/p"))(t), int64(1))
		again, next := answered(p, 2)
		refused(t, s.KeepProposed(t.Context(), again, next, "proposals/p"), fault.NotReady, "PROPOSAL_CLOSED")
	}},
	{"of many that answer one proposal at once, exactly one wins", func(t *testing.T, s Stores) {
		p := got(s.AddProposal(t.Context(), proposal("p")))(t)
		var won atomic.Int64
		atOnce(8, func(i int) {
			approved, r := answered(p, 1)
			var err error
			if i%2 == 0 {
				err = s.KeepProposed(t.Context(), approved, r, "proposals/p")
			} else { // half of them refuse it
				approved.State, approved.Release, approved.Refusal = recipes.ProposalRefused, 0, fmt.Sprint(i)
				err = s.PutProposal(t.Context(), approved)
			}
			switch {
			case err == nil:
				won.Add(1)
			case !fault.Is(err, fault.NotReady) && !fault.Is(err, fault.MovedOn):
				t.Error(err)
			}
		})
		same(t, won.Load(), int64(1))
		stands := got(s.Proposal(t.Context(), "p"))(t)
		made := got(s.ReleaseOf(t.Context(), "proposals/p"))(t)
		if stands.State == recipes.ProposalApproved != (made == 1) || stands.Etag != 2 {
			t.Fatalf("the proposal stands at %+v, and release %d was made of it", stands, made)
		}
	}},
	{"what was opened never sinks, and its time is that of the first", func(t *testing.T, s Stores) {
		must(t, s.NoteOpened(t.Context(), "branches/a", 3, noon))
		must(t, s.NoteOpened(t.Context(), "branches/a", 3, noon.Add(time.Hour)))
		must(t, s.NoteOpened(t.Context(), "branches/a", 2, noon.Add(time.Hour)))
		same(t, got(s.Reaches(t.Context()))(t), []recipes.Reach{{Branch: "branches/a", Opened: 3, OpenedAt: noon}})
		must(t, s.NoteReach(t.Context(), recipes.Reach{Branch: "branches/a", Held: 4, Pulled: noon.Add(2 * time.Hour)}))
		same(t, got(s.Reaches(t.Context()))(t), []recipes.Reach{{Branch: "branches/a", Held: 4, Pulled: noon.Add(2 * time.Hour), Since: noon.Add(2 * time.Hour), Opened: 3, OpenedAt: noon}})
	}},
	{"runs say which revisions are used, and from when to when", func(t *testing.T, s Stores) {
		run := func(id, branch string, revision int64, hours int) runs.Run {
			r := runs.Run{ID: id, Branch: branch, Start: noon, End: noon.Add(time.Duration(hours) * time.Hour)}
			if revision > 0 {
				r.Recipe = glimmer.Revision(revision)
			}
			return r
		}
		store := func(rs ...runs.Run) {
			_, _, err := s.Append(t.Context(), rs)
			must(t, err)
		}
		store(run("1", "branches/b", 1, 5), run("2", "branches/b", 1, 2), run("3", "branches/a", 2, 1), run("4", "branches/a", 0, 9))
		store(run("1", "branches/b", 1, 5), run("5", "branches/b", 1, 3)) // the first is known already
		store(run("6", "branches/b", 1, 6))
		same(t, got(s.RevisionUses(t.Context()))(t), []recipes.Use{
			{Branch: "branches/a", Revision: glimmer.Revision(2), First: noon.Add(time.Hour), Last: noon.Add(time.Hour)},
			{Branch: "branches/b", Revision: glimmer.Revision(1), First: noon.Add(2 * time.Hour), Last: noon.Add(6 * time.Hour)},
		})
	}},
	{"a store that is empty takes everything approved, whole, and once", func(t *testing.T, s Stores) {
		one, sealedOne := revision(glimmer, 1)
		two, sealedTwo := revision(glimmer, 2)
		gap, sealedGap := revision(glimmer, 4)
		refused(t, s.Restore(t.Context(), []recipes.Kept{{Row: one, Sealed: sealedOne}, {Row: gap, Sealed: sealedGap}}, nil), fault.MovedOn, "REVISION_TAKEN")
		same(t, len(got(s.Records(t.Context(), ""))(t)), 0)
		must(t, s.Restore(t.Context(), []recipes.Kept{{Row: one, Sealed: sealedOne}, {Row: two, Sealed: sealedTwo}}, []recipes.SignedRelease{release(1), release(2)}))
		same(t, got(s.Revisions(t.Context(), glimmer))(t), []recipes.RevisionRow{two, one})
		same(t, got(s.Sealed(t.Context(), sealedTwo.Digest()))(t), sealedTwo)
		same(t, got(s.ReleaseOf(t.Context(), ""))(t), int64(0))
		refused(t, s.Restore(t.Context(), nil, nil), fault.NotReady, "STORE_NOT_EMPTY")
	}},
	{"a store with a draft takes nothing", func(t *testing.T, s Stores) {
		got(s.AddDraft(t.Context(), draft("d", glimmer)))(t)
		refused(t, s.Restore(t.Context(), nil, nil), fault.NotReady, "STORE_NOT_EMPTY")
	}},
	{"the newest entry of the audit chain has its number", func(t *testing.T, s Stores) {
		same(t, got(s.NewestAudit(t.Context()))(t), int64(0))
		for range 2 {
			must(t, s.AppendAudit(t.Context(), access.AuditEntry{Time: noon, Person: "people/ada", Act: "ApproveDraft", Object: "drafts/d"}))
		}
		same(t, got(s.NewestAudit(t.Context()))(t), int64(2))
	}},
}
