package cut

import (
	"math"

	"evenpeel/recipes/fault"
)

// endsMeet: two ends are one place where they are nearer than this part of the drawing's longer side (15 µm in 300 mm).
const endsMeet = 20_000

// strand is one line of a drawing that knows lines only.
type strand struct {
	subpath
	colour string
}

// backwards is the subpath run from its end to its start.
func (s *subpath) backwards() subpath {
	out := subpath{start: s.end(), closed: s.closed}
	for i := len(s.pieces) - 1; i >= 0; i-- {
		p := s.pieces[i]
		p.to = s.start
		if i > 0 {
			p.to = s.pieces[i-1].to
		}
		p.c1, p.c2 = p.c2, p.c1
		p.ellipse.from, p.ellipse.sweep = p.ellipse.from+p.ellipse.sweep, -p.ellipse.sweep
		out.pieces = append(out.pieces, p)
	}
	return out
}

// ends finds open subpaths by their ends.
type ends struct {
	reach float64
	at    map[node][]int32 // cell → subpath·2, +1 for its end
	subs  []subpath
	used  []bool
}

func (e *ends) cell(p Point) node {
	return node{int64(math.Floor(p.X / e.reach)), int64(math.Floor(p.Y / e.reach))}
}

func (e *ends) place(k int32) Point {
	if k&1 == 0 {
		return e.subs[k/2].start
	}
	return e.subs[k/2].end()
}

// next is the unused end nearest to p within reach, or -1.
func (e *ends) next(p Point) int32 {
	best, least := int32(-1), e.reach
	c := e.cell(p)
	for dy := int64(-1); dy <= 1; dy++ {
		for dx := int64(-1); dx <= 1; dx++ {
			for _, k := range e.at[node{c.x + dx, c.y + dy}] {
				if d := e.place(k).to(p); !e.used[k/2] && d <= least {
					best, least = k, d
				}
			}
		}
	}
	return best
}

// chainedStrands joins open subpaths end to end; a run that comes back to its start is closed.
func chainedStrands(subs []subpath, reach float64) ([]subpath, error) {
	if !(reach > 0) {
		reach = 1e-9
	}
	var out []subpath
	e := ends{reach: reach, at: map[node][]int32{}, subs: subs, used: make([]bool, len(subs))}
	for i := range subs {
		s := &subs[i]
		if s.closed || len(s.pieces) > 1 && s.start.to(s.end()) <= reach {
			s.closed = true
			out, e.used[i] = append(out, *s), true
			continue
		}
		for k, p := range []Point{s.start, s.end()} {
			c := e.cell(p)
			if e.at[c] = append(e.at[c], int32(2*i+k)); len(e.at[c]) > 1000 {
				return nil, refuse(fault.TooLarge, TooManyPoints, "More than 1000 lines of the drawing end in one place. Join them in the drawing program and save it again.")
			}
		}
	}
	for i := range subs {
		if e.used[i] {
			continue
		}
		e.used[i] = true
		run := subpath{start: subs[i].start, pieces: append([]piece(nil), subs[i].pieces...)}
		for turned := false; ; {
			if len(run.pieces) > 1 && run.start.to(run.end()) <= reach {
				run.closed = true
				break
			}
			k := e.next(run.end())
			if k < 0 {
				if turned {
					break
				}
				run, turned = run.backwards(), true
				continue
			}
			e.used[k/2] = true
			piece := subs[k/2]
			if k&1 == 1 {
				piece = piece.backwards()
			}
			run.pieces = append(run.pieces, piece.pieces...)
		}
		out = append(out, run)
	}
	return out, nil
}
