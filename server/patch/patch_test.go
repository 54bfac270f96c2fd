package patch

import (
	"bytes"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
)

func TestApply_givesBackWhatMakeWasGiven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Few different bytes make repeats, which are what a patch can go wrong with.
		text := rapid.SliceOfN(rapid.ByteRange(0, rapid.Byte().Draw(t, "most")), 0, 400)
		base, target := text.Draw(t, "base"), text.Draw(t, "target")
		if rapid.Bool().Draw(t, "edited") { // cuts and insertions in the base
			at := rapid.IntRange(0, len(base)).Draw(t, "at")
			end := rapid.IntRange(at, len(base)).Draw(t, "end")
			target = bytes.Join([][]byte{base[:at], text.Draw(t, "put in"), base[end:]}, nil)
		}
		p := Make(base, target)
		got, err := Apply(base, p, len(target))
		if err != nil || !bytes.Equal(got, target) {
			t.Fatalf("%v\ngot  %v\nwant %v\npatch %v", err, got, target, p)
		}
		if len(p) > len(target)+12 {
			t.Fatalf("a patch of %d bytes for a target of %d", len(p), len(target))
		}
		if _, err := Apply(base, p, len(target)-1); len(target) > 0 && !fault.Is(err, fault.TooLarge) {
			t.Fatal("the limit was not kept:", err)
		}
	})
}

func TestMake_isSmallWhereLittleChanged(t *testing.T) {
	var base, target []byte
	for line := range 500 {
		text := []byte{10, 8, byte('a' + line%26), byte(line), byte(line >> 8), 'f', 'i', 'l', 'm', 0x10, byte(7 * line), byte(3 * line), 0x18, 1}
		base = append(base, text...)
		if line == 250 {
			text = append(text[:10:10], 99, 98, 97, 0x18, 1)
		}
		target = append(target, text...)
	}
	if p := Make(base, target); len(p) > 40 {
		t.Errorf("one line of 500 changed: %d bytes of %d", len(p), len(target))
	}
}

func FuzzApply(f *testing.F) {
	base := []byte("a base of some bytes that may be copied from anywhere")
	f.Add(base, Make(base, []byte("some bytes of a base that may be copied to anywhere")))
	f.Add([]byte{}, []byte{0, 3, 1, 2})
	f.Add([]byte{1}, []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1, 1})
	f.Fuzz(func(t *testing.T, base, p []byte) {
		const limit = 1 << 12
		out, err := Apply(base, p, limit)
		if len(out) > limit {
			t.Fatalf("%d bytes", len(out))
		}
		if err != nil && !fault.Is(err, fault.Broken) && !fault.Is(err, fault.TooLarge) {
			t.Fatal(err)
		}
	})
}
