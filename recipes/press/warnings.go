package press

import (
	"fmt"
	"sort"

	"evenpeel/recipes/units"
)

// Level ranks a warning.
type Level int

// The levels, most pressing first.
const (
	Stop  Level = iota + 1 // ask head office before pressing
	Try                    // press one trial piece first
	Aware                  // good to know
)

// Warning is one thing to mind about a pressing, in words for the person at the press.
type Warning struct {
	Key   string
	Level Level
	Words string
}

const (
	// An interlining maker advises at most 6 % before pressing (name withheld): weak, but the only number found.
	dampRegain = units.PartsPerMillion(60_000)
	// Ours: below this a pad has not yet taken the heat of earlier garments.
	coldPad = units.Celsius(35)
	// Ours: on a cold pad a thin fabric is the hard case (shared reference physics A.6, point 3).
	thinFabric = units.GramsPerSquareMetre(100)
	// Ours: a bond line that climbs faster than this at the end makes each second count.
	steepClimb = MilliCelsius(500)
	// The lowest of the temperatures in ISO 105-P01:1993 (from memory): dye on polyester may already move.
	dyeMoves = units.Celsius(150)
)

// Warnings ranks what the model sees in a pressing, most pressing first. They never override an approved recipe and
// never speak of bond strength. h must be the History of s.
func Warnings(s Situation, h History) []Warning {
	var out []Warning
	add := func(level Level, key, words string, args ...any) {
		out = append(out, Warning{key, level, fmt.Sprintf(words, args...)})
	}
	face := max(h.FacePeak, h.PrePressPeak)
	above := h.End.High - h.End.Likely
	if limit, ok := LimitOf(s.Fabric); ok {
		switch {
		case face > limit.Ceiling:
			add(Stop, "FACE_OVER_LIMIT", "The fabric's face reaches about %d °C; %d °C is the limit noted for %s. %s Ask head office before pressing.", face, limit.Ceiling, s.Fabric, limit.Why)
		case face+above > limit.Ceiling:
			add(Try, "FACE_NEAR_LIMIT", "The fabric's face reaches about %d °C and may reach %d °C; %d °C is the limit noted for %s. %s Press a hidden spot first.", face, face+above, limit.Ceiling, s.Fabric, limit.Why)
		}
	}
	if s.AdhesiveFrom != 0 || s.AdhesiveTo != 0 {
		switch {
		case h.End.High < s.AdhesiveFrom:
			add(Stop, "BOND_LINE_BELOW_RANGE", "The bond line ends at about %d °C (%d to %d); the film's maker states %d to %d °C. Ask head office before pressing.", h.End.Likely, h.End.Low, h.End.High, s.AdhesiveFrom, s.AdhesiveTo)
		case h.End.Likely < s.AdhesiveFrom:
			add(Try, "BOND_LINE_MAYBE_BELOW_RANGE", "The bond line ends at about %d °C (%d to %d), likely below the %d to %d °C that the film's maker states. Measure with a probe, or press a trial piece.", h.End.Likely, h.End.Low, h.End.High, s.AdhesiveFrom, s.AdhesiveTo)
		case h.End.Low > s.AdhesiveTo:
			add(Stop, "BOND_LINE_ABOVE_RANGE", "The bond line ends at about %d °C (%d to %d); the film's maker states %d to %d °C. Ask head office before pressing.", h.End.Likely, h.End.Low, h.End.High, s.AdhesiveFrom, s.AdhesiveTo)
		case h.End.Likely > s.AdhesiveTo:
			add(Try, "BOND_LINE_MAYBE_ABOVE_RANGE", "The bond line ends at about %d °C (%d to %d), likely above the %d to %d °C that the film's maker states. Measure with a probe, or press a trial piece.", h.End.Likely, h.End.Low, h.End.High, s.AdhesiveFrom, s.AdhesiveTo)
		}
	}
	if h.RegainAfterPrePress > dampRegain {
		words := "The garment still holds about %d %% water when the film goes on; steam may leave bubbles. Pre-press longer."
		if s.PrePress == 0 {
			words = "The garment holds about %d %% water and is not pre-pressed; steam may leave bubbles. Pre-press it."
		}
		add(Try, "DAMP", words, (h.RegainAfterPrePress+5_000)/10_000)
	}
	if n := len(h.Samples); n > 1 && h.Samples[n-1].BondLine-h.Samples[n-2].BondLine > steepClimb {
		add(Try, "STILL_CLIMBING", "The bond line is still climbing when the press opens: a second more or less counts. Keep the dwell exactly.")
	}
	if s.Pad < coldPad {
		if s.Weight < thinFabric {
			add(Try, "THIN_ON_COLD_PAD", "A thin fabric on a cold pad is the hard case: the pad draws the heat through it. Warm the pad with the press closed first.")
		} else {
			add(Aware, "COLD_PAD", "The pad is cold, so the first garments of the day see a cooler bond line than later ones. Warm the pad with the press closed first.")
		}
	}
	if (s.Fabric == Polyester || s.Fabric == Blend || s.Fabric == Stretch) && face+above >= dyeMoves {
		add(Try, "DYE_MAY_MOVE", "Dye on polyester may move into the film at this heat. A fastness grade does not cover a press recipe: try the very garment and colour.")
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Level < out[j].Level })
	return out
}

// Caveat stands beside every number of the heat model that a person sees.
const Caveat = "Computed from handbook values, to rank settings and to warn. It says nothing of bond strength. The approved recipe stands, and a probe reading at your press counts for more."
