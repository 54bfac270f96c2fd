package rpc

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/branches/orders"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

const costsMethod = "Film at the cost of the price list in force at the end of each month, over the width of its roll; labour per reprint from handling and pressing time at the branch's labour cost. Garments are left out. Beyond: against what the branch's work explains (reprints, exact limits) and against the share that all branches lose (film, limits from the branch's months)."

// tariff is what a branch's film and work cost in one month.
type tariff struct {
	currency string
	prices   map[string]compare.Price // by film
}

// tariffs are made once for each branch and month that is asked for.
type tariffs struct {
	s        *compareService
	ctx      context.Context
	releases []recipes.Release
	markets  map[string]recipes.Market // by branch
	last     time.Time
	made     map[[2]string]tariff
	sheets   map[string]tariff // by what is in force, so that branches of one market share
	err      error
}

// at is the tariff in force at the end of a month, or at the last instant that is asked for.
func (t *tariffs) at(branch, month string) tariff {
	key := [2]string{branch, month}
	if made, ok := t.made[key]; ok || t.err != nil {
		return made
	}
	first, err := time.Parse("2006-01", month)
	if err != nil {
		t.err = fault.New(fault.Broken, "compare", "MONTH_UNREADABLE", "A month of the roll-ups can not be read.").Because(err)
		return tariff{}
	}
	end := first.AddDate(0, 1, 0).Add(-time.Microsecond)
	if end.After(t.last) {
		end = t.last
	}
	sheet, _ := recipes.SheetAt(t.releases, branch, t.markets[branch], end)
	var same strings.Builder
	for _, e := range sheet.Entries {
		same.WriteString(string(e.Revision) + " ")
	}
	made, ok := t.sheets[same.String()]
	if !ok {
		in, err := t.s.h.Opener.Opened(t.ctx, sheet)
		if err != nil {
			t.err = err
			return tariff{}
		}
		made = tariffOf(in)
		t.sheets[same.String()] = made
	}
	t.made[key] = made
	return made
}

// tariffOf reads costs off what is in force. A film without a stated cost, or without a recipe, has none.
func tariffOf(in orders.InForce) tariff {
	made := tariff{currency: string(in.List.Currency), prices: map[string]compare.Price{}}
	if in.ListRevision == "" {
		return made
	}
	type film struct {
		width          units.Millimetres
		seconds, count float64
	}
	films := map[string]film{}
	for _, approved := range in.Recipes {
		r := approved.Recipe
		f := films[r.Film.Code]
		f.width = r.Film.RollWidth
		f.seconds += float64(r.PrePress + r.Dwell.Set + r.PeelWait + r.SecondPress)
		f.count++
		films[r.Film.Code] = f
	}
	for _, p := range in.List.FilmPrices {
		f, ok := films[p.Film]
		if !ok || f.width <= 0 || p.CostPerMetre <= 0 {
			continue
		}
		seconds := float64(in.List.Handling) + f.seconds/f.count
		made.prices[p.Film] = compare.Price{
			FilmPerSquareMetre: float64(p.CostPerMetre) * 1000 / float64(f.width),
			PerReprint:         seconds / 3600 * float64(in.List.LabourCostPerHour),
		}
	}
	return made
}

func (s *compareService) CompareCosts(ctx context.Context, req *comparev1.CompareCostsRequest) (*comparev1.CompareCostsResponse, error) {
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	mix, err := s.mix(ctx, a)
	if err != nil {
		return nil, err
	}
	months, err := a.within(s.h.Source.FilmMonths(ctx, a.span))
	if err != nil {
		return nil, err
	}
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	t := tariffs{s: s, ctx: ctx, releases: releases, markets: map[string]recipes.Market{}, last: a.asOf, made: map[[2]string]tariff{}, sheets: map[string]tariff{}}
	for _, b := range a.branches {
		t.markets[b.Name] = b.Market
	}
	currencies := map[string]string{} // by branch: that of its last month; months in another have no price
	for i, c := range months {
		if i > 0 && c.Branch == months[i-1].Branch && c.Period == months[i-1].Period {
			continue // another film's
		}
		if x := t.at(c.Branch, c.Period); x.currency != "" {
			currencies[c.Branch+" "+c.Period] = x.currency
		}
	}
	last := lastOf(currencies)
	list, err := compare.Costs(mix, months, func(c compare.Cell) (compare.Price, bool) {
		x := t.at(c.Branch, c.Period)
		p, ok := x.prices[c.Film]
		return p, ok && x.currency == last[c.Branch]
	}, compare.Options{Branches: a.names()})
	if t.err != nil {
		return nil, t.err
	}
	if err != nil {
		return nil, err
	}
	answer := &comparev1.CompareCostsResponse{Method: costsMethod, Caveat: caveat, AsOf: a.stamp()}
	for _, c := range list {
		answer.Costs = append(answer.Costs, &comparev1.BranchCost{
			Branch: c.Branch, Title: a.title(c.Branch), Currency: last[c.Branch], Reprints: amount(c.Reprints), ReprintsBeyond: amount(c.ReprintsBeyond), FilmLoss: amount(c.FilmLoss),
			FilmBeyond: amount(c.FilmBeyond), Priced: c.Priced, ReprintsCount: c.Standing.Reprints, FilmLossMm2: int64(math.Round(c.LossArea)), Mark: marks[c.Standing.Mark],
		})
	}
	slices.SortStableFunc(answer.Costs, func(x, y *comparev1.BranchCost) int {
		return strings.Compare(x.GetCurrency()+"\x00"+x.GetTitle(), y.GetCurrency()+"\x00"+y.GetTitle())
	})
	answer.Totals = totals(answer.Costs)
	answer.Finding = costsFinding(answer.Costs)
	return answer, nil
}

// lastOf takes each branch's currency from its last month.
func lastOf(byMonth map[string]string) map[string]string {
	keys := make([]string, 0, len(byMonth))
	for k := range byMonth {
		keys = append(keys, k)
	}
	slices.Sort(keys) // months of one branch in order of time
	last := map[string]string{}
	for _, k := range keys {
		branch, _, _ := strings.Cut(k, " ")
		last[branch] = byMonth[k]
	}
	return last
}

func amount(a compare.Amount) *comparev1.Amount {
	whole := func(v float64) int64 { return int64(math.Round(v)) }
	return &comparev1.Amount{Minor: whole(a.Value), LowMinor: whole(a.Limits95.Low), HighMinor: whole(a.Limits95.High)}
}

// totals adds up the branches of one currency; two currencies are never added.
func totals(costs []*comparev1.BranchCost) (list []*comparev1.CurrencyTotal) {
	for _, c := range costs {
		if c.GetCurrency() == "" {
			continue
		}
		if n := len(list); n == 0 || list[n-1].GetCurrency() != c.GetCurrency() {
			list = append(list, &comparev1.CurrencyTotal{Currency: c.GetCurrency()})
		}
		t := list[len(list)-1]
		t.ReprintsMinor += c.GetReprints().GetMinor()
		t.FilmLossMinor += c.GetFilmLoss().GetMinor()
		t.BranchesCount++
	}
	return list
}

// costsFinding names the branches whose losses surely cost more than their work explains.
func costsFinding(costs []*comparev1.BranchCost) string {
	var parts []string
	for _, c := range costs {
		if r := c.GetReprintsBeyond(); r.GetLowMinor() > 0 && (c.GetMark() == comparev1.Mark_MARK_HIGH_998) {
			parts = append(parts, fmt.Sprintf("reprints at %s cost %s more than its work explains", c.GetTitle(), money(r.GetMinor(), c.GetCurrency())))
		}
		if f := c.GetFilmBeyond(); f.GetLowMinor() > 0 && f.GetMinor()*2 > c.GetFilmLoss().GetMinor() {
			parts = append(parts, fmt.Sprintf("film lost at %s costs %s more than elsewhere", c.GetTitle(), money(f.GetMinor(), c.GetCurrency())))
		}
	}
	if len(parts) == 0 {
		return "No branch surely loses more money than its work explains"
	}
	sentence := strings.Join(parts[:min(len(parts), 3)], "; ")
	if len(parts) > 3 {
		sentence += fmt.Sprintf("; and %d more", len(parts)-3)
	}
	return strings.ToUpper(sentence[:1]) + sentence[1:]
}

func money(minor int64, currency string) string {
	digits, _ := units.MinorDigits(units.Currency(currency))
	return fmt.Sprintf("%.0f %s", float64(minor)/math.Pow10(digits), currency)
}
