package cut

import (
	"math"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Tally is what of a drawing takes a weeder's time. Pieces counts every piece of film that stays; Islands are those of
// them that lie in the hole of another, and Tiny those below the film's smallest piece.
type Tally struct {
	Pieces, Holes, Islands, Tiny int
	Perimeter                    float64 // mm, holes too
}

// Plus is the tally of two drawings together.
func (t Tally) Plus(u Tally) Tally {
	return Tally{t.Pieces + u.Pieces, t.Holes + u.Holes, t.Islands + u.Islands, t.Tiny + u.Tiny, t.Perimeter + u.Perimeter}
}

// Times is the tally of n copies.
func (t Tally) Times(n int) Tally {
	return Tally{t.Pieces * n, t.Holes * n, t.Islands * n, t.Tiny * n, t.Perimeter * float64(n)}
}

// Counted tallies the drawing; smallest is the film's smallest piece, 0 where it is not known.
func Counted(d Drawing, smallest units.SquareMillimetres) Tally {
	var t Tally
	var outer []Ring
	for _, s := range d.Shapes {
		t.Pieces++
		t.Holes += len(s.Rings) - 1
		if s.Area < float64(smallest)*(1-sameSize) {
			t.Tiny++
		}
		for _, r := range s.Rings {
			t.Perimeter += r.Length()
		}
		outer = append(outer, s.Rings[0])
	}
	depth, _ := depths(outer)
	for _, n := range depth {
		if n > 0 {
			t.Islands++
		}
	}
	return t
}

// WeedingModel is how long weeding by hand takes: so much for each piece, hole, island (beside its piece) and metre of
// outline.
type WeedingModel struct {
	Piece, Hole, Island, Metre units.Milliseconds

	Observations int     // how many it was fitted to; 0 is common practice
	Spread       float64 // root mean square of the part by which it misses them: 0.2 is 20 %
}

// UsualWeeding is common practice, no source: measure your own people, and fit.
var UsualWeeding = WeedingModel{Piece: 2000, Hole: 4000, Island: 1000, Metre: 10_000}

// Time is how long the tally takes to weed.
func (m WeedingModel) Time(t Tally) units.Milliseconds {
	sum := float64(m.Piece)*float64(t.Pieces) + float64(m.Hole)*float64(t.Holes) + float64(m.Island)*float64(t.Islands) + float64(m.Metre)*t.Perimeter/1000
	return units.Milliseconds(math.Round(sum))
}

// Weeding is the time to weed a drawing by hand as is usual.
func Weeding(d Drawing) units.Milliseconds { return UsualWeeding.Time(Counted(d, 0)) }

// WeedingObservation is what one run really took.
type WeedingObservation struct {
	Tally Tally
	Took  units.Milliseconds
}

// What FitWeeding takes, and how far what is usual weighs beside it.
const (
	leastObservations = 6
	mostObservations  = 20_000
	usualWeight       = 0.05 // each usual part counts as an observation of it alone, twenty times less sure
)

// FitWeeding fits the model to what runs took: ridge least squares of the relative error, drawn towards UsualWeeding,
// with no part below nothing. A few observations move it a little, hundreds wholly; a part that no observation tells
// about stays as usual.
// Faults: OPTIONS_INVALID with every observation that can not be.
func FitWeeding(observations []WeedingObservation) (WeedingModel, error) {
	if n := len(observations); n < leastObservations || n > mostObservations {
		return WeedingModel{}, refuse(fault.Invalid, OptionsInvalid, "Weeding times can be fitted to %d to %d observations; these are %d. Report more runs, or choose a shorter time.", leastObservations, mostObservations, n)
	}
	var fields fault.Fields
	for i, o := range observations {
		t := o.Tally
		if o.Took <= 0 || o.Took > 24*3600*1000 {
			fields.Add(path(i, "took"), "is %d ms; it must be above 0 and at most a day", o.Took)
		}
		if t.Pieces < 1 || t.Holes < 0 || t.Islands < 0 || t.Islands > t.Pieces || !(t.Perimeter >= 0 && t.Perimeter <= 1e9) || t.Pieces > 1e7 || t.Holes > 1e7 {
			fields.Add(path(i, "tally"), "can not be: %d pieces, %d holes, %d islands, %g mm of outline", t.Pieces, t.Holes, t.Islands, t.Perimeter)
		}
	}
	if err := fields.Fault("cut", OptionsInvalid, "The weeding times can not be fitted."); err != nil {
		return WeedingModel{}, err
	}
	usual := [4]float64{float64(UsualWeeding.Piece), float64(UsualWeeding.Hole), float64(UsualWeeding.Island), float64(UsualWeeding.Metre)}
	var rows [][]float64
	var wanted []float64
	for _, o := range observations { // unknown is by how much each part is times what is usual
		t, took := o.Tally, float64(o.Took)
		rows = append(rows, []float64{usual[0] * float64(t.Pieces) / took, usual[1] * float64(t.Holes) / took, usual[2] * float64(t.Islands) / took, usual[3] * t.Perimeter / 1000 / took})
		wanted = append(wanted, 1)
	}
	for k := range usual {
		row := make([]float64, len(usual))
		row[k] = usualWeight
		rows, wanted = append(rows, row), append(wanted, usualWeight)
	}
	times := nonNegative(rows, wanted)
	part := func(k int) units.Milliseconds { return units.Milliseconds(math.Round(min(times[k]*usual[k], 1e9))) }
	m := WeedingModel{Piece: part(0), Hole: part(1), Island: part(2), Metre: part(3), Observations: len(observations)}
	for _, o := range observations {
		miss := float64(m.Time(o.Tally)-o.Took) / float64(o.Took)
		m.Spread += miss * miss
	}
	m.Spread = math.Sqrt(m.Spread / float64(len(observations)))
	return m, nil
}
