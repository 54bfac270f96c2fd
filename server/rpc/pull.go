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
// made for each call, and the word of freshness now and then: in protobuf, the fields of a message may stand one after
// the other in several pieces.
func (s *catalogService) PullSheet(ctx context.Context, req *recipesv1.PullSheetRequest) (*recipesv1.PullSheetResponse, error) {
	market, err := s.sheets.markets.of(ctx, s.h.Register, req.GetBranch())
	if err != nil {
		return nil, err
	}
	t, confirmed, err := s.standing(ctx)
	if err != nil {
		return nil, err
	}
	now := s.h.Now()
	sc := t.scope(req.GetBranch(), market)
	w := sc.at(now)
	key := position{held: t.held(req.GetHeldRelease()), newest: req.GetHeldRelease() == t.newest, patches: req.GetTakesPatches()}
	content, err := w.answer(ctx, key, func(ctx context.Context) ([]byte, error) {
		m, err := s.pulled(ctx, sc, w, key, now)
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
	fresh, err := s.h.freshness(t.newest, t.digest, confirmed)
	if err != nil {
		return nil, err
	}
	if p, _ := access.PersonFrom(ctx); p.Branch == req.GetBranch() {
		if err := s.h.Reaches.NoteReach(ctx, recipes.Reach{Branch: p.Branch, Held: t.newest, Pulled: now}); err != nil {
			return nil, err
		}
	}
	clock := clockField(now)
	if Answer(ctx, &Raw{Parts: [][]byte{content, fresh, clock}}) {
		return nil, nil
	}
	answer := &recipesv1.PullSheetResponse{}
	return answer, proto.Unmarshal(bytes.Join([][]byte{content, fresh, clock}, nil), answer)
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

// pulled works one answer out, all but the clock and the word of freshness. Every release is sent, also one for others:
// the branch follows the whole chain, so that none can be kept from it.
func (s *catalogService) pulled(ctx context.Context, sc *scope, w *window, key position, now time.Time) (*recipesv1.PullSheetResponse, error) {
	answer := &recipesv1.PullSheetResponse{
		NewestRelease: sc.table.newest, NotModified: key.newest, Current: sheetMessage(*w.current), Market: string(sc.market),
		OfficeKey: recipes.KeyAfter(sc.table.signed, sc.table.numberAt(key.held), s.h.OfficeKey),
	}
	for _, r := range sc.table.signed[key.held:] {
		answer.Releases = append(answer.Releases, sealedRelease(r))
	}
	if w.next != nil {
		answer.Next = sheetMessage(*w.next)
	}
	// What the releases held want now, they wanted when they were pulled, so it is there. What they named and nobody
	// wanted then was never sent, and no patch may rest on it.
	known := map[recipes.Released]bool{}
	bases := map[recipes.RecordName]recipes.Digest{}
	for _, wanted := range recipes.Wanted(sc.table.plain[:key.held], sc.branch, sc.market, now) {
		known[wanted] = true
		if record, _, err := wanted.Revision.Parts(); err == nil {
			bases[record] = wanted.Digest
		}
	}
	for _, wanted := range recipes.Wanted(sc.table.plain, sc.branch, sc.market, now) {
		if known[wanted] {
			continue
		}
		m, err := s.sealedRecord(ctx, wanted.Revision, wanted.Digest)
		if err != nil {
			return nil, err
		}
		if record, _, err := wanted.Revision.Parts(); err == nil && key.patches {
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
