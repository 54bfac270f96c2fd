package recipes

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"slices"

	"evenpeel/recipes/fault"
)

// KeyName is the name of an Ed25519 public key: "office-" and eight digits of its SHA-256.
func KeyName(public []byte) string {
	sum := sha256.Sum256(public)
	return "office-" + hex.EncodeToString(sum[:4])
}

// SigningKey is the name of the key that signs the release after a chain; "" where nothing was signed yet.
func SigningKey(chain []SignedRelease) string {
	if len(chain) == 0 {
		return ""
	}
	last := chain[len(chain)-1]
	if len(last.Release.NextKey) > 0 {
		return KeyName(last.Release.NextKey)
	}
	return last.Key
}

// KeyAfter is the public key that signs the first release after the one held (0: the first of all), where current is the
// newest key. Keys come from the acts that handed over, so this is what the chain says, not yet a reason to believe it.
func KeyAfter(chain []SignedRelease, held int64, current []byte) []byte {
	for _, s := range chain {
		if s.Release.Number > held && len(s.Release.NextKey) > 0 {
			return s.Release.FromKey
		}
	}
	return current
}

// ReleaseOpener reads sealed releases.
type ReleaseOpener interface {
	OpenRelease(Sealed) (Release, error)
}

// link is a place in the chain of releases: what the next release has to fit.
type link struct {
	number  int64  // of the newest release; 0 is none
	digest  Digest // of it
	key     []byte // that signs the next one
	retired [][]byte
}

// next checks that a signed release is the one that follows, and gives it as its own bytes say it. Faults, all Broken:
// RELEASE_MISSING, RELEASE_CHAIN_BROKEN, KEY_RETIRED, SIGNATURE_WRONG, RELEASE_UNREADABLE.
func (l link) next(open ReleaseOpener, s SignedRelease) (Release, link, error) {
	digest := s.Sealed.Digest()
	if !signedBy(l.key, digest[:], s.Signature) {
		if slices.ContainsFunc(l.retired, func(key []byte) bool { return signedBy(key, digest[:], s.Signature) }) {
			return Release{}, l, fault.New(fault.Broken, "recipes", "KEY_RETIRED", "Release %d is signed with a key that the office gave up, so it is not used. Tell head office.", s.Release.Number)
		}
		return Release{}, l, fault.New(fault.Broken, "recipes", "SIGNATURE_WRONG", "Release %d is not signed with the office's key, so it is not used. Tell head office.", s.Release.Number)
	}
	r, err := open.OpenRelease(s.Sealed)
	if err != nil {
		return Release{}, l, err
	}
	switch {
	case r.Number != l.number+1:
		return Release{}, l, fault.New(fault.Broken, "recipes", "RELEASE_MISSING", "Release %d should come next, but this is release %d. Nothing of it is used.", l.number+1, r.Number)
	case r.Previous != l.digest:
		return Release{}, l, fault.New(fault.Broken, "recipes", "RELEASE_CHAIN_BROKEN", "Release %d does not follow the release %d that is held, so it is not used. Tell head office.", r.Number, l.number)
	}
	l.number, l.digest = r.Number, digest
	if len(r.NextKey) > 0 {
		l.retired, l.key = append(slices.Clone(l.retired), l.key), r.NextKey
	}
	return r, l, nil
}

// signedBy never panics, whatever the lengths.
func signedBy(key, text, signature []byte) bool {
	return len(key) == ed25519.PublicKeySize && len(signature) == ed25519.SignatureSize && ed25519.Verify(key, text, signature)
}

// VerifyChain checks a chain of releases from the first one and the first key on. broken is the number that should have
// stood where the chain breaks, with a fault that says why; 0 where it is whole.
func VerifyChain(open ReleaseOpener, first []byte, chain []SignedRelease) (broken int64, err error) {
	at := link{key: first}
	for _, s := range chain {
		if _, at, err = at.next(open, s); err != nil {
			return at.number + 1, err
		}
	}
	return 0, nil
}
