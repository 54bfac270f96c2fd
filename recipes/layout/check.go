package layout

import (
	"fmt"
	"strconv"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// check refuses a roll, pieces or effort outside the stated limits, all faults of one kind at once.
func check(r Roll, ps []Piece, e Effort) error {
	if err := checkEffort(ps, e); err != nil {
		return err
	}
	if err := checkRoll(r); err != nil {
		return err
	}
	if err := checkPieces(ps); err != nil {
		return err
	}
	return checkFit(r, ps)
}

func checkEffort(ps []Piece, e Effort) error {
	if len(ps) == 0 {
		return fault.New(fault.Invalid, room, NoPieces, "There is nothing to place. Add at least one design.")
	}
	if len(ps) > MaxPieces {
		return tooMany("designs", len(ps), MaxPieces)
	}
	for _, spent := range []int{e.Moves, e.Evaluations} {
		if spent < 0 || spent > MaxMoves {
			return fault.New(fault.Invalid, room, EffortInvalid, "The search effort is %d; it must be 0 to %d.", spent, MaxMoves)
		}
	}
	return nil
}

func tooMany(what string, n, limit int) error {
	return fault.New(fault.TooLarge, room, TooMany, "There are %d %s to place, at most %d go into one layout. Split the order.", n, what, limit).
		With("limit", strconv.Itoa(limit))
}

func checkRoll(r Roll) error {
	var faults fault.Fields
	in := func(path string, v, low, high units.Micrometres) {
		if v < low || v > high {
			faults.Add(path, "is %s, must be %s to %s", mm(v), mm(low), mm(high))
		}
	}
	in("width", r.Width, 1, MaxRollWidth)
	in("edge_margin", r.EdgeMargin, 0, MaxRollWidth)
	in("lead", r.Lead, 0, MaxEnd)
	in("tail", r.Tail, 0, MaxEnd)
	in("gap", r.Gap, 0, MaxSpacing)
	in("weed_border", r.WeedBorder, 0, MaxSpacing)
	in("max_length", r.MaxLength, 0, MaxCut)
	if len(faults) == 0 && r.usable() <= 0 {
		faults.Add("edge_margin", "is %s at each side, which leaves nothing of a roll %s wide", mm(r.EdgeMargin), mm(r.Width))
	}
	if len(faults) == 0 && r.MaxLength > 0 && r.MaxLength <= r.Lead+r.Tail {
		faults.Add("max_length", "is %s, lead and tail alone take %s", mm(r.MaxLength), mm(r.Lead+r.Tail))
	}
	return faults.Fault(room, RollInvalid, "The roll's measures do not go together.")
}

// checkOutline refuses rings that are no area or leave the piece's box, and counts the points.
func checkOutline(path string, p Piece, wrong *fault.Fields) int {
	n := 0
	for i, ring := range p.Outline {
		n += len(ring)
		at := fmt.Sprintf("%s.outline[%d]", path, i)
		if len(ring) < 3 {
			wrong.Add(at, "of “%s” has %d points; at least 3", p.Key, len(ring))
		}
		for _, q := range ring {
			if q.X < 0 || q.X > p.Width || q.Y < 0 || q.Y > p.Height {
				wrong.Add(at, "of “%s” leaves its box of %s × %s", p.Key, mm(p.Width), mm(p.Height))
				break
			}
		}
	}
	if low, high := extentOf(p.Outline); n > 0 && (low.X == high.X || low.Y == high.Y) {
		wrong.Add(path+".outline", "of “%s” encloses nothing", p.Key)
	}
	return n
}

// checkPieces refuses what no roll takes.
func checkPieces(ps []Piece) error {
	var wrong fault.Fields
	copies, points := 0, 0
	for i, p := range ps {
		path := fmt.Sprintf("pieces[%d]", i)
		if p.Width < 1 || p.Width > MaxSide || p.Height < 1 || p.Height > MaxSide {
			wrong.Add(path, "“%s” measures %s × %s; each side must be above 0 and at most %s", p.Key, mm(p.Width), mm(p.Height), mm(MaxSide))
		}
		if p.Turns > Free {
			wrong.Add(path+".turns", "“%s” has the unknown rotation %d", p.Key, p.Turns)
		}
		if p.Copies < 1 {
			wrong.Add(path+".copies", "“%s” is wanted %d times; at least 1", p.Key, p.Copies)
			continue
		}
		n := checkOutline(path, p, &wrong)
		if n > MaxPoints {
			return tooMany("points in the outline of “"+p.Key+"”", n, MaxPoints)
		}
		points += n
		copies = min(copies, MaxCopies) + min(p.Copies, MaxCopies+1) // can not overflow, and stays over once over
	}
	if err := wrong.Fault(room, PieceInvalid, "Some designs can not be placed as given."); err != nil {
		return err
	}
	if copies > MaxCopies {
		return fault.New(fault.TooLarge, room, TooMany, "There are more than %d copies to place. Split the order.", MaxCopies).
			With("limit", strconv.Itoa(MaxCopies))
	}
	if points > MaxOrderPoints {
		return tooMany("points in the outlines", points, MaxOrderPoints)
	}
	return nil
}

// checkFit refuses pieces that this roll does not take.
func checkFit(r Roll, ps []Piece) error {
	var wide, long fault.Fields
	for i, p := range ps {
		if len(r.ways(p)) > 0 {
			continue
		}
		path := fmt.Sprintf("pieces[%d]", i)
		turned := p
		turned.Turns = Quarter
		hint := "Make it smaller or use a wider roll."
		if p.Turns < Quarter && len(r.ways(turned)) > 0 {
			hint = "Turned by a quarter it would fit, but this film or design does not allow turning."
		}
		if p.Width+2*r.WeedBorder > r.usable() && (p.Turns < Quarter || p.Height+2*r.WeedBorder > r.usable()) {
			wide.Add(path, "“%s” is %s wide, %s with its weeding border; the roll takes %s between its margins, so at most %s of design. %s",
				p.Key, mm(p.Width), mm(p.Width+2*r.WeedBorder), mm(r.usable()), mm(max(0, r.usable()-2*r.WeedBorder)), hint)
			continue
		}
		long.Add(path, "“%s” measures %s × %s; with border, lead and tail it is longer than one cut of %s. %s",
			p.Key, mm(p.Width), mm(p.Height), mm(r.MaxLength), hint)
	}
	if err := wide.Fault(room, PieceTooWide, "Some designs are too wide for this roll."); err != nil {
		return err
	}
	return long.Fault(room, PieceTooLong, "Some designs are longer than one cut may be.")
}

// usable is the width between the margins.
func (r Roll) usable() units.Micrometres { return r.Width - 2*r.EdgeMargin }

// side is what one side of a piece takes in the strip: border twice, gap once.
func (r Roll) side(v units.Micrometres) int64 { return int64(v + 2*r.WeedBorder + r.Gap) }

// strip is the engine's width: the last box's gap may hang over.
func (r Roll) strip() int64 { return int64(r.usable() + r.Gap) }

// height is the most a packing may have, or far.
func (r Roll) height() int64 {
	if r.MaxLength == 0 {
		return far
	}
	return int64(r.MaxLength - r.Lead - r.Tail + r.Gap)
}

// length is the film drawn for a packing of height h.
func (r Roll) length(h int64) units.Micrometres {
	return units.Micrometres(h) - r.Gap + r.Lead + r.Tail
}

// ways are the boxes in which p goes into the strip at all, the wider first.
func (r Roll) ways(p Piece) []box {
	w, h := r.side(p.Width), r.side(p.Height)
	all := []box{{w: w, h: h}}
	if p.Turns >= Quarter && w != h {
		all = []box{{w: max(w, h), h: min(w, h)}, {w: min(w, h), h: max(w, h)}}
	}
	fit := all[:0]
	for _, b := range all {
		if b.w <= r.strip() && b.h <= r.height() {
			fit = append(fit, b)
		}
	}
	return fit
}

// mm is a length for a person: millimetres with no more decimals than it has.
func mm(v units.Micrometres) string {
	return strconv.FormatFloat(float64(v)/1000, 'f', -1, 64) + " mm"
}
