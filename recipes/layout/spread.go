package layout

import (
	"context"
	"fmt"
	"strconv"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout/nest"
	"evenpeel/recipes/units"
)

// Film is a roll or a remnant of one, with what is left on it.
type Film struct {
	Roll   Roll
	Length units.Micrometres // left, lead and tail of every cut included; 0 is as much as is wanted
}

// Share is one cut of an order that goes over several films.
type Share struct {
	Film   int // index into the films
	Layout Layout
}

// Spread places the pieces on several films: each film in the order given takes as much of the order as its
// boxes let it, in cuts of at most Roll.MaxLength, and only what is left goes on to the next; so give remnants
// first and the full roll last. Then every cut is searched by true outline, which leaves more on the last roll.
// Effort is spent on each cut, Evaluations shared out by copies; Grouped is not heeded. VerifySpread judges the
// answer. Faults: as Pack, but Invalid FILMS_TOO_SHORT (facts "left", "copies") where not all of it fits.
func Spread(ctx context.Context, films []Film, ps []Piece, e Effort) ([]Share, error) {
	if err := checkFilms(films, ps, e); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, stopped(err)
	}
	ps = measured(ps)
	rest := &remainder{ps: ps, copies: make([][]int, len(ps))}
	for i, p := range ps {
		for c := range p.Copies {
			rest.copies[i] = append(rest.copies[i], c)
			rest.left++
		}
	}
	all := rest.left
	var shares []Share
	for k, film := range films {
		for used := units.Micrometres(0); rest.left > 0; {
			r := film.Roll
			if film.Length > 0 {
				if r.MaxLength == 0 || r.MaxLength > film.Length-used {
					r.MaxLength = film.Length - used
				}
				if r.MaxLength <= r.Lead+r.Tail {
					break
				}
			}
			l, ok := rest.cut(ctx, r, e)
			if !ok {
				break
			}
			if len(shares) == MaxCuts {
				return nil, fault.New(fault.TooLarge, room, TooManyCuts, "The order needs more than %d cuts. Split it.", MaxCuts)
			}
			used += l.Length
			shares = append(shares, Share{k, l})
		}
	}
	if rest.left > 0 {
		return nil, fault.New(fault.Invalid, room, FilmsTooShort, "These films hold %d of %d copies. Add a roll, or take copies out.", all-rest.left, all).
			With("left", strconv.Itoa(rest.left)).With("copies", strconv.Itoa(all))
	}
	for i, share := range shares {
		one := e
		one.Evaluations = e.Evaluations * len(share.Layout.Places) / all
		im := &improvement{ctx: ctx, r: films[share.Film].Roll, ps: ps, e: one, best: share.Layout, designs: map[int]*nest.Design{}, partial: true}
		im.outlines()
		shares[i].Layout = im.best
	}
	if err := VerifySpread(films, ps, shares); err != nil {
		return nil, fault.New(fault.Broken, room, LayoutBroken, "The layout came out wrong and was held back.").Because(err)
	}
	return shares, nil
}

// VerifySpread checks the cuts of several films as Verify checks those of one, and that no film is drawn past what is
// left of it. The path is shares[i] or shares[i].places[j].
func VerifySpread(films []Film, ps []Piece, shares []Share) error {
	v := judge(Roll{}, ps)
	drawn := make([]units.Micrometres, len(films))
	for i, share := range shares {
		path := fmt.Sprintf("shares[%d]", i)
		if share.Film < 0 || share.Film >= len(films) {
			v.add(path, "names film %d, there are %d", share.Film, len(films))
			continue
		}
		film := films[share.Film]
		v.roll, v.shapes = film.Roll, map[laid]*contour{}
		v.cut(path, share.Layout)
		if film.Length > 0 && (share.Layout.Length < 0 || share.Layout.Length > film.Length-drawn[share.Film]) {
			v.add(path, "draws %d µm from film %d, which has %d left", share.Layout.Length, share.Film, film.Length-drawn[share.Film])
			continue
		}
		drawn[share.Film] += share.Layout.Length
	}
	v.missing()
	return v.faults.Fault(room, LayoutInvalid, "These layouts can not be cut as they stand.")
}

func checkFilms(films []Film, ps []Piece, e Effort) error {
	if len(films) == 0 {
		return fault.New(fault.Invalid, room, RollInvalid, "There is no film to place the order on.")
	}
	if len(films) > MaxFilms {
		return tooMany("films", len(films), MaxFilms)
	}
	if err := checkEffort(ps, e); err != nil {
		return err
	}
	widest := films[0].Roll
	var faults fault.Fields
	for i, film := range films {
		if err := checkRoll(film.Roll); err != nil {
			return err
		}
		if film.Length < 0 || film.Length > MaxCut {
			faults.Add(fmt.Sprintf("films[%d].length", i), "is %s, must be 0 to %s", mm(film.Length), mm(MaxCut))
		}
		if film.Roll.usable() > widest.usable() {
			widest = film.Roll
		}
	}
	if err := faults.Fault(room, RollInvalid, "The films' measures do not go together."); err != nil {
		return err
	}
	if err := checkPieces(ps); err != nil {
		return err
	}
	var lost []Piece
	for _, p := range measured(ps) {
		fits := false
		for _, film := range films {
			r := film.Roll
			if film.Length > 0 && (r.MaxLength == 0 || r.MaxLength > film.Length) {
				r.MaxLength = film.Length
			}
			fits = fits || r.height() > 0 && len(r.ways(p)) > 0
		}
		if !fits {
			lost = append(lost, p)
		}
	}
	if len(lost) > 0 {
		if err := checkFit(widest, lost); err != nil {
			return err
		}
		return fault.New(fault.Invalid, room, FilmsTooShort, "“%s” fits none of these films.", lost[0].Key)
	}
	return nil
}

// remainder is what of an order is not placed yet.
type remainder struct {
	ps     []Piece
	copies [][]int
	left   int
}

// cut takes off the order what one cut of the roll holds; false where nothing of it fits.
func (m *remainder) cut(ctx context.Context, r Roll, e Effort) (Layout, bool) {
	var part []Piece
	var of []int
	for i, p := range m.ps {
		if p.Copies = len(m.copies[i]); p.Copies > 0 && len(r.ways(p)) > 0 {
			part = append(part, p)
			of = append(of, i)
		}
	}
	if len(part) == 0 {
		return Layout{}, false
	}
	s := newStrip(r, part)
	q := s.search(s.kinds)
	if q.floor <= s.limit() {
		q.start()
		q.run(ctx, e)
	}
	if q.best == nil || q.height > s.limit() {
		q = s.fullest(q, s.kinds)
		q.start()
		q.run(ctx, e)
	}
	l := s.layout(q, s.deal())
	for i, at := range l.Places {
		piece := of[at.Piece]
		l.Places[i].Piece, l.Places[i].Copy = piece, m.copies[piece][0]
		m.copies[piece] = m.copies[piece][1:]
		m.left--
	}
	return l, len(l.Places) > 0
}
