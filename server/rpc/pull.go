package rpc

import (
	"bytes"
	"context"
	"time"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
	"evenpeel/server/patch"
)

// PullSheet answers with bytes that were encoded once for all branches in the same position. Only the clock's time is
// made for each call: in protobuf, the fields of a message may stand one after the other in two pieces.
func (s *catalogService) PullSheet(ctx context.Context, req *recipesv1.PullSheetRequest) (*recipesv1.PullSheetResponse, error) {
	market, err := s.sheets.markets.of(ctx, s.h.Register, req.GetBranch())
	if err != nil {
		return nil, err
	}
	t, err := s.sheets.upTo(ctx, s.h.Office.Catalog)
	if err != nil {
		return nil, err
	}
	now := s.h.Now()
	sc := t.scope(req.GetBranch(), market)
	newest := sc.newest()
	w := sc.at(now)
	key := position{held: sc.held(req.GetHeldRelease()), newest: req.GetHeldRelease() == newest, patches: req.GetTakesPatches()}
	content, err := w.answer(ctx, key, func(ctx context.Context) ([]byte, error) {
		m, err := s.pulled(ctx, sc, w, key)
		if err != nil {
			return nil, err
		}
		content, err := proto.Marshal(m)
		s.sheets.keep(len(content))
		return content, err
	})
	if err != nil {
		return nil, err
	}
	if p, _ := access.PersonFrom(ctx); p.Branch == req.GetBranch() {
		if err := s.h.Reaches.NoteReach(ctx, recipes.Reach{Branch: p.Branch, Held: newest, Pulled: now}); err != nil {
			return nil, err
		}
	}
	clock := clockField(now)
	if Answer(ctx, &Raw{Parts: [][]byte{content, clock}}) {
		return nil, nil
	}
	answer := &recipesv1.PullSheetResponse{}
	return answer, proto.Unmarshal(bytes.Join([][]byte{content, clock}, nil), answer)
}

// clockField is the field server_time alone, as a message of its own would be encoded (a test compares them).
func clockField(now time.Time) []byte {
	var at [24]byte
	instant := at[:0]
	if n := now.Unix(); n != 0 {
		instant = protowire.AppendVarint(protowire.AppendTag(instant, 1, protowire.VarintType), uint64(n))
	}
	if n := now.Nanosecond(); n != 0 {
		instant = protowire.AppendVarint(protowire.AppendTag(instant, 2, protowire.VarintType), uint64(n))
	}
	return protowire.AppendBytes(protowire.AppendTag(make([]byte, 0, len(instant)+2), serverTime, protowire.BytesType), instant)
}

// serverTime is the number of that field.
const serverTime = 7

// pulled works one answer out, all but the clock.
func (s *catalogService) pulled(ctx context.Context, sc *scope, w *window, key position) (*recipesv1.PullSheetResponse, error) {
	answer := &recipesv1.PullSheetResponse{
		NewestRelease: sc.newest(), NotModified: key.newest, OfficeKey: s.h.OfficeKey, Current: sheetMessage(*w.current),
	}
	for _, r := range sc.releases[key.held:] {
		digest := r.Sealed.Digest()
		answer.Releases = append(answer.Releases, &recipesv1.SealedRelease{Number: r.Release.Number, Content: r.Sealed.Content(), Sha256: digest[:], Signature: r.Signature, Key: r.Key})
	}
	entries := w.current.Entries
	if w.next != nil {
		answer.Next = sheetMessage(*w.next)
		entries = append(entries[:len(entries):len(entries)], w.next.Entries...)
	}
	// A branch that holds a release holds every record that this release and those before it named.
	known := map[recipes.Digest]bool{}
	bases := map[recipes.RecordName]recipes.Digest{} // of each record what was released last
	for _, r := range sc.plain[:key.held] {
		for _, rev := range r.Revisions {
			known[rev.Digest] = true
			if record, _, err := rev.Revision.Parts(); err == nil {
				bases[record] = rev.Digest
			}
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
		if record, _, err := e.Revision.Parts(); err == nil && key.patches {
			if base, ok := bases[record]; ok {
				s.patched(ctx, m, base)
			}
		}
		answer.Records = append(answer.Records, m)
	}
	return answer, nil
}

// patched puts a patch in place of content where that saves half of it or more. A base that can not be read is no
// reason to fail: the content itself is there.
func (s *catalogService) patched(ctx context.Context, m *recipesv1.SealedRecord, base recipes.Digest) {
	held, err := s.h.Office.Catalog.Sealed(ctx, base)
	if err != nil {
		return
	}
	if p := patch.Make(held.Content(), m.GetContent()); len(p) <= len(m.GetContent())/2 {
		m.Content, m.Patch, m.BaseSha256 = nil, p, base[:]
	}
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
