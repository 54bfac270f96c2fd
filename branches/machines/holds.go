package machines

import (
	"fmt"

	"evenpeel/recipes"
	"evenpeel/recipes/units"
)

// Holds says why a machine can not hold a recipe: one line for each reason, none where it can. It judges dials and
// width alone, as Worked does, without asking the press model.
func Holds(m Machine, r recipes.Recipe) []string {
	var c Card
	if m.Kind == Cutter {
		c.tooWide(m, r)
		set(&c, m, Speed, "cut_speed_mm_per_second", r.CutSpeed)
		set(&c, m, Force, "cut_force_grams", r.CutForce)
		set(&c, m, Blade, "blade_depth_um", r.BladeDepth)
		return c.Refusals
	}
	set(&c, m, Temperature, "press_temperature_celsius", r.Temperature)
	for _, s := range []struct {
		key     string
		seconds units.Seconds
	}{{"pre_press_seconds", r.PrePress}, {"second_press_seconds", r.SecondPress}} {
		if s.seconds > 0 {
			set(&c, m, Time, s.key, units.Around(s.seconds, 1, 2))
		}
	}
	set(&c, m, Time, "dwell_seconds", r.Dwell)
	set(&c, m, Pressure, "pressure_kpa", r.Pressure)
	return c.Refusals
}

// tooWide refuses film that a cutter does not take.
func (c *Card) tooWide(cutter Machine, r recipes.Recipe) {
	if cutter.Width < r.Film.RollWidth {
		c.Refusals = append(c.Refusals, fmt.Sprintf("%s takes film up to %d mm wide; %s is %d mm.", cutter.Title, cutter.Width, r.Film.Title, r.Film.RollWidth))
	}
}
