// Package patch says how bytes that somebody holds become other bytes, in few words: copy this part of yours, insert
// these. A price list of which one line changed travels as some hundred bytes. A patch proves nothing: whoever applies
// one checks the digest of what came out.
//
// Room: patch
// Holds: Make, Apply
// May touch: recipes/fault
// Never: a result above the limit it was handed; trust in what came out
package patch

import (
	"bytes"
	"encoding/binary"

	"evenpeel/recipes/fault"
)

// block is how many equal bytes in a row are worth looking for, and the step at which the base is indexed. A match of
// 2·block−1 bytes is always found.
const block = 12

// candidates bounds how many places in the base are compared for one place in the target.
const candidates = 8

// Make says how base becomes target. It is never an error: where they have nothing in common, the patch is the target
// and some bytes more. Layout: pairs of numbers, as protobuf writes varints: (0, n) and n bytes are inserted,
// (n, offset) copies n bytes of the base.
func Make(base, target []byte) []byte {
	index := map[[block]byte][]int32{}
	for at := 0; at+block <= len(base); at += block {
		key := [block]byte(base[at:])
		if known := index[key]; len(known) < candidates {
			index[key] = append(known, int32(at))
		}
	}
	var out []byte
	insert := func(b []byte) {
		if len(b) > 0 {
			out = binary.AppendUvarint(append(out, 0), uint64(len(b)))
			out = append(out, b...)
		}
	}
	begun := 0 // of what no copy covers yet
	for at := 0; at+block <= len(target); {
		from, to, offset := 0, 0, 0
		for _, place := range index[[block]byte(target[at:])] {
			f, b := at, int(place)
			for f > begun && b > 0 && target[f-1] == base[b-1] {
				f, b = f-1, b-1
			}
			n := block + common(target[at+block:], base[int(place)+block:])
			if at+n-f > to-from {
				from, to, offset = f, at+n, b
			}
		}
		if to == from {
			at++
			continue
		}
		insert(target[begun:from])
		out = binary.AppendUvarint(out, uint64(to-from))
		out = binary.AppendUvarint(out, uint64(offset))
		begun, at = to, to
	}
	insert(target[begun:])
	return out
}

// common is how many bytes two texts share at their beginning.
func common(a, b []byte) int {
	n := min(len(a), len(b))
	for at := 0; at < n; at += 64 {
		end := min(at+64, n)
		if !bytes.Equal(a[at:end], b[at:end]) {
			for a[at] == b[at] {
				at++
			}
			return at
		}
	}
	return n
}

// Apply makes the target out of the base, at most limit bytes of it. Faults Broken/PATCH_BROKEN,
// TooLarge/PATCH_TOO_LARGE.
func Apply(base, patch []byte, limit int) ([]byte, error) {
	var out []byte
	for len(patch) > 0 {
		n, size := binary.Uvarint(patch)
		if size <= 0 {
			return nil, broken()
		}
		patch = patch[size:]
		second, size := binary.Uvarint(patch)
		if size <= 0 {
			return nil, broken()
		}
		patch = patch[size:]
		part := base
		if n == 0 {
			if second > uint64(len(patch)) {
				return nil, broken()
			}
			part, patch = patch[:second], patch[second:]
		} else {
			if second > uint64(len(base)) || n > uint64(len(base))-second {
				return nil, broken()
			}
			part = base[second : second+n]
		}
		if len(out)+len(part) > limit {
			return nil, fault.New(fault.TooLarge, "patch", "PATCH_TOO_LARGE", "What the server sent becomes larger than %d bytes, so it is not used.", limit)
		}
		out = append(out, part...)
	}
	return out, nil
}

func broken() error {
	return fault.New(fault.Broken, "patch", "PATCH_BROKEN", "What the server sent does not fit what is held here, so it is not used.")
}
