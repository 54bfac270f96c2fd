package sealed

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
)

// SealFreshness marshals a statement of freshness.
func (Codec) SealFreshness(f recipes.Freshness) (Sealed, error) {
	return marshalled(&recordv1.Freshness{Release: f.Release, ReleaseSha256: digestBytes(f.Digest), StateTime: timestamppb.New(f.Time), ExpireTime: timestamppb.New(f.Until)})
}

// OpenFreshness reads one. Fault NotReady/RECORD_TOO_NEW, Broken/RECORD_UNREADABLE.
func (Codec) OpenFreshness(s Sealed) (recipes.Freshness, error) {
	var m recordv1.Freshness
	if err := opened(s, &m); err != nil {
		return recipes.Freshness{}, err
	}
	digest, err := digestOf(m.GetReleaseSha256())
	return recipes.Freshness{Release: m.GetRelease(), Digest: digest, Time: timeOf(m.GetStateTime()), Until: timeOf(m.GetExpireTime())}, err
}
