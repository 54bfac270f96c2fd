// Package care says what the care label of a decorated garment may say: the most restrictive of garment and film on
// each axis, as codes and words.
//
// Room: care
// Holds: Label, Meet, Result, the words for each code
// May touch: recipes/units, recipes/fault
// Never: glyphs of care symbols (they are registered trade marks), a claim that a label is lawful
package care

import (
	"slices"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Action is how hard the wash or the dry-cleaning may work.
type Action string

// Actions, from least to most restrictive (ISO 3758: bars under the wash tub; hand; crossed tub).
const (
	Normal   Action = "normal"
	Mild     Action = "mild"
	VeryMild Action = "very_mild"
	Hand     Action = "hand"
	NoWash   Action = "no_wash"
)

// Bleach says which bleach the article stands.
type Bleach string

// Bleaches, from least to most restrictive.
const (
	AnyBleach  Bleach = "any"
	OxygenOnly Bleach = "oxygen_only"
	NoBleach   Bleach = "no_bleach"
)

// Tumble says how warm the article may be tumble dried.
type Tumble string

// Tumbles, from least to most restrictive: two dots, one dot, crossed.
const (
	TumbleNormal Tumble = "normal"
	TumbleLow    Tumble = "low"
	NoTumble     Tumble = "no_tumble"
)

// Iron is the highest temperature of the sole plate.
type Iron string

// Irons, from least to most restrictive, in °C.
const (
	Iron200 Iron = "200"
	Iron150 Iron = "150"
	Iron110 Iron = "110"
	NoIron  Iron = "no_iron"
)

// Solvent says what the article may be dry cleaned in.
type Solvent string

// Solvents, from least to most restrictive.
const (
	SolventP   Solvent = "P"
	SolventF   Solvent = "F"
	NoDryClean Solvent = "no_dryclean"
)

// Wet says how the article may be professionally wet cleaned.
type Wet string

// Wet cleanings, from least to most restrictive.
const (
	WetNormal   Wet = "W"
	WetMild     Wet = "W_mild"
	WetVeryMild Wet = "W_very_mild"
	NoWetClean  Wet = "no_wetclean"
)

// Label is one care label, or what one material stands. Every axis is stated: nothing stands for "unknown".
type Label struct {
	WashMax           units.Celsius // 95, 70, 60, 50, 40 or 30; 0 exactly where Wash is NoWash
	Wash              Action
	Bleach            Bleach
	Tumble            Tumble
	Flat, Drip, Shade bool // natural drying; none of them is line drying after spinning
	Iron              Iron
	Dry               Solvent
	DryAction         Action // Normal or Mild; empty exactly where Dry is NoDryClean
	Wet               Wet
}

// The axes, each from least to most restrictive (care_axes.csv of the shared reference: wash, bleach, tumble and
// iron read; dry clean and wet clean order from memory).
var (
	actions    = []Action{Normal, Mild, VeryMild, Hand, NoWash}
	bleaches   = []Bleach{AnyBleach, OxygenOnly, NoBleach}
	tumbles    = []Tumble{TumbleNormal, TumbleLow, NoTumble}
	irons      = []Iron{Iron200, Iron150, Iron110, NoIron}
	solvents   = []Solvent{SolventP, SolventF, NoDryClean}
	dryActions = []Action{Normal, Mild}
	wets       = []Wet{WetNormal, WetMild, WetVeryMild, NoWetClean}
)

// washes are the published wash symbols by action, hottest first (ISO 3758 and GINETEX list; "50 normal" from
// memory), and hand wash at 30 °C, which has no symbol of its own and is said in words.
var washes = map[Action][]units.Celsius{
	Normal:   {95, 70, 60, 50, 40, 30},
	Mild:     {60, 50, 40, 30},
	VeryMild: {40, 30},
	Hand:     {40, 30},
	NoWash:   {0},
}

// Check reports every fault of the label at once.
func (l Label) Check() fault.Fields {
	var fs fault.Fields
	if degrees, ok := washes[l.Wash]; !ok {
		unknown(&fs, "wash", l.Wash, actions)
	} else if !slices.Contains(degrees, l.WashMax) {
		fs.Add("wash_max_celsius", "is %d; for %q it must be one of %v", l.WashMax, l.Wash, degrees)
	}
	unknown(&fs, "bleach", l.Bleach, bleaches)
	unknown(&fs, "tumble", l.Tumble, tumbles)
	unknown(&fs, "iron", l.Iron, irons)
	unknown(&fs, "dry", l.Dry, solvents)
	if l.Dry == NoDryClean && l.DryAction != "" {
		fs.Add("dry_action", "is %q, but the article is not dry cleaned; leave it empty", l.DryAction)
	} else if l.Dry != NoDryClean {
		unknown(&fs, "dry_action", l.DryAction, dryActions)
	}
	unknown(&fs, "wet", l.Wet, wets)
	return fs
}

func unknown[T ~string](fs *fault.Fields, path string, v T, known []T) {
	if !slices.Contains(known, v) {
		fs.Add(path, "is %q; it must be one of %q", v, known)
	}
}
