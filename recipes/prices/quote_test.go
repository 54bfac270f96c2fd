package prices

import (
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/units"
)

func anyFilm(t *rapid.T, film string) FilmPrice {
	f := FilmPrice{Film: film}
	from, price := int64(0), rapid.Int64Range(50, 5000).Draw(t, "price")
	for range rapid.IntRange(1, 5).Draw(t, "breaks") {
		f.Breaks = append(f.Breaks, Break{units.Millimetres(from), price})
		from += rapid.Int64Range(1, 20_000).Draw(t, "step")
		if price == 1 {
			break
		}
		price = rapid.Int64Range(1, price-1).Draw(t, "price")
	}
	return f
}

func anyList(t *rapid.T) List {
	ppm := func(label string, high int64) units.PartsPerMillion {
		return units.PartsPerMillion(rapid.Int64Range(0, high).Draw(t, label))
	}
	return List{
		Title: "Any", Market: "EU", Currency: rapid.SampledFrom([]units.Currency{"EUR", "JPY", "KWD"}).Draw(t, "currency"),
		FilmPrices:    []FilmPrice{anyFilm(t, "a"), anyFilm(t, "b")},
		Garments:      []GarmentPrice{{"g", "G", rapid.Int64Range(1, 9999).Draw(t, "each"), 1}},
		LabourPerHour: rapid.Int64Range(0, 9999).Draw(t, "labour"),
		SetUp:         units.Seconds(rapid.Int64Range(0, 900).Draw(t, "set-up")), Handling: units.Seconds(rapid.Int64Range(0, 60).Draw(t, "handling")),
		WasteAllowance: ppm("waste", 300_000), ReprintAllowance: ppm("reprints", 100_000), Tax: ppm("tax", 270_000), TaxName: "VAT",
		TaxIncluded: rapid.Bool().Draw(t, "included"), TaxPerLine: rapid.Bool().Draw(t, "per line"),
		RoundTo: rapid.SampledFrom([]int64{1, 5, 10, 100}).Draw(t, "round to"), SmallestOrder: rapid.Int64Range(0, 3000).Draw(t, "smallest"),
	}
}

func anyWork(t *rapid.T) Work {
	span := func(label string) units.Seconds { return units.Seconds(rapid.Int64Range(0, 20_000).Draw(t, label)) }
	w := Work{Cutting: span("cutting"), Weeding: span("weeding"), Pressing: span("pressing"), Designs: rapid.IntRange(0, 9).Draw(t, "designs")}
	for range rapid.IntRange(0, 4).Draw(t, "uses") {
		w.Film = append(w.Film, FilmUse{rapid.SampledFrom([]string{"a", "b"}).Draw(t, "film"), units.Millimetres(rapid.Int64Range(1, 60_000).Draw(t, "length"))})
	}
	w.Garments = []GarmentUse{{rapid.SampledFrom([]string{"", "g"}).Draw(t, "garment"), rapid.IntRange(1, 500).Draw(t, "count")}}
	return w
}

func priced(t *rapid.T, l List, w Work) Quote {
	q, err := Priced(l, w)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func TestPriced_addsUpAlways(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, w := anyList(t), anyWork(t)
		q := priced(t, l, w)
		var sum, tax int64
		for _, line := range q.Lines {
			sum, tax = sum+line.Amount.Minor, tax+line.Tax.Minor
			per := map[string]int64{ByLength: 1000, ByTime: 3600, ByPiece: 1, Lump: 1}[line.Unit]
			if want := units.MulDiv(line.Each.Minor, line.Quantity, per); line.Amount.Minor != want {
				t.Fatalf("%s: %d × %d per %d is %d, not %d", line.Key, line.Each.Minor, line.Quantity, per, want, line.Amount.Minor)
			}
		}
		inTerms := q.Net.Minor
		if l.TaxIncluded {
			inTerms = q.Gross.Minor
		}
		if sum != inTerms || tax != q.Tax.Minor || q.Net.Minor+q.Tax.Minor != q.Gross.Minor || q.Gross.Minor+q.Rounding.Minor != q.Payable.Minor {
			t.Fatalf("does not add up: lines %d, their tax %d, %+v", sum, tax, q)
		}
		if q.Payable.Minor%l.RoundTo != 0 || 2*q.Rounding.Minor > l.RoundTo || 2*q.Rounding.Minor < -l.RoundTo || sum < l.SmallestOrder {
			t.Fatalf("rounded or raised wrongly: %+v", q)
		}
		if len(q.Lines) == 0 && q.Gross.Minor != 0 {
			t.Fatal("an amount without a line")
		}
	})
}

func TestPriced_takingTheHintCostsWhatItSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, w := anyList(t), anyWork(t)
		l.WasteAllowance = 0 // so that the length charged can be asked for
		q := priced(t, l, w)
		if q.Hint == nil {
			for _, u := range w.films() { // and nothing longer, at a break, costs less
				for _, f := range l.FilmPrices {
					for _, b := range f.Breaks {
						if f.Film == u.Film && b.From > u.Length {
							longer := w
							longer.Film = append([]FilmUse{{u.Film, b.From - u.Length}}, w.Film...)
							if then := priced(t, l, longer); then.Payable.Minor < q.Payable.Minor {
								t.Fatalf("no hint, yet %s at %d mm costs %v instead of %v", u.Film, b.From, then.Payable, q.Payable)
							}
						}
					}
				}
			}
			return
		}
		w.Film = append([]FilmUse{{q.Hint.Film, q.Hint.Extra}}, w.Film...)
		then := priced(t, l, w)
		if then.Payable != q.Hint.Then || then.Payable.Minor+q.Hint.Saves.Minor != q.Payable.Minor || q.Hint.Saves.Minor <= 0 {
			t.Fatalf("hint %+v, but the longer order costs %v", q.Hint, then.Payable)
		}
	})
}

// Within one break the hint only grows: nearer to the next break there is less to add and more to save.
func TestPriced_hintIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := List{Title: "Any", Market: "EU", Currency: "EUR", RoundTo: 1, FilmPrices: []FilmPrice{{Film: "a", Breaks: []Break{{0, 1000}, {units.Millimetres(rapid.Int64Range(2, 30_000).Draw(t, "from")), rapid.Int64Range(1, 999).Draw(t, "price")}}}}}
		end := int64(l.FilmPrices[0].Breaks[1].From)
		short := rapid.Int64Range(1, end-1).Draw(t, "short")
		long := rapid.Int64Range(short, end-1).Draw(t, "long")
		at := func(length int64) *Hint {
			return priced(t, l, Work{Film: []FilmUse{{"a", units.Millimetres(length)}}, Garments: []GarmentUse{{"", 1}}}).Hint
		}
		a, b := at(short), at(long)
		if a != nil && (b == nil || b.Extra > a.Extra || b.Saves.Minor < a.Saves.Minor) {
			t.Fatalf("at %d mm %+v, at %d mm %+v", short, a, long, b)
		}
		// The ladder says the same, length by length.
		if step := Ladder(l.FilmPrices[0], units.Millimetres(end))[0]; (a != nil) != (step.CheaperToReach > 0 && units.Millimetres(short) >= step.CheaperToReach) {
			t.Fatalf("at %d mm the hint is %+v, the ladder %+v", short, a, step)
		}
	})
}

// Twice the prices is exactly twice every amount where nothing is rounded away: whole metres, whole hours.
func TestPriced_scalesWithThePrices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, w := anyList(t), anyWork(t)
		l.SetUp, l.Handling, l.WasteAllowance, l.ReprintAllowance, l.Tax, l.RoundTo = 3600, 0, 0, 0, 0, 1
		w.Cutting, w.Weeding, w.Pressing = 3600*w.Cutting, 3600*w.Weeding, 3600*w.Pressing
		for i := range w.Film {
			w.Film[i].Length = 1000 * (1 + w.Film[i].Length%100)
		}
		k := rapid.Int64Range(2, 50).Draw(t, "k")
		scaled := l
		scaled.LabourPerHour, scaled.SmallestOrder = k*l.LabourPerHour, k*l.SmallestOrder
		scaled.Garments = []GarmentPrice{l.Garments[0]}
		scaled.Garments[0].Each *= k
		scaled.FilmPrices = nil
		for _, f := range l.FilmPrices {
			f.Breaks = append([]Break{}, f.Breaks...)
			for i := range f.Breaks {
				f.Breaks[i].PerMetre *= k
			}
			scaled.FilmPrices = append(scaled.FilmPrices, f)
		}
		if once, times := priced(t, l, w), priced(t, scaled, w); times.Gross.Minor != k*once.Gross.Minor {
			t.Fatalf("%d × %v is not %v", k, once.Gross, times.Gross)
		}
	})
}

func TestShares_addUpAndAreFair(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64Range(0, 1<<60).Draw(t, "total")
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1<<50), 1, 40).Draw(t, "weights")
		var sum, all int64
		for _, w := range weights {
			all += w
		}
		for i, part := range Shares(total, weights) {
			sum += part
			if all == 0 {
				continue
			}
			if exact := units.MulDiv(total, weights[i], all); part < exact-1 || part > exact+1 {
				t.Fatalf("part %d of %d by %v is %d, far from %d", i, total, weights, part, exact)
			}
		}
		if sum != total {
			t.Fatalf("parts add up to %d, not %d", sum, total)
		}
	})
}

// The largest list and work that pass their checks stay far inside 64 bits.
func TestPriced_largestWorkDoesNotOverflow(t *testing.T) {
	l := List{Title: "Any", Market: "EU", Currency: "EUR", RoundTo: 1, Tax: whole, TaxName: "VAT", WasteAllowance: whole, ReprintAllowance: whole,
		LabourPerHour: MaxPrice, LabourCostPerHour: MaxPrice, SetUp: maxSetUp, Handling: maxHandling,
		FilmPrices: []FilmPrice{{"a", []Break{{0, MaxPrice}}, MaxPrice}}, Garments: []GarmentPrice{{"g", "G", MaxPrice, MaxPrice}}}
	w := Work{Cutting: MaxTime, Weeding: MaxTime, Pressing: MaxTime, Designs: MaxDesigns}
	for range MaxUses {
		w.Film, w.Garments = append(w.Film, FilmUse{"a", MaxLength}), append(w.Garments, GarmentUse{"g", MaxCount})
	}
	q, err := Priced(l, w)
	if err != nil {
		t.Fatal(err)
	}
	// By hand: film 2·10^9 mm, doubled by waste, × 10^9/m = 4·10^15; garments 2·10^7 × 10^9 = 2·10^16; handling an hour
	// each, again 2·10^16; labour 3·10^8 s = 8 333 333 333 333.33 × 10; all of it twice for reprints; set-up
	// 8.64·10^8 s = 2.4·10^14 once; doubled by tax: 176 813 333 333 333 332 or so, by the rounding of three labour lines.
	if d := q.Gross.Minor - 176_813_333_333_333_332; d < -20 || d > 20 {
		t.Errorf("gross is %d", q.Gross.Minor)
	}
}

func BenchmarkPriced(b *testing.B) {
	w := Work{Film: []FilmUse{{"matt-red", 4200}, {"flock-navy", 500}}, Garments: []GarmentUse{{"tee-white", 20}, {"", 5}}, Cutting: 240, Weeding: 400, Pressing: 900, Designs: 2}
	l := workshop()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Priced(l, w); err != nil {
			b.Fatal(err)
		}
	}
}
