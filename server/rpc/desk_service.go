package rpc

import (
	"context"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/placement"
	"evenpeel/recipes/sealed"
)

type deskService struct {
	recipesv1.UnimplementedDeskServiceServer
	h *House
}

var draftStates = map[recipes.DraftState]recipesv1.DraftState{
	recipes.Writing: recipesv1.DraftState_DRAFT_STATE_WRITING, recipes.Asked: recipesv1.DraftState_DRAFT_STATE_ASKED, recipes.Refused: recipesv1.DraftState_DRAFT_STATE_REFUSED,
	recipes.Approved: recipesv1.DraftState_DRAFT_STATE_APPROVED, recipes.Discarded: recipesv1.DraftState_DRAFT_STATE_DISCARDED,
}

func (s *deskService) draft(d recipes.Draft) (*recipesv1.Draft, error) {
	content, err := sealed.ContentMessage(d.Content)
	if err != nil {
		return nil, err
	}
	fs, err := s.h.Office.Faults(d)
	if err != nil {
		return nil, err
	}
	digest := d.Content.Digest()
	m := &recipesv1.Draft{
		Name: "drafts/" + d.ID, Record: string(d.Record), BaseNumber: d.BaseNumber, Content: content, ContentSha256: digest[:], Etag: etagOf(d.Etag),
		State: draftStates[d.State], Author: d.Author, Saver: d.Saver, UpdateTime: timestamppb.New(d.Updated), Reason: d.Reason, Refusal: d.Refusal,
	}
	for _, f := range fs {
		m.Faults = append(m.Faults, f.Path+": "+f.Words)
	}
	return m, nil
}

func draftID(name string) string { return strings.TrimPrefix(name, "drafts/") }

func (s *deskService) ListDrafts(ctx context.Context, req *recipesv1.ListDraftsRequest) (*recipesv1.ListDraftsResponse, error) {
	state := recipes.DraftState("")
	for word, number := range draftStates {
		if number == req.GetState() {
			state = word
		}
	}
	drafts, err := s.h.Office.Desk.Drafts(ctx, state)
	if err != nil {
		return nil, err
	}
	answer := &recipesv1.ListDraftsResponse{}
	for _, d := range drafts {
		m, err := s.draft(d)
		if err != nil {
			return nil, err
		}
		answer.Drafts = append(answer.Drafts, m)
	}
	return answer, nil
}

func (s *deskService) GetDraft(ctx context.Context, req *recipesv1.GetDraftRequest) (*recipesv1.GetDraftResponse, error) {
	d, err := s.h.Office.Desk.Draft(ctx, draftID(req.GetName()))
	if err != nil {
		return nil, err
	}
	m, err := s.draft(d)
	return &recipesv1.GetDraftResponse{Draft: m}, err
}

func (s *deskService) CreateDraft(ctx context.Context, req *recipesv1.CreateDraftRequest) (*recipesv1.CreateDraftResponse, error) {
	record := recipes.RecordName(req.GetRecord())
	content, err := s.first(ctx, record, req)
	if err != nil {
		return nil, err
	}
	d, err := s.h.Office.Start(ctx, person(ctx), req.GetRequestId(), record, req.GetBaseNumber(), content)
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "CreateDraft", "drafts/"+d.ID)
	m, err := s.draft(d)
	return &recipesv1.CreateDraftResponse{Draft: m}, err
}

// first is what a new draft says: the base revision's content where one is named, the usual places for an empty table of
// places, otherwise what was sent.
func (s *deskService) first(ctx context.Context, record recipes.RecordName, req *recipesv1.CreateDraftRequest) (recipes.Sealed, error) {
	if req.GetBaseNumber() == 0 {
		if t := req.GetContent().GetPlacements(); t != nil && len(t.GetGarments())+len(t.GetPlaces()) == 0 {
			return sealed.Codec{}.Content(placement.Usual()) // hundreds of numbers are not typed in from nothing
		}
		return sealed.FromMessage(req.GetContent())
	}
	row, err := s.h.Office.Catalog.Revision(ctx, record, req.GetBaseNumber())
	if err != nil {
		return recipes.Sealed{}, err
	}
	content, err := s.h.Opener.Content(ctx, row.Digest)
	if err != nil {
		return recipes.Sealed{}, err
	}
	return sealed.Codec{}.Content(content)
}

func (s *deskService) UpdateDraft(ctx context.Context, req *recipesv1.UpdateDraftRequest) (*recipesv1.UpdateDraftResponse, error) {
	id := draftID(req.GetName())
	before, err := s.h.Office.Desk.Draft(ctx, id)
	if err != nil {
		return nil, err
	}
	content := before.Content
	if len(req.GetUpdateMask().GetPaths()) > 0 || req.GetReason() == "" {
		if content, err = sealed.Masked(before.Content, req.GetContent(), req.GetUpdateMask().GetPaths()); err != nil {
			return nil, err
		}
	}
	d, err := s.h.Office.Save(ctx, person(ctx), id, parseEtag(req.GetEtag()), content, req.GetReason())
	if err != nil {
		return nil, err
	}
	m, err := s.draft(d)
	return &recipesv1.UpdateDraftResponse{Draft: m}, err
}

func (s *deskService) AskSecondLook(ctx context.Context, req *recipesv1.AskSecondLookRequest) (*recipesv1.AskSecondLookResponse, error) {
	d, err := s.h.Office.Ask(ctx, person(ctx), draftID(req.GetName()), parseEtag(req.GetEtag()))
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "AskSecondLook", req.GetName())
	m, err := s.draft(d)
	return &recipesv1.AskSecondLookResponse{Draft: m}, err
}

func (s *deskService) ApproveDraft(ctx context.Context, req *recipesv1.ApproveDraftRequest) (*recipesv1.ApproveDraftResponse, error) {
	seen, err := recipes.ParseDigest(req.GetSeenSha256())
	if err != nil {
		return nil, err
	}
	row, err := s.h.Office.Approve(ctx, person(ctx), draftID(req.GetName()), seen)
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "ApproveDraft", string(row.Name()))
	return &recipesv1.ApproveDraftResponse{Revision: revisionSummary(row)}, nil
}

func (s *deskService) RefuseDraft(ctx context.Context, req *recipesv1.RefuseDraftRequest) (*recipesv1.RefuseDraftResponse, error) {
	d, err := s.h.Office.Refuse(ctx, person(ctx), draftID(req.GetName()), parseEtag(req.GetEtag()), req.GetReason())
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "RefuseDraft", req.GetName())
	m, err := s.draft(d)
	return &recipesv1.RefuseDraftResponse{Draft: m}, err
}

func (s *deskService) DiscardDraft(ctx context.Context, req *recipesv1.DiscardDraftRequest) (*recipesv1.DiscardDraftResponse, error) {
	d, err := s.h.Office.Discard(ctx, person(ctx), draftID(req.GetName()), parseEtag(req.GetEtag()))
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "DiscardDraft", req.GetName())
	m, err := s.draft(d)
	return &recipesv1.DiscardDraftResponse{Draft: m}, err
}

func (s *deskService) CreateRelease(ctx context.Context, req *recipesv1.CreateReleaseRequest) (*recipesv1.CreateReleaseResponse, error) {
	r, err := s.h.planOf(ctx, &recipesv1.PlannedRelease{
		Revisions: req.GetRevisions(), Withdrawn: req.GetWithdrawn(), Markets: req.GetMarkets(), Branches: req.GetBranches(), EffectiveTime: req.GetEffectiveTime(), Reason: req.GetReason(), Widens: req.GetWidens(),
	})
	if err != nil {
		return nil, err
	}
	defer s.h.Hub.act()()
	done, err := s.h.Office.Release(ctx, person(ctx), req.GetRequestId(), r)
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "CreateRelease", "releases/"+etagOf(done.Release.Number))
	summary, err := s.h.summary(ctx, done)
	return &recipesv1.CreateReleaseResponse{Release: summary}, err
}

func revisionSummary(r recipes.RevisionRow) *recipesv1.RevisionSummary {
	return &recipesv1.RevisionSummary{
		Name: string(r.Name()), Record: string(r.Record), Number: r.Number, Title: r.Title, Sha256: r.Digest[:], Author: r.Author, Approver: r.Approver,
		ApproveTime: timestamppb.New(r.Approved), Reason: r.Reason,
	}
}
