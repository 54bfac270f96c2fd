package archive

import (
	"context"
	"slices"

	"evenpeel/recipes"
)

// Gathered takes everything approved out of a catalog. current is the key that signs now. Releases are read first, so
// that every revision they name is among those read after.
func Gathered(ctx context.Context, c recipes.Catalog, head recipes.ArchiveHead, current []byte) (Archive, error) {
	a := Archive{Head: head}
	var err error
	if a.Releases, err = c.Releases(ctx, 0); err != nil {
		return a, err
	}
	a.Head.Key, a.Head.FirstKey = current, recipes.KeyAfter(a.Releases, 0, current)
	records, err := c.Records(ctx, "")
	if err != nil {
		return a, err
	}
	for _, newest := range records {
		rows, err := c.Revisions(ctx, newest.Record)
		if err != nil {
			return a, err
		}
		for _, row := range slices.Backward(rows) {
			s, err := c.Sealed(ctx, row.Digest)
			if err != nil {
				return a, err
			}
			a.Revisions = append(a.Revisions, recipes.Kept{Row: row, Sealed: s})
		}
	}
	return a, nil
}
