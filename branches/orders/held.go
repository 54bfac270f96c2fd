package orders

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// held reads a layout that a client handed back and checks it exactly; index is its place among those handed in. Fault
// Invalid/LAYOUT_INVALID with every field.
func (s *sheet) held(ctx context.Context, h Held, index int) ([]layout.Layout, error) {
	path := fmt.Sprintf("keep[%d]", index)
	var fs fault.Fields
	count, copies := 0, make([]int, len(s.outlines))
	for i, at := range h.Places {
		if at.Outline < 0 || at.Outline >= len(s.outlines) {
			fs.Add(fmt.Sprintf("%s.places[%d].outline", path, i), "is %d; this layout has %d", at.Outline, len(s.outlines))
		}
		if at.Cut < 0 || at.Cut >= layout.MaxCuts {
			fs.Add(fmt.Sprintf("%s.places[%d].cut", path, i), "is %d; 0 to %d", at.Cut, layout.MaxCuts-1)
		}
		count = max(count, at.Cut+1)
	}
	if err := fs.Fault(room, layout.LayoutInvalid, "This layout is not of this order. Take the last one that was shown."); err != nil {
		return nil, err
	}
	roll, ps := s.roll(), poses{outlines: s.outlines}
	cuts, from := make([]layout.Layout, count), make([][]int, count)
	for i, at := range h.Places {
		c := &cuts[at.Cut]
		c.Places = append(c.Places, layout.Place{Piece: at.Outline, Copy: copies[at.Outline], X: at.X, Y: at.Y, Angle: at.Angle, Locked: at.Locked})
		copies[at.Outline]++
		from[at.Cut] = append(from[at.Cut], i)
		end := min(at.Y, layout.MaxCut) + ps.of(at.Outline, at.Angle).height + roll.WeedBorder + roll.Tail
		c.Length = max(c.Length, end)
	}
	for i := range cuts {
		if len(cuts[i].Places) == 0 {
			return nil, fault.New(fault.Invalid, room, layout.LayoutInvalid, "Cut %d of this layout holds nothing. Leave it out.", i+1)
		}
		cuts[i].Bound = roll.Lead + roll.Tail
	}
	if err := layout.Verify(roll, s.pieces, cuts...); err != nil {
		return nil, inRequest(err, path, from)
	}
	if len(cuts) == 1 { // the bound hangs on the designs alone, so a layout without any search knows it
		if quick, err := layout.Pack(ctx, roll, s.pieces, layout.Effort{Seed: 1}); err == nil {
			cuts[0].Bound = quick.Bound
		}
	}
	return cuts, nil
}

// inRequest puts the paths of Verify ("cuts[0].places[3]") in terms of what was handed in ("keep[1].places[17]").
func inRequest(err error, path string, from [][]int) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	for i, field := range f.Fields {
		f.Fields[i].Path = path + ".places"
		indexes := strings.FieldsFunc(field.Path, func(r rune) bool { return r < '0' || r > '9' })
		if !strings.HasPrefix(field.Path, "cuts[") || len(indexes) != 2 {
			continue
		}
		c, _ := strconv.Atoi(indexes[0])
		j, _ := strconv.Atoi(indexes[1])
		if c < len(from) && j < len(from[c]) {
			f.Fields[i].Path = fmt.Sprintf("%s.places[%d]", path, from[c][j])
		}
	}
	return f
}

// heldFor finds what is held of a layout.
func heldFor(held []Held, index int) (Held, int, bool) {
	for i, h := range held {
		if h.Layout == index {
			return h, i, true
		}
	}
	return Held{}, 0, false
}

// angled reads a place of an order kept before there were angles.
func (at Place) angled() Place {
	if at.Turned && at.Angle == 0 {
		at.Angle = 90_000
	}
	at.Turned = false
	return at
}

// mm is whole millimetres of film, rounded up.
func mm(v units.Micrometres) units.Millimetres { return units.Millimetres((v + 999) / 1000) }
