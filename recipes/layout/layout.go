// Package layout places designs on a roll of film with least length: how much film does an order need, and
// what is the shortest any layout could be. A piece is a mirrored design, as its outline or only as its box; the
// roll's width is fixed and its length grows (strip packing). Everything is a whole number of micrometres, so
// "touches exactly" means something and Verify has no tolerance. Whoever makes boxes rounds sizes up.
//
// Two engines: Pack answers at once, by boxes; Improve goes on from there, by boxes and then by true outlines
// (package nest), and hands over every shorter layout as it is found. Neither is ever longer than what it began with.
// Split cuts a long order by boxes; Spread puts it on several rolls and remnants.
//
// The film's frame: X runs across the roll from its left edge, Y along the roll from the start of the cut.
// What is lost here: where a piece came from, and curves. Whoever draws outlines flattens them first.
//
// Room: layout
// Holds: Roll, Piece, Layout, Pack, Improve, Split, Spread, Verify
// May touch: recipes/units, recipes/fault, recipes/layout/nest
// Never: a clock, randomness without a seed, a layout released without Verify
package layout

import (
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Limits of one call; more is a TooLarge or Invalid fault. They keep every area below 2⁶³ µm².
const (
	MaxPieces      = 20_000                                // entries in the list of pieces
	MaxCopies      = 20_000                                // copies over all pieces
	MaxFilms       = 200                                   // Spread
	MaxCuts        = 1_000                                 // Split
	MaxMoves       = 1_000_000_000                         // Effort.Moves and Effort.Evaluations
	MaxPoints      = 20_000                                // points of one outline
	MaxOrderPoints = 1_000_000                             // points of all outlines, each design once
	MaxRollWidth   = units.Micrometres(4 * 1_000_000)      // 4 m
	MaxSide        = units.Micrometres(40 * 1_000_000)     // 40 m, either side of a piece
	MaxSpacing     = units.Micrometres(100 * 1_000)        // 100 mm, gap and weeding border
	MaxEnd         = units.Micrometres(10 * 1_000_000)     // 10 m, lead and tail
	MaxCut         = units.Micrometres(10_000 * 1_000_000) // 10 km, Roll.MaxLength
)

const room = "layout"

// Reasons of this room; the list is append-only.
const (
	RollInvalid   fault.Reason = "ROLL_INVALID"    // Invalid: fields say which measure of the roll
	PieceInvalid  fault.Reason = "PIECE_INVALID"   // Invalid: fields say which pieces
	EffortInvalid fault.Reason = "EFFORT_INVALID"  // Invalid: moves below zero or above MaxMoves
	NoPieces      fault.Reason = "NO_PIECES"       // Invalid: nothing to place
	TooMany       fault.Reason = "TOO_MANY"        // TooLarge: over MaxPieces, MaxCopies, MaxPoints or MaxOrderPoints
	PieceTooWide  fault.Reason = "PIECE_TOO_WIDE"  // Invalid: wider than the roll leaves between its margins
	PieceTooLong  fault.Reason = "PIECE_TOO_LONG"  // Invalid: alone longer than Roll.MaxLength
	OverMaxLength fault.Reason = "OVER_MAX_LENGTH" // Invalid: all together longer than Roll.MaxLength
	LayoutInvalid fault.Reason = "LAYOUT_INVALID"  // Invalid: Verify found places that can not be cut
	TooManyCuts   fault.Reason = "TOO_MANY_CUTS"   // TooLarge: Split would need more than MaxCuts
	LayoutBroken  fault.Reason = "LAYOUT_BROKEN"   // Broken: our own layout did not pass Verify
	FilmsTooShort fault.Reason = "FILMS_TOO_SHORT" // Invalid: the films of Spread do not hold every copy
	Stopped       fault.Reason = "STOPPED"         // Unavailable: the context ended before there was a layout
)

// Turns says how a piece may be turned on the film.
type Turns uint8

const (
	None    Turns = iota // as drawn only: the film's glitter direction or nap matters
	Half                 // 0° and 180°: the same box as None
	Quarter              // 0°, 90°, 180°, 270°
	Free                 // any angle; as a box, quarters
)

// Piece is one design and how often it is wanted.
type Piece struct {
	Key           string            // the caller's word for it, used in faults
	Width, Height units.Micrometres // box of the mirrored design: Width across the roll, Height along it
	Copies        int               // at least 1
	Turns         Turns
	Group         string // what is weeded together, for example one garment; may be empty
	// Outline are even-odd rings in the piece's own frame, 0 ≤ X ≤ Width and 0 ≤ Y ≤ Height; none is the box.
	// Rings may touch but must not cross themselves or one another. Not more than MaxPoints, MaxOrderPoints.
	Outline []Ring
}

// Roll is the film and what the cutter leaves unusable of it.
type Roll struct {
	Width      units.Micrometres // edge to edge
	EdgeMargin units.Micrometres // at each side, for the pinch rollers
	Lead, Tail units.Micrometres // at the start and at the end of the cut
	Gap        units.Micrometres // least distance between two pieces' weeding borders
	WeedBorder units.Micrometres // around every piece, inside the margins
	MaxLength  units.Micrometres // longest cut, lead and tail included; 0 is no limit
	NoNesting  bool              // no piece inside a hole of another
}

// Effort is how hard to search. Work is counted, not timed, so the answer does not depend on how fast the machine
// is; a move costs about 0.1 µs per copy, an evaluation about 0.5 … 2 µs of one of two cores. A context that ends
// early ends the search early.
type Effort struct {
	Seed        uint64
	Moves       int  // moves of the box search; 0 is the greedy layout only
	Evaluations int  // places the outline search looks at, in Improve and Spread; 0 is boxes only
	Grouped     bool // every Group on its own stretch of the roll, so that weeding stays sorted
}

// Place is one copy on the film: the lower left corner of the box around its turned outline, without border.
type Place struct {
	Piece, Copy int // index into the pieces, and 0 … Copies−1
	X, Y        units.Micrometres
	Angle       Millidegrees // counter-clockwise, 0 … 359 999
	Locked      bool         // Improve leaves it exactly where it is
}

// Areas is the film drawn, split so that the parts add up to Drawn exactly.
type Areas struct {
	Drawn   units.SquareMillimetres // roll width × Length
	Pieces  units.SquareMillimetres // the pieces' boxes; as soon as one has an outline, what all outlines enclose
	Borders units.SquareMillimetres // weeding borders
	Gaps    units.SquareMillimetres // the gap kept to the next piece
	Edges   units.SquareMillimetres // under the pinch rollers
	Ends    units.SquareMillimetres // lead and tail between the edges
	Offcut  units.SquareMillimetres // the rest: what a better layout could save at most
}

// Layout is every copy on the film.
type Layout struct {
	Places             []Place           // along the roll: by Y, then X
	Length             units.Micrometres // film drawn, lead and tail included
	Bound              units.Micrometres // no layout of these boxes, or outlines where there are any, can be shorter
	Areas              Areas
	Moves, Evaluations int // effort spent
}
