// Package recipes is what head office approves: the recipe itself, and the path that every kind of record takes
// from draft to revision to release. It decides; stores only keep. Sealed bytes pass through here by digest and
// are never decoded: package sealed does that.
//
// Room: recipes
// Holds: Recipe, Draft, Revision, Release, Sheet, Sealed, the acts of Office, the Catalog and Desk that stores implement
// May touch: recipes/units, recipes/fault, recipes/compliance/care
// Never: SQL, Redis, RPC, protobuf, a clock it was not handed, a branch's machines
package recipes

import (
	"regexp"
	"strings"

	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Fabric is a fabric family: "cotton", "polyester", "blend", "nylon", "stretch".
type Fabric string

// Fabrics are the families that a recipe may name.
var Fabrics = []Fabric{"cotton", "polyester", "blend", "nylon", "stretch"}

// Peel is when the carrier comes off.
type Peel string

const (
	Hot  Peel = "hot"
	Warm Peel = "warm"
	Cold Peel = "cold"
)

// Turns is how a design may be turned on a film.
type Turns string

const (
	NoTurn       Turns = "none"    // glitter direction or nap matters
	HalfTurns    Turns = "half"    // 0° and 180°
	QuarterTurns Turns = "quarter" // 0°, 90°, 180°, 270°
)

// Film is the material. Its facts travel inside every recipe, so that one sealed recipe can be judged alone.
type Film struct {
	Code, Title, Chemistry string
	Glitter                bool
	Thickness              units.Micrometres // film and adhesive, without the carrier
	Carrier                units.Micrometres
	RollWidth              units.Millimetres
	Colours                []string
	MinStroke, MinGap      units.Micrometres
	SmallestPiece          units.SquareMillimetres
	Turns                  Turns
	Care                   care.Label
}

// Recipe is how one film is cut and pressed onto one fabric family.
type Recipe struct {
	Title      string
	Film       Film
	Fabric     Fabric
	CutSpeed   units.Window[units.MillimetresPerSecond]
	CutForce   units.Window[units.GramsForce]
	BladeDepth units.Window[units.Micrometres]
	Passes     int64
	Gap        units.Millimetres // between designs on the roll
	WeedBorder units.Millimetres // around each design

	Temperature units.Window[units.Celsius]
	PrePress    units.Seconds
	Dwell       units.Window[units.Seconds]
	Pressure    units.Window[units.Kilopascals]
	Peel        Peel
	PeelWait    units.Seconds
	SecondPress units.Seconds // 0 is none
	CoverSheet  bool
	Advice      []string
}

var code = regexp.MustCompile(`^[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`)

// limit is an outermost range for a setting, whatever the film: a typing slip is caught here, not at the press.
type limit struct {
	low, high int64
	unit      string
}

// Outermost ranges. Common practice, no source: they bound what machines of this trade can do at all.
var (
	speedLimit       = limit{10, 2000, "mm/s"}
	forceLimit       = limit{5, 1000, "gf"}
	bladeLimit       = limit{10, 3000, "µm"}
	temperatureLimit = limit{80, 220, "°C"}
	dwellLimit       = limit{1, 120, "s"}
	pressureLimit    = limit{1, 1000, "kPa"}
	pauseLimit       = limit{0, 600, "s"}
)

// Check finds everything that keeps a recipe from being approved. Paths are those of record.v1.Recipe.
func (r Recipe) Check() fault.Fields {
	var fs fault.Fields
	text(&fs, "title", r.Title, 120)
	if !isFabric(r.Fabric) {
		fs.Add("fabric", "is %q; choose one of cotton, polyester, blend, nylon, stretch", r.Fabric)
	}
	fs.Under("film", r.Film.Check())
	window(&fs, "cut_speed_mm_per_second", r.CutSpeed, speedLimit)
	window(&fs, "cut_force_grams", r.CutForce, forceLimit)
	window(&fs, "blade_depth_um", r.BladeDepth, bladeLimit)
	// Common practice, no source: the blade goes through the film and a little into the carrier, never through it.
	if through := r.Film.Thickness + r.Film.Carrier; r.Film.Carrier > 0 && r.BladeDepth.High >= through {
		fs.Add("blade_depth_um.high", "is %d µm, which reaches through film and carrier (%d µm); a kiss cut stays above that", r.BladeDepth.High, through)
	}
	number(&fs, "passes", r.Passes, limit{1, 5, "passes"})
	number(&fs, "gap_mm", int64(r.Gap), limit{0, 50, "mm"})
	number(&fs, "weed_border_mm", int64(r.WeedBorder), limit{0, 50, "mm"})
	window(&fs, "press_temperature_celsius", r.Temperature, temperatureLimit)
	number(&fs, "pre_press_seconds", int64(r.PrePress), limit{0, 30, "s"})
	window(&fs, "dwell_seconds", r.Dwell, dwellLimit)
	window(&fs, "pressure_kpa", r.Pressure, pressureLimit)
	if r.Peel != Hot && r.Peel != Warm && r.Peel != Cold {
		fs.Add("peel", "is not chosen; choose hot, warm or cold")
	}
	number(&fs, "peel_wait_seconds", int64(r.PeelWait), pauseLimit)
	if r.Peel == Cold && r.PeelWait == 0 {
		fs.Add("peel_wait_seconds", "is 0, but a cold peel has to wait; say how long")
	}
	number(&fs, "second_press_seconds", int64(r.SecondPress), limit{0, 60, "s"})
	if len(r.Advice) > 20 {
		fs.Add("advice", "has %d lines, at most 20 are read at a bench", len(r.Advice))
	}
	for _, line := range r.Advice {
		if len(line) > 300 {
			fs.Add("advice", "has a line of %d characters, at most 300 fit", len(line))
		}
	}
	return fs
}

// Check finds what is wrong with the film's facts.
func (f Film) Check() fault.Fields {
	var fs fault.Fields
	if !code.MatchString(f.Code) {
		fs.Add("code", "is %q; use lower-case letters, digits and hyphens", f.Code)
	}
	text(&fs, "title", f.Title, 120)
	text(&fs, "chemistry", f.Chemistry, 20)
	number(&fs, "thickness_um", int64(f.Thickness), limit{10, 3000, "µm"})
	number(&fs, "carrier_um", int64(f.Carrier), limit{0, 1000, "µm"})
	number(&fs, "roll_width_mm", int64(f.RollWidth), limit{50, 2000, "mm"})
	number(&fs, "min_stroke_um", int64(f.MinStroke), limit{0, 20000, "µm"})
	number(&fs, "min_gap_um", int64(f.MinGap), limit{0, 20000, "µm"})
	number(&fs, "smallest_piece_mm2", int64(f.SmallestPiece), limit{0, 1000, "mm²"})
	if len(f.Colours) == 0 {
		fs.Add("colours", "is empty; name at least one")
	}
	seen := map[string]bool{}
	for _, colour := range f.Colours {
		if strings.TrimSpace(colour) == "" || seen[colour] {
			fs.Add("colours", "holds %q twice or empty", colour)
		}
		seen[colour] = true
	}
	fs.Under("care", f.Care.Check())
	if f.Turns != NoTurn && f.Turns != HalfTurns && f.Turns != QuarterTurns {
		fs.Add("turns", "is not chosen; say how a design may be turned on this film")
	}
	return fs
}

func isFabric(f Fabric) bool {
	for _, known := range Fabrics {
		if f == known {
			return true
		}
	}
	return false
}

func text(fs *fault.Fields, path, value string, most int) {
	switch {
	case strings.TrimSpace(value) == "":
		fs.Add(path, "is empty")
	case len(value) > most:
		fs.Add(path, "has %d characters, at most %d fit", len(value), most)
	}
}

func number(fs *fault.Fields, path string, v int64, l limit) {
	if v < l.low || v > l.high {
		fs.Add(path, "is %d %s; allowed are %d to %d %s", v, l.unit, l.low, l.high, l.unit)
	}
}

func window[T units.Whole](fs *fault.Fields, path string, w units.Window[T], l limit) {
	if !w.Ordered() {
		fs.Add(path, "runs from %d over %d to %d %s; it has to rise", int64(w.Low), int64(w.Set), int64(w.High), l.unit)
		return
	}
	number(fs, path+".low", int64(w.Low), l)
	number(fs, path+".high", int64(w.High), l)
}
