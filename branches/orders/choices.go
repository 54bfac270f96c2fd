package orders

import (
	"evenpeel/recipes"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// Turns is how far a line's design may be turned on the film.
type Turns int

// The turns of a line; none of them goes further than the film allows.
const (
	AsFilm Turns = iota
	NoTurn
	HalfTurns
	QuarterTurns
	FreeTurns
)

// Choices is how an order is laid out.
type Choices struct {
	TrueOutlines bool
	Grouped      bool
	WeedBorder   *units.Micrometres // nil is the recipe's
	Gap          *units.Micrometres
	UseRemnants  bool
}

// onFilm are the turns that a film allows. A film that allows quarters has no direction, so that there any angle may be
// asked for.
var onFilm = map[recipes.Turns]Turns{recipes.NoTurn: NoTurn, recipes.HalfTurns: HalfTurns, recipes.QuarterTurns: FreeTurns}

// turns is the narrower of what the line asks for and what the film allows; a line that asks for nothing gets the film's
// own, which are quarters at most.
func turns(film recipes.Turns, asked Turns) layout.Turns {
	allowed := max(onFilm[film], NoTurn)
	if asked == AsFilm {
		asked = QuarterTurns
	}
	return map[Turns]layout.Turns{NoTurn: layout.None, HalfTurns: layout.Half, QuarterTurns: layout.Quarter, FreeTurns: layout.Free}[min(asked, allowed)]
}

// Held is a layout that a client holds and hands back.
type Held struct {
	Layout int      // index into the plan's layouts
	Places []Place  // outline, cut, corner, angle and lock are read
	Rolls  []string // film for each cut; empty lets the planner choose
}
