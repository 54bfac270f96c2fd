package press

import "evenpeel/recipes/units"

// FabricFamily is the kind of cloth a recipe is for.
type FabricFamily string

// The families.
const (
	Cotton    FabricFamily = "cotton"
	Polyester FabricFamily = "polyester"
	Blend     FabricFamily = "blend" // cotton and polyester
	Nylon     FabricFamily = "nylon"
	Stretch   FabricFamily = "stretch" // polyester with elastane
)

// Mark says how well a number is founded.
type Mark string

// The marks, best first.
const (
	Read    Mark = "read"    // seen in the source named
	Memory  Mark = "memory"  // from memory of the source named, not seen
	Assumed Mark = "assumed" // no source found; a choice of ours
)

// Limit is the highest temperature that a family's face should see.
type Limit struct {
	Family  FabricFamily
	Ceiling units.Celsius
	Why     string
	Source  string
	Mark    Mark
}

// Limits lists every family once.
func Limits() []Limit {
	return []Limit{
		{Cotton, 150, "Cotton begins to discolour.", "lecture slides on physical properties of textile fibres: begins to discolour 150 °C, decomposes 240 °C", Read},
		{Polyester, 180, "Disperse dye may turn to vapour and colour the film.", "trade page of 2023 naming setting above 180 °C as risky; disperse dyes are commonly tested for it at 180 and 210 °C for 30 s (trade page of 2010)", Read},
		{Blend, 150, "The lower limit of its two fibres, cotton's.", "as for cotton", Read},
		{Nylon, 160, "Nylon may shrink, and nylon 6 sticks not far above.", "trade page of 2014: heat shrinkage is tried at 170 °C, on polyamide at 160 °C; sticking point of nylon 6, 170–180 °C, is from memory", Read},
		{Stretch, 170, "Elastane begins to stick and loses its spring.", "softening point of elastane 170–230 °C, textile physics tables", Memory},
	}
}

// LimitOf is the limit of one family; ok is false for a family that does not exist.
func LimitOf(family FabricFamily) (limit Limit, ok bool) {
	for _, l := range Limits() {
		if l.Family == family {
			return l, true
		}
	}
	return Limit{}, false
}

// StandardRegain is the commercial moisture regain of a family, as a part of the dry mass. It is an agreed value for
// trade, not a measurement (ASTM D1909-04, clause 4.1): a cloth on a humid day holds more. Zero for an unknown family.
//
// Source: ASTM D1909-13 as cited in Bioresour. Bioprocess. (2020) 7, table 10 (cotton 8.5 %); a textile calculation
// page of 2015 (polyester 0.4 %, nylon 4.0 %). A blend is taken half and half: ours.
func StandardRegain(family FabricFamily) units.PartsPerMillion {
	switch family {
	case Cotton:
		return 85_000
	case Polyester, Stretch:
		return 4_000
	case Blend:
		return 44_500
	case Nylon:
		return 40_000
	}
	return 0
}

// cloth is how a family behaves under a closed press. Pressed density has no source: no table of thickness against
// press pressure was found (shared reference physics H.1).
type cloth struct {
	pressedDensity float64 // kg/m³, with its water
	k              float64 // W/(m·K)
	cp             float64 // J/(kg·K), dry
}

// Heat capacities: Morton & Hearle, Physical Properties of Textile Fibres, table 6.1. Conductivities: assumed near
// DIN EN 12524:2000, carpet and textile flooring 0.06; nylon woven assumed 0.12. A blend is the mean of its two.
var cloths = map[FabricFamily]cloth{
	Cotton:    {250, 0.06, 1300},
	Polyester: {300, 0.06, 1030},
	Blend:     {275, 0.06, 1165},
	Nylon:     {667, 0.12, 1430},
	Stretch:   {300, 0.06, 1030},
}

// layer is the cloth of a weight in g/m² as it lies, holding a regain.
func (c cloth) layer(weight, regain float64) Layer {
	dry := c.pressedDensity / (1 + regain)
	return Layer{
		Name: "fabric", ThicknessUM: weight / c.pressedDensity * 1000,
		K: c.k, Rho: dry, Cp: c.cp, Water: dry * regain, ContactBelow: fabricOnPad, Start: roomTemperature,
	}
}
