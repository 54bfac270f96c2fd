package machines

import (
	"fmt"
	"sync"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/press"
	"evenpeel/recipes/units"
)

// Setting is one line of a card: what the recipe wants, what to dial, and what that gives.
type Setting struct {
	Quantity  Quantity
	Key       string // field of record.v1.Recipe: "dwell_seconds"
	Wanted    Milli
	Dial      Milli
	Scale     string
	Decimals  int
	Given     Milli
	Low, High Milli
	Refusal   string // why this machine can not hold it; empty where it can
}

// Card is one recipe worked out for one cutter and one press.
type Card struct {
	Revision  recipes.RevisionName
	Digest    recipes.Digest
	Release   int64
	Effective time.Time
	Cutter    string
	Press     string
	Recipe    recipes.Recipe
	Cut       []Setting
	Pressing  []Setting
	Refusals  []string
	Warnings  []press.Warning
	BondLine  press.Estimate
}

// Usable reports whether the card may be worked by.
func (c Card) Usable() bool { return len(c.Refusals) == 0 }

// scaleOf is the unit that people read for a quantity, for refusals.
var scaleOf = map[Quantity]string{Force: "gf", Speed: "mm/s", Temperature: "°C", Pressure: "kPa", Time: "s", Blade: "µm"}

// Situation's unknowns are taken as the press model's ordinary day. Common practice, no source.
const (
	roomTemperature = units.Celsius(25)
	clothWeight     = units.GramsPerSquareMetre(180)
	placeTime       = units.Seconds(6)
)

// Worked works a recipe out for a branch's own cutter and press. A setting is the dial's nearest step; a machine that
// can not hold the recipe's window refuses with the reason, and the card is then not to be used.
func Worked(e recipes.SheetEntry, r recipes.Recipe, cutter, platen Machine, heat *Heat) Card {
	c := Card{Revision: e.Revision, Digest: e.Digest, Release: e.Release, Effective: e.Effective, Cutter: cutter.Name, Press: platen.Name, Recipe: r}
	c.tooWide(cutter, r)
	c.Cut = append(c.Cut,
		set(&c, cutter, Speed, "cut_speed_mm_per_second", r.CutSpeed),
		set(&c, cutter, Force, "cut_force_grams", r.CutForce),
		set(&c, cutter, Blade, "blade_depth_um", r.BladeDepth))
	fixed := func(v units.Seconds) units.Window[units.Seconds] { return units.Around(v, 1, 2) }
	c.Pressing = append(c.Pressing, set(&c, platen, Temperature, "press_temperature_celsius", r.Temperature))
	if r.PrePress > 0 {
		c.Pressing = append(c.Pressing, set(&c, platen, Time, "pre_press_seconds", fixed(r.PrePress)))
	}
	c.Pressing = append(c.Pressing,
		set(&c, platen, Time, "dwell_seconds", r.Dwell),
		set(&c, platen, Pressure, "pressure_kpa", r.Pressure))
	if r.SecondPress > 0 {
		c.Pressing = append(c.Pressing, set(&c, platen, Time, "second_press_seconds", fixed(r.SecondPress)))
	}
	c.heat(heat)
	return c
}

// heat asks the press model, with the temperature that this press really gives. It warns; it never refuses.
func (c *Card) heat(model *Heat) {
	r, platen := c.Recipe, c.Recipe.Temperature.Set
	for _, s := range c.Pressing {
		if s.Quantity == Temperature && s.Refusal == "" {
			platen = units.Celsius((s.Given + 500) / 1000)
		}
	}
	family := press.FabricFamily(r.Fabric)
	situation := press.Situation{
		Platen: platen, Pad: roomTemperature, CoverSheet: r.CoverSheet, Carrier: r.Film.Carrier, Film: r.Film.Thickness, Fabric: family,
		Weight: clothWeight, Regain: press.StandardRegain(family), PrePress: r.PrePress, Place: placeTime, Dwell: r.Dwell.Set,
	}
	c.BondLine, c.Warnings = model.asked(situation)
}

// Heat remembers what the press model answered: a branch's cards ask the same few situations again and again, and
// each costs some 16 ms. The zero value is ready; nil asks afresh every time.
type Heat struct {
	mu    sync.Mutex
	known map[press.Situation]warmth
}

type warmth struct {
	end      press.Estimate
	warnings []press.Warning
}

// maxSituations bounds the memory: some hundred bytes each.
const maxSituations = 10_000

func (h *Heat) asked(s press.Situation) (press.Estimate, []press.Warning) {
	if h != nil {
		h.mu.Lock()
		w, ok := h.known[s]
		h.mu.Unlock()
		if ok {
			return w.end, w.warnings
		}
	}
	var w warmth
	// A situation outside the model's range gives no estimate, which is better than a wrong one.
	if history, err := press.BondLine(s); err == nil {
		w = warmth{history.End, press.Warnings(s, history)}
	}
	if h != nil {
		h.mu.Lock()
		defer h.mu.Unlock()
		if h.known == nil || len(h.known) >= maxSituations {
			h.known = map[press.Situation]warmth{}
		}
		h.known[s] = w
	}
	return w.end, w.warnings
}

func set[T units.Whole](c *Card, m Machine, q Quantity, key string, w units.Window[T]) Setting {
	s := Setting{Quantity: q, Key: key, Wanted: Milli(w.Set) * 1000, Low: Milli(w.Low) * 1000, High: Milli(w.High) * 1000}
	d, ok := m.Dial(q)
	if !ok { // set by hand: the recipe's own number is what to set
		s.Dial, s.Given, s.Scale = s.Wanted, s.Wanted, scaleOf[q]
		return s
	}
	var within bool
	s.Dial, within = d.Nearest(s.Wanted)
	s.Given, s.Scale, s.Decimals = d.True(s.Dial), d.Scale, d.Decimals()
	if !within || s.Given < s.Low || s.Given > s.High {
		s.Refusal = fmt.Sprintf("%s gives %s %s at its nearest setting; the recipe allows %s to %s %s.", m.Title, s.Given, scaleOf[q], s.Low, s.High, scaleOf[q])
		if s.Given >= s.Low && s.Given <= s.High {
			s.Refusal = fmt.Sprintf("%s %s lies beyond what %s can be set to.", s.Wanted, scaleOf[q], m.Title)
		}
		c.Refusals = append(c.Refusals, s.Refusal)
	}
	return s
}

// String writes thousandths as a decimal number without needless zeros.
func (m Milli) String() string {
	sign := ""
	if m < 0 {
		sign, m = "-", -m
	}
	s := fmt.Sprintf("%s%d.%03d", sign, m/1000, m%1000)
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	if s[len(s)-1] == '.' {
		s = s[:len(s)-1]
	}
	return s
}
