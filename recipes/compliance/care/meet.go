package care

import (
	"slices"

	"evenpeel/recipes/units"
)

// Result says whether the met label can be used, and what must be said beside its codes.
type Result struct {
	Blocks bool
	Reason string   // why the pairing is blocked; empty where it is not
	Beside []string // words that no code carries
}

// Meet is the label of a garment with the film on it: the more restrictive of the two on each axis, as the label
// speaks for the most sensitive part of the made-up article (GINETEX principles; ISO 3758). Where the cooler
// temperature and the gentler action are no published wash together, the temperature is lowered until they are.
// A pairing that can be cleaned in no way is blocked. A label that its Check faults blocks too, and gives no label.
func Meet(garment, film Label) (Label, Result) {
	if len(garment.Check()) > 0 || len(film.Check()) > 0 {
		return Label{}, Result{Blocks: true, Reason: "A care label is incomplete. State every axis of the garment's and of the film's label."}
	}
	met := Label{
		Wash:   stricter(actions, garment.Wash, film.Wash),
		Bleach: stricter(bleaches, garment.Bleach, film.Bleach),
		Tumble: stricter(tumbles, garment.Tumble, film.Tumble),
		Flat:   garment.Flat || film.Flat, Drip: garment.Drip || film.Drip, Shade: garment.Shade || film.Shade,
		Iron: stricter(irons, garment.Iron, film.Iron),
		Dry:  stricter(solvents, garment.Dry, film.Dry),
		Wet:  stricter(wets, garment.Wet, film.Wet),
	}
	met.WashMax = published(met.Wash, min(garment.WashMax, film.WashMax))
	if met.Dry != NoDryClean {
		met.DryAction = stricter(dryActions, garment.DryAction, film.DryAction)
	}
	return met, met.result()
}

// result blocks a dead end. In the United States the label would have to say so (16 CFR 423.6(b)); we rather refuse
// the pairing.
func (l Label) result() Result {
	var r Result
	if l.Wash == NoWash && l.Dry == NoDryClean && l.Wet == NoWetClean {
		r.Blocks = true
		r.Reason = "This film and this garment leave no way of cleaning: no washing, no dry cleaning, no wet cleaning. Choose another film or another garment."
	}
	if l.Wash == Hand && l.WashMax == 30 {
		r.Beside = append(r.Beside, "Hand wash, at most 30 °C")
	}
	return r
}

// published is the hottest published temperature for the action that is not above most; 0 for no washing.
func published(action Action, most units.Celsius) units.Celsius {
	for _, degrees := range washes[action] {
		if degrees <= most {
			return degrees
		}
	}
	return 0
}

func stricter[T comparable](axis []T, a, b T) T {
	return axis[max(slices.Index(axis, a), slices.Index(axis, b))]
}
