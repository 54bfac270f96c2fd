package rpc

import (
	"sync"
	"time"

	"google.golang.org/protobuf/proto"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/sealed"
)

// freshAgain is how old a statement of freshness may grow before a new one is signed, so that pulls share one signature.
const freshAgain = 10 * time.Minute

// fresh signs which release is the newest, and remembers it.
type fresh struct {
	mu     sync.Mutex
	number int64
	until  time.Time // when a new one is due
	signed []byte    // a PullSheetResponse with nothing else in it, encoded
}

// freshness is a signed statement that a release is the newest; number 0 says that there is none. It is a piece of an
// encoded PullSheetResponse, the same for every branch. A house that vouches for nothing gives none. Where the store did
// not confirm the number, the last statement stands as long as it says, and none is made.
func (h *House) freshness(number int64, digest recipes.Digest, confirmed bool) ([]byte, error) {
	if h.Vouch == nil {
		return nil, nil
	}
	f, now := &h.fresh, h.Now()
	f.mu.Lock()
	defer f.mu.Unlock()
	if !confirmed {
		if f.number != number {
			return nil, nil
		}
		return f.signed, nil
	}
	// A clock that was set back makes a new one too.
	if f.signed != nil && f.number == number && now.Before(f.until) && f.until.Sub(now) <= freshAgain {
		return f.signed, nil
	}
	said, err := sealed.Codec{}.SealFreshness(recipes.Freshness{Release: number, Digest: digest, Time: now.Truncate(time.Second), Until: now.Add(recipes.FreshFor).Truncate(time.Second)})
	if err != nil {
		return nil, err
	}
	signature, key := h.Vouch(recipes.FreshnessText(said.Digest()))
	f.signed, err = proto.Marshal(&recipesv1.PullSheetResponse{Freshness: &recipesv1.SignedFreshness{Content: said.Content(), Signature: signature, Key: key}})
	f.number, f.until = number, now.Add(freshAgain)
	return f.signed, err
}
