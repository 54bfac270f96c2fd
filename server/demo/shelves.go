package demo

import (
	"context"
	"fmt"
	"math/rand/v2"

	"evenpeel/branches/stock"
	"evenpeel/recipes/units"
)

// shelves fills every branch's stock: a roll of each film in each colour, and left-over pieces of some.
func (l *loading) shelves(ctx context.Context) error {
	for i, h := range l.houses {
		rnd := rand.New(rand.NewPCG(seed, 1000+uint64(i)))
		n := 0
		put := func(s stuff, colour, lot string, length units.Millimetres, remnant bool, daysAgo int) error {
			n++
			r := stock.Roll{
				Name: fmt.Sprintf("%s/rolls/r%03d", h.Name, n), Film: s.Code, Colour: colour, Lot: lot, Width: s.RollWidth, Length: length, Remnant: remnant,
				Place: fmt.Sprintf("shelf %d", 1+n%8), Received: l.before(0, daysAgo),
			}
			if remnant {
				r.Place = "remnant box"
			}
			first := stock.Movement{ID: fmt.Sprintf("demo-receive-%s-%03d", h.Name[len("branches/"):], n), Roll: r.Name, Change: length, Why: "receive", Person: l.bench[h.Name], Made: r.Received}
			if err := l.store.AddRoll(ctx, r, first); err != nil || remnant || h.Name != Cold {
				return err
			}
			return l.draws(ctx, r, rnd)
		}
		for _, s := range films() {
			names := lots(s.Code)
			for _, colour := range s.Colours {
				length := units.Millimetres(6_000 + 1000*rnd.IntN(20))
				if err := put(s, colour, names[2+rnd.IntN(2)], length, false, 3+rnd.IntN(80)); err != nil {
					return err
				}
				if rnd.IntN(3) > 0 {
					continue
				}
				if err := put(s, colour, names[1], units.Millimetres(180+rnd.IntN(1400)), true, 90+rnd.IntN(60)); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// draws are what was taken off a roll in the last four weeks, on every third day or so, so that its pace can be told. Only
// the branch that the tour begins in has them: the others' would be written for nobody.
func (l *loading) draws(ctx context.Context, r stock.Roll, rnd *rand.Rand) error {
	most := 1 + int(r.Length/40) // so that at least a part is left
	for day := 27; day > 0; day -= 1 + rnd.IntN(5) {
		made := l.before(0, day)
		if !made.After(r.Received) {
			continue
		}
		m := stock.Movement{ID: fmt.Sprintf("%s-%02d", r.Name[len(Cold+"/rolls/"):], day), Roll: r.Name, Change: -units.Millimetres(200 + rnd.IntN(most)), Why: "draw", Person: l.bench[Cold], Made: made}
		if err := l.store.Move(ctx, m); err != nil {
			return err
		}
	}
	return nil
}
