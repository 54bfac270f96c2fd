package rpc

import (
	"context"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"evenpeel/branches"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
)

func (s *catalogService) ListReach(ctx context.Context, req *recipesv1.ListReachRequest) (*recipesv1.ListReachResponse, error) {
	var all []branches.Branch
	var err error
	if req.GetBranch() != "" {
		all = make([]branches.Branch, 1)
		all[0], err = s.h.Register.Branch(ctx, req.GetBranch())
	} else {
		all, err = s.h.Register.Branches(ctx)
	}
	if err != nil {
		return nil, err
	}
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	known, err := s.h.Reaches.Reaches(ctx)
	if err != nil {
		return nil, err
	}
	reaches := map[string]recipes.Reach{}
	for _, r := range known {
		reaches[r.Branch] = r
	}
	list, err := s.h.Reaches.RevisionUses(ctx)
	if err != nil {
		return nil, err
	}
	uses := map[string]map[recipes.RevisionName]recipes.Use{}
	for _, u := range list {
		if uses[u.Branch] == nil {
			uses[u.Branch] = map[recipes.RevisionName]recipes.Use{}
		}
		uses[u.Branch][u.Revision] = u
	}
	now := s.h.Now()
	answer := &recipesv1.ListReachResponse{SilentAfterSeconds: int64(silentAfter / time.Second), ServerTime: timestamppb.New(now)}
	for _, b := range all {
		answer.Reaches = append(answer.Reaches, reachMessage(b, releases, reaches[b.Name], uses[b.Name], now))
	}
	return answer, nil
}

// reachMessage is how far the newest release that is meant for a branch came there.
func reachMessage(b branches.Branch, releases []recipes.Release, r recipes.Reach, uses map[recipes.RevisionName]recipes.Use, now time.Time) *recipesv1.Reach {
	m := &recipesv1.Reach{Branch: b.Name, HeldRelease: r.Held, OpenedRelease: r.Opened, Silent: now.Sub(r.Pulled) > silentAfter}
	for _, t := range []struct {
		at   time.Time
		into **timestamppb.Timestamp
	}{{r.Pulled, &m.PullTime}, {r.Since, &m.HoldTime}, {r.OpenedAt, &m.OpenTime}} {
		if !t.at.IsZero() {
			*t.into = timestamppb.New(t.at)
		}
	}
	for _, told := range slices.Backward(releases) {
		if !told.Reaches(b.Name, b.Market) {
			continue
		}
		if m.ToldRelease == 0 {
			m.ToldRelease, m.ToldTime = told.Number, timestamppb.New(told.Made)
		}
		if at := usedFrom(told, uses); !at.IsZero() {
			m.UsedRelease, m.UseTime = told.Number, timestamppb.New(at)
			break
		}
	}
	switch {
	case m.ToldRelease == 0:
	case m.UsedRelease == m.ToldRelease:
		m.Stage = recipesv1.ReachStage_REACH_STAGE_USED
	case m.OpenedRelease >= m.ToldRelease:
		m.Stage = recipesv1.ReachStage_REACH_STAGE_OPENED
	case m.HeldRelease >= m.ToldRelease:
		m.Stage = recipesv1.ReachStage_REACH_STAGE_HOLDING
	default:
		m.Stage = recipesv1.ReachStage_REACH_STAGE_TOLD
	}
	return m
}

// usedFrom is the end of the first known run that names what a release put in force, at or after its effect; the zero
// time where there is none. Of a revision that was in force before as well, only the last run is known.
func usedFrom(r recipes.Release, uses map[recipes.RevisionName]recipes.Use) (first time.Time) {
	for _, rev := range r.Revisions {
		u, ok := uses[rev.Revision]
		at := u.First
		if ok && at.Before(r.Effective) {
			at = u.Last
		}
		if ok && !at.Before(r.Effective) && (first.IsZero() || at.Before(first)) {
			first = at
		}
	}
	return first
}

func (s *catalogService) NoteOpened(ctx context.Context, req *recipesv1.NoteOpenedRequest) (*recipesv1.NoteOpenedResponse, error) {
	b, err := s.h.Register.Branch(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	newest, err := s.h.Office.Catalog.NewestRelease(ctx)
	if err != nil {
		return nil, err
	}
	if req.GetRelease() > newest {
		return nil, recipes.ReleaseNotFound(req.GetRelease())
	}
	return &recipesv1.NoteOpenedResponse{}, s.h.Reaches.NoteOpened(ctx, b.Name, req.GetRelease(), s.h.Now())
}
