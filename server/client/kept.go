package client

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/patch"
)

// largestRecord bounds what a patch may become, in bytes.
const largestRecord = 8 << 20

// kept is the folder in which a sheet's sealed bytes stand, each under its digest, and the number of the newest release
// in the file "held". Without a folder nothing is kept.
type kept struct{ folder string }

// held is the newest release that is kept here, or else what the caller says.
func (k kept) held(said int64) (int64, error) {
	if k.folder == "" {
		return said, nil
	}
	text, err := os.ReadFile(filepath.Join(k.folder, "held"))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	n, err := strconv.ParseInt(strings.TrimSpace(string(text)), 10, 64)
	if err != nil || n < 0 {
		return 0, nil // a file that is torn holds nothing; everything is pulled
	}
	return n, nil
}

// opened gives every record of an answer by its digest, with patches applied. Whatever happens on the way, bytes that
// are not those of their digest are refused; so is a sheet of which something is missing here.
func (k kept) opened(answer *recipesv1.PullSheetResponse) (map[recipes.Digest][]byte, error) {
	records := map[recipes.Digest][]byte{}
	for _, r := range answer.GetRecords() {
		content, err := k.record(r)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", r.GetName(), err)
		}
		records[recipes.Digest(r.GetSha256())] = content
	}
	if k.folder == "" {
		return records, nil
	}
	for _, sheet := range []*recipesv1.Sheet{answer.GetCurrent(), answer.GetNext()} {
		for _, e := range sheet.GetEntries() {
			digest, err := recipes.ParseDigest(e.GetSha256())
			if err != nil {
				return nil, fmt.Errorf("%s: %w", e.GetRevision(), err)
			}
			if _, sent := records[digest]; sent {
				continue
			}
			if _, err := k.read(digest); err != nil {
				return nil, fmt.Errorf("%s: %w", e.GetRevision(), err)
			}
		}
	}
	return records, nil
}

func (k kept) record(r *recipesv1.SealedRecord) ([]byte, error) {
	want, err := recipes.ParseDigest(r.GetSha256())
	if err != nil {
		return nil, err
	}
	content := r.GetContent()
	if len(r.GetBaseSha256()) > 0 {
		base, err := recipes.ParseDigest(r.GetBaseSha256())
		if err != nil {
			return nil, err
		}
		held, err := k.read(base)
		if err != nil {
			return nil, err
		}
		if content, err = patch.Apply(held, r.GetPatch(), largestRecord); err != nil {
			return nil, err
		}
	}
	_, err = recipes.Unseal(content, want)
	return content, err
}

// read gives bytes that are kept, checked once more.
func (k kept) read(digest recipes.Digest) ([]byte, error) {
	content, err := os.ReadFile(filepath.Join(k.folder, digest.String()))
	if err != nil {
		return nil, err
	}
	_, err = recipes.Unseal(content, digest)
	return content, err
}

// put keeps what was pulled; the number comes last, so that a stop in between loses nothing but time.
func (k kept) put(answer *recipesv1.PullSheetResponse, records map[recipes.Digest][]byte) error {
	if k.folder == "" {
		return nil
	}
	if err := os.MkdirAll(k.folder, 0o700); err != nil {
		return err
	}
	for digest, content := range records {
		if err := k.write(digest.String(), content); err != nil {
			return err
		}
	}
	return k.write("held", []byte(strconv.FormatInt(answer.GetNewestRelease(), 10)))
}

// write puts a whole file in place or none.
func (k kept) write(name string, content []byte) error {
	half := filepath.Join(k.folder, name+".half")
	f, err := os.OpenFile(half, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(half, filepath.Join(k.folder, name))
}
