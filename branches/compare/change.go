package compare

import (
	"evenpeel/recipes/fault"
)

// Tally is pieces pressed and, of these, reprints.
type Tally struct{ Pieces, Reprints int64 }

// Rate is reprints ÷ pieces, 0 without pieces.
func (t Tally) Rate() float64 {
	if t.Pieces == 0 {
		return 0
	}
	return float64(t.Reprints) / float64(t.Pieces)
}

// TallyOf adds up the cells for which keep holds; a revision before and after a release, for instance. Cells that no
// roll-up could hold are left to the comparison that is made of them.
func TallyOf(cells []Cell, keep func(Cell) bool) Tally {
	var t Tally
	for _, c := range cells {
		if keep(c) {
			t.Pieces += c.Pieces
			t.Reprints += c.Reprints
		}
	}
	return t
}

// Verdict is what a change did to the reprint rate.
type Verdict string

// A change is judged by whether its 95 % interval holds 0.
const (
	Fewer   Verdict = "fewer"
	More    Verdict = "more"
	NotTold Verdict = "can not tell"
)

// Difference is a change of the reprint rate, after − before; below 0 is fewer reprints.
type Difference struct {
	Before, After   float64
	Change          float64
	Change95        Interval // Newcombe 1998b, method 10
	Controlled      bool     // a control was given: branches that did not change, over the same two spans
	ControlChange   float64
	ControlChange95 Interval
	// Net is Change − ControlChange, the difference in differences; its interval squares and adds the two Newcombe
	// intervals. Without a control, that of Change.
	Net     float64
	Net95   Interval
	Verdict Verdict // by Net95
}

// BeforeAfter says whether a change helped. A control of two empty tallies means there is none: what else changed at the
// same time is then in the answer too. An empty side makes the answer "can not tell". Fault kind: Invalid.
func BeforeAfter(before, after, controlBefore, controlAfter Tally) (Difference, error) {
	var fs fault.Fields
	for _, t := range []struct {
		path string
		Tally
	}{{"before", before}, {"after", after}, {"control_before", controlBefore}, {"control_after", controlAfter}} {
		if t.Pieces < 0 || t.Pieces > MaxCells*MaxPieces {
			fs.Add(t.path+".pieces", "is %d, must be 0 to %d", t.Pieces, MaxCells*MaxPieces)
		}
		if t.Reprints < 0 || t.Reprints > t.Pieces {
			fs.Add(t.path+".reprints", "is %d, must be 0 to the %d pieces pressed", t.Reprints, t.Pieces)
		}
	}
	if err := fs.Fault(room, TallyInvalid, "Some counts can not be: mend these."); err != nil {
		return Difference{}, err
	}
	d := Difference{Before: before.Rate(), After: after.Rate()}
	d.Change, d.Change95 = changed(before, after)
	d.Net, d.Net95 = d.Change, d.Change95
	if controlBefore != (Tally{}) || controlAfter != (Tally{}) {
		d.Controlled = true
		d.ControlChange, d.ControlChange95 = changed(controlBefore, controlAfter)
		d.Net = d.Change - d.ControlChange
		d.Net95 = subtracted(d.Change, d.ControlChange, d.Change95, d.ControlChange95)
	}
	known := before.Pieces > 0 && after.Pieces > 0 && (!d.Controlled || controlBefore.Pieces > 0 && controlAfter.Pieces > 0)
	switch {
	case known && d.Net95.High < 0:
		d.Verdict = Fewer
	case known && d.Net95.Low > 0:
		d.Verdict = More
	default:
		d.Verdict = NotTold
	}
	return d, nil
}

func changed(before, after Tally) (float64, Interval) {
	return after.Rate() - before.Rate(), NewcombeDifference(after.Reprints, after.Pieces, before.Reprints, before.Pieces, Level95)
}
