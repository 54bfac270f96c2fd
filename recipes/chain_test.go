package recipes

import (
	"crypto/ed25519"
	"encoding/hex"
	"testing"

	"evenpeel/recipes/fault"
)

// signing signs with a key as the server does.
type signing struct{ key ed25519.PrivateKey }

func (s signing) Sign(d Digest) ([]byte, string) {
	return ed25519.Sign(s.key, d[:]), KeyName(s.key.Public().(ed25519.PublicKey))
}

func hexed(t *testing.T, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// What signs releases is the Ed25519 of the standard, not merely what agrees with itself.
func TestSignedBy_isEd25519(t *testing.T) {
	for _, row := range []struct{ key, text, signature, source string }{
		{"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
			"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b", "RFC 8032, 7.1, test 1"},
		{"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00", "RFC 8032, 7.1, test 2"},
		{"fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
			"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a", "RFC 8032, 7.1, test 3"},
	} {
		key, text, signature := hexed(t, row.key), hexed(t, row.text), hexed(t, row.signature)
		if !signedBy(key, text, signature) {
			t.Errorf("%s: the published signature is refused", row.source)
		}
		if signedBy(key, append(text, 0), signature) || signedBy(key[:31], text, signature) || signedBy(key, text, signature[:63]) || signedBy(nil, text, nil) {
			t.Errorf("%s: something else is accepted", row.source)
		}
		if row.source == "" {
			t.Error("a row has no source")
		}
	}
}

func TestVerifyChain_namesTheFirstBrokenRelease(t *testing.T) {
	b, o, planned := approvedOnce(t)
	first := ed25519.NewKeyFromSeed(make([]byte, 32))
	second := ed25519.NewKeyFromSeed(append(make([]byte, 31), 1))
	public := func(k ed25519.PrivateKey) []byte { return k.Public().(ed25519.PublicKey) }
	o.Signer = signing{first}
	release := func(request string) {
		t.Helper()
		must[SignedRelease](t)(o.Release(ctx, "cy", request, planned))
	}
	release("a")
	release("b")
	must[SignedRelease](t)(o.HandOver(ctx, "cy", "key", public(first), public(second), "yearly"))
	if _, err := o.Release(ctx, "cy", "c", planned); !isReason(err, "KEY_RETIRED") {
		t.Fatalf("the key that was given up still releases: %v", err)
	}
	o.Signer = signing{second}
	release("d")
	chain := b.releases
	if n, err := VerifyChain(b, public(first), chain); n != 0 || err != nil {
		t.Fatalf("release %d: %v", n, err)
	}
	if got := KeyAfter(chain, 0, public(second)); string(got) != string(public(first)) {
		t.Error("the first key is not the one that the chain began with")
	}
	if got := KeyAfter(chain, 3, public(second)); string(got) != string(public(second)) {
		t.Error("the key after the hand-over is not the second")
	}
	spoiled := func(change func(c []SignedRelease) []SignedRelease) []SignedRelease {
		return change(append([]SignedRelease(nil), chain...))
	}
	for name, row := range map[string]struct {
		chain []SignedRelease
		want  int64
		why   fault.Reason
	}{
		"the second is gone": {spoiled(func(c []SignedRelease) []SignedRelease { return append(c[:1], c[2:]...) }), 2, "RELEASE_MISSING"},
		"two are swapped":    {spoiled(func(c []SignedRelease) []SignedRelease { c[0], c[1] = c[1], c[0]; return c }), 1, "RELEASE_MISSING"},
		"another signature":  {spoiled(func(c []SignedRelease) []SignedRelease { c[1].Signature = c[0].Signature; return c }), 2, "SIGNATURE_WRONG"},
		"the old key again": {spoiled(func(c []SignedRelease) []SignedRelease {
			d := c[3].Sealed.Digest()
			c[3].Signature = ed25519.Sign(first, d[:])
			return c
		}), 4, "KEY_RETIRED"},
	} {
		if n, err := VerifyChain(b, public(first), row.chain); n != row.want || !isReason(err, row.why) {
			t.Errorf("%s: got release %d, %v", name, n, err)
		}
	}
	if n, err := VerifyChain(b, public(second), chain); n != 1 || !isReason(err, "SIGNATURE_WRONG") {
		t.Errorf("under another first key: release %d, %v", n, err)
	}
}
