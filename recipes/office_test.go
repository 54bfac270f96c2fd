package recipes

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenpeel/recipes/fault"
)

const glimmer RecordName = "recipes/glimmer-cotton"

var ctx = context.Background()

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// warmer is the recipe at another temperature: a content that differs.
func warmer(r Recipe) Recipe { r.Temperature.Set++; return r }

// asked opens a draft by ada, has bo change it, and asks for a second look.
func asked(t *testing.T, o Office, id string) Draft {
	t.Helper()
	d := must[Draft](t)(o.Start(ctx, "ada", id, glimmer, 0, content(glitterOnCotton())))
	d = must[Draft](t)(o.Save(ctx, "bo", id, d.Etag, content(warmer(glitterOnCotton())), "warmer by one"))
	return must[Draft](t)(o.Ask(ctx, "ada", id, d.Etag))
}

func TestStart_refusesWhatCanNotBecomeARevision(t *testing.T) {
	b, o := newBench()
	good := content(glitterOnCotton())
	for name, row := range map[string]struct {
		record RecordName
		base   int64
		bytes  Sealed
		kind   fault.Kind
		reason fault.Reason
	}{
		"no record's name":   {"Recipes/x", 0, good, fault.Invalid, "RECORD_NAME_INVALID"},
		"another kind":       {glimmer, 0, written(sealable{Price: true}), fault.Invalid, "CONTENT_OF_OTHER_KIND"},
		"kind of the record": {"notes/x", 0, good, fault.Invalid, "CONTENT_OF_OTHER_KIND"},
		"bytes of tomorrow":  {glimmer, 0, SealBytes([]byte("{")), fault.NotReady, "RECORD_TOO_NEW"},
		"no such base":       {glimmer, 1, good, fault.NotFound, "REVISION_NOT_FOUND"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := o.Start(ctx, "ada", "1", row.record, row.base, row.bytes)
			wantFault(t, err, row.kind, row.reason)
		})
	}
	if len(b.drafts) != 0 {
		t.Errorf("a refused start left %d drafts", len(b.drafts))
	}
	first := must[Draft](t)(o.Start(ctx, "ada", "1", glimmer, 0, good))
	b.now = b.now.Add(time.Hour)
	if again := must[Draft](t)(o.Start(ctx, "ada", "1", glimmer, 0, good)); !again.Updated.Equal(first.Updated) || len(b.drafts) != 1 {
		t.Error("asking twice opened two")
	}
}

func TestSave_refusesTheSecondOfTwoAndNamesTheFirst(t *testing.T) {
	_, o := newBench()
	d := must[Draft](t)(o.Start(ctx, "ada", "1", glimmer, 0, content(glitterOnCotton())))
	must[Draft](t)(o.Save(ctx, "bo", "drafts/1", d.Etag, content(warmer(glitterOnCotton())), ""))
	_, err := o.Save(ctx, "ada", "1", d.Etag, content(glitterOnCotton()), "")
	wantFault(t, err, fault.MovedOn, "DRAFT_MOVED_ON")
	if f, _ := fault.As(err); f.Facts["saver"] != "bo" || f.Facts["time"] != "2026-03-02T12:00:00Z" {
		t.Errorf("facts %v", f.Facts)
	}
	_, err = o.Save(ctx, "ada", "9", 1, content(glitterOnCotton()), "")
	wantFault(t, err, fault.NotFound, "DRAFT_NOT_FOUND")
	_, err = o.Save(ctx, "ada", "1", d.Etag+1, written(sealable{Price: true}), "")
	wantFault(t, err, fault.Invalid, "CONTENT_OF_OTHER_KIND")
}

func TestAsk_tellsEveryFaultAtOnce(t *testing.T) {
	_, o := newBench()
	d := must[Draft](t)(o.Start(ctx, "ada", "1", glimmer, 0, content(Recipe{})))
	_, err := o.Ask(ctx, "ada", "1", d.Etag)
	wantFault(t, err, fault.Invalid, "CONTENT_INVALID")
	f, _ := fault.As(err)
	if diff := cmp.Diff(f.Fields, []fault.Field(Recipe{}.Check())); diff != "" || !strings.HasPrefix(f.Words, fmt.Sprint(len(f.Fields))) {
		t.Errorf("%s\n%s", f.Words, diff)
	}
}

func TestApprove_sealsExactlyWhatWasSeenOnce(t *testing.T) {
	b, o := newBench()
	b.now = noon.Add(123 * time.Millisecond)
	d := asked(t, o, "1")
	first := must[RevisionRow](t)(o.Approve(ctx, "cy", "1", d.Content.Digest()))
	if want := (RevisionRow{glimmer, 1, "Glitter on cotton", first.Digest, "ada", "cy", noon, "warmer by one"}); first != want {
		t.Errorf("got %+v, want %+v", first, want)
	}
	rev := must[Revision](t)(b.OpenRevision(must[Sealed](t)(b.Sealed(ctx, first.Digest))))
	if diff := cmp.Diff(rev.Content, Content(warmer(glitterOnCotton()))); diff != "" || rev.Seen != d.Content.Digest() || !rev.Previous.Zero() || rev.Number != 1 {
		t.Errorf("sealed %+v\n%s", rev, diff)
	}
	_, err := o.Approve(ctx, "cy", "1", d.Content.Digest())
	wantFault(t, err, fault.NotReady, "NOT_ASKED")
	_, err = o.Save(ctx, "ada", "1", d.Etag+1, content(glitterOnCotton()), "")
	wantFault(t, err, fault.NotReady, "DRAFT_CLOSED")

	d = asked(t, o, "2")
	second := must[RevisionRow](t)(o.Approve(ctx, "cy", "2", d.Content.Digest()))
	rev = must[Revision](t)(b.OpenRevision(must[Sealed](t)(b.Sealed(ctx, second.Digest))))
	if second.Number != 2 || rev.Previous != first.Digest {
		t.Errorf("revision %d follows %s, want 2 after %s", second.Number, rev.Previous, first.Digest)
	}
}

func TestApprove_refusesEveryWriterAndEveryChangeSinceSeen(t *testing.T) {
	b, o := newBench()
	d := asked(t, o, "1")
	for _, writer := range []string{"ada", "bo"} {
		_, err := o.Approve(ctx, writer, "1", d.Content.Digest())
		wantFault(t, err, fault.NotAllowed, "OWN_DRAFT")
	}
	_, err := o.Approve(ctx, "cy", "1", content(glitterOnCotton()).Digest())
	wantFault(t, err, fault.MovedOn, "CHANGED_SINCE_SEEN")

	// An edit after asking goes back to writing: nobody can approve what nobody asked about, and its writer never can.
	edited := must[Draft](t)(o.Save(ctx, "cy", "1", d.Etag, content(glitterOnCotton()), ""))
	if edited.State != Writing || !slices.Equal(edited.Writers, []string{"ada", "bo", "cy"}) || edited.Reason != "warmer by one" {
		t.Errorf("after the edit: %+v", edited)
	}
	_, err = o.Approve(ctx, "di", "1", d.Content.Digest())
	wantFault(t, err, fault.NotReady, "NOT_ASKED")
	again := must[Draft](t)(o.Ask(ctx, "bo", "1", edited.Etag))
	_, err = o.Approve(ctx, "di", "1", d.Content.Digest())
	wantFault(t, err, fault.MovedOn, "CHANGED_SINCE_SEEN")
	if f, _ := fault.As(err); f.Facts["saver"] != "bo" {
		t.Errorf("facts %v", f.Facts)
	}
	_, err = o.Approve(ctx, "cy", "1", again.Content.Digest())
	wantFault(t, err, fault.NotAllowed, "OWN_DRAFT")
	if len(b.kept) != 0 {
		t.Error("a refused approval kept a revision")
	}
	must[RevisionRow](t)(o.Approve(ctx, "di", "1", again.Content.Digest()))
}

func TestApprove_twoAtOnceOneWins(t *testing.T) {
	b, o := newBench()
	d := asked(t, o, "1")
	var group sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		group.Go(func() { _, errs[i] = o.Approve(ctx, fmt.Sprint("approver ", i), "1", d.Content.Digest()) })
	}
	group.Wait()
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
		} else if !fault.Is(err, fault.MovedOn) && !fault.Is(err, fault.NotReady) {
			t.Error(err)
		}
	}
	if won != 1 || len(b.kept[glimmer]) != 1 {
		t.Errorf("%d won, %d revisions", won, len(b.kept[glimmer]))
	}
}

func TestRefuseAndDiscard_closeTheWay(t *testing.T) {
	_, o := newBench()
	d := must[Draft](t)(o.Start(ctx, "ada", "1", glimmer, 0, content(glitterOnCotton())))
	_, err := o.Refuse(ctx, "cy", "1", d.Etag, "why")
	wantFault(t, err, fault.NotReady, "NOT_ASKED")
	d = must[Draft](t)(o.Ask(ctx, "ada", "1", d.Etag))
	_, err = o.Refuse(ctx, "cy", "1", d.Etag-1, "too warm")
	wantFault(t, err, fault.MovedOn, "DRAFT_MOVED_ON")
	d = must[Draft](t)(o.Refuse(ctx, "cy", "1", d.Etag, "too warm"))
	if d.State != Refused || d.Refusal != "cy: too warm" || !d.State.Open() {
		t.Errorf("refused: %+v", d)
	}
	_, err = o.Approve(ctx, "di", "1", d.Content.Digest())
	wantFault(t, err, fault.NotReady, "NOT_ASKED")
	d = must[Draft](t)(o.Save(ctx, "ada", "1", d.Etag, content(warmer(glitterOnCotton())), ""))
	if d.State != Writing {
		t.Errorf("an edit after a refusal is %s", d.State)
	}
	d = must[Draft](t)(o.Discard(ctx, "ada", "1", d.Etag))
	for name, act := range map[string]func() error{
		"save":    func() error { _, err := o.Save(ctx, "ada", "1", d.Etag, content(glitterOnCotton()), ""); return err },
		"ask":     func() error { _, err := o.Ask(ctx, "ada", "1", d.Etag); return err },
		"refuse":  func() error { _, err := o.Refuse(ctx, "cy", "1", d.Etag, ""); return err },
		"discard": func() error { _, err := o.Discard(ctx, "ada", "1", d.Etag); return err },
	} {
		t.Run(name, func(t *testing.T) { wantFault(t, act(), fault.NotReady, "DRAFT_CLOSED") })
	}
	_, err = o.Approve(ctx, "di", "1", d.Content.Digest())
	wantFault(t, err, fault.NotReady, "NOT_ASKED")
}

// approvedOnce is a bench with glimmer's revision 1.
func approvedOnce(t *testing.T) (*bench, Office, Release) {
	b, o := newBench()
	row := must[RevisionRow](t)(o.Approve(ctx, "cy", "1", asked(t, o, "1").Content.Digest()))
	return b, o, Release{Revisions: []Released{{Revision: row.Name()}}, Markets: []Market{"EU"}, Reason: "first"}
}

func TestRelease_isSignedNumberedAndChained(t *testing.T) {
	b, o, r := approvedOnce(t)
	b.now = noon.Add(900 * time.Millisecond)
	one := must[SignedRelease](t)(o.Release(ctx, "cy", "a", r))
	signature, key := b.Sign(one.Sealed.Digest())
	if one.Release.Number != 1 || !one.Release.Effective.Equal(noon) || !one.Release.Made.Equal(noon) || one.Release.Approver != "cy" || !one.Release.Previous.Zero() || string(one.Signature) != string(signature) || one.Key != key {
		t.Errorf("got %+v", one)
	}
	if one.Release.Revisions[0].Digest != b.kept[glimmer][0].Digest {
		t.Error("the digest is not the approved revision's")
	}
	two := must[SignedRelease](t)(o.Release(ctx, "cy", "b", r))
	if two.Release.Number != 2 || two.Release.Previous != one.Sealed.Digest() || !slices.Equal(b.told, []int64{1, 2}) {
		t.Errorf("got %+v; told %v", two, b.told)
	}
}

func TestRelease_answersTheSameRequestWithTheFirst(t *testing.T) {
	b, o, r := approvedOnce(t)
	r.Effective = noon
	one := must[SignedRelease](t)(o.Release(ctx, "cy", "a", r))
	must[SignedRelease](t)(o.Release(ctx, "cy", "b", r))
	// The answer was lost and the client asks again much later, when the instant that it chose has passed.
	b.now = noon.Add(time.Hour)
	again, err := o.Release(ctx, "cy", "a", r)
	if diff := cmp.Diff(again, one, cmp.Comparer(func(a, b Sealed) bool { return a == b })); err != nil || diff != "" || len(b.releases) != 2 || len(b.told) != 2 {
		t.Errorf("%v, %d releases, told %v\n%s", err, len(b.releases), b.told, diff)
	}
}

func TestRelease_staysWithoutGapsBesideARival(t *testing.T) {
	for _, row := range []struct {
		rivals int
		ok     bool
		source string
	}{{0, true, "ours: Release"}, {1, true, "ours: Release"}, {2, true, "ours: Release"}, {3, false, "ours: three times running"}} {
		b, o, r := approvedOnce(t)
		left := row.rivals
		b.rival = func() {
			if left > 0 {
				left--
				n := int64(len(b.releases)) + 1
				b.releases = append(b.releases, SignedRelease{Release: Release{Number: n}, Sealed: SealBytes(fmt.Append(nil, "rival ", n))})
			}
		}
		got, err := o.Release(ctx, "cy", "a", r)
		if row.ok {
			if err != nil || got.Release.Number != int64(row.rivals)+1 || row.rivals > 0 && got.Release.Previous != b.releases[row.rivals-1].Sealed.Digest() {
				t.Errorf("%d rivals: release %d, %v (%s)", row.rivals, got.Release.Number, err, row.source)
			}
		} else {
			wantFault(t, err, fault.MovedOn, "RELEASE_TAKEN")
		}
		for i, s := range b.releases {
			if s.Release.Number != int64(i)+1 {
				t.Errorf("%d rivals: place %d holds number %d", row.rivals, i+1, s.Release.Number)
			}
		}
	}
}

func TestRelease_namesWhatIsWrong(t *testing.T) {
	const ours = "ours: MaxAhead, and one revision a record in force"
	name := glimmer.Revision(1)
	rows := []struct {
		name   string
		change func(*Release)
		kind   fault.Kind // "" is allowed
		reason fault.Reason
		fields []string
		source string
	}{
		{"a minute late, for the click itself", func(r *Release) { r.Effective = noon.Add(-time.Minute) }, "", "", nil, ours},
		{"later than that", func(r *Release) { r.Effective = noon.Add(-61 * time.Second) }, fault.Invalid, "EFFECTIVE_IN_THE_PAST", nil, ours},
		{"366 days ahead: a leap year", func(r *Release) { r.Effective = noon.Add(366 * 24 * time.Hour) }, "", "", nil, "Gregorian calendar: a leap year has 366 days"},
		{"and a second", func(r *Release) { r.Effective = noon.Add(366*24*time.Hour + time.Second) }, fault.Invalid, "RELEASE_INVALID", []string{"effective_time"}, ours},
		{"one record twice", func(r *Release) { r.Revisions = []Released{{Revision: name}, {Revision: name}} }, fault.Invalid, "RELEASE_INVALID", []string{"revisions[1]"}, ours},
		{"everything at once", func(r *Release) {
			r.Effective, r.Markets, r.Revisions = noon.AddDate(2, 0, 0), nil, []Released{{Revision: "x"}}
		}, fault.Invalid, "RELEASE_INVALID", []string{"effective_time", "markets", "revisions[0]"}, ours},
		{"nothing", func(r *Release) { *r = Release{} }, fault.Invalid, "RELEASE_INVALID", []string{"markets", "revisions"}, ours},
		{"a revision nobody approved", func(r *Release) { r.Revisions[0].Revision = glimmer.Revision(2) }, fault.NotFound, "REVISION_NOT_FOUND", nil, ours},
	}
	for _, row := range rows {
		b, o, r := approvedOnce(t)
		row.change(&r)
		_, err := o.Release(ctx, "cy", "a", r)
		if row.kind == "" {
			if err != nil || len(b.releases) != 1 {
				t.Errorf("%s: %v (%s)", row.name, err, row.source)
			}
		} else {
			wantFault(t, err, row.kind, row.reason)
			if f, ok := fault.As(err); !ok || !slices.Equal(paths(f.Fields), row.fields) || len(b.releases) != 0 {
				t.Errorf("%s: got %v, %d releases (%s)", row.name, err, len(b.releases), row.source)
			}
		}
		if row.source == "" {
			t.Errorf("%s has no source", row.name)
		}
	}
}
