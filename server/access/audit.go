package access

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
)

// ChainHash is the hash of an audit entry: SHA-256 over the previous hash and then number, time (microseconds since
// 1970), person, act and object, each after its length in bytes. Lengths and whole numbers are 8 bytes, big end first.
func ChainHash(e AuditEntry) [32]byte {
	b := append([]byte(nil), e.Previous[:]...)
	for _, n := range []int64{e.Number, e.Time.UnixMicro()} {
		b = binary.BigEndian.AppendUint64(b, 8)
		b = binary.BigEndian.AppendUint64(b, uint64(n))
	}
	for _, text := range []string{e.Person, e.Act, e.Object} {
		b = binary.BigEndian.AppendUint64(b, uint64(len(text)))
		b = append(b, text...)
	}
	return sha256.Sum256(b)
}

// BrokenLink names the first entry where an audit chain breaks.
type BrokenLink struct {
	Number int64
	Words  string
}

// auditPage is how many entries are read at once.
const auditPage = 5_000

// VerifyAudit works the whole chain out again. It says how many entries were right before the first broken link, which
// is nil where there is none.
func VerifyAudit(ctx context.Context, a Audited) (checked int64, broken *BrokenLink, err error) {
	var previous [32]byte
	for {
		page, err := a.Audit(ctx, checked, auditPage)
		if err != nil {
			return checked, nil, err
		}
		for _, e := range page {
			switch want := checked + 1; {
			case e.Number != want:
				return checked, &BrokenLink{want, fmt.Sprintf("Entry %d is missing; entry %d follows.", want, e.Number)}, nil
			case e.Previous != previous:
				return checked, &BrokenLink{want, fmt.Sprintf("Entry %d does not follow the entry before it: the hash that it names is another.", want)}, nil
			case ChainHash(e) != e.Hash:
				return checked, &BrokenLink{want, fmt.Sprintf("Entry %d was changed after it was written: its hash is another.", want)}, nil
			}
			previous, checked = e.Hash, e.Number
		}
		if len(page) < auditPage {
			return checked, nil, nil
		}
	}
}
