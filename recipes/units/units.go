// Package units holds one Go type per unit of measure, so that a dwell can not be handed over where a
// temperature is wanted. All are signed integers in the unit their name says; nothing here is a float,
// and nothing here formats for a person: the page does that, in the person's own units.
//
// Room: units
// Holds: Celsius, Seconds, Kilopascals, Micrometres, Millimetres, GramsForce, areas, speeds, Money, Window
// May touch: nothing
// Never: floats in records, silent conversion between units
package units

// Celsius is a temperature or a difference of temperatures in whole degrees Celsius.
type Celsius int64

// Seconds is a span in whole seconds, as a person dials it.
type Seconds int64

// Milliseconds is a span in thousandths of a second, for work that is computed rather than dialled.
type Milliseconds int64

// Kilopascals is a pressure on the work (not on the air line) in whole kilopascals.
type Kilopascals int64

// Micrometres is a small length: film thickness, blade exposure, smallest stroke.
type Micrometres int64

// Millimetres is a length or width in whole millimetres.
type Millimetres int64

// GramsForce is a cutting force in grams-force; 1 gf = 9.80665 mN (NIST SP 811).
type GramsForce int64

// MillimetresPerSecond is a cutting speed.
type MillimetresPerSecond int64

// SquareMillimetres is an area of film.
type SquareMillimetres int64

// GramsPerSquareMetre is the weight of a cloth.
type GramsPerSquareMetre int64

// PartsPerMillion is a ratio stored in a record: 200 000 is 20 %.
type PartsPerMillion int64

// Months is an age or a validity.
type Months int64

// Whole is any of the integer units.
type Whole interface{ ~int64 }

// Window is a setting with the range in which the recipe was approved: Low ≤ Set ≤ High.
type Window[T Whole] struct{ Low, Set, High T }

// Holds reports whether v lies in the window, both ends included.
func (w Window[T]) Holds(v T) bool { return w.Low <= v && v <= w.High }

// Ordered reports whether Low ≤ Set ≤ High.
func (w Window[T]) Ordered() bool { return w.Low <= w.Set && w.Set <= w.High }

// Around is the window [set−below, set+above].
func Around[T Whole](set, below, above T) Window[T] { return Window[T]{set - below, set, set + above} }
