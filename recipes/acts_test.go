package recipes

import (
	"slices"
	"testing"
	"time"

	"evenpeel/recipes/fault"
)

// scheduled is a bench with glimmer's revision 1 in force, and released again for an hour later.
func scheduled(t *testing.T) (*bench, Office, Release) {
	b, o, r := approvedOnce(t)
	must[SignedRelease](t)(o.Release(ctx, "cy", "now", r))
	r.Effective = noon.Add(time.Hour)
	must[SignedRelease](t)(o.Release(ctx, "cy", "later", r))
	return b, o, r
}

func TestCancel_undoesWhatHasNotComeByANewRelease(t *testing.T) {
	b, o, _ := scheduled(t)
	done := must[SignedRelease](t)(o.Cancel(ctx, "di", "undo", 2, "too soon"))
	r := done.Release
	if r.Number != 3 || r.Cancels != 2 || r.Previous != b.releases[1].Sealed.Digest() || !slices.Equal(r.Markets, []Market{"EU"}) || r.Approver != "di" || len(b.releases) != 3 {
		t.Errorf("got %+v", r)
	}
	if again := must[SignedRelease](t)(o.Cancel(ctx, "di", "undo", 2, "too soon")); again.Release.Number != 3 {
		t.Error("the same request cancelled twice")
	}
	_, err := o.Cancel(ctx, "di", "again", 2, "")
	wantFault(t, err, fault.NotReady, "RELEASE_CANCELLED")
	_, err = o.Cancel(ctx, "di", "none", 9, "")
	wantFault(t, err, fault.NotFound, "RELEASE_NOT_FOUND")
	for name, number := range map[string]int64{"in force": 1, "a cancellation": 3} {
		_, err = o.Cancel(ctx, "di", name, number, "")
		wantFault(t, err, fault.NotReady, "RELEASE_NOT_SCHEDULED")
	}
	sheet, next := SheetAt(opened(b.releases), "branches/a", "EU", noon.Add(2*time.Hour))
	if sheet.Release != 1 || next != nil {
		t.Errorf("two hours later release %d is in force", sheet.Release)
	}
}

// An instant is judged when the release is kept, so that a cancellation which comes a moment too late is refused.
func TestCancel_isJudgedAfterARival(t *testing.T) {
	b, o, _ := scheduled(t)
	b.rival = func() {
		b.rival = nil
		must[SignedRelease](t)(o.Cancel(ctx, "cy", "first", 2, ""))
	}
	_, err := o.Cancel(ctx, "di", "second", 2, "")
	wantFault(t, err, fault.NotReady, "RELEASE_CANCELLED")
	if len(b.releases) != 3 {
		t.Errorf("%d releases", len(b.releases))
	}
}

func opened(signed []SignedRelease) (out []Release) {
	for _, s := range signed {
		out = append(out, s.Release)
	}
	return out
}

func TestRelease_widensATrialOnly(t *testing.T) {
	_, o, r := approvedOnce(t)
	trial := r
	trial.Branches = []string{"branches/a"}
	must[SignedRelease](t)(o.Release(ctx, "cy", "trial", trial))
	wide := r
	wide.Widens = 1
	if got := must[SignedRelease](t)(o.Release(ctx, "cy", "wide", wide)); got.Release.Widens != 1 {
		t.Errorf("got %+v", got.Release)
	}
	for name, number := range map[string]int64{"no trial": 2, "nothing": 9} {
		wide.Widens = number
		_, err := o.Release(ctx, "cy", name, wide)
		wantFault(t, err, fault.Invalid, "RELEASE_INVALID")
		if f, _ := fault.As(err); !slices.Equal(paths(f.Fields), []string{"widens"}) {
			t.Errorf("%s: %v", name, f.Fields)
		}
	}
	_, err := o.Release(ctx, "cy", "both", Release{Revisions: r.Revisions, Withdrawn: []RecordName{glimmer, "X"}, Markets: r.Markets})
	if f, _ := fault.As(err); f == nil || !slices.Equal(paths(f.Fields), []string{"withdrawn[0]", "withdrawn[1]"}) {
		t.Errorf("got %v", err)
	}
}

func TestApproveProposal_needsASecondPersonAndNeverFires(t *testing.T) {
	b, o, r := approvedOnce(t)
	r.Effective = noon.Add(time.Hour)
	p := must[Proposal](t)(o.Propose(ctx, "cy", "p", r))
	if again := must[Proposal](t)(o.Propose(ctx, "cy", "p", r)); again.Content != p.Content || len(b.proposed) != 1 {
		t.Error("asking twice proposed two")
	}
	seen := p.Content.Digest()
	_, err := o.ApproveProposal(ctx, "cy", "p", seen, time.Time{})
	wantFault(t, err, fault.NotAllowed, "OWN_PROPOSAL")
	_, err = o.ApproveProposal(ctx, "di", "p", Digest{1}, time.Time{})
	wantFault(t, err, fault.MovedOn, "CHANGED_SINCE_SEEN")
	_, err = o.ApproveProposal(ctx, "di", "q", seen, time.Time{})
	wantFault(t, err, fault.NotFound, "PROPOSAL_NOT_FOUND")

	// Its instant passes: it asks. Nothing took effect, and an old instant is not approved.
	b.now = noon.Add(2 * time.Hour)
	stored := must[Proposal](t)(b.Proposal(ctx, "p"))
	if !stored.Overdue(b.now) || stored.Overdue(noon) || len(b.releases) != 0 {
		t.Errorf("overdue %v, %d releases", stored.Overdue(b.now), len(b.releases))
	}
	_, err = o.ApproveProposal(ctx, "di", "p", seen, time.Time{})
	wantFault(t, err, fault.NotReady, "RELEASE_OVERDUE")
	_, err = o.ApproveProposal(ctx, "di", "p", seen, noon)
	wantFault(t, err, fault.Invalid, "EFFECTIVE_IN_THE_PAST")
	done := must[SignedRelease](t)(o.ApproveProposal(ctx, "di", "p", seen, noon.Add(3*time.Hour)))
	if done.Release.Proposer != "cy" || done.Release.Approver != "di" || !done.Release.Effective.Equal(noon.Add(3*time.Hour)) {
		t.Errorf("got %+v", done.Release)
	}
	if again := must[SignedRelease](t)(o.ApproveProposal(ctx, "di", "p", seen, noon.Add(3*time.Hour))); again.Release.Number != 1 {
		t.Error("approving twice made two")
	}
	_, err = o.ApproveProposal(ctx, "ed", "p", seen, time.Time{})
	wantFault(t, err, fault.NotReady, "PROPOSAL_CLOSED")
	_, err = o.RefuseProposal(ctx, "ed", "p", true, "late")
	wantFault(t, err, fault.NotReady, "PROPOSAL_CLOSED")
	if got := must[Proposal](t)(b.Proposal(ctx, "p")); got.State != ProposalApproved || got.Release != 1 {
		t.Errorf("got %+v", got)
	}
}

func TestRefuseProposal_byItsProposerOrAnApprover(t *testing.T) {
	_, o, r := approvedOnce(t)
	must[Proposal](t)(o.Propose(ctx, "ada", "p", r))
	_, err := o.RefuseProposal(ctx, "bo", "p", false, "mine is better")
	wantFault(t, err, fault.NotAllowed, "NOT_YOUR_PROPOSAL")
	if got := must[Proposal](t)(o.RefuseProposal(ctx, "ada", "p", false, "a slip")); got.State != ProposalRefused || got.Refusal != "ada: a slip" {
		t.Errorf("got %+v", got)
	}
	must[Proposal](t)(o.Propose(ctx, "ada", "q", r))
	must[Proposal](t)(o.RefuseProposal(ctx, "cy", "q", true, "not now"))
}

func TestApprove_sealsTheTrialsThatWereSeen(t *testing.T) {
	b, o := newBench()
	trial := Trial{Garments: 12, Wash: "4N", Dry: "F", Cycles: 25, Outcome: "held", Tester: "people/ada", Day: "2026-02-01"}
	with := written(sealable{Recipe: glitterOnCotton(), Trials: []Trial{trial}})
	d := must[Draft](t)(o.Start(ctx, "ada", "1", glimmer, 0, with))
	d = must[Draft](t)(o.Ask(ctx, "ada", "1", d.Etag))
	row := must[RevisionRow](t)(o.Approve(ctx, "cy", "1", d.Content.Digest()))
	rev := must[Revision](t)(b.OpenRevision(must[Sealed](t)(b.Sealed(ctx, row.Digest))))
	if !slices.Equal(rev.Trials, []Trial{trial}) {
		t.Errorf("sealed %+v", rev.Trials)
	}
	// A trial that says nothing keeps the draft from being asked about, and one at a price list too.
	bad := written(sealable{Recipe: glitterOnCotton(), Trials: []Trial{{Cycles: 1}}})
	d = must[Draft](t)(o.Start(ctx, "ada", "2", glimmer, 0, bad))
	_, err := o.Ask(ctx, "ada", "2", d.Etag)
	if f, _ := fault.As(err); f == nil || !slices.Equal(paths(f.Fields), []string{"trials[0].day", "trials[0].dry_procedure", "trials[0].garments_count", "trials[0].outcome", "trials[0].tester", "trials[0].wash_procedure"}) {
		t.Errorf("got %v", err)
	}
	if fs := checkTrials(price{}, []Trial{trial}); len(fs) != 1 || fs[0].Path != "trials" {
		t.Errorf("a price list with a trial: %v", fs)
	}
}

func TestTrial_namesProceduresOfTheStandard(t *testing.T) {
	const source = "ISO 6330:2012, type A procedures (from memory; their number, 13, is read) and ISO 6330:2021, drying A to F (read)"
	good := Trial{Garments: 1, Outcome: "cracked", Tester: "a", Day: "2026-02-28"}
	for _, row := range []struct {
		wash, dry string
		cycles    int64
		faults    int
	}{
		{"6N", "A", 5, 0}, {"4N", "F", 50, 0}, {"4H", "C", 1, 0}, {"", "", 0, 0},
		{"2N", "A", 5, 1}, {"40", "A", 5, 1}, {"4n", "F", 5, 1}, {"4N", "G", 5, 1}, {"4N", "", 5, 1}, {"4N", "A", 0, 1}, {"4N", "A", 201, 1},
	} {
		trial := good
		trial.Wash, trial.Dry, trial.Cycles = row.wash, row.dry, row.cycles
		if got := trial.Check(); len(got) != row.faults {
			t.Errorf("%s, %s, %d cycles: %v (%s)", row.wash, row.dry, row.cycles, got, source)
		}
	}
	if len(WashProcedures) != 13 || len(DryProcedures) != 6 {
		t.Errorf("%d and %d procedures (%s)", len(WashProcedures), len(DryProcedures), source)
	}
}
