package press

import (
	"math"

	"evenpeel/recipes/units"
)

// MilliCelsius is a thousandth of a degree Celsius: fine enough to draw a curve and to rank two situations. Show a
// person whole degrees with their band instead.
type MilliCelsius int64

// Sample is the stack at one second of the dwell.
type Sample struct {
	At         units.Seconds
	BondLine   MilliCelsius // underside of the film
	FabricFace MilliCelsius
	FabricBack MilliCelsius
}

// Estimate is a temperature with the band that handbook values leave.
type Estimate struct{ Low, Likely, High units.Celsius }

// History is what BondLine computed.
type History struct {
	Samples              []Sample // every second, 0 to Dwell
	End                  Estimate // bond line at the end of the dwell
	FacePeak             units.Celsius
	PrePressPeak         units.Celsius         // of the fabric's face during the pre-press; 0 without one
	RegainAfterPrePress  units.PartsPerMillion // what is left when the dwell begins
	RegainAtEnd          units.PartsPerMillion
	HeatJoulesPerSquareM int64 // drawn from the platen during the dwell, J/m²
	Assumptions          []Assumption
}

// The narrowest band that handbook values allow (shared reference physics A.6: root sum of squares of its
// sensitivity rows at 15 s). A short dwell or a thick film has a wider one, computed anew each time.
const (
	narrowestBelow = 9.0 // °C
	narrowestAbove = 6.0 // °C
)

// BondLine computes the temperature under the film over the dwell. The band is the root sum of squares of what the
// answer moves when the assumed values move through their stated ranges.
//
// It says nothing of bond strength. Faults: Invalid SITUATION_INVALID with every wrong field; Broken
// HEAT_DID_NOT_SETTLE.
func BondLine(s Situation) (History, error) {
	if err := s.Check(); err != nil {
		return History{}, err
	}
	base := handbook()
	pressed, err := base.press(s, PressResolution)
	if err != nil {
		return History{}, err
	}
	h := History{Assumptions: assumptions(s)}
	for i, m := range pressed.moments {
		f := pressed.fabric
		h.Samples = append(h.Samples, Sample{units.Seconds(i), milli(m.Faces[f-1].Lower), milli(m.Faces[f].Upper), milli(m.Faces[f].Lower)})
		h.FacePeak = max(h.FacePeak, whole(m.Faces[f].Upper))
	}
	if s.PrePress > 0 {
		h.PrePressPeak = whole(pressed.prePressPeak)
	}
	h.RegainAfterPrePress = units.PartsPerMillion(math.Round(float64(s.Regain) * pressed.waterBefore))
	h.RegainAtEnd = units.PartsPerMillion(math.Round(float64(s.Regain) * pressed.waterAfter))
	h.HeatJoulesPerSquareM = int64(math.Round(pressed.heat))
	below, above, err := base.band(s)
	if err != nil {
		return History{}, err
	}
	likely := pressed.bondLine()
	h.End = Estimate{whole(likely - max(below, narrowestBelow)), whole(likely), whole(likely + max(above, narrowestAbove))}
	return h, nil
}

func milli(t float64) MilliCelsius { return MilliCelsius(math.Round(t * 1000)) }

func whole(t float64) units.Celsius { return units.Celsius(math.Round(t)) }

// values are the assumed values that the band moves.
type values struct {
	filmStack, fabric float64 // factors on conductivity
	platenContact     float64
	padK, padRho      float64
}

func handbook() values { return values{1, 1, platenContact, pad.K, pad.Rho} }

// layers is the stack under the platen; without is the bare garment of a pre-press.
func (v values) layers(s Situation, bare bool) (layers []Layer, fabric int) {
	add := func(l Layer, factor float64) {
		l.K *= factor
		layers = append(layers, l)
	}
	if s.CoverSheet {
		add(coverSheet, v.filmStack)
	}
	if !bare {
		if s.Carrier > 0 {
			sheet := carrier
			sheet.ThicknessUM = float64(s.Carrier)
			add(sheet, v.filmStack)
		}
		sheet := film
		sheet.ThicknessUM = float64(s.Film)
		add(sheet, v.filmStack)
	}
	fabric = len(layers)
	add(cloths[s.Fabric].layer(float64(s.Weight), float64(s.Regain)/1e6), v.fabric)
	// The pad is cut in two so that its cells are fine where it meets the fabric.
	for _, part := range []float64{padThicknessUM / 5, padThicknessUM * 4 / 5} {
		under := pad
		under.ThicknessUM, under.K, under.Rho, under.Start = part, v.padK, v.padRho, float64(s.Pad)
		add(under, 1)
	}
	return layers, fabric
}

// pressing is one computed run of pre-press, opening and dwell.
type pressing struct {
	moments                               []Moment
	fabric                                int // index of the fabric's layer
	prePressPeak, waterBefore, waterAfter float64
	heat                                  float64 // J/m²
}

func (p pressing) bondLine() float64 { return p.moments[len(p.moments)-1].Faces[p.fabric-1].Lower }

func (v values) press(s Situation, r Resolution) (pressing, error) {
	platen, under := Behind(float64(s.Platen), v.platenContact), Held(float64(s.Pad))
	p := pressing{}
	layers, fabric := v.layers(s, false)
	p.fabric = fabric
	dwell := newMarch(layers, r)
	if s.PrePress > 0 {
		bare, bareFabric := v.layers(s, true)
		first := newMarch(bare, r)
		err := first.advance(platen, under, float64(s.PrePress), 1, r.Step, func(float64) {
			p.prePressPeak = max(p.prePressPeak, first.faces(platen, under)[bareFabric].Upper)
		})
		if err != nil {
			return p, err
		}
		// The cover sheet lifts with the platen; garment and pad lie open while the film is placed.
		open := newMarch(bare[bareFabric:], r)
		open.carry(first)
		if s.Place > 0 {
			if err := open.advance(Convection(roomTemperature, airOverWork), under, float64(s.Place), float64(s.Place), r.Step, func(float64) {}); err != nil {
				return p, err
			}
		}
		dwell.carry(open)
	}
	p.waterBefore = dwell.waterLeft(fabric)
	err := dwell.advance(platen, under, float64(s.Dwell), 1, r.Step, func(t float64) {
		p.moments = append(p.moments, Moment{t, dwell.faces(platen, under)})
	})
	p.waterAfter, p.heat = dwell.waterLeft(fabric), dwell.heatIn
	return p, err
}

// bandResolution is coarser: only differences are wanted from it.
var bandResolution = Resolution{Cells: 8, Grade: 1.5, Step: 0.1}

// band is how far the end may lie below and above, °C.
func (v values) band(s Situation) (below, above float64, err error) {
	centre, err := v.press(s, bandResolution)
	if err != nil {
		return 0, 0, err
	}
	foam := v
	foam.padK, foam.padRho = 0.12, 750 // silicone foam, DIN EN 12524:2000
	filmLow, filmHigh, fabricLow, fabricHigh, contactLow, contactHigh := v, v, v, v, v, v
	filmLow.filmStack, filmHigh.filmStack = 0.7, 1.3
	fabricLow.fabric, fabricHigh.fabric = 0.7, 1.5
	contactLow.platenContact, contactHigh.platenContact = 0, 1e-3
	for _, other := range []values{filmLow, filmHigh, fabricLow, fabricHigh, contactLow, contactHigh, foam} {
		moved, err := other.press(s, bandResolution)
		if err != nil {
			return 0, 0, err
		}
		d := moved.bondLine() - centre.bondLine()
		if d < 0 || other == foam { // a pad that conducts better than silicone is as likely as foam
			below += d * d
		}
		if d > 0 || other == foam {
			above += d * d
		}
	}
	return math.Sqrt(below), math.Sqrt(above), nil
}
