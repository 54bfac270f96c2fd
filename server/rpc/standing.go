package rpc

import (
	"context"

	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
)

var releaseStates = map[recipes.ReleaseState]recipesv1.ReleaseState{
	recipes.Scheduled: recipesv1.ReleaseState_RELEASE_STATE_SCHEDULED, recipes.InForce: recipesv1.ReleaseState_RELEASE_STATE_IN_FORCE, recipes.Passed: recipesv1.ReleaseState_RELEASE_STATE_PASSED,
	recipes.Cancelled: recipesv1.ReleaseState_RELEASE_STATE_CANCELLED, recipes.Withdrawn: recipesv1.ReleaseState_RELEASE_STATE_WITHDRAWN,
}

// places are all branches with their markets.
func (h *House) places(ctx context.Context) ([]recipes.Place, error) {
	all, err := h.Register.Branches(ctx)
	if err != nil {
		return nil, err
	}
	out := make([]recipes.Place, len(all))
	for i, b := range all {
		out[i] = recipes.Place{Branch: b.Name, Market: b.Market}
	}
	return out, nil
}

// standings say where every release stands now.
func (h *House) standings(ctx context.Context) (map[int64]recipes.Standing, error) {
	releases, err := h.releases(ctx)
	if err != nil {
		return nil, err
	}
	places, err := h.places(ctx)
	if err != nil {
		return nil, err
	}
	return recipes.Standings(releases, places, h.Now()), nil
}

// summary is one release with where it stands.
func (h *House) summary(ctx context.Context, s recipes.SignedRelease) (*recipesv1.ReleaseSummary, error) {
	all, err := h.standings(ctx)
	return releaseSummary(s, all[s.Release.Number]), err
}

func releaseSummary(s recipes.SignedRelease, at recipes.Standing) *recipesv1.ReleaseSummary {
	r, digest := s.Release, s.Sealed.Digest()
	m := &recipesv1.ReleaseSummary{
		Number: r.Number, Branches: r.Branches, EffectiveTime: timestamppb.New(r.Effective), Approver: r.Approver, ReleaseTime: timestamppb.New(r.Made), Reason: r.Reason, Sha256: digest[:],
		Act: actOf(r), State: releaseStates[at.State], Widens: r.Widens, Cancels: r.Cancels, Proposer: r.Proposer, CancelledBy: at.CancelledBy,
		BranchesCount: int64(at.Scope), InForceBranchesCount: int64(at.Held), Trial: len(r.Branches) > 0 && r.Puts(),
	}
	if !at.Ended.IsZero() {
		m.EndTime = timestamppb.New(at.Ended)
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

func actOf(r recipes.Release) recipesv1.ReleaseAct {
	switch {
	case r.Cancels > 0:
		return recipesv1.ReleaseAct_RELEASE_ACT_CANCEL
	case len(r.NextKey) > 0:
		return recipesv1.ReleaseAct_RELEASE_ACT_KEY
	case len(r.Revisions) == 0:
		return recipesv1.ReleaseAct_RELEASE_ACT_WITHDRAW
	}
	return recipesv1.ReleaseAct_RELEASE_ACT_PUT
}

func sealedRelease(r recipes.SignedRelease) *recipesv1.SealedRelease {
	digest := r.Sealed.Digest()
	return &recipesv1.SealedRelease{Number: r.Release.Number, Content: r.Sealed.Content(), Sha256: digest[:], Signature: r.Signature, Key: r.Key}
}
