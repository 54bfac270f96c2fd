package rpc

import (
	"context"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/sealed"
	"evenpeel/server/access"
)

type pastService struct {
	recipesv1.UnimplementedPastServiceServer
	h *House
}

func (s *pastService) GetPast(ctx context.Context, req *recipesv1.GetPastRequest) (*recipesv1.GetPastResponse, error) {
	b, err := s.h.Register.Branch(ctx, req.GetBranch())
	if err != nil {
		return nil, err
	}
	at, now := req.GetInstant().AsTime(), s.h.Now()
	if at.After(now) {
		return nil, inFuture()
	}
	chain, err := s.h.Office.Catalog.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	releases := make([]recipes.Release, len(chain))
	for i, r := range chain {
		releases[i] = r.Release
	}
	sheet, _ := recipes.SheetAt(releases, b.Name, b.Market, at)
	digest := sheet.Digest()
	zone, err := time.LoadLocation(b.TimeZone)
	if err != nil {
		zone = time.UTC
	}
	answer := &recipesv1.GetPastResponse{LocalTime: at.In(zone).Format(time.RFC3339), Zone: b.TimeZone, Market: string(b.Market), Sha256: digest[:]}
	for _, e := range sheet.Entries {
		record, number, err := e.Revision.Parts()
		if err != nil {
			return nil, err
		}
		row, err := s.h.Office.Catalog.Revision(ctx, record, number)
		if err != nil {
			return nil, err
		}
		m := &recipesv1.PastEntry{
			Revision: string(e.Revision), Title: row.Title, Sha256: e.Digest[:], Release: e.Release, EffectiveTime: timestamppb.New(e.Effective), Author: row.Author, Approver: row.Approver,
		}
		if end := recipes.EntryEnd(releases, b.Name, b.Market, e); !end.IsZero() && !end.After(now) {
			m.EndTime = timestamppb.New(end)
		}
		answer.Entries = append(answer.Entries, m)
		if req.GetWithRecords() {
			bytes, err := s.h.Office.Catalog.Sealed(ctx, e.Digest)
			if err != nil {
				return nil, err
			}
			answer.Records = append(answer.Records, &recipesv1.SealedRecord{Name: string(e.Revision), Content: bytes.Content(), Sha256: e.Digest[:]})
		}
	}
	until := int64(0) // the newest release that had been made then
	for _, r := range chain {
		if !r.Release.Made.After(at) {
			until = max(until, r.Release.Number)
		}
	}
	for _, r := range chain[:until] {
		answer.Releases = append(answer.Releases, sealedRelease(r))
	}
	answer.ChainWhole, answer.ChainWords = true, "Every release from the first on follows the one before it, and is signed with the office's key of its time."
	if broken := s.h.brokenRelease(chain[:until], recipes.KeyAfter(chain, 0, s.h.OfficeKey)); broken != nil {
		answer.ChainWhole, answer.ChainWords = false, broken.GetWords()
	}
	return answer, nil
}

// brokenRelease names the first release where a chain breaks; nil where it is whole.
func (h *House) brokenRelease(chain []recipes.SignedRelease, first []byte) *recipesv1.Broken {
	number, err := recipes.VerifyChain(sealed.Codec{}, first, chain)
	if err == nil {
		return nil
	}
	words := err.Error()
	if f, ok := fault.As(err); ok {
		words = f.Words
	}
	return &recipesv1.Broken{Number: number, Words: words}
}

func (s *pastService) ListAudit(ctx context.Context, req *recipesv1.ListAuditRequest) (*recipesv1.ListAuditResponse, error) {
	most := pageSize(req.GetPageSize())
	below := req.GetBelowNumber()
	if below == 0 {
		newest, err := s.h.Audit.NewestAudit(ctx)
		if err != nil {
			return nil, err
		}
		below = newest + 1
	}
	above := max(0, below-1-int64(most))
	list, err := s.h.Audit.Audit(ctx, above, int(below-1-above))
	if err != nil {
		return nil, err
	}
	slices.Reverse(list)
	answer := &recipesv1.ListAuditResponse{}
	for _, e := range list {
		answer.Entries = append(answer.Entries, &recipesv1.AuditEntry{
			Number: e.Number, ActTime: timestamppb.New(e.Time), Person: e.Person, Act: e.Act, Object: e.Object, PreviousSha256: e.Previous[:], Sha256: e.Hash[:],
		})
	}
	return answer, nil
}

func (s *pastService) VerifyAudit(ctx context.Context, _ *recipesv1.VerifyAuditRequest) (*recipesv1.VerifyAuditResponse, error) {
	checked, broken, err := access.VerifyAudit(ctx, s.h.Audit)
	if err != nil {
		return nil, err
	}
	answer := &recipesv1.VerifyAuditResponse{EntriesCount: checked}
	if broken != nil {
		answer.BrokenEntry = &recipesv1.Broken{Number: broken.Number, Words: broken.Words}
	}
	// The desk's own list: what a cache holds was checked when it was read.
	chain, err := s.h.Office.Desk.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	answer.ReleasesCount = int64(len(chain))
	answer.BrokenRelease = s.h.brokenRelease(chain, recipes.KeyAfter(chain, 0, s.h.OfficeKey))
	return answer, nil
}
