package layout

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"evenpeel/recipes/units"
)

// mixed is an invented order: copies of designs between 30 and 280 mm on a 500 mm roll.
func mixed(designs, copies int) (Roll, []Piece) {
	rng := rand.New(rand.NewPCG(7, 7))
	r := Roll{Width: 500_000, EdgeMargin: 12_000, Lead: 30_000, Tail: 20_000, Gap: 2_000, WeedBorder: 3_000}
	var ps []Piece
	for i := range designs {
		n := copies / designs
		if i < copies%designs {
			n++
		}
		side := func() units.Micrometres { return units.Micrometres(30_000 + rng.IntN(250_000)) }
		ps = append(ps, Piece{Key: fmt.Sprint("design ", i), Width: side(), Height: side(), Copies: n, Turns: Quarter, Group: fmt.Sprint(i / 3)})
	}
	return r, ps
}

func BenchmarkPack_greedy(b *testing.B) {
	for _, c := range []struct{ designs, copies int }{{12, 200}, {200, 200}, {12, 3_000}, {3_000, 3_000}, {40, 20_000}, {20_000, 20_000}} {
		b.Run(fmt.Sprintf("%d copies of %d designs", c.copies, c.designs), func(b *testing.B) {
			r, ps := mixed(c.designs, c.copies)
			var l Layout
			for b.Loop() {
				l, _ = Pack(context.Background(), r, ps, Effort{})
			}
			b.ReportMetric(100*float64(l.Length-l.Bound)/float64(l.Bound), "%gap-to-bound")
		})
	}
}

func BenchmarkPack_budget(b *testing.B) {
	for _, budget := range []time.Duration{200 * time.Millisecond, time.Second, 5 * time.Second} {
		for _, c := range []struct{ designs, copies int }{{1, 24}, {3, 30}, {12, 24}, {12, 200}, {200, 200}, {40, 3000}} {
			b.Run(fmt.Sprintf("%s/%d copies of %d designs", budget, c.copies, c.designs), func(b *testing.B) {
				r, ps := mixed(c.designs, c.copies)
				b.ReportMetric(100*mean(b, budget, r, ps), "%gap-to-bound")
			})
		}
		for _, set := range []struct{ file, source string }{{"hopper_turton_c.csv", hopperTurton}, {"burke_n.csv", burke}} {
			for _, turns := range []Turns{Quarter, None} {
				b.Run(fmt.Sprintf("%s/%s/turns %d", budget, set.file, turns), func(b *testing.B) {
					ins := published(b, set.file, set.source)
					gap := 0.0
					for _, in := range ins {
						r, ps := in.order()
						for i := range ps {
							ps[i].Turns = turns
						}
						gap += 100 * mean(b, budget, r, ps) / float64(len(ins))
					}
					b.ReportMetric(gap, "%gap")
				})
			}
		}
	}
}

// mean is the gap to the bound, as a fraction, after the budget; for the published sets the bound is the optimum.
func mean(b *testing.B, budget time.Duration, r Roll, ps []Piece) float64 {
	var gap float64
	for range b.N {
		ctx, cancel := context.WithTimeout(context.Background(), budget)
		l, err := Pack(ctx, r, ps, Effort{Seed: 1, Moves: MaxMoves})
		cancel()
		if err != nil {
			b.Fatal(err)
		}
		if err := Verify(r, ps, l); err != nil {
			b.Fatal(err)
		}
		gap += float64(l.Length-l.Bound) / float64(l.Bound) / float64(b.N)
	}
	return gap
}
