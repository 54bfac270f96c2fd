package rpc

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"evenpeel/branches/machines"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/press"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/sealed"
	"evenpeel/recipes/units"
)

func differencesMessage(before, after recipes.Content) ([]*recipesv1.Difference, error) {
	list, err := sealed.Differences(before, after)
	if err != nil {
		return nil, err
	}
	out := make([]*recipesv1.Difference, len(list))
	for i, d := range list {
		out[i] = &recipesv1.Difference{Path: d.Path, Words: d.Words, Before: d.Before, After: d.After}
	}
	return out, nil
}

// workshop reads the machines of branches, each branch once.
type workshop struct {
	of    machines.Workshop
	known map[string][]machines.Machine
}

func (w *workshop) machines(ctx context.Context, branch string) ([]machines.Machine, error) {
	if list, ok := w.known[branch]; ok {
		return list, nil
	}
	list, err := w.of.Machines(ctx, branch)
	if err == nil {
		w.known[branch] = list
	}
	return list, err
}

// consequences say what a change does at some branches. before may be nil: nothing was in force; after may be nil: it is
// taken out of force.
func (w *workshop) consequences(ctx context.Context, at []string, before, after recipes.Content) (*recipesv1.Consequences, error) {
	m := &recipesv1.Consequences{PriceWords: priceWords(before, after)}
	now, ok := after.(recipes.Recipe)
	if !ok {
		return m, nil
	}
	was, had := before.(recipes.Recipe)
	if had {
		m.SecondsPerGarmentDelta = int64(cycleOf(now).Seconds() - cycleOf(was).Seconds())
	}
	for _, branch := range at {
		list, err := w.machines(ctx, branch)
		if err != nil {
			return nil, err
		}
		for _, machine := range list {
			m.MachinesCount++
			if why := machines.Holds(machine, now); len(why) > 0 {
				m.Refusals = append(m.Refusals, &recipesv1.MachineRefusal{Machine: machine.Name, Title: machine.Title, Words: why[0], HeldBefore: had && len(machines.Holds(machine, was)) == 0})
			}
		}
	}
	slices.SortFunc(m.Refusals, func(a, b *recipesv1.MachineRefusal) int { return cmp.Compare(a.GetMachine(), b.GetMachine()) })
	return m, nil
}

// cycleOf is the recipe's own part of a garment's time: the hands are the same before and after.
func cycleOf(r recipes.Recipe) press.Cycle {
	return press.Cycle{PrePress: r.PrePress, Dwell: r.Dwell.Set, Peel: press.Peel(r.Peel), PeelWait: r.PeelWait, SecondPress: r.SecondPress}
}

// priceLengths are the lengths of film at which two price lists are compared: a sample, a usual order, a large one.
var priceLengths = []units.Millimetres{1_000, 10_000, 50_000}

// filmAt is what a length of film is asked for, in minor units.
func filmAt(f prices.FilmPrice, length units.Millimetres) (minor int64) {
	for _, b := range f.Breaks {
		if b.From <= length {
			minor = units.MulDiv(b.PerMetre, int64(length), 1000)
		}
	}
	return minor
}

// maxPriceWords bounds what a person can read at once.
const maxPriceWords = 20

// priceWords say which films and garments are asked for more or less, the largest change first.
func priceWords(before, after recipes.Content) []string {
	was, had := before.(prices.List)
	now, has := after.(prices.List)
	if !had || !has {
		return nil
	}
	type effect struct {
		ppm   int64
		words string
	}
	var effects []effect
	note := func(what string, from, to int64) {
		if from == to || from <= 0 {
			return
		}
		ppm := units.MulDiv(to-from, 1_000_000, from)
		show := func(minor int64) string { return units.Money{Minor: minor, Currency: now.Currency}.String() }
		effects = append(effects, effect{max(ppm, -ppm), fmt.Sprintf("%s: %s before, %s now (%+.1f %%)", what, show(from), show(to), float64(ppm)/10_000)})
	}
	for _, f := range now.FilmPrices {
		i := slices.IndexFunc(was.FilmPrices, func(o prices.FilmPrice) bool { return o.Film == f.Film })
		if i < 0 {
			continue
		}
		for _, length := range priceLengths {
			note(fmt.Sprintf("%d m of %s", length/1000, f.Film), filmAt(was.FilmPrices[i], length), filmAt(f, length))
		}
	}
	for _, g := range now.Garments {
		if i := slices.IndexFunc(was.Garments, func(o prices.GarmentPrice) bool { return o.Garment == g.Garment }); i >= 0 {
			note(g.Title, was.Garments[i].Each, g.Each)
		}
	}
	note("an hour of labour", was.LabourPerHour, now.LabourPerHour)
	slices.SortStableFunc(effects, func(a, b effect) int { return cmp.Compare(b.ppm, a.ppm) })
	var out []string
	for i, e := range effects {
		if i == maxPriceWords {
			out = append(out, fmt.Sprintf("and %d more", len(effects)-i))
			break
		}
		out = append(out, e.words)
	}
	return out
}
