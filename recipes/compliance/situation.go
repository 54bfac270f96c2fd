// Package compliance judges whether a decorated garment may be sold in a market, and with which labels, papers and
// records, from a table of rules in our own words, head office's notes and the certificates on file.
//
// It is a help, not legal advice. Local law and the reports of accredited laboratories decide.
//
// Room: compliance
// Holds: Situation, Note, Certificate, Verdict, Judged, the rule table, recall notices, retention
// May touch: recipes/units, recipes/fault
// Never: a verdict without that sentence, an age derived from a size or a size from an age, a clock
package compliance

import (
	"slices"
	"time"
	"unicode/utf8"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

const room = "compliance"

// Reasons of this room; append only.
const (
	SituationInvalid fault.Reason = "SITUATION_INVALID"
	PapersInvalid    fault.Reason = "PAPERS_INVALID"
	PapersTooMany    fault.Reason = "PAPERS_TOO_MANY"
	RuleUnknown      fault.Reason = "RULE_UNKNOWN"
	RecordUnknown    fault.Reason = "RECORD_UNKNOWN"
	DateInvalid      fault.Reason = "DATE_INVALID"
)

// Market is one legal area.
type Market string

// Markets whose rules are held here.
const (
	EU Market = "EU"
	UK Market = "UK"
	US Market = "US"
	CA Market = "CA"
	AU Market = "AU"
)

var markets = []Market{EU, UK, US, CA, AU}

// Ownership says whose garment it is and what becomes of it.
type Ownership string

// Ownerships. Work on a consumer's own garment for that consumer's own use is judged differently from goods for sale.
const (
	Stock             Ownership = "stock"
	CustomerOwnUse    Ownership = "customer-own-use"
	CustomerForResale Ownership = "customer-for-resale"
)

var ownerships = []Ownership{Stock, CustomerOwnUse, CustomerForResale}

// Limits of one situation.
const (
	MaxFilms  = 100
	maxWords  = 500                // characters of a name or a sentence
	maxAge    = units.Months(1200) // 100 years
	maxLength = units.Millimetres(3000)
)

// Listing is what an online offer shows.
type Listing struct {
	MakerName, PostalAddress, ElectronicAddress, Picture, Identifier, Warnings bool
}

// Fabric is the garment's cloth, as far as a rule asks.
type Fabric struct {
	Family         string                    // cotton, polyester, wool …; blends as "blend"
	Weight         units.GramsPerSquareMetre // 0: not stated
	Raised         bool                      // a raised or napped surface
	FlameResistant bool                      // shown by the test of the market for children's sleepwear
	BS5722         bool                      // shown to meet BS 5722
	FlameRetardant bool                      // treated with flame-retardant chemicals
	TextileShare   units.PartsPerMillion     // of the whole weight; 0: not stated, taken as a textile
	LargestOther   units.PartsPerMillion     // weight of the largest part of another fibre than the main one
	EmbroideryArea units.PartsPerMillion     // of the surface
	WaterRepellent bool
	AnimalParts    bool // leather, horn, feather, bone
	MetalParts     bool // rivets, buttons, zippers on the skin
}

// Film is one film on the garment.
type Film struct {
	Film, Colour, Lot string
	Chemistry         string // PU, PVC …
	Glitter           bool
	Mouthable         bool // the piece, or a part that comes off or sticks out, is under 5 cm in a dimension
}

// Cords are the garment's cords and drawstrings.
type Cords struct {
	Hood         bool              // any cord in the hood or neck
	HoodFreeEnds bool              // … that has free ends
	Waist        units.Micrometres // longest free end outside the channel at full width; 0: none
	WaistToggle  bool              // a toggle, knot or other thing at a free end
	WaistTacked  bool              // the string is sewn fast to the channel
}

// Situation is one decorated garment about to be sold or handed back. Age, size and height are separate inputs:
// none is derived from another.
type Situation struct {
	Market          Market
	NorthernIreland bool   // of the UK market: goods for Northern Ireland follow the EU's rules
	On              string // day the goods are first placed on the market, YYYY-MM-DD
	Adult           bool
	Age             units.Months // lower bound of the ages the garment is sold for; 0 with Adult
	SoldAs          string       // one of SoldAsWords
	Size            string       // North American size as printed, one of SizeWords; empty where there is none
	Tight           bool         // sleepwear cut tight-fitting to the market's measures
	Ownership       Ownership
	OwnLabel        bool // sold under the workshop's own name or mark
	Imported        bool
	MakerInUnion    bool // the maker is established in the EU
	Online          bool
	Listing         Listing // of an online offer
	Garment         string  // name of the blank garment, for certificates about it; may be empty
	Fabric          Fabric
	Films           []Film
	Cords           Cords
	Height          units.Millimetres // of the child the garment is made for; 0: not stated
	Chest, Length   units.Millimetres // of the garment; 0: not stated
}

// months is the age that age bands are held against; adults are above all of them.
func (s *Situation) months() units.Months {
	if s.Adult {
		return maxAge
	}
	return s.Age
}

// Check reports every fault of the situation at once.
func (s Situation) Check() fault.Fields {
	var fs fault.Fields
	oneOf(&fs, "market", s.Market, markets)
	if s.NorthernIreland && s.Market != UK {
		fs.Add("northern_ireland", "is set, but the market is %q; Northern Ireland is judged in the UK market", s.Market)
	}
	date(&fs, "on", s.On)
	if s.Age < 0 || s.Age > maxAge {
		fs.Add("age_months", "is %d; it must lie from 0 to %d", s.Age, maxAge)
	} else if s.Adult && s.Age != 0 {
		fs.Add("age_months", "is %d, but the garment is for adults; leave it 0", s.Age)
	}
	oneOf(&fs, "sold_as", s.SoldAs, SoldAsWords())
	if s.Size != "" {
		oneOf(&fs, "size", s.Size, SizeWords())
	}
	oneOf(&fs, "ownership", s.Ownership, ownerships)
	text(&fs, "garment", s.Garment, true)
	text(&fs, "fabric.family", s.Fabric.Family, true)
	if s.Fabric.Weight < 0 {
		fs.Add("fabric.weight_g_m2", "is %d; it cannot be negative", s.Fabric.Weight)
	}
	share(&fs, "fabric.textile_share_ppm", s.Fabric.TextileShare)
	share(&fs, "fabric.largest_other_ppm", s.Fabric.LargestOther)
	share(&fs, "fabric.embroidery_area_ppm", s.Fabric.EmbroideryArea)
	if s.Cords.Waist < 0 || s.Cords.Waist > units.Micrometres(maxLength)*1000 {
		fs.Add("cords.waist_um", "is %d; it must lie from 0 to %d", s.Cords.Waist, int64(maxLength)*1000)
	}
	for _, l := range []struct {
		path string
		v    units.Millimetres
	}{{"height_mm", s.Height}, {"chest_mm", s.Chest}, {"length_mm", s.Length}} {
		if l.v < 0 || l.v > maxLength {
			fs.Add(l.path, "is %d; it must lie from 0 to %d", l.v, maxLength)
		}
	}
	if tooMany(&fs, "films", len(s.Films), MaxFilms) {
		return fs
	}
	for i, f := range s.Films {
		text(&fs, at("films", i)+".film", f.Film, false)
		text(&fs, at("films", i)+".colour", f.Colour, true)
		text(&fs, at("films", i)+".lot", f.Lot, true)
		text(&fs, at("films", i)+".chemistry", f.Chemistry, true)
	}
	return fs
}

func oneOf[T ~string](fs *fault.Fields, path string, v T, known []T) {
	if !slices.Contains(known, v) {
		fs.Add(path, "is %q; it must be one of %q", v, known)
	}
}

func text(fs *fault.Fields, path, words string, mayBeEmpty bool) {
	switch n := utf8.RuneCountInString(words); {
	case n == 0 && !mayBeEmpty:
		fs.Add(path, "is empty")
	case n > maxWords:
		fs.Add(path, "has %d characters; the limit is %d", n, maxWords)
	}
}

func date(fs *fault.Fields, path, day string) {
	if _, err := time.Parse(time.DateOnly, day); err != nil {
		fs.Add(path, "is %q; write a day as YYYY-MM-DD", day)
	}
}

func share(fs *fault.Fields, path string, v units.PartsPerMillion) {
	if v < 0 || v > 1_000_000 {
		fs.Add(path, "is %d parts per million; it must lie from 0 to 1000000 (100 %%)", v)
	}
}

func tooMany(fs *fault.Fields, path string, n, limit int) bool {
	if n > limit {
		fs.Add(path, "has %d entries; the limit is %d", n, limit)
		return true
	}
	return false
}
