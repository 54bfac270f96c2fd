package demo

import (
	"fmt"

	"evenpeel/recipes"
	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/units"
)

// stuff is a film with how it is worked.
type stuff struct {
	recipes.Film
	fabrics  []recipes.Fabric
	speed    units.MillimetresPerSecond
	dwell    units.Seconds
	pressure units.Kilopascals
	peel     recipes.Peel
	wait     units.Seconds
	second   units.Seconds
	cover    bool
	shy      units.Celsius // how much cooler than the fabric's usual temperature it is pressed
	lift     float64       // how readily it fails, 1 is ordinary
	asked    float64       // how often it is asked for
	perMetre int64         // price from 0 m in the smallest unit of either currency
	late     bool          // brought in during the year
}

// usual is the ordinary temperature on each family, below the ceilings in press.Limits. Common practice, no source.
var usual = map[recipes.Fabric]units.Celsius{"cotton": 150, "blend": 145, "polyester": 140, "stretch": 138, "nylon": 130}

var (
	sturdy = care.Label{WashMax: 60, Wash: care.Normal, Bleach: care.NoBleach, Tumble: care.TumbleLow, Iron: care.Iron150, Dry: care.NoDryClean, Wet: care.WetMild}
	gentle = care.Label{WashMax: 40, Wash: care.Mild, Bleach: care.NoBleach, Tumble: care.NoTumble, Iron: care.Iron110, Dry: care.NoDryClean, Wet: care.WetMild}
	tender = care.Label{WashMax: 30, Wash: care.VeryMild, Bleach: care.NoBleach, Tumble: care.NoTumble, Iron: care.NoIron, Dry: care.NoDryClean, Wet: care.WetVeryMild}
)

// films are invented: twelve materials, from thin to thick.
func films() []stuff {
	film := func(code, title, chemistry string, thickness units.Micrometres, width units.Millimetres, turns recipes.Turns, label care.Label, colours ...string) recipes.Film {
		return recipes.Film{Code: code, Title: title, Chemistry: chemistry, Thickness: thickness, Carrier: 100, RollWidth: width, Colours: colours,
			MinStroke: 600 + 4*thickness, MinGap: 400 + 3*thickness, SmallestPiece: 2 + units.SquareMillimetres(thickness/50), Turns: turns, Care: label}
	}
	every := recipes.Fabrics
	list := []stuff{
		{Film: film("feather", "Feather thin", "PU", 50, 500, recipes.QuarterTurns, gentle, "white", "black", "sky", "coral"), fabrics: every, speed: 400, dwell: 8, pressure: 25, peel: recipes.Hot, lift: 0.9, asked: 1.3, perMetre: 1490},
		{Film: film("bendy", "Bendy stretch", "PU", 80, 500, recipes.QuarterTurns, gentle, "white", "black", "red", "royal"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend", "stretch"}, speed: 400, dwell: 10, pressure: 28, peel: recipes.Warm, wait: 5, lift: 1.0, asked: 1.2, perMetre: 1650},
		{Film: film("plainfold", "Plainfold", "PU", 90, 500, recipes.QuarterTurns, sturdy, "white", "black", "red", "navy"), fabrics: every, speed: 400, dwell: 12, pressure: 30, peel: recipes.Warm, wait: 5, lift: 0.7, asked: 3, perMetre: 1380},
		{Film: film("sieve", "Sieve mesh", "PU", 110, 480, recipes.HalfTurns, gentle, "white", "black", "lime"), fabrics: []recipes.Fabric{"polyester", "stretch"}, speed: 250, dwell: 10, pressure: 25, peel: recipes.Warm, wait: 8, lift: 1.4, asked: 0.8, perMetre: 2150},
		{Film: film("sheen", "Sheen", "PET", 120, 500, recipes.QuarterTurns, tender, "gold", "silver", "copper"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend", "nylon"}, speed: 300, dwell: 8, pressure: 28, peel: recipes.Cold, wait: 30, cover: true, shy: 4, lift: 1.3, asked: 0.8, perMetre: 2290},
		{Film: film("lamplight", "Lamplight reflective", "PET", 140, 500, recipes.HalfTurns, gentle, "silver", "grey"), fabrics: every, speed: 300, dwell: 12, pressure: 32, peel: recipes.Cold, wait: 30, lift: 1.2, asked: 1, perMetre: 2890},
		{Film: film("paddle", "Paddle", "PVC", 180, 500, recipes.QuarterTurns, sturdy, "white", "black", "orange", "green"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend"}, speed: 350, dwell: 12, pressure: 34, peel: recipes.Cold, wait: 20, lift: 0.9, asked: 1.6, perMetre: 1190},
		{Film: film("dewfall", "Dewfall fine glitter", "PU", 220, 500, recipes.NoTurn, gentle, "rose", "ice", "lilac"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend", "stretch"}, speed: 300, dwell: 12, pressure: 36, peel: recipes.Hot, lift: 1.2, asked: 1, perMetre: 2390},
		{Film: film("nightmoss", "Nightmoss glow", "PU", 260, 480, recipes.QuarterTurns, gentle, "moss", "pearl"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend"}, speed: 250, dwell: 15, pressure: 36, peel: recipes.Warm, wait: 10, lift: 1.3, asked: 0.7, perMetre: 3190, late: true},
		{Film: film("glimmer", "Glimmer glitter", "PET", 300, 500, recipes.NoTurn, gentle, "gold", "silver", "ruby", "emerald"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend", "nylon"}, speed: 300, dwell: 10, pressure: 38, peel: recipes.Hot, lift: 1.3, asked: 1.8, perMetre: 2590},
		{Film: film("mossnap", "Mossnap flock", "PU", 430, 500, recipes.NoTurn, tender, "black", "wine", "forest"), fabrics: []recipes.Fabric{"cotton", "polyester", "blend"}, speed: 200, dwell: 15, pressure: 32, peel: recipes.Cold, wait: 40, second: 3, cover: true, lift: 1.5, asked: 0.7, perMetre: 2490},
		{Film: film("ridge", "Ridge raised", "PU", 500, 480, recipes.QuarterTurns, sturdy, "white", "black", "red"), fabrics: []recipes.Fabric{"cotton", "blend"}, speed: 200, dwell: 18, pressure: 40, peel: recipes.Warm, wait: 15, lift: 1.6, asked: 0.6, perMetre: 3390},
	}
	for i := range list {
		list[i].Glitter = list[i].Code == "glimmer" || list[i].Code == "dewfall"
	}
	return list
}

// recordOf names the recipe of a film on a fabric.
func recordOf(film string, fabric recipes.Fabric) recipes.RecordName {
	return recipes.RecordName("recipes/" + film + "-" + string(fabric))
}

// recipe is the film on one fabric. Cutting force rises with thickness. The numbers of glimmer on cotton: cutting 25 to
// 50 cm/s, platen 150 °C, pre-press 5 s, dwell 10 s, hot peel (common practice, no source).
func (s stuff) recipe(fabric recipes.Fabric) recipes.Recipe {
	force := units.GramsForce(65 + s.Thickness/2)
	speed := units.Window[units.MillimetresPerSecond]{Low: max(s.speed-100, 100), Set: s.speed, High: s.speed + 150}
	if s.Code == "glimmer" {
		speed = units.Window[units.MillimetresPerSecond]{Low: 250, Set: 300, High: 500}
	}
	dwell := s.dwell
	if fabric == "polyester" || fabric == "stretch" || fabric == "nylon" {
		dwell += 2 // cooler, so longer
	}
	r := recipes.Recipe{
		Title: fmt.Sprintf("%s on %s", s.Title, fabric), Film: s.Film, Fabric: fabric,
		CutSpeed: speed, CutForce: units.Around(force, 20, 20), BladeDepth: units.Window[units.Micrometres]{Low: s.Thickness, Set: s.Thickness + 15, High: s.Thickness + 35},
		Passes: 1, Gap: 4, WeedBorder: 3,
		Temperature: units.Around(usual[fabric]-s.shy, 4, 4), PrePress: 5, Dwell: units.Around(dwell, 2, 3), Pressure: units.Around(s.pressure, 8, 10),
		Peel: s.peel, PeelWait: s.wait, SecondPress: s.second, CoverSheet: s.cover,
		Advice: []string{"Cut mirrored, coloured side down on the carrier.", "Make a test cut on the roll's edge and weed it before the whole cut."},
	}
	switch fabric {
	case "nylon":
		r.Advice = append(r.Advice, "Try a hidden place first: nylon may shrink or mark under the platen.")
	case "polyester", "stretch":
		r.Advice = append(r.Advice, "Look for dye moving into light films the day after; strong colours are the worst.")
	}
	if s.Chemistry == "PVC" {
		r.Advice = append(r.Advice, "Air the room, and never press hotter than the recipe says.")
	}
	if s.Glitter {
		r.Advice = append(r.Advice, "Keep the glitter's direction the same on every piece of one garment.")
	}
	return r
}
