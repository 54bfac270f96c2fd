package sealed

import (
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes/placement"
	"evenpeel/recipes/units"
)

func placementsMessage(t placement.Table) *recordv1.PlacementTable {
	m := &recordv1.PlacementTable{Source: t.Source}
	for _, g := range t.Garments {
		garment := &recordv1.PlacementGarment{Kind: g.Kind, Title: g.Title, Child: g.Child, Bag: g.Bag, Source: g.Source}
		for _, s := range g.Sizes {
			garment.Sizes = append(garment.Sizes, &recordv1.PlacementSize{
				Name: s.Name, WidthMm: int64(s.Width), LengthMm: int64(s.Length), AcrossChestMm: int64(s.AcrossChest), ArmholeMm: int64(s.Armhole), FrontNeckMm: int64(s.FrontNeck),
				BackNeckMm: int64(s.BackNeck), NeckHalfMm: int64(s.NeckHalf), SleeveWidthMm: int64(s.SleeveWidth), SleeveLengthMm: int64(s.SleeveLength), PocketUpToHemMm: int64(s.PocketUpToHem),
			})
		}
		m.Garments = append(m.Garments, garment)
	}
	for _, p := range t.Places {
		place := &recordv1.PlacementPlace{
			Name: p.Name, Title: p.Title, Face: string(p.Face), Landmark: string(p.Landmark), OffsetMm: int64(p.Offset), AcrossMm: int64(p.Across), ClearMm: int64(p.Clear),
			Garments: p.Garments, Source: p.Source,
		}
		for _, b := range p.Bands {
			place.Bands = append(place.Bands, &recordv1.PlacementBand{UpToMm: int64(b.UpTo), LeastMm: int64(b.Least), UsualMm: int64(b.Usual), MostMm: int64(b.Most), TallestMm: int64(b.Tallest)})
		}
		m.Places = append(m.Places, place)
	}
	return m
}

func placementsOf(m *recordv1.PlacementTable) placement.Table {
	mm := func(v int64) units.Millimetres { return units.Millimetres(v) }
	t := placement.Table{Source: m.GetSource()}
	for _, g := range m.GetGarments() {
		garment := placement.Garment{Kind: g.GetKind(), Title: g.GetTitle(), Child: g.GetChild(), Bag: g.GetBag(), Source: g.GetSource()}
		for _, s := range g.GetSizes() {
			garment.Sizes = append(garment.Sizes, placement.Size{
				Name: s.GetName(), Width: mm(s.GetWidthMm()), Length: mm(s.GetLengthMm()), AcrossChest: mm(s.GetAcrossChestMm()), Armhole: mm(s.GetArmholeMm()), FrontNeck: mm(s.GetFrontNeckMm()),
				BackNeck: mm(s.GetBackNeckMm()), NeckHalf: mm(s.GetNeckHalfMm()), SleeveWidth: mm(s.GetSleeveWidthMm()), SleeveLength: mm(s.GetSleeveLengthMm()), PocketUpToHem: mm(s.GetPocketUpToHemMm()),
			})
		}
		t.Garments = append(t.Garments, garment)
	}
	for _, p := range m.GetPlaces() {
		place := placement.Place{
			Name: p.GetName(), Title: p.GetTitle(), Face: placement.Face(p.GetFace()), Landmark: placement.Landmark(p.GetLandmark()), Offset: mm(p.GetOffsetMm()), Across: mm(p.GetAcrossMm()), Clear: mm(p.GetClearMm()),
			Garments: p.GetGarments(), Source: p.GetSource(),
		}
		for _, b := range p.GetBands() {
			place.Bands = append(place.Bands, placement.Band{UpTo: mm(b.GetUpToMm()), Least: mm(b.GetLeastMm()), Usual: mm(b.GetUsualMm()), Most: mm(b.GetMostMm()), Tallest: mm(b.GetTallestMm())})
		}
		t.Places = append(t.Places, place)
	}
	return t
}
