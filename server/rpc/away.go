package rpc

import (
	"context"

	"go.uber.org/zap"

	"evenpeel/recipes/fault"
)

// standing gives the table that knows every release up to the newest. While the store is away it is the last one that
// was made, with confirmed false: then nobody can say that there is no newer release, and nothing new may be signed
// about that.
func (s *catalogService) standing(ctx context.Context) (t *table, confirmed bool, err error) {
	t, err = s.sheets.upTo(ctx, s.h.Office.Catalog)
	if err == nil {
		if !s.h.holding.Load() {
			s.h.holding.Store(true)
		}
		if s.sheets.away.Load() && s.sheets.away.CompareAndSwap(true, false) {
			s.h.Log.Info("the store answers again; sheets are up to date", zap.String("room", room))
		}
		return t, true, nil
	}
	last := s.sheets.table.Load()
	if last == nil || ctx.Err() != nil || !fault.Is(err, fault.Unavailable) {
		return nil, false, err
	}
	if s.sheets.away.CompareAndSwap(false, true) {
		s.h.Log.Warn("the store does not answer; sheets are answered from memory, and no new word of freshness is signed", zap.String("room", room), zap.Int64("release", last.newest), zap.Error(err))
	}
	return last, false, nil
}

// Holding reports whether pulls would go on without the store.
func (h *House) Holding() bool { return h.holding.Load() }
