package recipes

import "time"

// FreshFor is how long a statement of freshness may be believed: a day and an hour, so that a branch that pulls once
// each morning stays confirmed.
const FreshFor = 25 * time.Hour

// Freshness says which release was the newest at a time.
type Freshness struct {
	Release int64
	Digest  Digest // of that release; zero where there is none
	Time    time.Time
	Until   time.Time
}

// FreshnessText is what is signed for sealed bytes of a Freshness. It differs from what is signed for a release, which is
// the digest alone, so that neither signature can be used for the other.
func FreshnessText(d Digest) []byte { return append([]byte("evenpeel freshness\n"), d[:]...) }

// FreshnessOpener reads sealed statements.
type FreshnessOpener interface {
	OpenFreshness(Sealed) (Freshness, error)
}
