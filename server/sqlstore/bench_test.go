package sqlstore_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/server/sqlstore"
	"evenpeel/server/storetest/postgrestest"
)

// invented is the n-th run of a franchise with 40 branches and 12 films.
func invented(n int) runs.Run {
	b := n / 100 % 40
	r := runs.Run{
		ID: fmt.Sprintf("0198f3a2-%012d", n), Branch: fmt.Sprint("branches/b", b), Order: "branches/b/orders/o", Recipe: recipes.RecordName("recipes/glimmer").Revision(int64(n%2 + 1)),
		Film: fmt.Sprint("film-", n%12), Fabric: recipes.Fabrics[n%3], Band: n % 3, Pieces: int64(n%40 + 1), Good: 1, Drawn: 100_000, DrawnLength: 400,
		Decorated: 60_000, LayoutLoss: 9000, EdgeLoss: 8000, Achievable: 90_000, TimedDwell: 15, Reporter: "people/bo",
		End: time.Date(2025, 12, 1, 12, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Minute),
	}
	r.Start = r.End.Add(-time.Hour)
	if n%10 == 0 {
		r.Reprints = []runs.Reprint{{Cause: runs.Causes[n/10%len(runs.Causes)], Count: 1, Film: 1500}}
	}
	return r
}

// appendRuns reports runs a second, for batches of one branch as its tablets send them.
func appendRuns(b *testing.B, s *sqlstore.Store, batch int) {
	n := 0
	for b.Loop() {
		rs := make([]runs.Run, batch)
		for i := range rs {
			rs[i] = invented(n)
			n++
		}
		if stored, _, err := s.Append(b.Context(), rs); err != nil || stored != batch {
			b.Fatal(stored, err)
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "runs/s")
}

func BenchmarkAppend(b *testing.B) {
	for _, batch := range []int{1, 100, 500} {
		b.Run(fmt.Sprint("sqlite/", batch), func(b *testing.B) {
			appendRuns(b, open(b, "sqlite:"+filepath.Join(b.TempDir(), "house.db")), batch)
		})
	}
	fresh := postgrestest.Start(b, nil)
	for _, batch := range []int{1, 100, 500} {
		b.Run(fmt.Sprint("postgres/", batch), func(b *testing.B) { appendRuns(b, open(b, fresh(b)), batch) })
	}
}

// BenchmarkFairView asks for the sums of 90 and 100 days over a million runs: whole months, and months that the span cuts.
func BenchmarkFairView(b *testing.B) {
	s := open(b, "sqlite:"+filepath.Join(b.TempDir(), "house.db"))
	for from := 0; from < 1_000_000; from += 5000 {
		rs := make([]runs.Run, 5000)
		for i := range rs {
			rs[i] = invented(from + i)
		}
		if _, _, err := s.Append(b.Context(), rs); err != nil {
			b.Fatal(err)
		}
	}
	for name, span := range map[string]compare.Span{
		"whole_months": {From: "2026-01-01", To: "2026-03-31"}, "part_months": {From: "2025-12-20", To: "2026-03-29"},
	} {
		for what, ask := range map[string]func(context.Context, compare.Span) ([]compare.Cell, error){"strata": s.Strata, "months": s.Months, "cells": s.Cells} {
			b.Run(name+"/"+what, func(b *testing.B) {
				var n int
				for b.Loop() {
					cells, err := ask(b.Context(), span)
					if err != nil {
						b.Fatal(err)
					}
					n = len(cells)
				}
				b.ReportMetric(float64(n), "cells")
			})
		}
	}
}
