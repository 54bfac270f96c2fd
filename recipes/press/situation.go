package press

import (
	"fmt"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Situation is one pressing: what is dialled and what lies under the platen.
type Situation struct {
	Platen     units.Celsius // of the platen's face, 60 to 250
	Pad        units.Celsius // of the lower pad when the garment is laid on it, 0 to 120 and below the platen
	CoverSheet bool          // a sheet of release paper between platen and work
	Carrier    units.Micrometres
	Film       units.Micrometres
	Fabric     FabricFamily
	Weight     units.GramsPerSquareMetre
	Regain     units.PartsPerMillion // water as a part of the dry mass, 0 to 1 000 000; see StandardRegain
	PrePress   units.Seconds         // of the bare garment, 0 to 60; 0 is none
	Place      units.Seconds         // press open between pre-press and dwell, 0 to 300; does nothing without a pre-press
	Dwell      units.Seconds         // 1 to 300
	// AdhesiveFrom and AdhesiveTo are the bond-line range that the film's maker states. Zero is "not stated".
	AdhesiveFrom, AdhesiveTo units.Celsius
}

// Check gathers every wrong field: Invalid SITUATION_INVALID.
func (s Situation) Check() error {
	var fields fault.Fields
	whole := func(path string, v, low, high int64, unit string) {
		if v < low || v > high {
			fields.Add(path, "is %d %s; must be %d to %d", v, unit, low, high)
		}
	}
	whole("platen", int64(s.Platen), 60, 250, "°C")
	whole("pad", int64(s.Pad), 0, 120, "°C")
	if s.Pad >= s.Platen {
		fields.Add("pad", "is %d °C; must be below the platen's %d °C", s.Pad, s.Platen)
	}
	whole("carrier", int64(s.Carrier), 0, 1_000, "µm")
	whole("film", int64(s.Film), 10, 3_000, "µm")
	if _, ok := cloths[s.Fabric]; !ok {
		fields.Add("fabric", "is %.40q; must be cotton, polyester, blend, nylon or stretch", string(s.Fabric))
	}
	whole("weight", int64(s.Weight), 20, 1_500, "g/m²")
	whole("regain", int64(s.Regain), 0, 1_000_000, "parts per million")
	whole("pre_press", int64(s.PrePress), 0, 60, "s")
	whole("place", int64(s.Place), 0, 300, "s")
	whole("dwell", int64(s.Dwell), 1, 300, "s")
	if s.AdhesiveFrom != 0 || s.AdhesiveTo != 0 {
		whole("adhesive_from", int64(s.AdhesiveFrom), 0, 250, "°C")
		whole("adhesive_to", int64(s.AdhesiveTo), int64(s.AdhesiveFrom), 250, "°C")
	}
	return fields.Fault(room, SituationInvalid, "This pressing can not be computed. Mend the fields named.")
}

// Handbook values that a Situation does not ask for.
const (
	roomTemperature  = 25.0 // °C: of film, carrier, cover sheet and garment before the press
	airOverWork      = 10.0 // W/(m²·K): still air with radiation over an open press
	platenContact    = 1e-4 // m²·K/W; 1e-4 to 1e-3 is the stated range
	filmOnFabric     = 2e-4 // m²·K/W
	fabricOnPad      = 1e-4 // m²·K/W
	padThicknessUM   = 8_000
	coverThicknessUM = 50
)

var (
	coverSheet = Layer{Name: "cover sheet", ThicknessUM: coverThicknessUM, K: 0.08, Rho: 900, Cp: 1400, Start: roomTemperature}
	carrier    = Layer{Name: "carrier", K: 0.15, Rho: 1390, Cp: 1170, Start: roomTemperature}
	film       = Layer{Name: "film", K: 0.25, Rho: 1200, Cp: 1800, ContactBelow: filmOnFabric, Start: roomTemperature}
	pad        = Layer{Name: "pad", K: 0.23, Rho: 1200, Cp: 1000}
)

// Assumption is one thing the model takes for granted; it travels with every result.
type Assumption struct {
	Key, Words, Source string
	Mark               Mark
}

func assumptions(s Situation) []Assumption {
	c := cloths[s.Fabric]
	return []Assumption{
		{"platen_ideal", "The platen face stays at its temperature. A 10 mm aluminium platen sags by up to about 3 °C in the first seconds and comes back.", "our own computation with DIN EN 12524 aluminium", Assumed},
		{"cover_sheet", "Cover sheet: release paper of 0.05 mm, 0.08 W/(m·K).", "no source found; plain paper is 0.18 W/(m·K) in Incropera table A.3", Assumed},
		{"carrier", "Carrier: polyester film, 0.15 W/(m·K).", "polyester film tables; 0.20 W/(m·K) in Crawford, Plastics Engineering, table 1.8", Memory},
		{"film", "Film: solid polyurethane, 0.25 W/(m·K).", "DIN EN 12524:2000", Read},
		{"fabric", fmt.Sprintf("Fabric: pressed to %g kg/m³, %g W/(m·K).", c.pressedDensity, c.k), "no table of thickness at press pressure was found; nearest is DIN EN 12524:2000, textile flooring", Assumed},
		{"pad", "Pad: 8 mm of solid silicone, 0.23 W/(m·K), on a lower plate that keeps its temperature.", "instrument maker's note, ASTM E1530-19: 0.224 to 0.249 W/(m·K)", Read},
		{"contacts", "Joints: 0.0001 to 0.001 m²·K/W.", "metal joints in Kreith table 1.6 and Incropera 3.2; none found for paper, film or fabric", Assumed},
		{"water", "Water boils where it sits; steam that moves and condenses is left out, so its delay is an upper bound.", "latent heat 2257 kJ/kg, engineering tables", Read},
		{"left_out", "Left out: melting, flow into the fabric, pressure, edges, seams, zips, uneven platens, cooling and peeling.", "ours", Assumed},
	}
}
