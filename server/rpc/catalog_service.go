package rpc

import (
	"context"
	"fmt"
	"slices"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
)

type catalogService struct {
	recipesv1.UnimplementedCatalogServiceServer
	h      *House
	sheets sheets
}

// ofBranch is the branch that bounds what a person sees; "" for people who see every branch.
func ofBranch(ctx context.Context) string {
	p, _ := access.PersonFrom(ctx)
	if slices.ContainsFunc(p.Roles, func(r access.Role) bool { return !r.OfBranch() }) {
		return ""
	}
	return p.Branch
}

func (s *catalogService) ListRecords(ctx context.Context, req *recipesv1.ListRecordsRequest) (*recipesv1.ListRecordsResponse, error) {
	rows, err := s.h.Office.Catalog.Records(ctx, recipes.Kind(req.GetKind()))
	if err != nil {
		return nil, err
	}
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	inForce, err := s.inForceByMarket(ctx, releases)
	if err != nil {
		return nil, err
	}
	var open map[recipes.RecordName]string
	own := ofBranch(ctx)
	if own == "" {
		drafts, err := s.h.Office.Desk.Drafts(ctx, "")
		if err != nil {
			return nil, err
		}
		open = map[recipes.RecordName]string{}
		for _, d := range drafts {
			open[d.Record] = "drafts/" + d.ID
		}
	}
	var mine recipes.Sheet
	if own != "" {
		b, err := s.h.Register.Branch(ctx, own)
		if err != nil {
			return nil, err
		}
		mine, _ = recipes.SheetAt(releases, b.Name, b.Market, s.h.Now())
	}
	answer := &recipesv1.ListRecordsResponse{}
	for _, row := range rows {
		if own != "" {
			entry, ok := mine.Entry(row.Record)
			if !ok {
				continue
			}
			if _, number, err := entry.Revision.Parts(); err == nil && number != row.Number {
				if row, err = s.h.Office.Catalog.Revision(ctx, row.Record, number); err != nil {
					return nil, err
				}
			}
		}
		answer.Records = append(answer.Records, &recipesv1.RecordSummary{Record: string(row.Record), Newest: revisionSummary(row), InForce: inForce[row.Record], Draft: open[row.Record]})
	}
	if own != "" {
		return answer, nil
	}
	for record, draft := range open {
		kind, _ := record.Kind()
		known := slices.ContainsFunc(answer.Records, func(r *recipesv1.RecordSummary) bool { return r.GetRecord() == string(record) })
		if !known && (req.GetKind() == "" || string(kind) == req.GetKind()) {
			answer.Records = append(answer.Records, &recipesv1.RecordSummary{Record: string(record), Draft: draft})
		}
	}
	slices.SortFunc(answer.Records, func(a, b *recipesv1.RecordSummary) int {
		if a.GetRecord() < b.GetRecord() {
			return -1
		}
		return 1
	})
	return answer, nil
}

// inForceByMarket says "EU=3" for each market with branches, by what an untargeted branch of it has in force now.
func (s *catalogService) inForceByMarket(ctx context.Context, releases []recipes.Release) (map[recipes.RecordName][]string, error) {
	all, err := s.h.Register.Branches(ctx)
	if err != nil {
		return nil, err
	}
	var markets []recipes.Market
	for _, b := range all {
		if !slices.Contains(markets, b.Market) {
			markets = append(markets, b.Market)
		}
	}
	slices.Sort(markets)
	out := map[recipes.RecordName][]string{}
	for _, market := range markets {
		sheet, _ := recipes.SheetAt(releases, "", market, s.h.Now())
		for _, e := range sheet.Entries {
			if record, number, err := e.Revision.Parts(); err == nil {
				out[record] = append(out[record], fmt.Sprintf("%s=%d", market, number))
			}
		}
	}
	return out, nil
}

func (s *catalogService) ListRevisions(ctx context.Context, req *recipesv1.ListRevisionsRequest) (*recipesv1.ListRevisionsResponse, error) {
	rows, err := s.h.Office.Catalog.Revisions(ctx, recipes.RecordName(req.GetRecord()))
	if err != nil {
		return nil, err
	}
	answer := &recipesv1.ListRevisionsResponse{}
	for _, row := range rows {
		answer.Revisions = append(answer.Revisions, revisionSummary(row))
	}
	return answer, nil
}

func (s *catalogService) GetRevision(ctx context.Context, req *recipesv1.GetRevisionRequest) (*recipesv1.GetRevisionResponse, error) {
	row, err := s.h.Office.Catalog.Revision(ctx, recipes.RecordName(req.GetRecord()), req.GetNumber())
	if err != nil {
		return nil, err
	}
	m, err := s.sealedRecord(ctx, row.Name(), row.Digest)
	return &recipesv1.GetRevisionResponse{Sealed: m}, err
}

func (s *catalogService) sealedRecord(ctx context.Context, name recipes.RevisionName, digest recipes.Digest) (*recipesv1.SealedRecord, error) {
	bytes, err := s.h.Office.Catalog.Sealed(ctx, digest)
	if err != nil {
		return nil, err
	}
	return &recipesv1.SealedRecord{Name: string(name), Content: bytes.Content(), Sha256: digest[:]}, nil
}

func (s *catalogService) ListReleases(ctx context.Context, req *recipesv1.ListReleasesRequest) (*recipesv1.ListReleasesResponse, error) {
	signed, err := s.h.Office.Catalog.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	standings, err := s.h.standings(ctx)
	if err != nil {
		return nil, err
	}
	most := pageSize(req.GetPageSize())
	answer := &recipesv1.ListReleasesResponse{}
	for i := len(signed) - 1; i >= 0 && len(answer.Releases) < most; i-- {
		if below := req.GetBelowNumber(); below == 0 || signed[i].Release.Number < below {
			answer.Releases = append(answer.Releases, releaseSummary(signed[i], standings[signed[i].Release.Number]))
		}
	}
	return answer, nil
}

// pageSize is 50 where none is asked, and 200 at the most.
func pageSize(asked int32) int {
	if asked == 0 {
		return 50
	}
	return int(min(asked, 200))
}
