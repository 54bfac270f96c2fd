// Package prices holds head office's price lists and works one piece of work out into a quote, line by line, in
// whole minor units of one currency.
//
// Room: prices
// Holds: List, Work, Quote, Priced, Ladder, Shares
// May touch: recipes/units, recipes/fault
// Never: floats, two currencies in one quote, a total that its lines do not add up to
package prices

import (
	"unicode/utf8"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

const room = "prices"

// Reasons of this room; append only.
const (
	ListInvalid      fault.Reason = "LIST_INVALID"
	WorkInvalid      fault.Reason = "WORK_INVALID"
	FilmNotPriced    fault.Reason = "FILM_NOT_PRICED"
	GarmentNotPriced fault.Reason = "GARMENT_NOT_PRICED"
	ListTooLarge     fault.Reason = "LIST_TOO_LARGE"
	WorkTooLarge     fault.Reason = "WORK_TOO_LARGE"
)

// Limits of one list and one piece of work. They are chosen so that no sum can leave 64 bits: every amount stays
// below 10^18 minor units.
const (
	MaxFilms    = 500
	MaxBreaks   = 50
	MaxGarments = 2000
	MaxUses     = 200           // film uses, and garment uses, of one piece of work
	MaxPrice    = 1_000_000_000 // minor units, per metre, piece or hour
	MaxLength   = 10_000_000    // mm of one film use: 10 km
	MaxCount    = 100_000       // pieces of one garment use
	MaxDesigns  = 10_000
	MaxTime     = 100_000_000 // s of cutting, weeding or pressing
	maxWords    = 200         // characters of a title or name
	maxSetUp    = 86_400      // s per design or colour: one day
	maxHandling = 3600        // s per garment: one hour
	maxRounding = 100_000     // minor units
)

const whole = 1_000_000 // parts per million

// Break is one step of a falling price.
type Break struct {
	From     units.Millimetres // film length from which this price holds, for the whole length
	PerMetre int64             // minor units per metre
}

// FilmPrice is what one film is sold for by the metre. The first break starts at 0.
type FilmPrice struct {
	Film         string
	Breaks       []Break
	CostPerMetre int64 // what the film costs the branch, minor units per metre; 0 where it is not stated
}

// GarmentPrice is one garment of our own stock. A customer's own garment is not listed: it is free.
type GarmentPrice struct {
	Garment, Title string
	Each           int64 // minor units
	Cost           int64 // what the garment costs the branch; 0 where it is not stated
}

// List is the content of a sealed price list. Each rate is handed to Priced as it stands here.
type List struct {
	Title             string
	Market            string
	Currency          units.Currency
	FilmPrices        []FilmPrice
	Garments          []GarmentPrice
	LabourPerHour     int64         // minor units asked per hour
	LabourCostPerHour int64         // minor units the branch pays per hour; 0 where it is not stated
	SetUp             units.Seconds // per design or colour, spread over the count
	Handling          units.Seconds // per garment: unpack, lay, fold
	WasteAllowance    units.PartsPerMillion
	ReprintAllowance  units.PartsPerMillion
	Tax               units.PartsPerMillion
	TaxName           string
	TaxIncluded       bool  // the prices of this list are gross
	TaxPerLine        bool  // tax is rounded on each line, not on the total
	RoundTo           int64 // minor units that the amount to pay is a multiple of; 1 for no rounding
	SmallestOrder     int64 // least sum of the lines, minor units, in the list's own terms (gross or net)
}

// Check reports every fault of the list at once.
func (l List) Check() fault.Fields {
	var fs fault.Fields
	name(&fs, "title", l.Title)
	name(&fs, "market", l.Market)
	if _, ok := units.MinorDigits(l.Currency); !ok {
		fs.Add("currency", "%q is not a currency this program knows; use an ISO 4217 code such as EUR or GBP", l.Currency)
	}
	within(&fs, "labour_per_hour", l.LabourPerHour, 0, MaxPrice)
	within(&fs, "labour_cost_per_hour", l.LabourCostPerHour, 0, MaxPrice)
	within(&fs, "set_up_seconds", int64(l.SetUp), 0, maxSetUp)
	within(&fs, "handling_seconds", int64(l.Handling), 0, maxHandling)
	share(&fs, "waste_allowance_ppm", l.WasteAllowance)
	share(&fs, "reprint_allowance_ppm", l.ReprintAllowance)
	share(&fs, "tax_ppm", l.Tax)
	if l.Tax > 0 {
		name(&fs, "tax_name", l.TaxName)
	}
	within(&fs, "round_to", l.RoundTo, 1, maxRounding)
	within(&fs, "smallest_order", l.SmallestOrder, 0, MaxPrice)
	l.checkFilms(&fs)
	l.checkGarments(&fs)
	return fs
}

func (l List) checkFilms(fs *fault.Fields) {
	if tooMany(fs, "film_prices", len(l.FilmPrices), MaxFilms) {
		return
	}
	seen := map[string]int{}
	for i, f := range l.FilmPrices {
		path := at("film_prices", i)
		fs.Under(path, f.Check())
		if first, ok := seen[f.Film]; ok {
			fs.Add(path+".film", "%q is already priced in film_prices[%d]; keep one of them", f.Film, first)
			continue
		}
		seen[f.Film] = i
	}
}

func (l List) checkGarments(fs *fault.Fields) {
	if tooMany(fs, "garments", len(l.Garments), MaxGarments) {
		return
	}
	seen := map[string]int{}
	for i, g := range l.Garments {
		path := at("garments", i)
		name(fs, path+".garment", g.Garment)
		name(fs, path+".title", g.Title)
		within(fs, path+".each", g.Each, 1, MaxPrice)
		within(fs, path+".cost", g.Cost, 0, MaxPrice)
		if first, ok := seen[g.Garment]; ok {
			fs.Add(path+".garment", "%q is already priced in garments[%d]; keep one of them", g.Garment, first)
			continue
		}
		seen[g.Garment] = i
	}
}

// Check reports every fault of one film's price: breaks in order, the first from 0, the price falling.
func (f FilmPrice) Check() fault.Fields {
	var fs fault.Fields
	name(&fs, "film", f.Film)
	within(&fs, "cost_per_metre", f.CostPerMetre, 0, MaxPrice)
	if len(f.Breaks) == 0 {
		fs.Add("breaks", "is empty; give at least the price from 0 mm")
	}
	if tooMany(&fs, "breaks", len(f.Breaks), MaxBreaks) {
		return fs
	}
	for i, b := range f.Breaks {
		path := at("breaks", i)
		within(&fs, path+".per_metre", b.PerMetre, 1, MaxPrice)
		switch {
		case b.From < 0 || b.From > MaxLength:
			within(&fs, path+".from_mm", int64(b.From), 0, MaxLength)
		case i == 0 && b.From != 0:
			fs.Add(path+".from_mm", "is %d; the first price must hold from 0 mm", b.From)
		case i > 0 && b.From <= f.Breaks[i-1].From:
			fs.Add(path+".from_mm", "is %d, not above the %d of the break before; put the breaks in rising order", b.From, f.Breaks[i-1].From)
		}
		if i > 0 && b.PerMetre >= 1 && b.PerMetre >= f.Breaks[i-1].PerMetre {
			fs.Add(path+".per_metre", "is %d, not below the %d of the break before; a longer length must cost less per metre", b.PerMetre, f.Breaks[i-1].PerMetre)
		}
	}
	return fs
}

func (l List) large() bool {
	if len(l.FilmPrices) > MaxFilms || len(l.Garments) > MaxGarments {
		return true
	}
	for _, f := range l.FilmPrices {
		if len(f.Breaks) > MaxBreaks {
			return true
		}
	}
	return false
}

func name(fs *fault.Fields, path, words string) {
	switch n := utf8.RuneCountInString(words); {
	case n == 0:
		fs.Add(path, "is empty")
	case n > maxWords:
		fs.Add(path, "has %d characters; the limit is %d", n, maxWords)
	}
}

func within(fs *fault.Fields, path string, v, low, high int64) {
	if v < low || v > high {
		fs.Add(path, "is %d; it must lie from %d to %d", v, low, high)
	}
}

func share(fs *fault.Fields, path string, v units.PartsPerMillion) {
	if v < 0 || v > whole {
		fs.Add(path, "is %d parts per million; it must lie from 0 to 1000000 (100 %%)", v)
	}
}

func tooMany(fs *fault.Fields, path string, n, limit int) bool {
	if n > limit {
		fs.Add(path, "has %d entries; the limit is %d", n, limit)
		return true
	}
	return false
}
