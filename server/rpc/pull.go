package rpc

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
)

// reachAge is how old a stored pull may grow while a branch goes on pulling the same: every pull would otherwise be a write.
const reachAge = time.Minute

// note stores that a branch pulled, where that is news.
func (s *catalogService) note(ctx context.Context, r recipes.Reach) error {
	s.mu.Lock()
	last, known := s.noted[r.Branch]
	s.mu.Unlock()
	if known && last.Held == r.Held && r.Pulled.Sub(last.Pulled) < reachAge {
		return nil
	}
	if err := s.h.Reaches.NoteReach(ctx, r); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.noted == nil {
		s.noted = map[string]recipes.Reach{}
	}
	s.noted[r.Branch] = r
	return nil
}

func (s *catalogService) PullSheet(ctx context.Context, req *recipesv1.PullSheetRequest) (*recipesv1.PullSheetResponse, error) {
	b, err := s.h.Register.Branch(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	signed, err := s.h.Office.Catalog.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	now := s.h.Now()
	answer := &recipesv1.PullSheetResponse{ServerTime: timestamppb.New(now), OfficeKey: recipes.KeyAfter(signed, req.GetHeldRelease(), s.h.OfficeKey)}
	// Every release is sent, also one for others: the branch follows the whole chain, so that none can be kept from it.
	var all, held []recipes.Release
	var newest recipes.Digest
	for _, r := range signed {
		answer.NewestRelease, newest = r.Release.Number, r.Sealed.Digest()
		all = append(all, r.Release)
		if r.Release.Number > req.GetHeldRelease() {
			answer.Releases = append(answer.Releases, sealedRelease(r))
		} else {
			held = append(held, r.Release)
		}
	}
	if answer.Freshness, err = s.h.freshness(answer.NewestRelease, newest); err != nil {
		return nil, err
	}
	current, next := recipes.SheetAt(all, b.Name, b.Market, now)
	answer.Current, answer.Market = sheetMessage(current), string(b.Market)
	if next != nil {
		answer.Next = sheetMessage(*next)
	}
	// What the releases held want now, they wanted when they were pulled, so it is there. What they named and nobody
	// wanted then was never sent.
	known := map[recipes.Released]bool{}
	for _, w := range recipes.Wanted(held, b.Name, b.Market, now) {
		known[w] = true
	}
	for _, w := range recipes.Wanted(all, b.Name, b.Market, now) {
		if known[w] {
			continue
		}
		m, err := s.sealedRecord(ctx, w.Revision, w.Digest)
		if err != nil {
			return nil, err
		}
		answer.Records = append(answer.Records, m)
	}
	answer.NotModified = answer.NewestRelease == req.GetHeldRelease()
	if p, _ := access.PersonFrom(ctx); p.Branch == b.Name {
		return answer, s.note(ctx, recipes.Reach{Branch: b.Name, Held: answer.NewestRelease, Pulled: now})
	}
	return answer, nil
}

func sheetMessage(sh recipes.Sheet) *recipesv1.Sheet {
	digest := sh.Digest()
	m := &recipesv1.Sheet{Release: sh.Release, Sha256: digest[:]}
	if !sh.Effective.IsZero() {
		m.EffectiveTime = timestamppb.New(sh.Effective)
	}
	for _, e := range sh.Entries {
		m.Entries = append(m.Entries, &recipesv1.SheetEntry{Revision: string(e.Revision), Sha256: e.Digest[:]})
	}
	return m
}
