package rpc

import (
	"context"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
)

type releaseService struct {
	recipesv1.UnimplementedReleaseServiceServer
	h *House
}

// planOf reads what the wire brought, and checks that its branches exist.
func (h *House) planOf(ctx context.Context, m *recipesv1.PlannedRelease) (recipes.Release, error) {
	r := recipes.Release{Branches: m.GetBranches(), Reason: m.GetReason(), Widens: m.GetWidens(), Effective: instantOf(m.GetEffectiveTime())}
	for _, name := range m.GetRevisions() {
		r.Revisions = append(r.Revisions, recipes.Released{Revision: recipes.RevisionName(name)})
	}
	for _, record := range m.GetWithdrawn() {
		r.Withdrawn = append(r.Withdrawn, recipes.RecordName(record))
	}
	for _, market := range m.GetMarkets() {
		r.Markets = append(r.Markets, recipes.Market(market))
	}
	for _, name := range m.GetBranches() {
		if _, err := h.Register.Branch(ctx, name); err != nil {
			return r, err
		}
	}
	return r, nil
}

func plannedMessage(r recipes.Release) *recipesv1.PlannedRelease {
	m := &recipesv1.PlannedRelease{Branches: r.Branches, Reason: r.Reason, Widens: r.Widens}
	if !r.Effective.IsZero() {
		m.EffectiveTime = timestamppb.New(r.Effective)
	}
	for _, rev := range r.Revisions {
		m.Revisions = append(m.Revisions, string(rev.Revision))
	}
	for _, record := range r.Withdrawn {
		m.Withdrawn = append(m.Withdrawn, string(record))
	}
	for _, market := range r.Markets {
		m.Markets = append(m.Markets, string(market))
	}
	return m
}

// instantOf is the zero time where nothing is set.
func instantOf(m *timestamppb.Timestamp) time.Time {
	if m == nil {
		return time.Time{}
	}
	return m.AsTime()
}

func (s *releaseService) GetRelease(ctx context.Context, req *recipesv1.GetReleaseRequest) (*recipesv1.GetReleaseResponse, error) {
	from, err := s.h.Office.Catalog.Releases(ctx, req.GetNumber()-1)
	if err != nil {
		return nil, err
	}
	if len(from) == 0 {
		return nil, recipes.ReleaseNotFound(req.GetNumber())
	}
	summary, err := s.h.summary(ctx, from[0])
	return &recipesv1.GetReleaseResponse{Release: summary, Sealed: sealedRelease(from[0])}, err
}

func (s *releaseService) CancelRelease(ctx context.Context, req *recipesv1.CancelReleaseRequest) (*recipesv1.CancelReleaseResponse, error) {
	defer s.h.Hub.act()()
	done, err := s.h.Office.Cancel(ctx, person(ctx), req.GetRequestId(), req.GetNumber(), req.GetReason())
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "CancelRelease", "releases/"+etagOf(req.GetNumber()))
	summary, err := s.h.summary(ctx, done)
	return &recipesv1.CancelReleaseResponse{Release: summary}, err
}

var proposalStates = map[recipes.ProposalState]recipesv1.ProposalState{
	recipes.ProposalAsked: recipesv1.ProposalState_PROPOSAL_STATE_ASKED, recipes.ProposalApproved: recipesv1.ProposalState_PROPOSAL_STATE_APPROVED, recipes.ProposalRefused: recipesv1.ProposalState_PROPOSAL_STATE_REFUSED,
}

func (s *releaseService) proposal(p recipes.Proposal) *recipesv1.Proposal {
	digest := p.Content.Digest()
	return &recipesv1.Proposal{
		Name: "proposals/" + p.ID, Plan: plannedMessage(p.Plan), Sha256: digest[:], State: proposalStates[p.State], Proposer: p.Proposer,
		ProposeTime: timestamppb.New(p.Proposed), Overdue: p.Overdue(s.h.Now()), Release: p.Release, Refusal: p.Refusal,
	}
}

func proposalID(name string) string { return strings.TrimPrefix(name, "proposals/") }

func (s *releaseService) ListProposals(ctx context.Context, req *recipesv1.ListProposalsRequest) (*recipesv1.ListProposalsResponse, error) {
	list, err := s.h.Office.Desk.Proposals(ctx, req.GetClosed())
	if err != nil {
		return nil, err
	}
	answer := &recipesv1.ListProposalsResponse{}
	for _, p := range list {
		answer.Proposals = append(answer.Proposals, s.proposal(p))
	}
	return answer, nil
}

func (s *releaseService) ProposeRelease(ctx context.Context, req *recipesv1.ProposeReleaseRequest) (*recipesv1.ProposeReleaseResponse, error) {
	plan, err := s.h.planOf(ctx, req.GetPlan())
	if err != nil {
		return nil, err
	}
	p, err := s.h.Office.Propose(ctx, person(ctx), req.GetRequestId(), plan)
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "ProposeRelease", "proposals/"+p.ID)
	return &recipesv1.ProposeReleaseResponse{Proposal: s.proposal(p)}, nil
}

func (s *releaseService) ApproveRelease(ctx context.Context, req *recipesv1.ApproveReleaseRequest) (*recipesv1.ApproveReleaseResponse, error) {
	seen, err := recipes.ParseDigest(req.GetSeenSha256())
	if err != nil {
		return nil, err
	}
	defer s.h.Hub.act()()
	done, err := s.h.Office.ApproveProposal(ctx, person(ctx), proposalID(req.GetName()), seen, instantOf(req.GetEffectiveTime()))
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "ApproveRelease", "releases/"+etagOf(done.Release.Number))
	summary, err := s.h.summary(ctx, done)
	return &recipesv1.ApproveReleaseResponse{Release: summary}, err
}

func (s *releaseService) RefuseRelease(ctx context.Context, req *recipesv1.RefuseReleaseRequest) (*recipesv1.RefuseReleaseResponse, error) {
	p, _ := access.PersonFrom(ctx)
	closed, err := s.h.Office.RefuseProposal(ctx, p.Name, proposalID(req.GetName()), p.Has(access.OfficeApprover), req.GetReason())
	if err != nil {
		return nil, err
	}
	s.h.audit(ctx, "RefuseRelease", req.GetName())
	return &recipesv1.RefuseReleaseResponse{Proposal: s.proposal(closed)}, nil
}
