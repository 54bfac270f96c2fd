package main

import (
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"evenpeel/recipes"
)

// officeKey signs releases. It implements recipes.Signer.
type officeKey struct {
	private ed25519.PrivateKey
	name    string
}

// Sign signs a digest with Ed25519 (RFC 8032).
func (k *officeKey) Sign(d recipes.Digest) ([]byte, string) {
	return ed25519.Sign(k.private, d[:]), k.name
}

// Vouch signs a text, for what is no release.
func (k *officeKey) Vouch(text []byte) ([]byte, string) { return ed25519.Sign(k.private, text), k.name }

// Public is the key that branches check with.
func (k *officeKey) Public() ed25519.PublicKey { return k.private.Public().(ed25519.PublicKey) }

func keyFile(folder string) string { return filepath.Join(folder, "office.key") }

// nextKeyFile holds a key that is about to be handed over to.
func nextKeyFile(folder string) string { return filepath.Join(folder, "office.next.key") }

// keyFor opens the office key of the data folder. name is the key that the store's releases have come to; where there are
// none, a key is made at the first start. A hand-over that stopped half-way is finished here: the next key takes the
// place of the one that the chain gave up, and one that nothing was handed over to is left alone.
func keyFor(folder, name string) (*officeKey, error) {
	key, err := readKey(keyFile(folder))
	switch {
	case errors.Is(err, fs.ErrNotExist) && name == "":
		return makeKey(keyFile(folder))
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, err
	case err == nil && (name == "" || key.name == name):
		return key, nil
	}
	if next, err := readKey(nextKeyFile(folder)); err == nil && next.name == name {
		return next, os.Rename(nextKeyFile(folder), keyFile(folder))
	}
	return nil, fmt.Errorf("the releases in the store are signed with the key %s, which %s is not; put the right office.key there", name, keyFile(folder))
}

// makeKey makes a key. Whoever holds the file can sign releases, so only its owner may read it.
func makeKey(file string) (*officeKey, error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := rand.Read(seed); err != nil {
		return nil, err
	}
	// O_EXCL: of two processes that start at once in one folder, one makes the key and the other reads it.
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return readKey(file)
	}
	if err != nil {
		return nil, err
	}
	if _, err := f.Write(seed); err != nil {
		return nil, errors.Join(err, f.Close(), os.Remove(file))
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return nil, err
	}
	return readKey(file)
}

func readKey(file string) (*officeKey, error) {
	seed, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	if len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("%s has %d bytes, a key has %d; put the right file back", file, len(seed), ed25519.SeedSize)
	}
	private := ed25519.NewKeyFromSeed(seed)
	return &officeKey{private, recipes.KeyName(private.Public().(ed25519.PublicKey))}, nil
}
