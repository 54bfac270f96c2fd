package compare

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// sourced fails a row of a table that does not say where its numbers come from.
func sourced(t *testing.T, source string) {
	t.Helper()
	if source == "" {
		t.Error("this row names no source")
	}
}

// near fails where got is further than tolerance from want.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.17g, want %.17g within %g", what, got, want, tolerance)
	}
}

// alike fails where got differs from want by more than the relative tolerance.
func alike(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	near(t, what, got, want, relative*math.Max(math.Abs(want), 1e-300))
}

// published reads a big data file in place, as rows by column name; without the files the test is skipped.
func published(t *testing.T, file string) []map[string]string {
	t.Helper()
	root := os.Getenv("EVENPEEL_DATA")
	if root == "" {
		root = filepath.Join("..", "..", "..", "shared", "reference", "data")
	}
	f, err := os.Open(filepath.Join(root, "stats", file))
	if err != nil {
		t.Skipf("the published data are not here: set EVENPEEL_DATA to the folder that holds stats/%s", file)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%s: %v", file, err)
	}
	rows := make([]map[string]string, 0, len(lines)-1)
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, column := range lines[0] {
			row[column] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q is no number", s)
	}
	return v
}

func count(t *testing.T, s string) int64 {
	t.Helper()
	v, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		t.Fatalf("%q is no count", s)
	}
	return v
}
