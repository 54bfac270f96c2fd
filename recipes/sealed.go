package recipes

import (
	"crypto/sha256"
	"encoding/hex"

	"evenpeel/recipes/fault"
)

// Digest is the SHA-256 of sealed bytes.
type Digest [sha256.Size]byte

// String is the digest in lower-case hexadecimal.
func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// Zero reports whether d is no digest at all.
func (d Digest) Zero() bool { return d == Digest{} }

// MarshalText writes the digest as String does.
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText wrote. Fault Invalid/DIGEST_INVALID otherwise.
func (d *Digest) UnmarshalText(text []byte) error {
	b, err := hex.DecodeString(string(text))
	if err != nil {
		return fault.New(fault.Invalid, "recipes", "DIGEST_INVALID", "A digest is written in hexadecimal.").Because(err)
	}
	*d, err = ParseDigest(b)
	return err
}

// ParseDigest reads 32 bytes. Fault Invalid/DIGEST_INVALID otherwise.
func ParseDigest(b []byte) (Digest, error) {
	var d Digest
	if len(b) != len(d) {
		return d, fault.New(fault.Invalid, "recipes", "DIGEST_INVALID", "A digest has 32 bytes, this one has %d.", len(b))
	}
	copy(d[:], b)
	return d, nil
}

// Sealed is a record as it was approved. Its bytes never change and are never encoded again.
type Sealed struct {
	content string // a string, so that nobody can write into it
	digest  Digest
}

// SealBytes takes bytes that were marshalled just now; only package sealed calls it.
func SealBytes(content []byte) Sealed { return Sealed{string(content), sha256.Sum256(content)} }

// Unseal takes bytes from SQL, Redis, a file or the wire, and checks them against the digest they are known by.
// Fault Broken/BYTES_CHANGED where they differ.
func Unseal(content []byte, want Digest) (Sealed, error) {
	if got := Digest(sha256.Sum256(content)); got != want {
		return Sealed{}, fault.New(fault.Broken, "recipes", "BYTES_CHANGED", "A sealed record does not match its digest, so it is not used. Tell head office.").
			With("want", want.String()).With("got", got.String())
	}
	return Sealed{string(content), want}, nil
}

// Content is a copy of the bytes.
func (s Sealed) Content() []byte { return []byte(s.content) }

// Size is their number.
func (s Sealed) Size() int { return len(s.content) }

// Digest is what the bytes are known by.
func (s Sealed) Digest() Digest { return s.digest }
