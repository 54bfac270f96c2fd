package prices

import (
	"fmt"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Units of a line's quantity, and what its Each is the price of.
const (
	ByLength = "mm"    // Each is per metre
	ByPiece  = "piece" // Each is per piece
	ByTime   = "s"     // Each is per hour
	Lump     = ""      // Each is the amount
)

// Keys of the lines that every list can have; film and garment lines add ":" and the name.
const (
	KeyFilm          = "film"
	KeyGarment       = "garment"
	KeySetUp         = "set_up"
	KeyCutting       = "cutting"
	KeyWeeding       = "weeding"
	KeyPressing      = "pressing"
	KeyHandling      = "handling"
	KeyReprints      = "reprints"
	KeySmallestOrder = "smallest_order"
)

// Line is one row of a quote. Amount is Each × Quantity in the line's unit, rounded half away from zero once.
// Amount is in the list's own terms: gross where the list includes tax, otherwise net.
type Line struct {
	Key, Words   string
	Quantity     int64
	Unit         string
	Each, Amount units.Money
	Tax          units.Money // this line's part of the tax; the parts add up to Quote.Tax
}

// Quote is a price worked out. The lines' amounts add up to Gross where TaxIncluded, otherwise to Net;
// Net + Tax = Gross; Gross + Rounding = Payable; the lines' taxes add up to Tax. Always, to the minor unit.
// Rounding comes after tax, as at a till (Government of Canada, Budget 2012, "Rounding").
type Quote struct {
	Lines           []Line
	Net, Tax, Gross units.Money
	TaxName         string
	TaxRate         units.PartsPerMillion
	TaxIncluded     bool
	Rounding        units.Money // up or down to the list's RoundTo
	Payable         units.Money // what the customer is asked for, a multiple of RoundTo
	PerGarment      units.Money // Payable ÷ garments, rounded: for showing, never for adding up
	SetUpPerGarment units.Money // the set-up line spread over the count, rounded, for showing
	Hint            *Hint       // nil where no longer length costs less
	CostKnown       bool        // every film, garment and hour of the work has its cost in the list
	Cost, Margin    units.Money // expected cost with the allowances, and Net less Cost; zero where not CostKnown
}

// Priced works the list out for the work.
// Invalid LIST_INVALID and WORK_INVALID name every field; TooLarge names a limit; FILM_NOT_PRICED and
// GARMENT_NOT_PRICED name everything that the list lacks.
func Priced(l List, w Work) (Quote, error) {
	if l.large() {
		return Quote{}, fault.New(fault.TooLarge, room, ListTooLarge, "The price list holds more than %d films, %d breaks of one film or %d garments. Split it.", MaxFilms, MaxBreaks, MaxGarments)
	}
	if len(w.Film) > MaxUses || len(w.Garments) > MaxUses {
		return Quote{}, fault.New(fault.TooLarge, room, WorkTooLarge, "The order names more than %d films or garments. Split it.", MaxUses)
	}
	if err := l.Check().Fault(room, ListInvalid, "The price list cannot be used yet. Mend the fields named."); err != nil {
		return Quote{}, err
	}
	if err := w.Check().Fault(room, WorkInvalid, "The work cannot be priced as it stands. Mend the fields named."); err != nil {
		return Quote{}, err
	}
	b, err := newBill(l, w)
	if err != nil {
		return Quote{}, err
	}
	q := b.quote(nil)
	q.Hint = b.hint(q)
	q.Cost, q.CostKnown = b.cost()
	if q.CostKnown {
		q.Margin = b.money(q.Net.Minor - q.Cost.Minor)
	}
	return q, nil
}

// bill is the work with each film and garment matched to its price.
type bill struct {
	list        List
	work        Work
	films       []FilmUse // charged lengths: the waste allowance is in
	filmPrices  []FilmPrice
	own         []GarmentUse
	ownPrices   []GarmentPrice
	count       int64
	setUpLength units.Seconds
}

func newBill(l List, w Work) (*bill, error) {
	b := &bill{list: l, work: w, films: w.films(), setUpLength: units.Seconds(w.Designs) * l.SetUp}
	b.own, b.count = w.garments()
	films, garments := map[string]FilmPrice{}, map[string]GarmentPrice{}
	for _, f := range l.FilmPrices {
		films[f.Film] = f
	}
	for _, g := range l.Garments {
		garments[g.Garment] = g
	}
	var missing fault.Fields
	reason := FilmNotPriced
	for i, u := range b.films {
		p, ok := films[u.Film]
		if !ok {
			missing.Add("film", "%q has no price in %q", u.Film, l.Title)
		}
		b.filmPrices = append(b.filmPrices, p)
		b.films[i].Length = withWaste(u.Length, l.WasteAllowance)
	}
	if len(missing) == 0 {
		reason = GarmentNotPriced
	}
	for _, u := range b.own {
		p, ok := garments[u.Garment]
		if !ok {
			missing.Add("garments", "%q has no price in %q", u.Garment, l.Title)
		}
		b.ownPrices = append(b.ownPrices, p)
	}
	return b, missing.Fault(room, reason, "The price list lacks something this order uses. Ask head office to add it, or choose another.")
}

// withWaste adds the allowance and rounds up to the next whole millimetre: film is never given short.
func withWaste(length units.Millimetres, allowance units.PartsPerMillion) units.Millimetres {
	parts := int64(length) * int64(allowance) // at most 2·10^9 · 10^6
	return length + units.Millimetres((parts+whole-1)/whole)
}

func (b *bill) money(minor int64) units.Money {
	return units.Money{Minor: minor, Currency: b.list.Currency}
}

// quote makes the lines and the totals; longer replaces the charged length of one film for the hint.
func (b *bill) quote(longer *Hint) Quote {
	l := b.list
	q := Quote{TaxName: l.TaxName, TaxRate: l.Tax, TaxIncluded: l.TaxIncluded}
	var sum, again int64 // again: what is spent a second time where something is made again
	add := func(key, words string, quantity int64, unit string, each, amount int64, repeats bool) {
		if amount == 0 && quantity == 0 {
			return
		}
		sum += amount
		if repeats {
			again += amount
		}
		q.Lines = append(q.Lines, Line{Key: key, Words: words, Quantity: quantity, Unit: unit, Each: b.money(each), Amount: b.money(amount)})
	}
	for i, u := range b.films {
		length := u.Length
		if longer != nil && longer.Film == u.Film {
			length = longer.To
		}
		each := b.filmPrices[i].at(length).PerMetre
		add(KeyFilm+":"+u.Film, "Film "+u.Film, int64(length), ByLength, each, forLength(each, length), true)
	}
	for i, u := range b.own {
		each := b.ownPrices[i].Each
		add(KeyGarment+":"+u.Garment, b.ownPrices[i].Title, int64(u.Count), ByPiece, each, each*int64(u.Count), true)
	}
	setUp := forTime(l.LabourPerHour, b.setUpLength)
	for _, t := range []struct {
		key, words string
		span       units.Seconds
		repeats    bool
	}{
		{KeySetUp, fmt.Sprintf("Set-up of %d designs or colours, spread over %d garments", b.work.Designs, b.count), b.setUpLength, false},
		{KeyCutting, "Cutting", b.work.Cutting, true},
		{KeyWeeding, "Weeding", b.work.Weeding, true},
		{KeyPressing, "Pressing", b.work.Pressing, true},
		{KeyHandling, "Handling of garments", units.Seconds(b.count) * l.Handling, true},
	} {
		add(t.key, t.words, int64(t.span), ByTime, l.LabourPerHour, forTime(l.LabourPerHour, t.span), t.repeats)
	}
	lump := func(key, words string, amount int64) {
		if amount != 0 {
			add(key, words, 1, Lump, amount, amount, false)
		}
	}
	lump(KeyReprints, "Allowance for garments made again", units.MulDiv(again, int64(l.ReprintAllowance), whole))
	lump(KeySmallestOrder, "Up to the smallest order", max(0, l.SmallestOrder-sum))
	b.taxed(&q, sum)
	q.Payable = b.money(units.MulDiv(q.Gross.Minor, 1, l.RoundTo) * l.RoundTo)
	q.Rounding = b.money(q.Payable.Minor - q.Gross.Minor)
	q.PerGarment = b.money(units.MulDiv(q.Payable.Minor, 1, b.count))
	q.SetUpPerGarment = b.money(units.MulDiv(setUp, 1, b.count))
	return q
}

// cost is what the branch is expected to spend: film with waste, garments and hours, each with its reprints.
// It is known only where the list states a cost for everything the work uses.
func (b *bill) cost() (units.Money, bool) {
	var again int64
	for i, u := range b.films {
		if b.filmPrices[i].CostPerMetre == 0 {
			return units.Money{}, false
		}
		again += forLength(b.filmPrices[i].CostPerMetre, u.Length)
	}
	for i, u := range b.own {
		if b.ownPrices[i].Cost == 0 {
			return units.Money{}, false
		}
		again += b.ownPrices[i].Cost * int64(u.Count)
	}
	hours := b.work.Cutting + b.work.Weeding + b.work.Pressing + units.Seconds(b.count)*b.list.Handling
	if hours+b.setUpLength > 0 && b.list.LabourCostPerHour == 0 {
		return units.Money{}, false
	}
	again += forTime(b.list.LabourCostPerHour, hours)
	once := forTime(b.list.LabourCostPerHour, b.setUpLength)
	return b.money(again + once + units.MulDiv(again, int64(b.list.ReprintAllowance), whole)), true
}

func forLength(perMetre int64, length units.Millimetres) int64 {
	return units.MulDiv(perMetre, int64(length), 1000)
}

func forTime(perHour int64, span units.Seconds) int64 {
	return units.MulDiv(perHour, int64(span), 3600)
}
