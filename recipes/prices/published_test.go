package prices

import (
	"reflect"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// plain is a list that asks for garments only: what tax does stands alone.
func plain(tax units.PartsPerMillion, included, perLine bool, roundTo int64, each ...int64) (List, Work) {
	l := List{Title: "Test", Market: "EU", Currency: "EUR", Tax: tax, TaxName: "VAT", TaxIncluded: included, TaxPerLine: perLine, RoundTo: roundTo}
	var w Work
	for i, e := range each {
		name := string(rune('a' + i))
		l.Garments = append(l.Garments, GarmentPrice{Garment: name, Title: name, Each: e})
		w.Garments = append(w.Garments, GarmentUse{name, 1})
	}
	return l, w
}

func TestPriced_publishedTax(t *testing.T) {
	for _, row := range []struct {
		name                     string
		tax                      units.PartsPerMillion
		included, perLine        bool
		roundTo                  int64
		each                     []int64
		net, taxed, gross, asked int64
		source                   string
	}{
		{"three lines of 0.99 by line", 200_000, false, true, 1, []int64{99, 99, 99}, 297, 60, 357, 357, "shared reference physics E; level of rounding free: CJEU C-484/06 Ahold, C-302/07 Wetherspoon"},
		{"three lines of 0.99 on the total", 200_000, false, false, 1, []int64{99, 99, 99}, 297, 59, 356, 356, "shared reference physics E; HMRC VATREC12010 (Notice 700 s. 17.5)"},
		{"9.99 gross at 19 % by difference", 190_000, true, false, 1, []int64{999}, 839, 160, 999, 999, "shared reference physics E: 8.39 + 1.60, though 8.39 × 0.19 rounds to 1.59"},
		{"coffee 1.83 and sandwich 2.86 with 5 %, in cash", 50_000, false, false, 5, []int64{183, 286}, 469, 23, 492, 490, "Government of Canada, Budget 2012, Rounding, example: 4.92, in cash 4.90"},
		{"cents 1 and 2 go down to 0", 0, false, false, 5, []int64{102}, 102, 0, 102, 100, "Government of Canada, Budget 2012, Rounding"},
		{"cents 3 and 4 go up to 5", 0, false, false, 5, []int64{103}, 103, 0, 103, 105, "Government of Canada, Budget 2012, Rounding"},
		{"cents 6 and 7 go down to 5", 0, false, false, 5, []int64{107}, 107, 0, 107, 105, "Government of Canada, Budget 2012, Rounding"},
		{"cents 8 and 9 go up to 10", 0, false, false, 5, []int64{108}, 108, 0, 108, 110, "Government of Canada, Budget 2012, Rounding"},
		{"an exact half cent of tax goes up", 50_000, false, false, 1, []int64{110}, 110, 6, 116, 116, "Excise Tax Act (Canada) s. 165.2(2): half a cent and more counts as one cent (from memory)"},
	} {
		if row.source == "" {
			t.Fatalf("%s: no source", row.name)
		}
		l, w := plain(row.tax, row.included, row.perLine, row.roundTo, row.each...)
		q, err := Priced(l, w)
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		got := [4]int64{q.Net.Minor, q.Tax.Minor, q.Gross.Minor, q.Payable.Minor}
		if want := [4]int64{row.net, row.taxed, row.gross, row.asked}; got != want {
			t.Errorf("%s: net, tax, gross, to pay are %v, want %v (%s)", row.name, got, want, row.source)
		}
	}
}

func TestShares_published(t *testing.T) {
	for _, row := range []struct {
		name    string
		total   int64
		weights []int64
		want    []int64
		source  string
	}{
		{"six parties, ten seats, Hare quota", 10, []int64{47000, 16000, 15900, 12000, 6000, 3100}, []int64{5, 2, 1, 1, 1, 0}, "Encyclopedia article \"Largest remainder method\", first example (figures from memory; the method read at infinitelexicon.com/largestremainder)"},
		{"three groups, seven seats", 7, []int64{50, 30, 20}, []int64{4, 2, 1}, "infinitelexicon.com/largestremainder: populations 50, 30, 20; quotas 3.5, 2.1, 1.4"},
		{"nothing weighs", 3, []int64{0, 0}, []int64{3, 0}, "ours: the parts must add up even so"},
		{"no parts", 3, nil, []int64{}, "ours"},
	} {
		if row.source == "" {
			t.Fatalf("%s: no source", row.name)
		}
		if got := Shares(row.total, row.weights); !reflect.DeepEqual(got, row.want) {
			t.Errorf("%s: got %v, want %v (%s)", row.name, got, row.want, row.source)
		}
	}
}

// workshop is an invented list for tests.
func workshop() List {
	return List{
		Title: "Spring", Market: "EU", Currency: "EUR",
		FilmPrices: []FilmPrice{
			{Film: "matt-red", Breaks: []Break{{0, 1000}, {5000, 900}, {10_000, 800}, {25_000, 700}}, CostPerMetre: 400},
			{Film: "flock-navy", Breaks: []Break{{0, 1500}}, CostPerMetre: 900},
		},
		Garments:      []GarmentPrice{{"tee-white", "White T-shirt", 450, 210}},
		LabourPerHour: 3600, LabourCostPerHour: 1800, SetUp: 300, Handling: 20,
		WasteAllowance: 100_000, ReprintAllowance: 20_000,
		Tax: 200_000, TaxName: "VAT", RoundTo: 5, SmallestOrder: 2000,
	}
}

// Worked by hand, in cents:
//
//	film matt-red    4200 mm + 10 % waste = 4620 mm × 10.00/m           = 4620
//	film flock-navy  (300 + 200) mm + 10 % = 550 mm × 15.00/m           =  825
//	garments         20 × 4.50 (5 more are the customer's own: free)    = 9000
//	set-up           2 × 300 s = 600 s at 36.00/h (1 cent a second)     =  600
//	cutting 240 s, weeding 400 s, pressing 900 s                        =  240 + 400 + 900
//	handling         25 × 20 s                                          =  500
//	made again       2 % of 4620+825+9000+240+400+900+500 = 16485 → 329.7 = 330
//	net              16485 + 600 + 330                                  = 17415
//	tax 20 %                                                            = 3483
//	gross            20898, to pay 20900 (rounded by 2)
//	a garment        20900 ÷ 25                                         = 836
//	hint             5000 mm × 9.00 = 4500, 120 less: 16365; again 2 % = 327.3 → 327; net 17292;
//	                 tax 3458.4 → 3458; gross 20750, to pay 20750: saves 150 for 380 mm more
//	cost             film 1848 + 495, garments 4200, 2040 s at 0.5 = 1020: 7563; again 151.26 → 151; set-up 300: 8014
//	margin           17415 − 8014                                       = 9401
func TestPriced_workedByHand(t *testing.T) {
	q, err := Priced(workshop(), Work{
		Film:     []FilmUse{{"matt-red", 4200}, {"flock-navy", 300}, {"flock-navy", 200}},
		Garments: []GarmentUse{{"tee-white", 15}, {"", 5}, {"tee-white", 5}},
		Cutting:  240, Weeding: 400, Pressing: 900, Designs: 2,
	})
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		key    string
		amount int64
	}{{"film:matt-red", 4620}, {"film:flock-navy", 825}, {"garment:tee-white", 9000}, {KeySetUp, 600}, {KeyCutting, 240}, {KeyWeeding, 400}, {KeyPressing, 900}, {KeyHandling, 500}, {KeyReprints, 330}}
	if len(q.Lines) != len(want) {
		t.Fatalf("%d lines, want %d: %+v", len(q.Lines), len(want), q.Lines)
	}
	for i, line := range q.Lines {
		if line.Key != want[i].key || line.Amount.Minor != want[i].amount {
			t.Errorf("line %d is %s %d, want %s %d", i, line.Key, line.Amount.Minor, want[i].key, want[i].amount)
		}
	}
	for what, pair := range map[string][2]int64{
		"net": {q.Net.Minor, 17415}, "tax": {q.Tax.Minor, 3483}, "gross": {q.Gross.Minor, 20898}, "to pay": {q.Payable.Minor, 20900},
		"rounding": {q.Rounding.Minor, 2}, "a garment": {q.PerGarment.Minor, 836}, "set-up a garment": {q.SetUpPerGarment.Minor, 24},
		"cost": {q.Cost.Minor, 8014}, "margin": {q.Margin.Minor, 9401},
	} {
		if pair[0] != pair[1] {
			t.Errorf("%s is %d, want %d", what, pair[0], pair[1])
		}
	}
	h := q.Hint
	if h == nil || h.Film != "matt-red" || h.From != 4620 || h.To != 5000 || h.Extra != 380 || h.Then.Minor != 20750 || h.Saves.Minor != 150 {
		t.Fatalf("hint is %+v", h)
	}
	if h.Words != "0.380 m more of matt-red costs less: at 5.000 m the whole order is EUR 207.50 instead of EUR 209.00." {
		t.Errorf("hint says %q", h.Words)
	}
}

func TestPriced_costIsUnknownWhereOneIsMissing(t *testing.T) {
	work := Work{Film: []FilmUse{{"matt-red", 1000}}, Garments: []GarmentUse{{"tee-white", 1}}}
	for what, spoil := range map[string]func(*List){
		"film":    func(l *List) { l.FilmPrices[0].CostPerMetre = 0 },
		"garment": func(l *List) { l.Garments[0].Cost = 0 },
		"labour":  func(l *List) { l.LabourCostPerHour = 0 },
	} {
		l := workshop()
		spoil(&l)
		if q, err := Priced(l, work); err != nil || q.CostKnown || q.Cost.Minor != 0 || q.Margin.Minor != 0 {
			t.Errorf("without the cost of %s: %v, %v, %v, %v", what, q.CostKnown, q.Cost, q.Margin, err)
		}
	}
}

func TestPriced_smallestOrder(t *testing.T) {
	q, err := Priced(workshop(), Work{Garments: []GarmentUse{{"", 1}}, Pressing: 60})
	if err != nil {
		t.Fatal(err)
	}
	last := q.Lines[len(q.Lines)-1]
	if q.Net.Minor != 2000 || last.Key != KeySmallestOrder || q.Hint != nil {
		t.Errorf("net %v, last line %+v, hint %v", q.Net, last, q.Hint)
	}
}

func TestPriced_refusals(t *testing.T) {
	ok := Work{Film: []FilmUse{{"matt-red", 1}}, Garments: []GarmentUse{{"", 1}}}
	for _, row := range []struct {
		name   string
		list   func(*List)
		work   func(*Work)
		kind   fault.Kind
		reason fault.Reason
		fields int
	}{
		{"film not priced", nil, func(w *Work) { w.Film[0].Film = "gold" }, fault.Invalid, FilmNotPriced, 1},
		{"garment not priced", nil, func(w *Work) { w.Garments[0].Garment = "hat" }, fault.Invalid, GarmentNotPriced, 1},
		{"both at once", nil, func(w *Work) { w.Film[0].Film, w.Garments[0].Garment = "gold", "hat" }, fault.Invalid, FilmNotPriced, 2},
		{"no garments, a negative length, a negative time", nil, func(w *Work) { w.Garments, w.Film[0].Length, w.Cutting = nil, -1, -1 }, fault.Invalid, WorkInvalid, 3},
		{"list invalid", func(l *List) { l.Currency = "XXQ" }, nil, fault.Invalid, ListInvalid, 1},
		{"too many films in the list", func(l *List) { l.FilmPrices = make([]FilmPrice, MaxFilms+1) }, nil, fault.TooLarge, ListTooLarge, 0},
		{"too many breaks", func(l *List) { l.FilmPrices[0].Breaks = make([]Break, MaxBreaks+1) }, nil, fault.TooLarge, ListTooLarge, 0},
		{"too many uses", nil, func(w *Work) { w.Garments = make([]GarmentUse, MaxUses+1) }, fault.TooLarge, WorkTooLarge, 0},
	} {
		l, w := workshop(), ok
		w.Film, w.Garments = append([]FilmUse{}, ok.Film...), append([]GarmentUse{}, ok.Garments...)
		if row.list != nil {
			row.list(&l)
		}
		if row.work != nil {
			row.work(&w)
		}
		_, err := Priced(l, w)
		f, isFault := fault.As(err)
		if !isFault || f.Kind != row.kind || f.Reason != row.reason || len(f.Fields) != row.fields {
			t.Errorf("%s: got %v", row.name, err)
		}
	}
}

func TestList_Check_eachFaultOnce(t *testing.T) {
	if fs := workshop().Check(); len(fs) != 0 {
		t.Fatalf("a sound list has faults: %v", fs)
	}
	for _, row := range []struct {
		name  string
		spoil func(*List)
		path  string
	}{
		{"no title", func(l *List) { l.Title = "" }, "title"},
		{"unknown currency", func(l *List) { l.Currency = "XXQ" }, "currency"},
		{"tax above 100 %", func(l *List) { l.Tax = 1_000_001 }, "tax_ppm"},
		{"tax without a name", func(l *List) { l.TaxName = "" }, "tax_name"},
		{"negative waste", func(l *List) { l.WasteAllowance = -1 }, "waste_allowance_ppm"},
		{"rounding to nothing", func(l *List) { l.RoundTo = 0 }, "round_to"},
		{"breaks out of order", func(l *List) { l.FilmPrices[0].Breaks[2].From = 4000 }, "film_prices[0].breaks[2].from_mm"},
		{"the same break twice", func(l *List) { l.FilmPrices[0].Breaks[2].From = 5000 }, "film_prices[0].breaks[2].from_mm"},
		{"first break not from 0", func(l *List) { l.FilmPrices[1].Breaks[0].From = 1 }, "film_prices[1].breaks[0].from_mm"},
		{"negative length", func(l *List) { l.FilmPrices[1].Breaks[0].From = -1 }, "film_prices[1].breaks[0].from_mm"},
		{"price 0", func(l *List) { l.FilmPrices[0].Breaks[3].PerMetre = 0 }, "film_prices[0].breaks[3].per_metre"},
		{"negative price", func(l *List) { l.FilmPrices[0].Breaks[3].PerMetre = -7 }, "film_prices[0].breaks[3].per_metre"},
		{"longer is dearer", func(l *List) { l.FilmPrices[0].Breaks[3].PerMetre = 801 }, "film_prices[0].breaks[3].per_metre"},
		{"no breaks", func(l *List) { l.FilmPrices[1].Breaks = nil }, "film_prices[1].breaks"},
		{"film twice", func(l *List) { l.FilmPrices[1].Film = "matt-red" }, "film_prices[1].film"},
		{"garment twice", func(l *List) { l.Garments = append(l.Garments, l.Garments[0]) }, "garments[1].garment"},
		{"garment for nothing", func(l *List) { l.Garments[0].Each = 0 }, "garments[0].each"},
	} {
		l := workshop()
		row.spoil(&l)
		if fs := l.Check(); len(fs) != 1 || fs[0].Path != row.path {
			t.Errorf("%s: want one fault at %s, got %v", row.name, row.path, fs)
		}
	}
	all := List{Currency: "??", RoundTo: 1, FilmPrices: []FilmPrice{{}}}
	if fs := all.Check(); len(fs) != 5 { // title, market, currency, film, breaks
		t.Errorf("want every fault at once, got %v", fs)
	}
}

func TestLadder_byHand(t *testing.T) {
	got := Ladder(workshop().FilmPrices[0], 12_000)
	want := []Step{
		// 5 m at 9.00 are 45.00; at 10.00/m the first length above 45.00 is 4501 mm (45.01).
		{From: 0, To: 5000, PerMetre: 1000, AtFrom: 0, AtTo: 5000, AtNext: 4500, CheaperToReach: 4501},
		// 10 m at 8.00 are 80.00; at 9.00/m 8889 mm are 80.001 → 80.00, 8890 mm are 80.01.
		{From: 5000, To: 10_000, PerMetre: 900, AtFrom: 4500, AtTo: 9000, AtNext: 8000, CheaperToReach: 8890},
		{From: 10_000, To: 12_000, PerMetre: 800, AtFrom: 8000, AtTo: 9600, AtNext: 9600},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	if Ladder(FilmPrice{}, 100) != nil || Ladder(workshop().FilmPrices[0], 0) != nil {
		t.Error("a ladder was made from nothing")
	}
}
