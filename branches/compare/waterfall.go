package compare

import "evenpeel/recipes/units"

// Loss is one step of the waterfall from the film drawn to the film on good garments.
type Loss struct {
	Step string
	Area units.SquareMillimetres // of the step; below 0 only for "not accounted", where more was booked than drawn
	Left units.SquareMillimetres // after the step
}

// Waterfall is the film drawn, less each loss, less what is not accounted for, down to the film decorated. The steps
// sum exactly: drawn − losses − not accounted = decorated. Fault kinds: Invalid, TooLarge.
func Waterfall(cells []Cell) ([]Loss, error) {
	if err := check(cells); err != nil {
		return nil, err
	}
	var s Cell
	for i := range cells {
		c := &cells[i]
		s.Drawn += c.Drawn
		s.Decorated += c.Decorated
		s.LayoutLoss += c.LayoutLoss
		s.EdgeLoss += c.EdgeLoss
		s.TestCutLoss += c.TestCutLoss
		s.WeedingLoss += c.WeedingLoss
		s.ReprintLoss += c.ReprintLoss
		s.RollEndLoss += c.RollEndLoss
	}
	steps := []Loss{{"drawn", s.Drawn, s.Drawn}, {Step: "layout", Area: s.LayoutLoss}, {Step: "edge", Area: s.EdgeLoss},
		{Step: "test cuts", Area: s.TestCutLoss}, {Step: "weeding", Area: s.WeedingLoss}, {Step: "reprints", Area: s.ReprintLoss}, {Step: "roll ends", Area: s.RollEndLoss}}
	left := s.Drawn
	for i := range steps[1:] {
		left -= steps[i+1].Area
		steps[i+1].Left = left
	}
	return append(steps, Loss{"not accounted", left - s.Decorated, s.Decorated}, Loss{"decorated", s.Decorated, s.Decorated}), nil
}
