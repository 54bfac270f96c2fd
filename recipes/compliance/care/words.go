package care

import (
	"strconv"

	"evenpeel/recipes/units"
)

// Phrase is one axis of a label in words.
type Phrase struct{ Axis, Code, Words, Source string }

// Sources of the words.
const (
	iso3758 = "ISO 3758:2023, in our own words"
	ftcList = "16 CFR 423 Appendix A and ASTM D3136 word list"
)

// Words says a checked label in English, axis by axis in the order of the standard: washing, bleaching, drying,
// ironing, professional care.
func Words(l Label) []Phrase {
	phrases := []Phrase{
		{"wash", washCode(l), washWords(l), iso3758},
		{"bleach", string(l.Bleach), map[Bleach]string{AnyBleach: "Any bleach", OxygenOnly: "Oxygen bleach only", NoBleach: "Do not bleach"}[l.Bleach], iso3758},
		{"tumble", string(l.Tumble), map[Tumble]string{TumbleNormal: "Tumble dry, normal heat", TumbleLow: "Tumble dry, low heat", NoTumble: "Do not tumble dry"}[l.Tumble], iso3758},
		{"natural", naturalCode(l), naturalWords(l), iso3758},
		{"iron", string(l.Iron), ironWords(l.Iron), iso3758},
		{"dry", dryCode(l), dryWords(l), iso3758},
		{"wet", string(l.Wet), map[Wet]string{WetNormal: "Professional wet clean", WetMild: "Professional wet clean, mild", WetVeryMild: "Professional wet clean, very mild", NoWetClean: "Do not wet clean"}[l.Wet], iso3758},
	}
	return phrases
}

// Decorated are the words that a film adds beside the label: the film lies outside, and the iron may not touch it.
func Decorated(l Label) []Phrase {
	var phrases []Phrase
	if l.Wash != NoWash {
		phrases = append(phrases, Phrase{"wash", "inside_out", "Wash inside out", ftcList})
	}
	iron := Phrase{"iron", "reverse_side", "Iron reverse side only", ftcList}
	if l.Iron == NoIron {
		iron = Phrase{"iron", "not_decal", "Do not iron decal", ftcList}
	}
	return append(phrases, iron)
}

// WaterTerm is the United States' word for a wash temperature: cold to 30 °C, warm to 44, hot to 63; empty above,
// where the term list ends, and for no washing.
// Source: 16 CFR 423.1 as in force since 2000-09-01 (86, 111 and 145 °F; the °C from memory).
func WaterTerm(l Label) string {
	switch {
	case l.Wash == NoWash || l.WashMax > 63:
		return ""
	case l.WashMax <= 30:
		return "cold"
	case l.WashMax <= 44:
		return "warm"
	}
	return "hot"
}

// WashTest names the type A procedure of ISO 6330 by which a wash is tested: 4N is 40 °C normal, M mild, G gentle,
// H hand. ok is false where there is none: no washing, and hand wash at 30 °C. Source: ISO 6330:2012 (from memory;
// the count of 13 read).
func WashTest(l Label) (procedure string, ok bool) {
	letter, ok := map[Action]string{Normal: "N", Mild: "M", VeryMild: "G", Hand: "H"}[l.Wash]
	if !ok || published(l.Wash, l.WashMax) != l.WashMax || l.Wash == Hand && l.WashMax != 40 {
		return "", false
	}
	return strconv.Itoa(int(l.WashMax/10)) + letter, true
}

func washCode(l Label) string {
	switch {
	case l.Wash == NoWash:
		return string(NoWash)
	case l.Wash == Hand && l.WashMax == 30:
		return "30 hand*" // no symbol: the words carry it
	}
	return degrees(l.WashMax) + " " + string(l.Wash)
}

func washWords(l Label) string {
	switch l.Wash {
	case NoWash:
		return "Do not wash"
	case Hand:
		return "Hand wash, at most " + degrees(l.WashMax) + " °C"
	case Mild:
		return "Wash at most " + degrees(l.WashMax) + " °C, mild"
	case VeryMild:
		return "Wash at most " + degrees(l.WashMax) + " °C, very mild"
	}
	return "Wash at most " + degrees(l.WashMax) + " °C"
}

func naturalCode(l Label) string {
	code := "line"
	if l.Flat {
		code = "flat"
	}
	if l.Drip {
		code = "drip_" + code
	}
	if l.Shade {
		code += "_shade"
	}
	return code
}

func naturalWords(l Label) string {
	words := "Dry on a line"
	if l.Flat {
		words = "Dry flat"
	}
	if l.Drip {
		words += ", dripping wet"
	}
	if l.Shade {
		words += ", in the shade"
	}
	return words
}

func ironWords(i Iron) string {
	if i == NoIron {
		return "Do not iron"
	}
	return "Iron at most " + string(i) + " °C"
}

func dryCode(l Label) string {
	if l.Dry == NoDryClean {
		return string(NoDryClean)
	}
	return string(l.Dry) + " " + string(l.DryAction)
}

func dryWords(l Label) string {
	words := map[Solvent]string{SolventP: "Dry clean, perchloroethylene or hydrocarbons", SolventF: "Dry clean, hydrocarbons only", NoDryClean: "Do not dry clean"}[l.Dry]
	if l.DryAction == Mild {
		words += ", mild"
	}
	return words
}

func degrees(c units.Celsius) string { return strconv.FormatInt(int64(c), 10) }
