package rediscache

import (
	"sync/atomic"
	"time"

	"evenpeel/recipes/fault"
)

const (
	storePatience = 2 * time.Second // for one reading of the inner catalog
	storeRest     = time.Second     // how long an inner catalog that is away is not asked again
)

// silence remembers that the inner catalog is away, so that many who ask do not queue up behind each other's waiting.
type silence struct{ last atomic.Pointer[silent] }

type silent struct {
	why   error
	until time.Time
}

// mind says why there is no point in asking. Where it does not, one asker goes, and the others once that one came back.
func (s *silence) mind(now time.Time) (known *silent, why error) {
	last := s.last.Load()
	if last == nil {
		return nil, nil
	}
	const longest = storePatience + storeRest
	if now.Before(last.until) && last.until.Sub(now) <= longest { // unless the clock went back
		return last, last.why
	}
	mine := &silent{last.why, now.Add(longest)}
	if !s.last.CompareAndSwap(last, mine) {
		return last, last.why
	}
	return mine, nil
}

// since says why there is no point in asking any more, to who waited for the turn and knew this much before.
func (s *silence) since(known *silent) error {
	if last := s.last.Load(); last != nil && last != known {
		return last.why
	}
	return nil
}

func (s *silence) note(err error, now time.Time) {
	if fault.Is(err, fault.Unavailable) {
		s.last.Store(&silent{err, now.Add(storeRest)})
	}
}

func (s *silence) over() {
	if s.last.Load() != nil {
		s.last.Store(nil)
	}
}
