package storetest

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const glimmer recipes.RecordName = "recipes/glimmer-cotton"

func draft(id string, record recipes.RecordName) recipes.Draft {
	return recipes.Draft{
		ID: id, Record: record, BaseNumber: 2, Content: recipes.SealBytes([]byte("content of " + id)), Etag: 1, State: recipes.Writing,
		Author: "people/ada", Writers: []string{"people/ada", "people/bo"}, Saver: "people/bo", Updated: noon, Reason: "colder", Refusal: "too cold",
	}
}

// approve writes a draft and keeps it as the record's revision.
func approve(t *testing.T, s Stores, record recipes.RecordName, number int64) (recipes.RevisionRow, recipes.Sealed) {
	t.Helper()
	d := draft(fmt.Sprintf("%s-%d", record, number), record)
	got(s.AddDraft(t.Context(), d))(t)
	d.Etag, d.State = 2, recipes.Approved
	row, sealed := revision(record, number)
	must(t, s.KeepRevision(t.Context(), d, row, sealed))
	return row, sealed
}

func revision(record recipes.RecordName, number int64) (recipes.RevisionRow, recipes.Sealed) {
	sealed := recipes.SealBytes(fmt.Appendf(nil, "revision %d of %s", number, record))
	return recipes.RevisionRow{
		Record: record, Number: number, Title: fmt.Sprintf("Glimmer %d", number), Digest: sealed.Digest(), Author: "people/ada",
		Approver: "people/cy", Approved: noon.Add(time.Duration(number) * time.Hour), Reason: "lifts at the edge",
	}, sealed
}

func release(number int64) recipes.SignedRelease {
	sealed := recipes.SealBytes(fmt.Appendf(nil, "release %d", number))
	return recipes.SignedRelease{
		Release: recipes.Release{
			Number: number, Revisions: []recipes.Released{{Revision: glimmer.Revision(1), Digest: recipes.Digest{1, 2, 3}}},
			Markets: []recipes.Market{"EU", "UK"}, Branches: []string{"branches/harbour"}, Effective: noon.Add(time.Hour),
			Approver: "people/cy", Made: noon, Previous: recipes.Digest{byte(number)}, Reason: "spring",
		},
		Sealed: sealed, Signature: []byte{4, 5, 6}, Key: "office-1",
	}
}

var recipePromises = []promise{
	// A store whose reading lets go of nothing stands still once its readers are used up.
	{"a revision can be read by number again and again", func(t *testing.T, s Stores) {
		want, _ := approve(t, s, glimmer, 1)
		for range 200 {
			same(t, got(s.Revision(t.Context(), glimmer, 1))(t), want)
		}
	}},
	{"a draft comes back as it was added", func(t *testing.T, s Stores) {
		want := draft("d1", glimmer)
		same(t, got(s.AddDraft(t.Context(), want))(t), want)
		same(t, got(s.Draft(t.Context(), "d1"))(t), want)
		_, err := s.Draft(t.Context(), "d2")
		refused(t, err, fault.NotFound, "DRAFT_NOT_FOUND")
	}},
	{"the same draft id again answers the stored one", func(t *testing.T, s Stores) {
		want := draft("d1", glimmer)
		got(s.AddDraft(t.Context(), want))(t)
		other := want
		other.Reason = "another"
		same(t, got(s.AddDraft(t.Context(), other))(t), want)
	}},
	{"a record has one open draft", func(t *testing.T, s Stores) {
		got(s.AddDraft(t.Context(), draft("d1", glimmer)))(t)
		_, err := s.AddDraft(t.Context(), draft("d2", glimmer))
		if f := refused(t, err, fault.MovedOn, "DRAFT_OPEN"); f.Facts["draft"] != "d1" {
			t.Fatalf("got facts %v, want draft d1", f.Facts)
		}
		d := draft("d1", glimmer)
		d.Etag, d.State = 2, recipes.Discarded
		must(t, s.PutDraft(t.Context(), d))
		got(s.AddDraft(t.Context(), draft("d2", glimmer)))(t)
	}},
	{"of many that open a draft of one record at once, one wins", func(t *testing.T, s Stores) {
		var won atomic.Int64
		atOnce(8, func(i int) {
			switch _, err := s.AddDraft(t.Context(), draft(fmt.Sprint("d", i), glimmer)); {
			case err == nil:
				won.Add(1)
			case !fault.Is(err, fault.MovedOn):
				t.Error(err)
			}
		})
		same(t, won.Load(), int64(1))
	}},
	{"drafts are listed by state, newest first", func(t *testing.T, s Stores) {
		for i, state := range []recipes.DraftState{recipes.Writing, recipes.Asked, recipes.Refused, recipes.Discarded} {
			d := draft(fmt.Sprint("d", i), recipes.RecordName(fmt.Sprint("notes/n", i)))
			d.State, d.Updated = state, noon.Add(time.Duration(i)*time.Minute)
			got(s.AddDraft(t.Context(), d))(t)
		}
		ids := func(state recipes.DraftState) (ids []string) {
			for _, d := range got(s.Drafts(t.Context(), state))(t) {
				ids = append(ids, d.ID)
			}
			return ids
		}
		same(t, ids(""), []string{"d2", "d1", "d0"})
		same(t, ids(recipes.Discarded), []string{"d3"})
	}},
	{"a draft is put only over the etag before", func(t *testing.T, s Stores) {
		d := draft("d1", glimmer)
		refused(t, s.PutDraft(t.Context(), d), fault.NotFound, "DRAFT_NOT_FOUND")
		got(s.AddDraft(t.Context(), d))(t)
		d.Etag, d.Content, d.Saver = 2, recipes.SealBytes([]byte("warmer")), "people/cy"
		must(t, s.PutDraft(t.Context(), d))
		same(t, got(s.Draft(t.Context(), "d1"))(t), d)
		f := refused(t, s.PutDraft(t.Context(), d), fault.MovedOn, "DRAFT_MOVED_ON")
		same(t, f.Facts, map[string]string{"saver": "people/cy", "time": "2026-03-14T12:00:00Z"})
	}},
	{"a revision is kept with its bytes and closes the draft", func(t *testing.T, s Stores) {
		row, sealed := approve(t, s, glimmer, 1)
		same(t, got(s.Revision(t.Context(), glimmer, 1))(t), row)
		same(t, got(s.Sealed(t.Context(), sealed.Digest()))(t), sealed)
		same(t, got(s.Draft(t.Context(), string(glimmer)+"-1"))(t).State, recipes.Approved)
	}},
	{"of many that approve one draft at once, exactly one wins", func(t *testing.T, s Stores) {
		d := draft("d1", glimmer)
		got(s.AddDraft(t.Context(), d))(t)
		d.Etag, d.State = 2, recipes.Approved
		row, sealed := revision(glimmer, 1)
		var won atomic.Int64
		atOnce(8, func(int) {
			switch err := s.KeepRevision(t.Context(), d, row, sealed); {
			case err == nil:
				won.Add(1)
			case !fault.Is(err, fault.MovedOn):
				t.Error(err)
			}
		})
		same(t, won.Load(), int64(1))
		same(t, len(got(s.Revisions(t.Context(), glimmer))(t)), 1)
	}},
	{"a revision number that is taken is refused, and nothing of it stays", func(t *testing.T, s Stores) {
		approve(t, s, glimmer, 1)
		d := draft("d2", glimmer)
		got(s.AddDraft(t.Context(), d))(t)
		open := d
		d.Etag, d.State = 2, recipes.Approved
		row, _ := revision(glimmer, 1)
		other := recipes.SealBytes([]byte("other"))
		row.Digest = other.Digest()
		refused(t, s.KeepRevision(t.Context(), d, row, other), fault.MovedOn, "REVISION_TAKEN")
		same(t, got(s.Draft(t.Context(), "d2"))(t), open)
		_, err := s.Sealed(t.Context(), other.Digest())
		refused(t, err, fault.NotFound, "REVISION_NOT_FOUND")
	}},
	{"revisions are listed newest first, and 0 is the newest", func(t *testing.T, s Stores) {
		one, _ := approve(t, s, glimmer, 1)
		two, _ := approve(t, s, glimmer, 2)
		same(t, got(s.Revisions(t.Context(), glimmer))(t), []recipes.RevisionRow{two, one})
		same(t, got(s.Revision(t.Context(), glimmer, 0))(t), two)
		for _, number := range []int64{-1, 3} {
			_, err := s.Revision(t.Context(), glimmer, number)
			refused(t, err, fault.NotFound, "REVISION_NOT_FOUND")
		}
		_, err := s.Revision(t.Context(), "recipes/none", 0)
		refused(t, err, fault.NotFound, "REVISION_NOT_FOUND")
		_, err = s.Revisions(t.Context(), "recipes/none")
		refused(t, err, fault.NotFound, "RECORD_NOT_FOUND")
	}},
	{"records lists the newest row of each, by name", func(t *testing.T, s Stores) {
		approve(t, s, glimmer, 1)
		two, _ := approve(t, s, glimmer, 2)
		note, _ := approve(t, s, "notes/hot", 1)
		early, _ := approve(t, s, "recipes/a", 1)
		same(t, got(s.Records(t.Context(), recipes.KindRecipe))(t), []recipes.RevisionRow{early, two})
		same(t, got(s.Records(t.Context(), ""))(t), []recipes.RevisionRow{note, early, two})
		same(t, len(got(s.Records(t.Context(), recipes.KindPriceList))(t)), 0)
	}},
	{"bytes that changed are refused", func(t *testing.T, s Stores) {
		_, sealed := approve(t, s, glimmer, 1)
		s.Poison(t, sealed.Digest(), []byte("280 degrees"))
		_, err := s.Sealed(t.Context(), sealed.Digest())
		refused(t, err, fault.Broken, "BYTES_CHANGED")
		_, err = s.Sealed(t.Context(), recipes.Digest{9})
		refused(t, err, fault.NotFound, "REVISION_NOT_FOUND")
	}},
	{"a release whose bytes changed is refused", func(t *testing.T, s Stores) {
		r := release(1)
		must(t, s.KeepRelease(t.Context(), r, "q1"))
		s.Poison(t, r.Sealed.Digest(), []byte("release 2"))
		_, err := s.Releases(t.Context(), 0)
		refused(t, err, fault.Broken, "BYTES_CHANGED")
	}},
	{"a release comes back as it was kept", func(t *testing.T, s Stores) {
		same(t, got(s.NewestRelease(t.Context()))(t), int64(0))
		same(t, len(got(s.Releases(t.Context(), 0))(t)), 0)
		one, two := release(1), release(2)
		two.Release.Branches = nil
		must(t, s.KeepRelease(t.Context(), one, "q1"))
		must(t, s.KeepRelease(t.Context(), two, ""))
		same(t, got(s.NewestRelease(t.Context()))(t), int64(2))
		same(t, got(s.Releases(t.Context(), 0))(t), []recipes.SignedRelease{one, two})
		same(t, got(s.Releases(t.Context(), 1))(t), []recipes.SignedRelease{two})
		same(t, len(got(s.Releases(t.Context(), 2))(t)), 0)
		same(t, got(s.Sealed(t.Context(), one.Sealed.Digest()))(t), one.Sealed)
		same(t, got(s.ReleaseOf(t.Context(), "q1"))(t), int64(1))
		same(t, got(s.ReleaseOf(t.Context(), "q2"))(t), int64(0))
		same(t, got(s.ReleaseOf(t.Context(), ""))(t), int64(0))
	}},
	{"a release that is not the next is refused", func(t *testing.T, s Stores) {
		refused(t, s.KeepRelease(t.Context(), release(2), "q"), fault.MovedOn, "RELEASE_TAKEN")
		must(t, s.KeepRelease(t.Context(), release(1), "q"))
		refused(t, s.KeepRelease(t.Context(), release(1), "r"), fault.MovedOn, "RELEASE_TAKEN")
		refused(t, s.KeepRelease(t.Context(), release(2), "q"), fault.MovedOn, "RELEASE_TAKEN")
	}},
	{"releases made at once are numbered without gaps", func(t *testing.T, s Stores) {
		const makers, each = 6, 4
		atOnce(makers, func(i int) {
			for n := range each {
				for {
					newest, err := s.NewestRelease(t.Context())
					if err == nil {
						err = s.KeepRelease(t.Context(), release(newest+1), fmt.Sprint(i, "-", n))
					}
					if err == nil {
						break
					}
					if !fault.Is(err, fault.MovedOn) {
						t.Error(err)
						return
					}
				}
			}
		})
		for i, r := range got(s.Releases(t.Context(), 0))(t) {
			same(t, r.Release.Number, int64(i+1))
		}
		same(t, got(s.NewestRelease(t.Context()))(t), int64(makers*each))
	}},
	{"a reach never sinks, but its time moves", func(t *testing.T, s Stores) {
		note := func(branch string, held int64, at time.Time) {
			must(t, s.NoteReach(context.Background(), recipes.Reach{Branch: branch, Held: held, Pulled: at}))
		}
		note("branches/b", 3, noon)
		note("branches/a", 1, noon)
		note("branches/b", 2, noon.Add(time.Hour))
		same(t, got(s.Reaches(t.Context()))(t), []recipes.Reach{{Branch: "branches/a", Held: 1, Pulled: noon, Since: noon}, {Branch: "branches/b", Held: 3, Pulled: noon.Add(time.Hour), Since: noon}})
		note("branches/b", 4, noon.Add(2*time.Hour))
		same(t, got(s.Reaches(t.Context()))(t)[1].Since, noon.Add(2*time.Hour))
		var many, want []recipes.Reach // more than one statement takes, over the two that are there
		for i := range 230 {
			many = append(many, recipes.Reach{Branch: fmt.Sprintf("branches/many-%03d", i), Held: int64(i), Pulled: noon, Since: noon})
		}
		want = append(append(want, recipes.Reach{Branch: "branches/a", Held: 4, Pulled: noon.Add(time.Hour), Since: noon.Add(time.Hour)}, recipes.Reach{Branch: "branches/b", Held: 4, Pulled: noon, Since: noon.Add(2 * time.Hour)}), many...)
		must(t, s.NoteReaches(t.Context(), append(many, recipes.Reach{Branch: "branches/a", Held: 4, Pulled: noon.Add(time.Hour)}, recipes.Reach{Branch: "branches/b", Held: 2, Pulled: noon})))
		must(t, s.NoteReaches(t.Context(), nil))
		same(t, got(s.Reaches(t.Context()))(t), want)
	}},
}

// atOnce does a thing many times at once and waits for all.
func atOnce(times int, do func(i int)) {
	var all sync.WaitGroup
	for i := range times {
		all.Go(func() { do(i) })
	}
	all.Wait()
}
