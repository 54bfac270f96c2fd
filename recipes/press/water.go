package press

// Water held by a layer boils where it sits: its latent heat is spread over a short range of temperature, and what
// has boiled does not come back when the layer cools. Real vapour moves and condenses, so the delay is a rough upper
// bound (shared reference physics A.6).
const (
	latentHeat   = 2257e3 // J/kg at 100 °C: as printed in engineering tables (shared reference physics A.5)
	waterCp      = 4186.0 // J/(kg·K): same
	boilingFrom  = 95.0   // °C: ours, a range of 10 °C about 100 so that Newton has a slope to follow
	boilingUntil = 105.0  // °C
	boilingSpan  = boilingUntil - boilingFrom
)

// cell is the part of a mesh cell that stores heat, per m³.
type cell struct {
	dry   float64 // rho·cp, J/(m³·K)
	water float64 // water at the very start, kg/m³
	onset float64 // °C at which what is left goes on boiling: boilingFrom until something has boiled
}

// waterLeft is kg/m³.
func (c cell) waterLeft() float64 { return c.water * (boilingUntil - c.onset) / boilingSpan }

// heat is the enthalpy at t °C and its slope, J/m³ and J/(m³·K).
func (c cell) heat(t float64) (enthalpy, slope float64) {
	if c.water == 0 {
		return c.dry * t, c.dry
	}
	wet := c.dry + c.waterLeft()*waterCp
	if t <= c.onset {
		return wet * t, wet
	}
	end := min(t, boilingUntil)
	left, ahead := boilingUntil-end, boilingUntil-c.onset
	enthalpy = wet*c.onset + c.dry*(t-c.onset) +
		c.water/boilingSpan*(latentHeat*(end-c.onset)+waterCp*(ahead*ahead-left*left)/2)
	if t >= boilingUntil {
		return enthalpy, c.dry
	}
	return enthalpy, c.dry + c.water/boilingSpan*(latentHeat+waterCp*left)
}

// boilAt moves the onset up to the temperature reached.
func (c *cell) boilAt(t float64) { c.onset = max(c.onset, min(t, boilingUntil)) }
