package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/fieldmaskpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/server/demo"
)

// TestReleases carries acts of head office through the whole house, over native gRPC, on the demo franchise.
func TestReleases(t *testing.T) {
	h := started(t, t.TempDir(), "--demo")
	desk, catalog := recipesv1.NewDeskServiceClient(h.conn), recipesv1.NewCatalogServiceClient(h.conn)
	acts, past := recipesv1.NewReleaseServiceClient(h.conn), recipesv1.NewPastServiceClient(h.conn)
	editor, approver := h.as(t, "editor@evenpeel.example"), h.as(t, "approver@evenpeel.example")
	bench, auditor := h.as(t, "operator.eu@evenpeel.example"), h.as(t, "auditor@evenpeel.example")
	var list *recipesv1.ListReleasesResponse
	release := func(number int64) *recipesv1.ReleaseSummary {
		t.Helper()
		var err error
		if list, err = catalog.ListReleases(approver, &recipesv1.ListReleasesRequest{PageSize: 200}); err != nil {
			t.Fatal(err)
		}
		for _, r := range list.GetReleases() {
			if r.GetNumber() == number {
				return r
			}
		}
		t.Fatal("there is no release", number)
		return nil
	}
	const record = "recipes/glimmer-cotton"
	rows, err := catalog.ListRevisions(approver, &recipesv1.ListRevisionsRequest{Record: record})
	if err != nil {
		t.Fatal(err)
	}
	old := rows.GetRevisions()[0]

	var hotter *recipesv1.RevisionSummary
	t.Run("a draft's trial is part of what is looked at and sealed", func(t *testing.T) {
		created, err := desk.CreateDraft(editor, &recipesv1.CreateDraftRequest{Record: record, BaseNumber: old.GetNumber(), RequestId: id(1)})
		if err != nil {
			t.Fatal(err)
		}
		d := created.GetDraft()
		change := proto.CloneOf(d.GetContent())
		change.GetRecipe().CutForceGrams = &recordv1.Window{Low: 430, Set: 450, High: 470} // beyond what some cutters give
		change.GetRecipe().DwellSeconds.Set += 2
		change.GetRecipe().DwellSeconds.High += 2
		change.Trials = []*recordv1.Trial{{GarmentsCount: 12, WashProcedure: "4N", DryProcedure: "F", Cycles: 25, Outcome: "held", Tester: "people/ada", Day: "2026-02-01"}}
		saved, err := desk.UpdateDraft(editor, &recipesv1.UpdateDraftRequest{Name: d.GetName(), Content: change, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"cut_force_grams", "dwell_seconds", "trials"}}, Etag: d.GetEtag()})
		if err != nil {
			t.Fatal(err)
		}
		if len(saved.GetDraft().GetFaults()) > 0 || len(saved.GetDraft().GetContent().GetTrials()) != 1 || bytes.Equal(saved.GetDraft().GetContentSha256(), d.GetContentSha256()) {
			t.Fatalf("faults %v, content %v", saved.GetDraft().GetFaults(), saved.GetDraft().GetContent().GetTrials())
		}
		asked, err := desk.AskSecondLook(editor, &recipesv1.AskSecondLookRequest{Name: d.GetName(), Etag: saved.GetDraft().GetEtag()})
		if err != nil {
			t.Fatal(err)
		}
		approved, err := desk.ApproveDraft(approver, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: asked.GetDraft().GetContentSha256()})
		if err != nil {
			t.Fatal(err)
		}
		hotter = approved.GetRevision()
		got, err := catalog.GetRevision(bench, &recipesv1.GetRevisionRequest{Record: record, Number: hotter.GetNumber()})
		var rev recordv1.Revision
		if err != nil || proto.Unmarshal(got.GetSealed().GetContent(), &rev) != nil || rev.GetContent().GetTrials()[0].GetWashProcedure() != "4N" {
			t.Errorf("%v: sealed %v", err, rev.GetContent().GetTrials())
		}
	})

	plan := &recipesv1.PlannedRelease{Revisions: []string{hotter.GetName()}, Markets: []string{"EU"}, EffectiveTime: timestamppb.New(time.Now().Add(200 * 24 * time.Hour)), Reason: "hotter"}
	t.Run("a preview says what changes, where it can not be held, and by whose clock", func(t *testing.T) {
		p, err := acts.PreviewRelease(editor, &recipesv1.PreviewReleaseRequest{Plan: plan})
		if err != nil {
			t.Fatal(err)
		}
		if len(p.GetChanges()) != 1 || p.GetBranchesCount() == 0 || p.GetChangedBranchesCount() != p.GetBranchesCount() {
			t.Fatalf("%d changes at %d of %d branches", len(p.GetChanges()), p.GetChangedBranchesCount(), p.GetBranchesCount())
		}
		c := p.GetChanges()[0]
		if c.GetBefore() != old.GetName() || c.GetAfter() != hotter.GetName() || c.GetConsequences().GetSecondsPerGarmentDelta() != 2 {
			t.Errorf("from %s to %s, %d s a garment", c.GetBefore(), c.GetAfter(), c.GetConsequences().GetSecondsPerGarmentDelta())
		}
		if n := c.GetConsequences(); len(n.GetRefusals()) == 0 || int64(len(n.GetRefusals())) >= n.GetMachinesCount() || !n.GetRefusals()[0].GetHeldBefore() {
			t.Errorf("%d of %d machines can not hold it: %v", len(n.GetRefusals()), n.GetMachinesCount(), n.GetRefusals())
		}
		var words []string
		for _, d := range c.GetDifferences() {
			words = append(words, d.GetWords())
		}
		if all := strings.Join(words, "\n"); !strings.Contains(all, "dwell: ") || !strings.Contains(all, "(2 s more)") || !strings.Contains(all, "cut force: ") {
			t.Errorf("differences in words:\n%s", all)
		}
		// 200 days ahead lie past one change of the clocks at least (Directive 2000/84/EC: last Sundays of March and October).
		if len(p.GetInstants()) == 0 || !p.GetInstants()[0].GetClocksChange() || !strings.Contains(p.GetInstants()[0].GetWords(), "UTC+") {
			t.Errorf("instants %v", p.GetInstants())
		}
		if stored, err := catalog.ListReleases(approver, &recipesv1.ListReleasesRequest{PageSize: 1}); err != nil || strings.Contains(stored.GetReleases()[0].GetReason(), "hotter") {
			t.Error("a preview released:", err)
		}
		if _, err := acts.PreviewRelease(bench, &recipesv1.PreviewReleaseRequest{Plan: plan}); reason(err) != "NOT_YOUR_ROLE" {
			t.Error("a branch previews:", err)
		}
	})

	var number int64
	t.Run("a proposal waits for another person", func(t *testing.T) {
		made, err := acts.ProposeRelease(editor, &recipesv1.ProposeReleaseRequest{Plan: plan, RequestId: id(2)})
		if err != nil {
			t.Fatal(err)
		}
		p := made.GetProposal()
		open, err := acts.ListProposals(auditor, &recipesv1.ListProposalsRequest{})
		// The demo's own proposal is overdue: it asks, stands first, and has put nothing in force.
		if err != nil || len(open.GetProposals()) != 2 || !open.GetProposals()[0].GetOverdue() || open.GetProposals()[0].GetRelease() != 0 {
			t.Fatal(open, err)
		}
		if late := open.GetProposals()[0]; late.GetState() == recipesv1.ProposalState_PROPOSAL_STATE_ASKED {
			if _, err := acts.ApproveRelease(approver, &recipesv1.ApproveReleaseRequest{Name: late.GetName(), SeenSha256: late.GetSha256()}); reason(err) != "RELEASE_OVERDUE" {
				t.Error("an overdue proposal:", err)
			}
		}
		if mine := open.GetProposals()[1]; mine.GetName() != p.GetName() || mine.GetOverdue() || mine.GetState() != recipesv1.ProposalState_PROPOSAL_STATE_ASKED {
			t.Errorf("got %v", mine)
		}
		if _, err := acts.ApproveRelease(editor, &recipesv1.ApproveReleaseRequest{Name: p.GetName(), SeenSha256: p.GetSha256()}); reason(err) != "NOT_YOUR_ROLE" {
			t.Error(err)
		}
		done, err := acts.ApproveRelease(approver, &recipesv1.ApproveReleaseRequest{Name: p.GetName(), SeenSha256: p.GetSha256()})
		if err != nil {
			t.Fatal(err)
		}
		r := done.GetRelease()
		number = r.GetNumber()
		if r.GetState() != recipesv1.ReleaseState_RELEASE_STATE_SCHEDULED || r.GetProposer() == "" || r.GetProposer() == r.GetApprover() || r.GetAct() != recipesv1.ReleaseAct_RELEASE_ACT_PUT {
			t.Errorf("got %v", r)
		}
		own, err := acts.ProposeRelease(approver, &recipesv1.ProposeReleaseRequest{Plan: plan, RequestId: id(3)})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := acts.ApproveRelease(approver, &recipesv1.ApproveReleaseRequest{Name: own.GetProposal().GetName(), SeenSha256: own.GetProposal().GetSha256()}); reason(err) != "OWN_PROPOSAL" {
			t.Error(err)
		}
		if _, err := acts.RefuseRelease(editor, &recipesv1.RefuseReleaseRequest{Name: own.GetProposal().GetName(), Reason: "no"}); reason(err) != "NOT_YOUR_PROPOSAL" {
			t.Error(err)
		}
		if refused, err := acts.RefuseRelease(approver, &recipesv1.RefuseReleaseRequest{Name: own.GetProposal().GetName(), Reason: "a slip"}); err != nil || !strings.HasSuffix(refused.GetProposal().GetRefusal(), ": a slip") {
			t.Error(refused, err)
		}
	})
	t.Run("a scheduled release is cancelled by another", func(t *testing.T) {
		done, err := acts.CancelRelease(approver, &recipesv1.CancelReleaseRequest{Number: number, Reason: "not yet", RequestId: id(4)})
		if err != nil || done.GetRelease().GetNumber() != number+1 || done.GetRelease().GetCancels() != number {
			t.Fatal(done, err)
		}
		if r := release(number); r.GetState() != recipesv1.ReleaseState_RELEASE_STATE_CANCELLED || r.GetCancelledBy() != number+1 {
			t.Errorf("got %v", r)
		}
		if _, err := acts.CancelRelease(approver, &recipesv1.CancelReleaseRequest{Number: number, RequestId: id(5)}); reason(err) != "RELEASE_CANCELLED" {
			t.Error(err)
		}
	})

	var trial, wide int64
	t.Run("a trial is widened, gone back from, and withdrawn", func(t *testing.T) {
		create := func(n int, req *recipesv1.CreateReleaseRequest) *recipesv1.ReleaseSummary {
			t.Helper()
			req.RequestId, req.Markets = id(n), []string{"EU"}
			made, err := desk.CreateRelease(approver, req)
			if err != nil {
				t.Fatal(err)
			}
			return made.GetRelease()
		}
		r := create(6, &recipesv1.CreateReleaseRequest{Revisions: []string{hotter.GetName()}, Branches: []string{demo.Cold}})
		if trial = r.GetNumber(); !r.GetTrial() || r.GetBranchesCount() != 1 || r.GetInForceBranchesCount() != 1 {
			t.Errorf("the trial: %v", r)
		}
		p, err := acts.PreviewRelease(editor, &recipesv1.PreviewReleaseRequest{Plan: &recipesv1.PlannedRelease{Revisions: []string{hotter.GetName()}, Markets: []string{"EU"}, Widens: trial}})
		if err != nil || len(p.GetChanges()) != 2 || p.GetChangedBranchesCount() != p.GetBranchesCount()-1 {
			t.Errorf("the preview of widening: %v, %v", p.GetChanges(), err)
		}
		r = create(7, &recipesv1.CreateReleaseRequest{Revisions: []string{hotter.GetName()}, Widens: trial})
		if wide = r.GetNumber(); r.GetWidens() != trial || release(trial).GetState() != recipesv1.ReleaseState_RELEASE_STATE_PASSED {
			t.Errorf("widened: %v; the trial is %v", r, release(trial).GetState())
		}
		back, err := acts.PreviewRelease(approver, &recipesv1.PreviewReleaseRequest{GoBackOf: wide})
		if err != nil || len(back.GetPlan().GetRevisions()) != 1 || back.GetPlan().GetRevisions()[0] != old.GetName() {
			t.Fatalf("going back: %v, %v", back, err)
		}
		create(8, &recipesv1.CreateReleaseRequest{Revisions: back.GetPlan().GetRevisions()})
		gone := create(9, &recipesv1.CreateReleaseRequest{Withdrawn: []string{record}})
		if gone.GetAct() != recipesv1.ReleaseAct_RELEASE_ACT_WITHDRAW {
			t.Errorf("got %v", gone)
		}
		sheet, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold})
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range sheet.GetCurrent().GetEntries() {
			if strings.HasPrefix(e.GetRevision(), record+"/") {
				t.Errorf("%s is still in force", e.GetRevision())
			}
		}
		if release(gone.GetNumber()-1).GetState() != recipesv1.ReleaseState_RELEASE_STATE_WITHDRAWN {
			t.Errorf("what was gone back to is %v", release(gone.GetNumber()-1).GetState())
		}
	})

	t.Run("two releases to come bring both their records at once, and every release of the chain", func(t *testing.T) {
		held, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold})
		if err != nil {
			t.Fatal(err)
		}
		var made []int64
		for i, name := range []string{old.GetName(), hotter.GetName()} {
			r, err := desk.CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{name}, Markets: []string{"EU"}, RequestId: id(20 + i), EffectiveTime: timestamppb.New(time.Now().Add(time.Duration(i+1) * 24 * time.Hour))})
			if err != nil {
				t.Fatal(err)
			}
			made = append(made, r.GetRelease().GetNumber())
		}
		// A key's hand-over and releases for others are part of the chain: here one for another market.
		if _, err := desk.CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{old.GetName()}, Markets: []string{"UK"}, RequestId: id(22)}); err != nil {
			t.Fatal(err)
		}
		got, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold, HeldRelease: held.GetNewestRelease()})
		if err != nil || len(got.GetReleases()) != 3 || got.GetNewestRelease() != held.GetNewestRelease()+3 || got.GetFreshness() == nil || got.GetMarket() != "EU" {
			t.Fatalf("%d releases up to %d, %v", len(got.GetReleases()), got.GetNewestRelease(), err)
		}
		names := map[string]bool{}
		for _, r := range got.GetRecords() {
			names[r.GetName()] = true
		}
		if !names[old.GetName()] || !names[hotter.GetName()] || len(names) != 2 {
			t.Errorf("records %v", names)
		}
		for i, number := range made {
			if _, err := acts.CancelRelease(approver, &recipesv1.CancelReleaseRequest{Number: number, RequestId: id(30 + i)}); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold, HeldRelease: got.GetNewestRelease()}); err != nil {
			t.Fatal(err)
		}
	})

	t.Run("reach goes from told to used, and a branch sees its own", func(t *testing.T) {
		mine := func() *recipesv1.Reach {
			t.Helper()
			got, err := catalog.ListReach(bench, &recipesv1.ListReachRequest{Branch: demo.Cold})
			if err != nil || len(got.GetReaches()) != 1 {
				t.Fatal(got, err)
			}
			return got.GetReaches()[0]
		}
		if _, err := catalog.ListReach(bench, &recipesv1.ListReachRequest{}); reason(err) != "NOT_YOUR_BRANCH" {
			t.Error(err)
		}
		if r := mine(); r.GetStage() != recipesv1.ReachStage_REACH_STAGE_HOLDING || r.GetSilent() || r.GetHoldTime() == nil || r.GetToldRelease() != r.GetHeldRelease() {
			t.Errorf("after a pull: %v", r)
		}
		// Runs are not of a withdrawal, so a release that puts something in force comes first.
		made, err := desk.CreateRelease(approver, &recipesv1.CreateReleaseRequest{Revisions: []string{old.GetName()}, Markets: []string{"EU"}, RequestId: id(10)})
		if err != nil {
			t.Fatal(err)
		}
		told := made.GetRelease().GetNumber()
		if r := mine(); r.GetStage() != recipesv1.ReachStage_REACH_STAGE_TOLD || r.GetToldRelease() != told || r.GetHeldRelease() != told-1 {
			t.Errorf("after a release: %v", r)
		}
		if _, err := catalog.NoteOpened(bench, &recipesv1.NoteOpenedRequest{Branch: demo.Cold, Release: told + 1}); reason(err) != "RELEASE_NOT_FOUND" {
			t.Error(err)
		}
		if _, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold, HeldRelease: told - 1}); err != nil {
			t.Fatal(err)
		}
		if _, err := catalog.NoteOpened(bench, &recipesv1.NoteOpenedRequest{Branch: demo.Cold, Release: told}); err != nil {
			t.Fatal(err)
		}
		if r := mine(); r.GetStage() != recipesv1.ReachStage_REACH_STAGE_OPENED || r.GetOpenTime() == nil {
			t.Errorf("after a card was opened: %v", r)
		}
		listed, err := branchesv1.NewRunsServiceClient(h.conn).ListRuns(bench, &branchesv1.ListRunsRequest{Branch: demo.Cold, PageSize: 1})
		if err != nil {
			t.Fatal(err)
		}
		run := proto.CloneOf(listed.GetRuns()[0])
		run.Id, run.Recipe, run.RecipeSha256, run.EndTime, run.Order = id(11), old.GetName(), old.GetSha256(), timestamppb.Now(), ""
		run.StartTime = timestamppb.New(time.Now().Add(-time.Minute))
		if _, err := branchesv1.NewRunsServiceClient(h.conn).ReportRuns(bench, &branchesv1.ReportRunsRequest{Runs: []*branchesv1.Run{run}}); err != nil {
			t.Fatal(err)
		}
		if r := mine(); r.GetStage() != recipesv1.ReachStage_REACH_STAGE_USED || r.GetUsedRelease() != told || r.GetUseTime() == nil {
			t.Errorf("after a run: %v", r)
		}
	})

	t.Run("the past is told with its proof", func(t *testing.T) {
		at := timestamppb.New(release(wide).GetReleaseTime().AsTime().AddDate(0, -3, 0))
		got, err := past.GetPast(bench, &recipesv1.GetPastRequest{Branch: demo.Cold, Instant: at, WithRecords: true})
		if err != nil || len(got.GetEntries()) == 0 || len(got.GetRecords()) != len(got.GetEntries()) || !got.GetChainWhole() || got.GetZone() == "" || len(got.GetReleases()) == 0 {
			t.Fatalf("%d entries, chain %q, %v", len(got.GetEntries()), got.GetChainWords(), err)
		}
		if len(got.GetReleases()) >= int(wide) {
			t.Errorf("%d releases had been made then", len(got.GetReleases()))
		}
		if _, err := past.GetPast(bench, &recipesv1.GetPastRequest{Branch: demo.Cold, Instant: timestamppb.New(time.Now().Add(time.Hour))}); reason(err) != "INSTANT_IN_THE_FUTURE" {
			t.Error(err)
		}
		if _, err := past.GetPast(bench, &recipesv1.GetPastRequest{Branch: demo.Wasteful, Instant: at}); reason(err) != "NOT_YOUR_BRANCH" {
			t.Error(err)
		}
	})
	t.Run("the audit chain is listed and checked", func(t *testing.T) {
		page, err := past.ListAudit(auditor, &recipesv1.ListAuditRequest{PageSize: 3})
		if err != nil || len(page.GetEntries()) != 3 || page.GetEntries()[0].GetNumber() != page.GetEntries()[2].GetNumber()+2 {
			t.Fatal(page, err)
		}
		older, err := past.ListAudit(auditor, &recipesv1.ListAuditRequest{PageSize: 200, BelowNumber: page.GetEntries()[2].GetNumber()})
		if err != nil || int64(len(older.GetEntries())) != page.GetEntries()[2].GetNumber()-1 {
			t.Errorf("%d older entries, %v", len(older.GetEntries()), err)
		}
		found, err := past.VerifyAudit(approver, &recipesv1.VerifyAuditRequest{})
		if err != nil || found.GetBrokenEntry() != nil || found.GetBrokenRelease() != nil || found.GetEntriesCount() != page.GetEntries()[0].GetNumber() || found.GetReleasesCount() != list.GetReleases()[0].GetNumber() {
			t.Errorf("%v, %v", found, err)
		}
		if _, err := past.VerifyAudit(bench, &recipesv1.VerifyAuditRequest{}); reason(err) != "NOT_YOUR_ROLE" {
			t.Error(err)
		}
	})
}
