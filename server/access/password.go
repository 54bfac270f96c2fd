package access

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"strconv"
	"strings"

	"golang.org/x/crypto/argon2"

	"evenpeel/recipes/fault"
)

// Cost of a password hash: argon2id by RFC 9106 with m = 19456 KiB, t = 2, p = 1, the least that the OWASP
// Password Storage sheet asks for.
const (
	hashMemoryKiB = 19456
	hashRounds    = 2
	hashThreads   = 1
	saltBytes     = 16
	keyBytes      = 32
)

// Hard limits on what a stored hash may ask for, so that a damaged row can not eat the machine.
const (
	mostMemoryKiB = 256 << 10
	mostRounds    = 16
	mostThreads   = 8
	mostKeyBytes  = 64
)

const (
	mostHashesAtOnce = 2  // each takes 19 MiB and a core for some 40 ms
	mostWaiting      = 32 // above this a sign-in is turned away at once
)

// Lengths of a password, in characters; the upper one is what the wire allows.
const (
	shortestPassword = 10
	longestPassword  = 200
)

// nobody is verified against where an address is not known, so that the answer takes as long as for a known one.
// Its key is the hash of no known password; a match would be refused all the same.
const nobody = "$argon2id$v=19$m=19456,t=2,p=1$ZXZlbnBlZWwtbm9ib2R5IQ$dF5v1N3sYb0mXq8cT2uZr7HkPj4wLa9eGf6iVn5oRxQ"

// phc is one stored hash: "$argon2id$v=19$m=…,t=…,p=…$salt$key".
type phc struct {
	memory, rounds uint32
	threads        uint8
	salt, key      []byte
}

func hashPassword(random io.Reader, password string) (string, error) {
	salt := make([]byte, saltBytes)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("salt: %w", err)
	}
	key := argon2.IDKey([]byte(password), salt, hashRounds, hashMemoryKiB, hashThreads, keyBytes)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, hashMemoryKiB, hashRounds, hashThreads,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(key)), nil
}

func parsePHC(text string) (phc, error) {
	var h phc
	bad := fmt.Errorf("stored password is not in the PHC form of argon2id v%d", argon2.Version)
	parts := strings.Split(text, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" || parts[2] != "v="+strconv.Itoa(argon2.Version) {
		return h, bad
	}
	costs := strings.Split(parts[3], ",")
	if len(costs) != 3 {
		return h, bad
	}
	var numbers [3]uint64
	for i, limit := range []struct {
		name  string
		least uint64
		most  uint64
	}{{"m=", 8, mostMemoryKiB}, {"t=", 1, mostRounds}, {"p=", 1, mostThreads}} {
		digits, ok := strings.CutPrefix(costs[i], limit.name)
		n, err := strconv.ParseUint(digits, 10, 32)
		if !ok || err != nil || n < limit.least || n > limit.most {
			return h, bad
		}
		numbers[i] = n
	}
	h.memory, h.rounds, h.threads = uint32(numbers[0]), uint32(numbers[1]), uint8(numbers[2])
	var err error
	if h.salt, err = base64.RawStdEncoding.Strict().DecodeString(parts[4]); err != nil || len(h.salt) < 8 || len(h.salt) > mostKeyBytes {
		return h, bad
	}
	if h.key, err = base64.RawStdEncoding.Strict().DecodeString(parts[5]); err != nil || len(h.key) < 16 || len(h.key) > mostKeyBytes {
		return h, bad
	}
	return h, nil
}

func (h phc) matches(password string) bool {
	key := argon2.IDKey([]byte(password), h.salt, h.rounds, h.memory, h.threads, uint32(len(h.key)))
	return subtle.ConstantTimeCompare(key, h.key) == 1
}

// hashing waits for one of the few places at the hash, so that a flood of sign-ins can not eat the machine.
func (g *Guard) hashing(ctx context.Context, do func()) error {
	if g.waiting.Add(1) > mostWaiting+mostHashesAtOnce {
		g.waiting.Add(-1)
		return fault.New(fault.Unavailable, room, SignInBusy, "Very many people are signing in just now. Try again in a few seconds.")
	}
	defer g.waiting.Add(-1)
	select {
	case g.places <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	}
	defer func() { <-g.places }()
	do()
	return nil
}
