package layout

import (
	"fmt"
	"sort"

	"evenpeel/recipes/fault"
)

const maxReported = 20 // faults listed by Verify; the first is reason enough

// Verify checks that the cuts can be made: every copy of every piece placed exactly once over all cuts, turned
// only as allowed, borders inside the usable film, no two outlines nearer than both borders and the gap, no
// cut longer than the roll's limit. It is exact, in whole micrometres, and shares no code with the packer but
// Outlined, which says where a piece lies. Two pieces without outline keep the distance along or across the
// roll, as boxes do; any other two keep it in every direction. Something inside a hole is judged by the hole's
// edge, or refused where the roll allows no nesting. One Invalid LAYOUT_INVALID fault lists what is wrong; the
// path is cuts[i] or cuts[i].places[j].
func Verify(r Roll, ps []Piece, cuts ...Layout) error {
	v := judge(r, ps)
	for i, l := range cuts {
		v.cut(fmt.Sprintf("cuts[%d]", i), l)
	}
	v.missing()
	return v.faults.Fault(room, LayoutInvalid, "This layout can not be cut as it stands.")
}

// missing reports copies that no cut places.
func (v *verification) missing() {
	for i, p := range v.pieces {
		if missing := p.Copies - len(v.seen[i]); missing > 0 {
			v.add(fmt.Sprintf("pieces[%d]", i), "%d of %d copies of “%s” are not placed", missing, p.Copies, p.Key)
		}
	}
}

// holds judges a part of an order: all that Verify asks but that every copy is there.
func holds(r Roll, ps []Piece, part Layout) bool {
	v := judge(r, ps)
	v.cut("", part)
	return len(v.faults) == 0
}

// release is the last look before layouts leave the room: what Verify refuses is our fault.
func release(r Roll, ps []Piece, cuts ...Layout) error {
	if err := Verify(r, ps, cuts...); err != nil {
		return fault.New(fault.Broken, room, LayoutBroken, "The layout came out wrong and was held back.").Because(err)
	}
	return nil
}

// laid is a piece at an angle.
type laid struct {
	piece int
	angle Millidegrees
}

type verification struct {
	roll   Roll
	pieces []Piece
	seen   []map[int]bool
	shapes map[laid]*contour
	faults fault.Fields
}

func judge(r Roll, ps []Piece) *verification {
	v := &verification{roll: r, pieces: ps, shapes: map[laid]*contour{}, seen: make([]map[int]bool, len(ps))}
	for i := range v.seen {
		v.seen[i] = map[int]bool{}
	}
	return v
}

func (v *verification) add(path, words string, args ...any) {
	if len(v.faults) < maxReported {
		v.faults.Add(path, words, args...)
	}
}

// shape is the contour of a piece at an angle, made once.
func (v *verification) shape(piece int, angle Millidegrees) *contour {
	key := laid{piece, angle}
	if v.shapes[key] == nil {
		v.shapes[key] = contourOf(v.pieces[piece], angle, v.roll.NoNesting)
	}
	return v.shapes[key]
}

// extent is the box around a piece on the film, in µm.
type extent struct {
	x0, y0, x1, y1 int64
	place          int
	shape          *contour
}

func (v *verification) cut(path string, l Layout) {
	r := v.roll
	if r.MaxLength > 0 && l.Length > r.MaxLength {
		v.add(path, "is %d µm long, at most %d", l.Length, r.MaxLength)
	}
	var all []extent
	for i, at := range l.Places {
		add := func(words string, args ...any) { v.add(fmt.Sprintf("%s.places[%d]", path, i), words, args...) }
		if at.Piece < 0 || at.Piece >= len(v.pieces) {
			add("names piece %d, there are %d", at.Piece, len(v.pieces))
			continue
		}
		p := v.pieces[at.Piece]
		if at.Copy < 0 || at.Copy >= p.Copies {
			add("is copy %d of “%s”, wanted are %d", at.Copy, p.Key, p.Copies)
		} else if v.seen[at.Piece][at.Copy] {
			add("copy %d of “%s” is placed twice", at.Copy, p.Key)
		} else {
			v.seen[at.Piece][at.Copy] = true
		}
		if at.Angle < 0 || at.Angle >= 360_000 {
			add("“%s” is turned by %d millidegrees; 0 to 359999", p.Key, at.Angle)
			continue
		}
		if !mayTurn(p.Turns, at.Angle) {
			add("“%s” is turned by %d millidegrees, which it may not be", p.Key, at.Angle)
		}
		shape := v.shape(at.Piece, at.Angle)
		w, h := shape.width, shape.height
		border := int64(r.WeedBorder)
		left, right := int64(r.EdgeMargin)+border, int64(r.Width-r.EdgeMargin)-border
		bottom, top := int64(r.Lead)+border, int64(l.Length-r.Tail)-border
		x, y := int64(at.X), int64(at.Y)
		// Subtractions only, so that no place however far out can overflow into being inside.
		if w < 1 || h < 1 || x < left || y < bottom || x > right || y > top || w > right-x || h > top-y {
			add("“%s” with its border lies outside the usable film", p.Key)
			continue
		}
		all = append(all, extent{x, y, x + w, y + h, i, shape})
	}
	v.apart(path, l, all)
}

// apart sweeps along the roll: only pieces that begin before one ends, with the distance, can be too near.
func (v *verification) apart(path string, l Layout, all []extent) {
	need := int64(v.roll.Gap + 2*v.roll.WeedBorder)
	sort.Slice(all, func(i, j int) bool { return all[i].y0 < all[j].y0 })
	for i, a := range all {
		for _, b := range all[i+1:] {
			if b.y0 >= a.y1+need {
				break
			}
			if b.x0 >= a.x1+need || a.x0 >= b.x1+need {
				continue
			}
			if a.shape.box && b.shape.box || tooNear(a.shape, b.shape, b.x0-a.x0, b.y0-a.y0, need) {
				v.add(fmt.Sprintf("%s.places[%d]", path, b.place), "“%s” lies nearer than %d µm to “%s” of places[%d]",
					v.pieces[l.Places[b.place].Piece].Key, need, v.pieces[l.Places[a.place].Piece].Key, a.place)
			}
		}
	}
}

// mayTurn reports whether the piece's turns allow the angle.
func mayTurn(t Turns, a Millidegrees) bool {
	switch t {
	case None:
		return a == 0
	case Half:
		return a%180_000 == 0
	case Quarter:
		return a%90_000 == 0
	}
	return t == Free
}
