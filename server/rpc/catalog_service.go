package rpc

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
)

type catalogService struct {
	recipesv1.UnimplementedCatalogServiceServer
	h *House

	mu    sync.Mutex
	noted map[string]recipes.Reach // what this process stored last, by branch
}

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
	most := pageSize(req.GetPageSize())
	answer := &recipesv1.ListReleasesResponse{}
	for i := len(signed) - 1; i >= 0 && len(answer.Releases) < most; i-- {
		if below := req.GetBelowNumber(); below == 0 || signed[i].Release.Number < below {
			answer.Releases = append(answer.Releases, releaseSummary(signed[i]))
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
	answer := &recipesv1.PullSheetResponse{ServerTime: timestamppb.New(now), OfficeKey: s.h.OfficeKey}
	var all, held []recipes.Release
	for _, r := range signed {
		if !r.Release.Reaches(b.Name, b.Market) {
			continue
		}
		answer.NewestRelease = r.Release.Number
		all = append(all, r.Release)
		if r.Release.Number <= req.GetHeldRelease() {
			held = append(held, r.Release)
			continue
		}
		digest := r.Sealed.Digest()
		answer.Releases = append(answer.Releases, &recipesv1.SealedRelease{Number: r.Release.Number, Content: r.Sealed.Content(), Sha256: digest[:], Signature: r.Signature, Key: r.Key})
	}
	current, next := recipes.SheetAt(all, b.Name, b.Market, now)
	answer.Current = sheetMessage(current)
	entries := current.Entries
	if next != nil {
		answer.Next = sheetMessage(*next)
		entries = append(slices.Clone(entries), next.Entries...)
	}
	// A branch that holds a release holds every record that this release and those before it named.
	known := map[recipes.Digest]bool{}
	for _, r := range held {
		for _, rev := range r.Revisions {
			known[rev.Digest] = true
		}
	}
	for _, e := range entries {
		if known[e.Digest] {
			continue
		}
		known[e.Digest] = true
		m, err := s.sealedRecord(ctx, e.Revision, e.Digest)
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

// heartbeat is how often a quiet watch says that it lives; below the half minute after which proxies cut a stream.
const heartbeat = 20 * time.Second

func (s *catalogService) WatchReleases(req *recipesv1.WatchReleasesRequest, stream grpc.ServerStreamingServer[recipesv1.WatchReleasesResponse]) error {
	ctx := stream.Context()
	reaches := func(recipes.Release) bool { return true }
	if req.GetBranch() != "" {
		b, err := s.h.Register.Branch(ctx, req.GetBranch())
		if err != nil {
			return err
		}
		reaches = func(r recipes.Release) bool { return r.Reaches(b.Name, b.Market) }
	}
	news, end := s.h.Hub.Listen()
	defer end()
	known := req.GetAfterRelease()
	tick := time.NewTicker(heartbeat)
	defer tick.Stop()
	// The first heartbeat goes at once, so that a client knows that it is listened to.
	if err := stream.Send(&recipesv1.WatchReleasesResponse{}); err != nil {
		return err
	}
	for {
		signed, err := s.h.Office.Catalog.Releases(ctx, known)
		if err != nil {
			return err
		}
		for _, r := range signed {
			known = r.Release.Number
			if reaches(r.Release) {
				if err := stream.Send(&recipesv1.WatchReleasesResponse{Release: r.Release.Number, EffectiveTime: timestamppb.New(r.Release.Effective)}); err != nil {
					return err
				}
			}
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case _, open := <-news:
			if !open { // the server stops; the client comes back to another, or to this one later
				return nil
			}
		case <-tick.C:
			if _, ok := access.PersonFrom(ctx); ok {
				if session, found := access.SessionFrom(ctx); found {
					if err := s.h.Guard.Still(ctx, session.Hash); err != nil {
						return err
					}
				}
			}
			if err := stream.Send(&recipesv1.WatchReleasesResponse{}); err != nil {
				return err
			}
		}
	}
}

func (s *catalogService) ListReach(ctx context.Context, _ *recipesv1.ListReachRequest) (*recipesv1.ListReachResponse, error) {
	all, err := s.h.Register.Branches(ctx)
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
	answer := &recipesv1.ListReachResponse{}
	for _, b := range all {
		m := &recipesv1.Reach{Branch: b.Name}
		for _, r := range releases {
			if r.Reaches(b.Name, b.Market) {
				m.ToldRelease = r.Number
			}
		}
		for _, reach := range known {
			if reach.Branch == b.Name {
				m.HeldRelease, m.PullTime = reach.Held, timestamppb.New(reach.Pulled)
			}
		}
		answer.Reaches = append(answer.Reaches, m)
	}
	return answer, nil
}
