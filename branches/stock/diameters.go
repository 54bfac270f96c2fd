package stock

import (
	"fmt"
	"math"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// ByDiameters is the length left on a roll worked out from its diameters: a warning, never an account.
type ByDiameters struct {
	Length, Low, High units.Millimetres
	Thickness         units.Micrometres // of film, adhesive and carrier together
	Doubtful          bool              // the account lies outside Low to High
	Words             string
}

// diameterError is how far off such a length may well be: a thickness a hundredth of a millimetre out moves it by
// four percent, a diameter a millimetre out by as much (shared reference physics, C).
const diameterError = 0.05

// Wound is the length of film wound between two diameters: the ring's area shared out over the thickness,
// L = π(D² − d²)/(4t) (Math Forum, Dr. Math 67031, 2003).
func Wound(outer, core, thickness units.Micrometres) units.Millimetres {
	d, c, t := float64(outer)/1000, float64(core)/1000, float64(thickness)/1000
	return units.Millimetres(math.Round(math.Pi * (d*d - c*c) / (4 * t)))
}

// Measured sets the length by diameters beside the account of a roll; account is below 0 where there is none to set it
// beside. Fault Invalid/DIAMETERS_INVALID with every field.
func Measured(outer, core, thickness units.Micrometres, account units.Millimetres) (ByDiameters, error) {
	var fs fault.Fields
	if outer <= core {
		fs.Add("outer_um", "is %s mm, no more than the core's %s mm", tenths(outer), tenths(core))
	}
	if outer > 2_000_000 || core < 0 {
		fs.Add("core_um", "and the outer diameter must be 0 to 2000 mm")
	}
	if thickness < 20 || thickness > 5000 {
		fs.Add("thickness_um", "is %d µm; film with its carrier is 20 to 5000 µm thick", thickness)
	}
	if err := fs.Fault("stock", "DIAMETERS_INVALID", "The length can not be worked out from these. Measure again."); err != nil {
		return ByDiameters{}, err
	}
	m := ByDiameters{Length: Wound(outer, core, thickness), Thickness: thickness}
	m.Low = units.Millimetres(math.Floor(float64(m.Length) * (1 - diameterError)))
	m.High = units.Millimetres(math.Ceil(float64(m.Length) * (1 + diameterError)))
	m.Words = fmt.Sprintf("About %s m, likely %s to %s m", Metres(m.Length), Metres(m.Low), Metres(m.High))
	switch m.Doubtful = account >= 0 && (account < m.Low || account > m.High); {
	case m.Doubtful:
		m.Words += fmt.Sprintf("; the account says %s m, so count this roll", Metres(account))
	case account >= 0:
		m.Words += fmt.Sprintf("; the account says %s m, which agrees", Metres(account))
	}
	return m, nil
}

func tenths(v units.Micrometres) string { return fmt.Sprintf("%d.%d", v/1000, v%1000/100) }
