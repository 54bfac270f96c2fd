package sqlstore

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"evenpeel/branches/compare"
)

// franchise writes the pages of 10 million runs of 500 branches over 24 months, some 170 strata a branch, without the runs: of
// these the fair view reads none.
func franchise(b *testing.B) *Store {
	s, err := Open(b.Context(), "sqlite:"+filepath.Join(b.TempDir(), "house.db"), nil)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	const branches, months, runs = 500, 24, 833
	rnd := rand.New(rand.NewPCG(1, 1))
	sequence := int64(0)
	for m := range months {
		month := time.Date(2024, time.Month(12+m), 1, 0, 0, 0, 0, time.UTC)
		err := s.inWrite(b.Context(), func(t *writing) error {
			words := s.words.numbering()
			var list []writtenPage
			for branch := range branches {
				key := pageKey{fmt.Sprintf("branches/b%03d", branch), month.Format("2006-01")}
				p := &page{}
				for i := range runs {
					sequence++
					film := min(rnd.IntN(34), rnd.IntN(34))
					k := stratum{fmt.Sprintf("film-%02d", film), []string{"cotton", "polyester", "nylon"}[min(rnd.IntN(2), (film+branch)%3)], int64(rnd.IntN(3)), int64(1 + m/6)}
					id, err := words.ofStratum(b.Context(), t, k)
					if err != nil {
						return err
					}
					pieces := 1 + rnd.Int64N(24)
					e := entry{sequence: sequence, received: micros(month) + int64(i)*3_000_000_000, day: 1 + i*28/runs, stratum: id,
						sums: sums{1, pieces, 0, pieces * 40_000, pieces * 24_000, pieces * 5000, pieces * 3000, 1200, 800, 0, 0, pieces * 36_000}}
					if rnd.IntN(16) == 0 {
						e.sums[sumReprints], e.causes = 1, []cause{{0, 1}}
					}
					if !p.fits() {
						list = append(list, writtenPage{key, p})
						p = p.after()
					}
					p.add(&e)
				}
				list = append(list, writtenPage{key, p})
			}
			if m == 0 {
				if _, err := t.ExecContext(b.Context(), `INSERT INTO compare_cause (id, cause) VALUES (0, 'other')`); err != nil {
					return err
				}
			}
			if err := words.keep(b.Context(), t); err != nil {
				return err
			}
			return s.engine.pages(b.Context(), t, list)
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	return s
}

// cpu is what this process has spent, whatever else runs on the machine.
func cpu() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkFairViewOfTenMillion asks for the fair view whole: the store's sums and what is computed from them.
func BenchmarkFairViewOfTenMillion(b *testing.B) {
	s := franchise(b)
	if err := s.Warm(b.Context()); err != nil {
		b.Fatal(err)
	}
	ctx := context.Background()
	month := time.Date(2025, 3, 31, 0, 0, 0, 0, time.UTC)
	for _, span := range []struct {
		name string
		compare.Span
	}{
		{"24_months", compare.Span{From: "2024-12-01", To: "2026-11-30"}},
		{"365_days_cut", compare.Span{From: "2025-11-10", To: "2026-11-09"}},
		{"90_days_cut", compare.Span{From: "2026-08-12", To: "2026-11-09"}},
		{"90_days_cut_one_film", compare.Span{From: "2026-08-12", To: "2026-11-09", Film: "film-03"}},
		{"365_days_cut_as_of_a_month_before", compare.Span{From: "2025-11-10", To: "2026-11-09", AsOf: month.AddDate(1, 6, 0)}},
	} {
		asks := []struct {
			name string
			do   func() error
		}{
			{"mix", func() error { _, err := s.Mix(ctx, span.Span); return err }},
			{"reprints", func() error {
				m, err := s.Mix(ctx, span.Span)
				if err == nil {
					_, err = compare.FairReprintsOf(m, compare.Options{Dispersion: compare.Additive})
				}
				return err
			}},
			{"yield", func() error {
				m, err := s.Mix(ctx, span.Span)
				if err != nil {
					return err
				}
				months, err := s.Months(ctx, span.Span)
				if err == nil {
					_, err = compare.FairYieldOf(m, months, compare.Options{})
				}
				return err
			}},
			{"strata_then_reprints", func() error {
				cells, err := s.Strata(ctx, span.Span)
				if err == nil {
					_, err = compare.FairReprints(cells, compare.Options{Dispersion: compare.Additive})
				}
				return err
			}},
			{"reporting", func() error { _, err := s.Reporting(ctx, span.Span); return err }},
			{"costs", func() error {
				m, err := s.Mix(ctx, span.Span)
				if err != nil {
					return err
				}
				cells, err := s.FilmMonths(ctx, span.Span)
				if err == nil {
					_, err = compare.Costs(m, cells, func(compare.Cell) (compare.Price, bool) {
						return compare.Price{FilmPerSquareMetre: 1200, PerReprint: 90}, true
					}, compare.Options{})
				}
				return err
			}},
			{"film_months", func() error { _, err := s.FilmMonths(ctx, span.Span); return err }},
			{"all_days", func() error { _, err := s.AllDays(ctx, span.Span); return err }},
			{"revision_days", func() error { _, err := s.RevisionDays(ctx, span.Span); return err }},
		}
		for _, ask := range asks {
			b.Run(span.name+"/"+ask.name, func(b *testing.B) {
				if err := ask.do(); err != nil { // what is made once is made
					b.Fatal(err)
				}
				b.ReportAllocs()
				from, n := cpu(), 0
				for b.Loop() {
					if err := ask.do(); err != nil {
						b.Fatal(err)
					}
					n++
				}
				b.ReportMetric(float64((cpu()-from).Microseconds())/1000/float64(n), "cpu-ms/op")
			})
		}
	}
}
