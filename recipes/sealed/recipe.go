package sealed

import (
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/placement"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/units"
)

func contentMessage(c recipes.Content) (*recordv1.Content, error) {
	switch c := c.(type) {
	case recipes.Recipe:
		return &recordv1.Content{Content: &recordv1.Content_Recipe{Recipe: recipeMessage(c)}}, nil
	case prices.List:
		return &recordv1.Content{Content: &recordv1.Content_PriceList{PriceList: listMessage(c)}}, nil
	case compliance.Note:
		return &recordv1.Content{Content: &recordv1.Content_Note{Note: noteMessage(c)}}, nil
	case compliance.Certificate:
		return &recordv1.Content{Content: &recordv1.Content_Certificate{Certificate: certificateMessage(c)}}, nil
	case placement.Table:
		return &recordv1.Content{Content: &recordv1.Content_Placements{Placements: placementsMessage(c)}}, nil
	}
	return nil, fault.New(fault.Broken, room, "CONTENT_OF_NO_KIND", "A record of type %T can not be sealed.", c)
}

func contentOf(m *recordv1.Content) (recipes.Content, error) {
	switch c := m.GetContent().(type) {
	case *recordv1.Content_Recipe:
		return recipeOf(c.Recipe), nil
	case *recordv1.Content_PriceList:
		return ListOf(c.PriceList), nil
	case *recordv1.Content_Note:
		return noteOf(c.Note), nil
	case *recordv1.Content_Certificate:
		return certificateOf(c.Certificate), nil
	case *recordv1.Content_Placements:
		return placementsOf(c.Placements), nil
	}
	return nil, fault.New(fault.Invalid, room, "CONTENT_MISSING", "The record has no content.")
}

var peels = map[recipes.Peel]recordv1.Peel{recipes.Hot: recordv1.Peel_PEEL_HOT, recipes.Warm: recordv1.Peel_PEEL_WARM, recipes.Cold: recordv1.Peel_PEEL_COLD}
var turns = map[recipes.Turns]recordv1.Turns{recipes.NoTurn: recordv1.Turns_TURNS_NONE, recipes.HalfTurns: recordv1.Turns_TURNS_HALF, recipes.QuarterTurns: recordv1.Turns_TURNS_QUARTER}

// wordOf turns a word table round; an enum value that stands for nothing gives the zero word, which Check refuses.
func wordOf[W, E comparable](table map[W]E, e E) (word W) {
	for w, v := range table {
		if v == e {
			return w
		}
	}
	return word
}

func windowMessage[T units.Whole](w units.Window[T]) *recordv1.Window {
	return &recordv1.Window{Low: int64(w.Low), Set: int64(w.Set), High: int64(w.High)}
}

func windowOf[T units.Whole](m *recordv1.Window) units.Window[T] {
	return units.Window[T]{Low: T(m.GetLow()), Set: T(m.GetSet()), High: T(m.GetHigh())}
}

func recipeMessage(r recipes.Recipe) *recordv1.Recipe {
	f := r.Film
	return &recordv1.Recipe{
		Title: r.Title,
		Film: &recordv1.Film{
			Code: f.Code, Title: f.Title, Chemistry: f.Chemistry, Glitter: f.Glitter, ThicknessUm: int64(f.Thickness), CarrierUm: int64(f.Carrier),
			RollWidthMm: int64(f.RollWidth), Colours: f.Colours, MinStrokeUm: int64(f.MinStroke), MinGapUm: int64(f.MinGap),
			SmallestPieceMm2: int64(f.SmallestPiece), Turns: turns[f.Turns], Care: CareMessage(f.Care),
		},
		Fabric: string(r.Fabric), CutSpeedMmPerSecond: windowMessage(r.CutSpeed), CutForceGrams: windowMessage(r.CutForce), BladeDepthUm: windowMessage(r.BladeDepth),
		Passes: r.Passes, GapMm: int64(r.Gap), WeedBorderMm: int64(r.WeedBorder), PressTemperatureCelsius: windowMessage(r.Temperature),
		PrePressSeconds: int64(r.PrePress), DwellSeconds: windowMessage(r.Dwell), PressureKpa: windowMessage(r.Pressure), Peel: peels[r.Peel],
		PeelWaitSeconds: int64(r.PeelWait), SecondPressSeconds: int64(r.SecondPress), CoverSheet: r.CoverSheet, Advice: r.Advice,
	}
}

func recipeOf(m *recordv1.Recipe) recipes.Recipe {
	f := m.GetFilm()
	return recipes.Recipe{
		Title: m.GetTitle(),
		Film: recipes.Film{
			Code: f.GetCode(), Title: f.GetTitle(), Chemistry: f.GetChemistry(), Glitter: f.GetGlitter(), Thickness: units.Micrometres(f.GetThicknessUm()), Carrier: units.Micrometres(f.GetCarrierUm()),
			RollWidth: units.Millimetres(f.GetRollWidthMm()), Colours: f.GetColours(), MinStroke: units.Micrometres(f.GetMinStrokeUm()), MinGap: units.Micrometres(f.GetMinGapUm()),
			SmallestPiece: units.SquareMillimetres(f.GetSmallestPieceMm2()), Turns: wordOf(turns, f.GetTurns()), Care: CareOf(f.GetCare()),
		},
		Fabric: recipes.Fabric(m.GetFabric()), CutSpeed: windowOf[units.MillimetresPerSecond](m.GetCutSpeedMmPerSecond()), CutForce: windowOf[units.GramsForce](m.GetCutForceGrams()),
		BladeDepth: windowOf[units.Micrometres](m.GetBladeDepthUm()), Passes: m.GetPasses(), Gap: units.Millimetres(m.GetGapMm()), WeedBorder: units.Millimetres(m.GetWeedBorderMm()),
		Temperature: windowOf[units.Celsius](m.GetPressTemperatureCelsius()), PrePress: units.Seconds(m.GetPrePressSeconds()), Dwell: windowOf[units.Seconds](m.GetDwellSeconds()),
		Pressure: windowOf[units.Kilopascals](m.GetPressureKpa()), Peel: wordOf(peels, m.GetPeel()), PeelWait: units.Seconds(m.GetPeelWaitSeconds()),
		SecondPress: units.Seconds(m.GetSecondPressSeconds()), CoverSheet: m.GetCoverSheet(), Advice: m.GetAdvice(),
	}
}

// CareMessage is a care label as the wire carries it.
func CareMessage(l care.Label) *recordv1.Care {
	return &recordv1.Care{
		WashMaxCelsius: int64(l.WashMax), Wash: string(l.Wash), Bleach: string(l.Bleach), Tumble: string(l.Tumble), Flat: l.Flat, Drip: l.Drip, Shade: l.Shade,
		Iron: string(l.Iron), Dry: string(l.Dry), DryAction: string(l.DryAction), Wet: string(l.Wet),
	}
}

// CareOf is the label that the wire brought; Check it before use.
func CareOf(m *recordv1.Care) care.Label {
	return care.Label{
		WashMax: units.Celsius(m.GetWashMaxCelsius()), Wash: care.Action(m.GetWash()), Bleach: care.Bleach(m.GetBleach()), Tumble: care.Tumble(m.GetTumble()),
		Flat: m.GetFlat(), Drip: m.GetDrip(), Shade: m.GetShade(), Iron: care.Iron(m.GetIron()), Dry: care.Solvent(m.GetDry()), DryAction: care.Action(m.GetDryAction()), Wet: care.Wet(m.GetWet()),
	}
}
