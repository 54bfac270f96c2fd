package cut

import (
	"math"

	"evenpeel/recipes/fault"
)

// shape turns one path or basic shape into subpaths (SVG 2, shapes: each has an equivalent path).
func (r *reader) shape(e *element, s scope, own style) error {
	l := own.look
	if s.silhouette {
		l.fill, l.stroke, l.rule = "clip", "", l.clipRule
	}
	if l.hidden || l.fill == "" && l.stroke == "" {
		return nil
	}
	if l.marked && !s.silhouette && (e.name == "path" || e.name == "line" || e.name == "polyline" || e.name == "polygon") {
		return refuse(fault.Invalid, Unsupported, "The drawing puts markers (arrow heads and the like) on a line. Convert strokes and markers to outlines and save it again.")
	}
	subs, damaged, err := r.outline(e, s.view)
	if err != nil {
		return err
	}
	if len(subs) == 0 {
		if !damaged || s.silhouette {
			return nil
		}
		subs = []subpath{{}} // nothing of it can be drawn, but the person must hear of it
	}
	for i := range subs {
		if !subs[i].within(maxNumber) {
			return notFinite()
		}
	}
	d := drawnPath{subs: subs, m: s.m, look: l, fixedStroke: own.fixedStroke, damaged: damaged, clips: s.clips}
	if stated, ok := readLength(e.set["pathLength"]); ok && stated > 0 && l.dashes != nil {
		way := 0.0
		for i := range subs {
			way += subs[i].wayLength()
		}
		d.dashScale = way / stated
	}
	r.drawn = append(r.drawn, d)
	return nil
}

// wayLength is the length along the subpath in its own units, from chords fine enough for dashes.
func (s *subpath) wayLength() float64 {
	rough := s.flattened(identity, maxNumber).box()
	line := s.flattened(identity, max(rough.maxX-rough.minX, rough.maxY-rough.minY, 1e-9)/20_000)
	way := 0.0
	for i := 1; i < len(line); i++ {
		way += line[i-1].to(line[i])
	}
	if s.closed {
		way += line[len(line)-1].to(line[0])
	}
	return way
}

func (s *subpath) within(limit float64) bool {
	ok := func(p Point) bool { return math.Abs(p.X) <= limit && math.Abs(p.Y) <= limit }
	good := ok(s.start)
	for _, p := range s.pieces {
		good = good && ok(p.to) && ok(p.c1) && ok(p.c2)
		if p.kind == 'A' { // radii far beyond the ends are a straight line in all but name, and lose all digits
			good = good && p.ellipse.rx <= limit && p.ellipse.ry <= limit && ok(p.ellipse.centre)
		}
	}
	return good
}

func (r *reader) outline(e *element, view viewport) (subs []subpath, damaged bool, err error) {
	switch e.name {
	case "path":
		subs, commands, ok, over := readPath(e.set["d"], maxCommands-r.commands)
		r.commands += commands
		if over {
			return nil, false, refuse(fault.TooLarge, TooManyPoints, "The drawing has more than %d path commands. Simplify its paths.", maxCommands)
		}
		return subs, !ok, nil
	case "rect":
		v, err := view.lengths(e, "x", "y", "width", "height", "rx", "ry")
		if err != nil {
			return nil, false, err
		}
		rx, ry := v[4], v[5]
		if !given(e, "rx") {
			rx = ry
		} else if !given(e, "ry") {
			ry = rx
		}
		return rectangle(v[0], v[1], v[2], v[3], rx, ry), false, nil
	case "circle":
		v, err := view.lengths(e, "cx", "cy", "r")
		if err != nil {
			return nil, false, err
		}
		return ellipse(Point{v[0], v[1]}, v[2], v[2]), false, nil
	case "ellipse":
		v, err := view.lengths(e, "cx", "cy", "rx", "ry")
		if err != nil {
			return nil, false, err
		}
		rx, ry := v[2], v[3]
		if !given(e, "rx") {
			rx = ry
		} else if !given(e, "ry") {
			ry = rx
		}
		return ellipse(Point{v[0], v[1]}, rx, ry), false, nil
	case "line":
		v, err := view.lengths(e, "x1", "y1", "x2", "y2")
		if err != nil {
			return nil, false, err
		}
		return []subpath{polygon(v, false)}, false, nil
	}
	v, ok := readNumbers(e.set["points"], 0)
	if r.commands += len(v) / 2; r.commands > maxCommands {
		return nil, false, refuse(fault.TooLarge, TooManyPoints, "The drawing has more than %d points. Simplify its paths.", maxCommands)
	}
	if len(v) < 4 {
		return nil, !ok, nil
	}
	return []subpath{polygon(v, e.name == "polygon")}, !ok || len(v)%2 != 0, nil
}

func given(e *element, name string) bool { v, has := e.set[name]; return has && v != "auto" }

func polygon(v []float64, closed bool) subpath {
	s := subpath{start: Point{v[0], v[1]}, closed: closed}
	for i := 2; i+1 < len(v); i += 2 {
		s.pieces = append(s.pieces, piece{kind: 'L', to: Point{v[i], v[i+1]}})
	}
	return s
}

func quarter(centre Point, rx, ry float64, from int) piece {
	e := arc{centre: centre, rx: rx, ry: ry, from: float64(from) * math.Pi / 2, sweep: math.Pi / 2}
	return piece{kind: 'A', to: e.at(1), ellipse: e}
}

func ellipse(c Point, rx, ry float64) []subpath {
	if !(rx > 0) || !(ry > 0) {
		return nil
	}
	s := subpath{start: Point{c.X + rx, c.Y}, closed: true}
	for i := range 4 {
		s.pieces = append(s.pieces, quarter(c, rx, ry, i))
	}
	return []subpath{s}
}

func rectangle(x, y, w, h, rx, ry float64) []subpath {
	if !(w > 0) || !(h > 0) {
		return nil
	}
	rx, ry = min(max(rx, 0), w/2), min(max(ry, 0), h/2)
	if rx == 0 || ry == 0 {
		return []subpath{polygon([]float64{x, y, x + w, y, x + w, y + h, x, y + h}, true)}
	}
	line := func(x, y float64) piece { return piece{kind: 'L', to: Point{x, y}} }
	return []subpath{{start: Point{x + rx, y}, closed: true, pieces: []piece{
		line(x+w-rx, y), quarter(Point{x + w - rx, y + ry}, rx, ry, 3),
		line(x+w, y+h-ry), quarter(Point{x + w - rx, y + h - ry}, rx, ry, 0),
		line(x+rx, y+h), quarter(Point{x + rx, y + h - ry}, rx, ry, 1),
		line(x, y+ry), quarter(Point{x + rx, y + ry}, rx, ry, 2),
	}}}
}
