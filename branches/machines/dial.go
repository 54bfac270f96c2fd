package machines

import (
	"sort"

	"evenpeel/recipes/fault"
)

// Milli is a value in thousandths of its unit: 2.5 bar is 2500.
type Milli int64

// Point is one point of a calibration: what the dial shows, and what was measured.
type Point struct{ Dial, True Milli }

// Dial is one dial of a machine, with its own scale and step.
type Dial struct {
	Quantity  Quantity
	Scale     string // what it is marked in: "step", "°C", "bar"
	Step      Milli
	Low, High Milli
	Points    []Point // rising in both; none means that the dial shows the truth
}

// Check finds what is wrong with a dial. Paths are those of branches.v1.Dial.
func (d Dial) Check() fault.Fields {
	var fs fault.Fields
	switch d.Quantity {
	case Force, Speed, Temperature, Pressure, Time, Blade:
	default:
		fs.Add("quantity", "is not chosen")
	}
	if d.Scale == "" || len(d.Scale) > 20 {
		fs.Add("scale", "is empty, or longer than 20 characters")
	}
	if d.Step < 1 || d.Step > 1_000_000 {
		fs.Add("step_milli", "is %d; it has to be above 0 and at most 1 000 000", d.Step)
	}
	if d.High <= d.Low || d.Low < 0 || d.High > 10_000_000 {
		fs.Add("high_milli", "runs from %d to %d; it has to rise, from 0 at the lowest to 10 000 000 at the highest", d.Low, d.High)
	}
	if n := len(d.Points); n == 1 || n > 50 {
		fs.Add("points", "holds %d; give none, or 2 to 50", n)
	}
	for i := 1; i < len(d.Points); i++ {
		if a, b := d.Points[i-1], d.Points[i]; b.Dial <= a.Dial || b.True <= a.True {
			fs.Add("points", "do not rise at point %d (%d → %d after %d → %d); measure that point again", i+1, b.Dial, b.True, a.Dial, a.True)
		}
	}
	return fs
}

// True is what a setting gives: the calibration, straight between points and along the end segments beyond them.
// A dial reading that was measured rises strictly, so the line and its inverse are both single-valued.
func (d Dial) True(dial Milli) Milli {
	return along(d.Points, dial, func(p Point) Milli { return p.Dial }, func(p Point) Milli { return p.True })
}

// Wanted is the setting, between two steps, that gives a true value.
func (d Dial) Wanted(value Milli) Milli {
	return along(d.Points, value, func(p Point) Milli { return p.True }, func(p Point) Milli { return p.Dial })
}

// along interpolates from → to through the points, rounding half away from zero to a whole thousandth.
func along(points []Point, v Milli, from, to func(Point) Milli) Milli {
	if len(points) < 2 {
		return v
	}
	i := sort.Search(len(points), func(i int) bool { return from(points[i]) >= v })
	i = min(max(i, 1), len(points)-1)
	a, b := points[i-1], points[i]
	num, den := (v-from(a))*(to(b)-to(a)), from(b)-from(a)
	half := den / 2
	if num < 0 {
		half = -half
	}
	return to(a) + (num+half)/den
}

// Nearest is the dial's own step whose true value lies nearest the wanted one, inside the dial's range; of two
// equally near the lower, which is the gentler. ok is false where the wanted value lies beyond the dial's range by
// more than half a step.
func (d Dial) Nearest(value Milli) (dial Milli, ok bool) {
	want := d.Wanted(value)
	first := d.Low + (want-d.Low)/d.Step*d.Step
	if want < d.Low {
		first = d.Low
	}
	last := d.Low + (d.High-d.Low)/d.Step*d.Step
	best := min(first, last)
	for _, candidate := range []Milli{best - d.Step, best + d.Step} {
		if candidate < d.Low || candidate > last {
			continue
		}
		here, there := gap(d.True(best), value), gap(d.True(candidate), value)
		if there < here || there == here && candidate < best {
			best = candidate
		}
	}
	return best, want >= d.Low-d.Step/2 && want <= last+d.Step/2
}

// Decimals is how many decimals the dial's step shows.
func (d Dial) Decimals() int {
	switch {
	case d.Step%1000 == 0:
		return 0
	case d.Step%100 == 0:
		return 1
	case d.Step%10 == 0:
		return 2
	}
	return 3
}

func gap(a, b Milli) Milli { return max(a-b, b-a) }
