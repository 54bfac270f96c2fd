package sqlstore

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
	"evenpeel/recipes"
)

// TestCube_answersTheSameInLittleMemory lets the cube keep next to nothing, so that months are given up and read from their
// pages, while runs for old and new months go on coming.
func TestCube_answersTheSameInLittleMemory(t *testing.T) {
	s, err := Open(t.Context(), "sqlite:"+filepath.Join(t.TempDir(), "house.db"), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	s.cube.mostCells = 40
	rnd := rand.New(rand.NewPCG(7, 7))
	for batch := range 30 {
		var list []runs.Run
		for i := range 40 {
			end := time.Date(2025, 11, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, batch*12-rnd.IntN(min(1+batch*12, 100)))
			list = append(list, runs.Run{ID: fmt.Sprint(batch, "-", i), Branch: fmt.Sprint("branches/b", rnd.IntN(3)), Film: fmt.Sprint("film-", rnd.IntN(3)), Fabric: "cotton",
				Recipe: recipes.RecordName("recipes/r").Revision(1 + rnd.Int64N(2)), Pieces: 1 + rnd.Int64N(9), Good: 1, Drawn: 100, Start: end, End: end, Received: end.Add(time.Hour),
				Reprints: []runs.Reprint{{Cause: "other", Count: 1}}})
		}
		if _, _, err := s.Append(t.Context(), list); err != nil {
			t.Fatal(err)
		}
		span := compare.Span{From: "2025-11-01", To: "2026-12-31"}
		if batch%3 == 1 {
			span = compare.Span{From: "2025-12-05", To: "2026-08-20", AsOf: list[0].End.AddDate(0, -1, 0)}
		}
		cells, err := s.Cells(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		causes, err := s.CauseCounts(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		strata, err := s.Strata(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		raw, rawCauses, err := s.Anew(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(inOrderOfText(cells), inOrderOfText(raw)) || !slices.Equal(inOrderOfText(causes), inOrderOfText(rawCauses)) {
			t.Fatalf("batch %d: the roll-ups differ from the runs", batch)
		}
		pieces := func(list []compare.Cell) (n int64) {
			for _, c := range list {
				n += c.Pieces
			}
			return n
		}
		mix, err := s.Mix(t.Context(), span)
		if err != nil {
			t.Fatal(err)
		}
		mixed := int64(0)
		for _, b := range mix.Branches {
			for _, r := range b.Rows {
				mixed += r.Pieces
			}
		}
		if pieces(strata) != pieces(raw) || mixed != pieces(raw) {
			t.Fatalf("batch %d: strata hold %d pieces, the runs %d", batch, pieces(strata), pieces(raw))
		}
		if s.cube.cells > s.cube.mostCells {
			t.Fatalf("batch %d: %d rows are kept, more than %d", batch, s.cube.cells, s.cube.mostCells)
		}
	}
	given := 0
	for _, m := range s.cube.months {
		if m.paged {
			given++
		}
	}
	if given == 0 || given == len(s.cube.months) {
		t.Fatalf("%d of %d months were given up: the test shows nothing", given, len(s.cube.months))
	}
}

func inOrderOfText[T any](list []T) []T {
	slices.SortFunc(list, func(a, b T) int { return cmp.Compare(fmt.Sprint(a), fmt.Sprint(b)) })
	return list
}
