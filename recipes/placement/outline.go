package placement

import (
	"fmt"
	"strings"

	"evenpeel/recipes/units"
)

// Outlined is the outline of the garment's face, and the box around it. Faults: NO_SUCH_GARMENT, NO_SUCH_SIZE.
func (t Table) Outlined(kind, size string, face Face) (path string, around Box, err error) {
	g, err := t.garment(kind)
	if err != nil {
		return "", Box{}, err
	}
	if path, err = g.Outline(size, face); err != nil {
		return "", Box{}, err
	}
	s, _ := g.size(size) // Outline has found it
	return path, g.around(s, face), nil
}

// around holds all that Outline draws.
func (g Garment) around(s Size, face Face) Box {
	switch {
	case face == LeftSleeve || face == RightSleeve:
		return Box{X: -s.SleeveWidth / 8, Y: -30, Width: s.SleeveWidth + 2*(s.SleeveWidth/8), Height: s.SleeveLength + 30}
	case g.Bag:
		return Box{Y: -60, Width: s.Width, Height: s.Length + 60}
	case s.SleeveWidth > 0:
		reach := min(s.SleeveLength, s.Armhole*2)
		out, low := reach*3/5, max(s.Length, reach*4/5+s.SleeveWidth*2/5)
		return Box{X: -out, Width: s.Width + 2*out, Height: low}
	}
	return Box{Width: s.Width, Height: s.Length}
}

// Outline is a plain line drawing of the garment's front or back laid flat, as SVG path data in mm with 0,0 where Box
// has it; sleeves reach left of 0 and right of the width. It shows where a design lies, no more.
// Fault: NO_SUCH_SIZE.
func (g Garment) Outline(size string, face Face) (string, error) {
	s, err := g.size(size)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	w, h := s.Width, s.Length
	switch {
	case face == LeftSleeve || face == RightSleeve:
		fmt.Fprintf(&b, "M0 %d H%d L%d 0 Q%d -30 %d 0 Z", s.SleeveLength, s.SleeveWidth, s.SleeveWidth+s.SleeveWidth/8, s.SleeveWidth/2, -s.SleeveWidth/8)
	case g.Bag:
		fmt.Fprintf(&b, "M0 0 H%d V%d H0 Z", w, h)
		for _, edge := range []units.Millimetres{w * 3 / 10, w * 7 / 10} { // where the handles or the neck band begin
			fmt.Fprintf(&b, " M%d 0 V-60", edge)
		}
	default:
		neck := s.FrontNeck
		if face == Back {
			neck = s.BackNeck
		}
		left, right := w/2-w*9/50, w/2+w*9/50
		fmt.Fprintf(&b, "M%d 0 Q%d %d %d 0 ", left, w/2, 2*neck, right)
		if s.SleeveWidth > 0 { // a sleeve hangs from the shoulder, its hem square to it
			reach := min(s.SleeveLength, s.Armhole*2)
			fmt.Fprintf(&b, "L%d %d L%d %d L%d %d L%d %d ", w, s.Armhole/6, w+reach*3/5, reach*4/5, w+reach*3/5-s.SleeveWidth/2, reach*4/5+s.SleeveWidth*2/5, w, s.Armhole)
			fmt.Fprintf(&b, "V%d H0 V%d L%d %d L%d %d L0 %d Z", h, s.Armhole, -reach*3/5+s.SleeveWidth/2, reach*4/5+s.SleeveWidth*2/5, -reach*3/5, reach*4/5, s.Armhole/6)
		} else {
			fmt.Fprintf(&b, "L%d %d V%d H0 V%d Z", w, s.Armhole/6, h, s.Armhole/6)
		}
		if p := s.PocketUpToHem; face == Front && p > 0 {
			fmt.Fprintf(&b, " M%d %d V%d L%d %d H%d L%d %d V%d", w/5, h, h-p/2, w*3/10, h-p, w*7/10, w*4/5, h-p/2, h)
		}
	}
	return b.String(), nil
}
