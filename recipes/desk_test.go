package recipes

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"evenpeel/recipes/fault"
)

// bench is a Desk, Catalog, Sealer and Signer in memory, as small as the acts of Office need them.
type bench struct {
	mu       sync.Mutex
	now      time.Time
	drafts   map[string]Draft
	kept     map[RecordName][]RevisionRow // oldest first
	sealed   map[Digest]Sealed
	releases []SignedRelease
	requests map[string]int64
	proposed map[string]Proposal
	// rival runs before a release is kept: somebody else's release at the same moment.
	rival func()
	told  []int64
}

func newBench() (*bench, Office) {
	b := &bench{now: noon, drafts: map[string]Draft{}, kept: map[RecordName][]RevisionRow{}, sealed: map[Digest]Sealed{}, requests: map[string]int64{}, proposed: map[string]Proposal{}}
	return b, Office{Catalog: b, Desk: b, Sealer: b, Signer: b, Now: func() time.Time { return b.now }, Released: func(n int64) {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.told = append(b.told, n)
	}}
}

func (b *bench) Sealed(_ context.Context, d Digest) (Sealed, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if s, ok := b.sealed[d]; ok {
		return s, nil
	}
	return Sealed{}, fault.New(fault.NotFound, "bench", "REVISION_NOT_FOUND", "none")
}

func (b *bench) Revision(_ context.Context, record RecordName, number int64) (RevisionRow, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	rows := b.kept[record]
	if number == 0 {
		number = int64(len(rows))
	}
	if number < 1 || number > int64(len(rows)) {
		return RevisionRow{}, fault.New(fault.NotFound, "bench", "REVISION_NOT_FOUND", "none")
	}
	return rows[number-1], nil
}

func (b *bench) Revisions(_ context.Context, record RecordName) ([]RevisionRow, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	rows := slices.Clone(b.kept[record])
	slices.Reverse(rows)
	return rows, nil
}

func (b *bench) Records(_ context.Context, kind Kind) (out []RevisionRow, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, record := range slices.Sorted(maps.Keys(b.kept)) {
		if k, _ := record.Kind(); kind == "" || k == kind {
			out = append(out, b.kept[record][len(b.kept[record])-1])
		}
	}
	return out, nil
}

func (b *bench) Releases(_ context.Context, above int64) ([]SignedRelease, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.releases[min(above, int64(len(b.releases))):]), nil
}

func (b *bench) NewestRelease(context.Context) (int64, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return int64(len(b.releases)), nil
}

func (b *bench) Drafts(context.Context, DraftState) ([]Draft, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Collect(maps.Values(b.drafts)), nil
}

func (b *bench) Draft(_ context.Context, id string) (Draft, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if d, ok := b.drafts[id]; ok {
		return d, nil
	}
	return Draft{}, fault.New(fault.NotFound, "bench", "DRAFT_NOT_FOUND", "none")
}

func (b *bench) AddDraft(_ context.Context, d Draft) (Draft, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if stored, ok := b.drafts[d.ID]; ok {
		return stored, nil
	}
	b.drafts[d.ID] = d
	return d, nil
}

func (b *bench) PutDraft(_ context.Context, d Draft) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.put(d)
}

func (b *bench) put(d Draft) error {
	if stored := b.drafts[d.ID]; stored.Etag != d.Etag-1 {
		return MovedOn(stored)
	}
	b.drafts[d.ID] = d
	return nil
}

func (b *bench) KeepRevision(_ context.Context, d Draft, row RevisionRow, s Sealed) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if row.Number != int64(len(b.kept[row.Record]))+1 {
		return fault.New(fault.MovedOn, "bench", "REVISION_TAKEN", "taken")
	}
	if err := b.put(d); err != nil {
		return err
	}
	b.kept[row.Record] = append(b.kept[row.Record], row)
	b.sealed[s.Digest()] = s
	return nil
}

func (b *bench) KeepRelease(_ context.Context, r SignedRelease, request string) error {
	if b.rival != nil {
		b.rival()
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if r.Release.Number != int64(len(b.releases))+1 || b.requests[request] != 0 {
		return fault.New(fault.MovedOn, "bench", "RELEASE_TAKEN", "taken")
	}
	b.releases = append(b.releases, r)
	b.requests[request] = r.Release.Number
	return nil
}

func (b *bench) ReleaseOf(_ context.Context, request string) (int64, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.requests[request], nil
}

func (b *bench) AddProposal(_ context.Context, p Proposal) (Proposal, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if stored, ok := b.proposed[p.ID]; ok {
		return stored, nil
	}
	b.proposed[p.ID] = p
	return p, nil
}

func (b *bench) Proposal(_ context.Context, id string) (Proposal, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if p, ok := b.proposed[id]; ok {
		return p, nil
	}
	return Proposal{}, fault.New(fault.NotFound, "bench", "PROPOSAL_NOT_FOUND", "none")
}

func (b *bench) Proposals(context.Context, bool) ([]Proposal, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := slices.Collect(maps.Values(b.proposed))
	SortProposals(list)
	return list, nil
}

func (b *bench) PutProposal(_ context.Context, p Proposal) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.proposed[p.ID].Etag != p.Etag-1 {
		return proposalClosed(b.proposed[p.ID])
	}
	b.proposed[p.ID] = p
	return nil
}

func (b *bench) KeepProposed(ctx context.Context, p Proposal, r SignedRelease, request string) error {
	if err := b.KeepRelease(ctx, r, request); err != nil {
		return err
	}
	return b.PutProposal(ctx, p)
}

// sealable is how the bench writes records; the real grammar is package sealed's and is tested there.
type sealable struct {
	Price    bool // a content of another kind
	Trials   []Trial
	Recipe   Recipe
	Revision Revision
}

type price struct{}

func (price) Check() fault.Fields { return nil }
func (price) RecordKind() string  { return string(KindPriceList) }

func written(v any) Sealed {
	b, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Sprint("the test's own record: ", err))
	}
	return SealBytes(b)
}

func content(r Recipe) Sealed { return written(sealable{Recipe: r}) }

func (b *bench) OpenContent(s Sealed) (Content, error) {
	var v sealable
	if err := json.Unmarshal(s.Content(), &v); err != nil {
		return nil, fault.New(fault.NotReady, "bench", "RECORD_TOO_NEW", "unknown").Because(err)
	}
	if v.Price {
		return price{}, nil
	}
	return v.Recipe, nil
}

func (b *bench) OpenTrials(s Sealed) ([]Trial, error) {
	var v sealable
	err := json.Unmarshal(s.Content(), &v)
	return v.Trials, err
}

func (b *bench) SealRevision(r Revision) (Sealed, error) {
	recipe, _ := r.Content.(Recipe)
	r.Content = nil
	return written(sealable{Recipe: recipe, Revision: r}), nil
}

func (b *bench) OpenRevision(s Sealed) (Revision, error) {
	var v sealable
	err := json.Unmarshal(s.Content(), &v)
	v.Revision.Content = v.Recipe
	return v.Revision, err
}

func (b *bench) SealRelease(r Release) (Sealed, error) { return written(r), nil }

func (b *bench) OpenRelease(s Sealed) (r Release, err error) {
	err = json.Unmarshal(s.Content(), &r)
	return r, err
}

func (b *bench) Sign(d Digest) ([]byte, string) { return append([]byte("signed "), d[:]...), "office" }
