package rediscache

import "evenpeel/recipes"

// Every key and channel that this program uses in Redis is built here.

// channel carries the number of each new release. What arrives is only a reason to look: the number is never believed.
const channel = "recipes:released"

// sealedKey holds the exact bytes of that digest, so it never grows old and has no time to live.
func sealedKey(d recipes.Digest) string { return "recipes:sealed:sha256:" + d.String() }
