package demo

import (
	"time"

	"evenpeel/recipes/compliance"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/units"
)

// list is a market's price list; dearer raises every price by so many per cent.
func list(title, market string, currency units.Currency, tax units.PartsPerMillion, dearer int64) prices.List {
	raised := func(v int64) int64 { return units.MulDiv(v, 100+dearer, 100) }
	l := prices.List{
		Title: title, Market: market, Currency: currency, LabourPerHour: raised(3600), LabourCostPerHour: raised(1900), SetUp: 600, Handling: 45,
		WasteAllowance: 60_000, ReprintAllowance: 30_000, Tax: tax, TaxName: "VAT", RoundTo: 1, SmallestOrder: 1200,
	}
	for _, s := range films() {
		l.FilmPrices = append(l.FilmPrices, prices.FilmPrice{Film: s.Code, CostPerMetre: raised(s.perMetre * 45 / 100), Breaks: []prices.Break{
			{From: 0, PerMetre: raised(s.perMetre)}, {From: 5_000, PerMetre: raised(s.perMetre * 92 / 100)},
			{From: 10_000, PerMetre: raised(s.perMetre * 84 / 100)}, {From: 25_000, PerMetre: raised(s.perMetre * 73 / 100)},
		}})
	}
	for _, g := range []prices.GarmentPrice{
		{Garment: "tee", Title: "T-shirt, cotton", Each: 690, Cost: 310}, {Garment: "sport-tee", Title: "Sports shirt, polyester", Each: 890, Cost: 420},
		{Garment: "hoodie", Title: "Hooded sweatshirt", Each: 2290, Cost: 1180}, {Garment: "child-tee", Title: "Child's T-shirt, cotton", Each: 590, Cost: 260},
		{Garment: "tote", Title: "Tote bag, cotton", Each: 390, Cost: 150}, {Garment: "cap", Title: "Cap", Each: 790, Cost: 360},
		{Garment: "apron", Title: "Apron, blend", Each: 1090, Cost: 520}, {Garment: "leggings", Title: "Leggings, stretch", Each: 1490, Cost: 700},
	} {
		g.Each, g.Cost = raised(g.Each), raised(g.Cost)
		l.Garments = append(l.Garments, g)
	}
	return l
}

// childNote is what head office says of a child's garment. It points to the law and the laboratory; it is neither.
func childNote(market compliance.Market, second bool) compliance.Note {
	n := compliance.Note{
		Title: "Children's garments, " + string(market), Market: market, AgeBelow: 168,
		Labels:   []compliance.Wording{{Language: "en", Words: "Wash inside out before wearing. Keep away from fire."}},
		Papers:   []string{"Film documents for the lot used, kept with the order", "Garment maker's own declaration"},
		Cautions: []compliance.Wording{{Language: "en", Words: "Weed small pieces with care: none may stay loose on a child's garment. Local law decides; in doubt ask an accredited laboratory."}},
	}
	if second {
		n.Cautions = append(n.Cautions, compliance.Wording{Language: "en", Words: "No decoration within reach of the mouth on garments for babies."})
	}
	return n
}

// lots are the film lots in stock, oldest first.
func lots(film string) []string {
	return []string{film + "-a3", film + "-b1", film + "-b4", film + "-c2"}
}

// certificates are film documents as suppliers hand them over, with dates around the day of loading.
func (l *loading) certificates() map[string]compliance.Certificate {
	day := func(months int) string { return l.day.AddDate(0, months, 0).Format(time.DateOnly) }
	topics := []string{compliance.TopicLead, compliance.TopicPhthalates, compliance.TopicCMR, compliance.TopicPAH, compliance.TopicCadmium}
	certificates := map[string]compliance.Certificate{}
	for i, film := range []string{"feather", "bendy", "plainfold", "glimmer", "dewfall", "paddle"} {
		certificates[film+"-component"] = compliance.Certificate{
			Scheme: "Component test", Number: "NQ-" + string(rune('1'+i)) + "07", Issuer: "Northquay Textile Laboratory (invented)", Kind: compliance.ComponentCertificate,
			Film: film, Lots: lots(film)[1:], ValidFrom: day(-13), ValidUntil: day(2 + 3*i), Class: 1 + i%2, Covers: topics,
		}
	}
	for _, film := range []string{"lamplight", "ridge", "mossnap"} {
		certificates[film+"-declaration"] = compliance.Certificate{
			Scheme: "Supplier declaration", Number: "SD-" + film, Issuer: "Fennimore Film Works (invented)", Kind: compliance.Declaration,
			Film: film, ValidFrom: day(-13), ValidUntil: day(11), Class: 2, Covers: topics[:3],
		}
	}
	return certificates
}
