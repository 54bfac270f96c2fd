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

// openKey reads the office key from the data folder, or makes one at the first start. Whoever holds this file can
// sign releases, so only its owner may read it.
func openKey(folder string) (*officeKey, error) {
	file := filepath.Join(folder, "office.key")
	seed, err := os.ReadFile(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		seed = make([]byte, ed25519.SeedSize)
		if _, err := rand.Read(seed); err != nil {
			return nil, err
		}
		// O_EXCL: of two processes that start at once in one folder, one makes the key and the other reads it.
		f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if errors.Is(err, fs.ErrExist) {
			return openKey(folder)
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
	case err != nil:
		return nil, err
	}
	if len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("%s has %d bytes, a key has %d; put the right file back", file, len(seed), ed25519.SeedSize)
	}
	private := ed25519.NewKeyFromSeed(seed)
	return &officeKey{private, recipes.KeyName(private.Public().(ed25519.PublicKey))}, nil
}
