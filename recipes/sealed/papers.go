package sealed

import (
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/units"
)

func listMessage(l prices.List) *recordv1.PriceList {
	m := &recordv1.PriceList{
		Title: l.Title, Market: l.Market, CurrencyCode: string(l.Currency), LabourPerHourMinor: l.LabourPerHour, LabourCostPerHourMinor: l.LabourCostPerHour,
		SetUpSeconds: int64(l.SetUp), HandlingSeconds: int64(l.Handling), WasteAllowancePpm: int64(l.WasteAllowance), ReprintAllowancePpm: int64(l.ReprintAllowance),
		TaxPpm: int64(l.Tax), TaxName: l.TaxName, TaxIncluded: l.TaxIncluded, TaxPerLine: l.TaxPerLine, RoundToMinor: l.RoundTo, SmallestOrderMinor: l.SmallestOrder,
	}
	for _, f := range l.FilmPrices {
		price := &recordv1.FilmPrice{Film: f.Film, CostPerMetreMinor: f.CostPerMetre}
		for _, b := range f.Breaks {
			price.Breaks = append(price.Breaks, &recordv1.PriceBreak{FromMm: int64(b.From), PerMetreMinor: b.PerMetre})
		}
		m.FilmPrices = append(m.FilmPrices, price)
	}
	for _, g := range l.Garments {
		m.Garments = append(m.Garments, &recordv1.GarmentPrice{Garment: g.Garment, Title: g.Title, EachMinor: g.Each, CostMinor: g.Cost})
	}
	return m
}

// ListOf is a price list as the wire carries it; a quote may be asked of one that is not sealed yet.
func ListOf(m *recordv1.PriceList) prices.List {
	l := prices.List{
		Title: m.GetTitle(), Market: m.GetMarket(), Currency: units.Currency(m.GetCurrencyCode()), LabourPerHour: m.GetLabourPerHourMinor(), LabourCostPerHour: m.GetLabourCostPerHourMinor(),
		SetUp: units.Seconds(m.GetSetUpSeconds()), Handling: units.Seconds(m.GetHandlingSeconds()), WasteAllowance: units.PartsPerMillion(m.GetWasteAllowancePpm()), ReprintAllowance: units.PartsPerMillion(m.GetReprintAllowancePpm()),
		Tax: units.PartsPerMillion(m.GetTaxPpm()), TaxName: m.GetTaxName(), TaxIncluded: m.GetTaxIncluded(), TaxPerLine: m.GetTaxPerLine(), RoundTo: m.GetRoundToMinor(), SmallestOrder: m.GetSmallestOrderMinor(),
	}
	for _, f := range m.GetFilmPrices() {
		price := prices.FilmPrice{Film: f.GetFilm(), CostPerMetre: f.GetCostPerMetreMinor()}
		for _, b := range f.GetBreaks() {
			price.Breaks = append(price.Breaks, prices.Break{From: units.Millimetres(b.GetFromMm()), PerMetre: b.GetPerMetreMinor()})
		}
		l.FilmPrices = append(l.FilmPrices, price)
	}
	for _, g := range m.GetGarments() {
		l.Garments = append(l.Garments, prices.GarmentPrice{Garment: g.GetGarment(), Title: g.GetTitle(), Each: g.GetEachMinor(), Cost: g.GetCostMinor()})
	}
	return l
}

func wordingMessages(ws []compliance.Wording) (out []*recordv1.Words) {
	for _, w := range ws {
		out = append(out, &recordv1.Words{Language: w.Language, Text: w.Words})
	}
	return out
}

func wordingsOf(ms []*recordv1.Words) (out []compliance.Wording) {
	for _, m := range ms {
		out = append(out, compliance.Wording{Language: m.GetLanguage(), Words: m.GetText()})
	}
	return out
}

func noteMessage(n compliance.Note) *recordv1.Note {
	return &recordv1.Note{
		Title: n.Title, Market: string(n.Market), AgeBelowMonths: int64(n.AgeBelow), SoldAs: n.SoldAs, Films: n.Films, Labels: wordingMessages(n.Labels),
		Papers: n.Papers, Cautions: wordingMessages(n.Cautions), Blocks: n.Blocks, Reason: n.Reason,
	}
}

func noteOf(m *recordv1.Note) compliance.Note {
	return compliance.Note{
		Title: m.GetTitle(), Market: compliance.Market(m.GetMarket()), AgeBelow: units.Months(m.GetAgeBelowMonths()), SoldAs: m.GetSoldAs(), Films: m.GetFilms(),
		Labels: wordingsOf(m.GetLabels()), Papers: m.GetPapers(), Cautions: wordingsOf(m.GetCautions()), Blocks: m.GetBlocks(), Reason: m.GetReason(),
	}
}

func certificateMessage(c compliance.Certificate) *recordv1.Certificate {
	m := &recordv1.Certificate{
		Scheme: c.Scheme, Number: c.Number, Issuer: c.Issuer, Kind: string(c.Kind), Film: c.Film, Garment: c.Garment, Colours: c.Colours, Lots: c.Lots,
		ValidFrom: c.ValidFrom, ValidUntil: c.ValidUntil, ProductClass: int64(c.Class), Covers: c.Covers,
	}
	for _, market := range c.Markets {
		m.Markets = append(m.Markets, string(market))
	}
	for _, r := range c.Results {
		m.Results = append(m.Results, &recordv1.Measure{Quantity: r.Quantity, ValueMilli: r.Thousandths, Unit: r.Unit})
	}
	return m
}

func certificateOf(m *recordv1.Certificate) compliance.Certificate {
	c := compliance.Certificate{
		Scheme: m.GetScheme(), Number: m.GetNumber(), Issuer: m.GetIssuer(), Kind: compliance.Kind(m.GetKind()), Film: m.GetFilm(), Garment: m.GetGarment(), Colours: m.GetColours(), Lots: m.GetLots(),
		ValidFrom: m.GetValidFrom(), ValidUntil: m.GetValidUntil(), Class: int(m.GetProductClass()), Covers: m.GetCovers(),
	}
	for _, market := range m.GetMarkets() {
		c.Markets = append(c.Markets, compliance.Market(market))
	}
	for _, r := range m.GetResults() {
		c.Results = append(c.Results, compliance.Measure{Quantity: r.GetQuantity(), Thousandths: r.GetValueMilli(), Unit: r.GetUnit()})
	}
	return c
}
