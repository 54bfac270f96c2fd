package rpc

import (
	"context"

	compliancev1 "evenpeel/proto/evenpeel/compliance/v1"
	pricesv1 "evenpeel/proto/evenpeel/prices/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/sealed"
	"evenpeel/recipes/units"
	"evenpeel/server/access"
)

type pricesService struct {
	pricesv1.UnimplementedPricesServiceServer
}

func (*pricesService) Quote(_ context.Context, req *pricesv1.QuoteRequest) (*pricesv1.QuoteResponse, error) {
	work := prices.Work{Cutting: units.Seconds(req.GetCuttingSeconds()), Weeding: units.Seconds(req.GetWeedingSeconds()), Pressing: units.Seconds(req.GetPressingSeconds()), Designs: int(req.GetDesignsCount())}
	for _, f := range req.GetFilm() {
		work.Film = append(work.Film, prices.FilmUse{Film: f.GetFilm(), Length: units.Millimetres(f.GetLengthMm())})
	}
	for _, g := range req.GetGarments() {
		work.Garments = append(work.Garments, prices.GarmentUse{Garment: g.GetGarment(), Count: int(g.GetCount())})
	}
	q, err := prices.Priced(sealed.ListOf(req.GetList()), work)
	if err != nil {
		return nil, err
	}
	return quoteMessage(q), nil
}

func quoteMessage(q prices.Quote) *pricesv1.QuoteResponse {
	m := &pricesv1.QuoteResponse{
		NetMinor: q.Net.Minor, TaxMinor: q.Tax.Minor, GrossMinor: q.Gross.Minor, PerGarmentMinor: q.PerGarment.Minor, CurrencyCode: string(q.Payable.Currency), TaxName: q.TaxName,
		PayableMinor: q.Payable.Minor, CostKnown: q.CostKnown, CostMinor: q.Cost.Minor, MarginMinor: q.Margin.Minor, TaxPpm: int64(q.TaxRate),
	}
	if q.Hint != nil {
		m.Hint = q.Hint.Words
	}
	for _, l := range q.Lines {
		m.Lines = append(m.Lines, &pricesv1.QuoteLine{Key: l.Key, Words: l.Words, Quantity: l.Quantity, Unit: string(l.Unit), EachMinor: l.Each.Minor, AmountMinor: l.Amount.Minor})
	}
	return m
}

type complianceService struct {
	compliancev1.UnimplementedComplianceServiceServer
	h *House
}

func (s *complianceService) Judge(ctx context.Context, req *compliancev1.JudgeRequest) (*compliancev1.JudgeResponse, error) {
	m := req.GetSituation()
	market := m.GetMarket()
	if p, _ := access.PersonFrom(ctx); ofBranch(ctx) != "" {
		b, err := s.h.Register.Branch(ctx, p.Branch)
		if err != nil {
			return nil, err
		}
		market = string(b.Market)
	}
	now := s.h.Now()
	day := m.GetOn()
	if day == "" {
		day = now.UTC().Format("2006-01-02")
	}
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	sheet, _ := recipes.SheetAt(releases, "", recipes.Market(market), now)
	in, err := s.h.Opener.Opened(ctx, sheet)
	if err != nil {
		return nil, err
	}
	situation := compliance.Situation{
		Market: compliance.Market(market), On: day, Adult: m.GetAgeMonths() < 0, Age: units.Months(max(m.GetAgeMonths(), 0)), SoldAs: m.GetSoldAs(), Ownership: compliance.Ownership(m.GetOwnership()),
		MakerInUnion: market == "EU", Fabric: compliance.Fabric{Family: m.GetFabric(), Weight: units.GramsPerSquareMetre(m.GetFabricGramsPerM2())},
	}
	if m.GetFilm() != "" {
		situation.Films = []compliance.Film{{Film: m.GetFilm(), Colour: m.GetColour(), Lot: m.GetLot(), Chemistry: m.GetChemistry(), Glitter: m.GetGlitter()}}
	}
	verdict, err := compliance.Judged(situation, in.Notes, in.Certificates)
	if err != nil {
		return nil, err
	}
	return verdictMessage(verdict), nil
}

func verdictMessage(v compliance.Verdict) *compliancev1.JudgeResponse {
	m := &compliancev1.JudgeResponse{Disclaimer: v.Help}
	for _, part := range []struct {
		kind  string
		items []compliance.Item
	}{{"block", v.Blocks}, {"warning", v.Warnings}, {"label", v.Labels}, {"paper", v.Papers}, {"record", v.Records}, {"caution", v.Cautions}, {"spared", v.Spared}} {
		for _, i := range part.items {
			m.Findings = append(m.Findings, &compliancev1.Finding{Kind: part.kind, Rule: i.Rule, Words: i.Words, Citation: i.Citation, Seen: string(i.Seen), Exact: i.Exact, Language: i.Language})
		}
	}
	return m
}
