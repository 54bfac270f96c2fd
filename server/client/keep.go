package client

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"evenpeel/recipes"
)

// keeping is a folder in which a client keeps what it trusts (trust.json) and the sealed records, each under its digest.
type keeping struct{ folder string }

// trustFile is recipes.Trusted as it lies in the folder.
type trustFile struct {
	Branch  string         `json:"branch"`
	Market  recipes.Market `json:"market"`
	Key     []byte         `json:"key"`
	Retired [][]byte       `json:"retired"`
	Release int64          `json:"release"`
	Digest  []byte         `json:"digest"`
	Said    time.Time      `json:"said"`
	Until   time.Time      `json:"until"`
	Bearing [][]byte       `json:"bearing"`
}

func trustFileOf(t recipes.Trusted) trustFile {
	f := trustFile{Branch: t.Branch, Market: t.Market, Key: t.Key, Retired: t.Retired, Release: t.Release, Digest: t.Digest[:], Said: t.Said, Until: t.Until}
	for _, s := range t.Bearing {
		f.Bearing = append(f.Bearing, s.Content())
	}
	return f
}

func (f trustFile) trusted() (recipes.Trusted, error) {
	digest, err := recipes.ParseDigest(f.Digest)
	t := recipes.Trusted{Branch: f.Branch, Market: f.Market, Key: f.Key, Retired: f.Retired, Release: f.Release, Digest: digest, Said: f.Said, Until: f.Until}
	for _, content := range f.Bearing {
		t.Bearing = append(t.Bearing, recipes.SealBytes(content))
	}
	return t, err
}

func (k keeping) file() string { return filepath.Join(k.folder, "trust.json") }

// trusted reads what is kept; ok is false where nothing is.
func (k keeping) trusted() (t recipes.Trusted, ok bool, err error) {
	text, err := os.ReadFile(k.file())
	if errors.Is(err, fs.ErrNotExist) {
		return t, false, nil
	}
	if err != nil {
		return t, false, err
	}
	var f trustFile
	if err := json.Unmarshal(text, &f); err != nil {
		return t, false, fmt.Errorf("%s can not be read; put the right file back, or begin in an empty folder: %w", k.file(), err)
	}
	t, err = f.trusted()
	return t, true, err
}

func (k keeping) recordFile(d recipes.Digest) string {
	return filepath.Join(k.folder, "records", d.String())
}

// has reports whether a record's bytes are kept, and are the right ones: a file that was changed counts as not there.
func (k keeping) has(d recipes.Digest) bool {
	content, err := os.ReadFile(k.recordFile(d))
	return err == nil && sha256.Sum256(content) == d
}

// keep writes the records first and the trust last, each whole or not at all, so that a stop on the way only means that
// the next pull brings the records again.
func (k keeping) keep(t recipes.Trusted, records []recipes.AnswerRecord) error {
	if err := os.MkdirAll(filepath.Join(k.folder, "records"), 0o700); err != nil {
		return err
	}
	for _, r := range records {
		if err := written(k.recordFile(r.Digest), r.Content); err != nil {
			return err
		}
	}
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetIndent("", "  ")
	if err := e.Encode(trustFileOf(t)); err != nil {
		return err
	}
	return written(k.file(), text.Bytes())
}

// written puts a file in place whole.
func written(path string, content []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return os.Rename(f.Name(), path)
}
