package orders

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// held reads a layout that a client handed back and checks it exactly; index is its place among those handed in, rolls are
// the branch's. Fault Invalid/LAYOUT_INVALID with every field.
func (s *sheet) held(ctx context.Context, h Held, index int, rolls []stock.Roll) ([]stretch, error) {
	path := fmt.Sprintf("keep[%d]", index)
	var fs fault.Fields
	count, copies := 0, make([]int, len(s.outlines))
	for i, at := range h.Places {
		if at.Outline < 0 || at.Outline >= len(s.outlines) {
			fs.Add(fmt.Sprintf("%s.places[%d].outline", path, i), "is %d; this layout has %d", at.Outline, len(s.outlines))
			continue
		}
		if at.Cut < 0 || at.Cut >= layout.MaxCuts {
			fs.Add(fmt.Sprintf("%s.places[%d].cut", path, i), "is %d; 0 to %d", at.Cut, layout.MaxCuts-1)
		}
		copies[at.Outline]++
		count = max(count, at.Cut+1)
	}
	for i, p := range s.pieces {
		if copies[i] != p.Copies {
			fs.Add(path+".places", "hold “%s” %d times; %d are ordered", p.Key, copies[i], p.Copies)
		}
	}
	if err := fs.Fault(room, layout.LayoutInvalid, "This layout is not of this order. Take the last one that was shown."); err != nil {
		return nil, err
	}
	cuts, from, ps := make([]stretch, count), make([][]int, count), poses{outlines: s.outlines}
	for i := range cuts {
		cuts[i].width = s.roll().Width
		if i < len(h.Rolls) {
			cuts[i].roll = h.Rolls[i]
		}
		for _, r := range rolls {
			if r.Name == cuts[i].roll {
				cuts[i].width = min(cuts[i].width, units.Micrometres(r.Width)*1000)
			}
		}
	}
	clear(copies)
	for i, at := range h.Places {
		c := &cuts[at.Cut]
		c.Places = append(c.Places, layout.Place{Piece: at.Outline, Copy: copies[at.Outline], X: at.X, Y: at.Y, Angle: at.Angle, Locked: at.Locked})
		copies[at.Outline]++
		from[at.Cut] = append(from[at.Cut], i)
		end := min(at.Y, layout.MaxCut) + ps.of(at.Outline, at.Angle).height + s.roll().WeedBorder + s.roll().Tail
		c.Length = max(c.Length, end)
	}
	for i := range cuts {
		if len(cuts[i].Places) == 0 {
			return nil, fault.New(fault.Invalid, room, layout.LayoutInvalid, "Cut %d of this layout holds nothing. Leave it out.", i+1)
		}
		pieces, places, _ := s.partOf(cuts[i].Layout)
		roll := s.rollOf(cuts[i].width)
		if err := layout.Verify(roll, pieces, layout.Layout{Places: places, Length: cuts[i].Length}); err != nil {
			return nil, inRequest(err, path, from[i])
		}
		// The bound hangs on the designs alone, so a layout without any search knows it.
		if quick, err := layout.Pack(ctx, roll, pieces, layout.Effort{Seed: 1}); err == nil {
			cuts[i].Bound = min(quick.Bound, cuts[i].Length)
		}
	}
	return cuts, nil
}

// inRequest puts the paths of Verify ("cuts[0].places[3]") in terms of what was handed in ("keep[1].places[17]"); from are
// the places of the cut.
func inRequest(err error, path string, from []int) error {
	f, ok := fault.As(err)
	if !ok {
		return err
	}
	for i, field := range f.Fields {
		f.Fields[i].Path = path + ".places"
		if _, index, ok := strings.Cut(field.Path, ".places["); ok {
			if j, err := strconv.Atoi(strings.TrimSuffix(index, "]")); err == nil && j < len(from) {
				f.Fields[i].Path = fmt.Sprintf("%s.places[%d]", path, from[j])
			}
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
