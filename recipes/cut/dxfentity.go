package cut

import (
	"fmt"
	"math"
)

// finish takes in the entity whose groups have been read.
func (d *dxf) finish() {
	e := &d.entity
	switch {
	case e.name == "LAYER" && d.section == "TABLES":
		d.layers[e.label] = e.colour
	case d.section != "ENTITIES":
	case e.name == "POLYLINE":
		d.open = &entity{name: e.name, layer: e.layer, colour: e.colour, flags: e.flags}
		if e.flags&^(1|2|128) != 0 { // splines, meshes and the like; a curve fitted by arcs (2) carries them as bulges
			d.note("POLYLINE of a curve or mesh")
		}
	case e.name == "VERTEX":
		if d.open != nil && len(e.x) > 0 {
			d.open.x, d.open.y, d.open.bulge = append(d.open.x, e.x[0]), append(d.open.y, e.y[0]), append(d.open.bulge, e.bulge[0])
		}
	case e.name == "SEQEND":
		if d.open != nil {
			d.add(d.open, d.open.polyline())
		}
		d.open = nil
	case e.name == "LWPOLYLINE":
		d.add(e, e.polyline())
	case len(e.x) == 0:
		if e.name != "ENDSEC" && e.name != "SECTION" && e.name != "" {
			d.note(e.name)
		}
	case e.name == "LINE":
		d.add(e, subpath{start: e.at(0), pieces: []piece{{kind: 'L', to: e.far}}})
	case e.name == "CIRCLE":
		d.addRound(e, 0, 2*math.Pi)
	case e.name == "ARC": // counter-clockwise from group 50 to group 51, in degrees
		sweep := math.Mod(e.to-e.from, 360)
		if sweep <= 0 {
			sweep += 360
		}
		d.addRound(e, e.from*math.Pi/180, sweep*math.Pi/180)
	case e.name != "POINT" && e.name != "VIEWPORT" && e.name != "SECTION":
		d.note(e.name)
	}
}

func (d *dxf) note(name string) {
	if d.foreign == "" {
		d.foreign = name
	}
}

func (d *dxf) add(e *entity, s subpath) {
	if len(s.pieces) > 0 {
		d.strands = append(d.strands, dxfStrand{strand{subpath: s}, e.name, e.layer, e.colour})
	}
}

func (d *dxf) addRound(e *entity, from, sweep float64) {
	if !(e.radius > 0) {
		return
	}
	s := subpath{closed: e.name == "CIRCLE"}
	for i := range 4 { // quarters, so that the box of the coarsest chords is no smaller than a square's
		a := arc{centre: e.at(0), rx: e.radius, ry: e.radius, from: from + sweep*float64(i)/4, sweep: sweep / 4}
		if i == 0 {
			s.start = a.at(0)
		}
		s.pieces = append(s.pieces, piece{kind: 'A', to: a.at(1), ellipse: a})
	}
	d.add(e, s)
}

func (e *entity) at(i int) Point { return Point{e.x[i], e.y[i]} }

// polyline is the subpath through the vertices. A bulge is tan(sweep/4) of the arc to the next vertex, above 0 where it
// runs counter-clockwise with y up (shared reference physics C.6).
func (e *entity) polyline() subpath {
	n := len(e.x)
	if n < 2 {
		return subpath{}
	}
	s := subpath{start: e.at(0), closed: e.flags&1 != 0}
	last := n - 1
	if s.closed {
		last = n
	}
	for i := range last {
		a, b := e.at(i), e.at((i+1)%n)
		chord := a.to(b)
		if chord == 0 {
			continue
		}
		p := piece{kind: 'L', to: b}
		if bulge := e.bulge[i]; math.Abs(bulge) > 1e-9 {
			sweep := 4 * math.Atan(bulge)
			u, _ := b.minus(a).unit()
			centre := lerp(a, b, 0.5).plus(u.leftNormal().times(chord / 2 / math.Tan(sweep/2)))
			radius := centre.to(a)
			p.kind = 'A'
			p.ellipse = arc{centre: centre, rx: radius, ry: radius, from: math.Atan2(a.Y-centre.Y, a.X-centre.X), sweep: sweep}
		}
		s.pieces = append(s.pieces, p)
	}
	return s
}

// indexColour is the colour of a DXF index: nine plain ones, then 24 hues by 15° in five depths, full and pale, then
// greys. From memory; only which lines share a film hangs on it.
func indexColour(index int) string {
	plain := []string{"#000000", "#ff0000", "#ffff00", "#00ff00", "#00ffff", "#0000ff", "#ff00ff", "#000000", "#808080", "#c0c0c0"}
	switch {
	case index < len(plain):
		return plain[max(index, 0)]
	case index >= 250:
		v := 51 + 41*min(index-250, 5)
		return fmt.Sprintf("#%02x%02x%02x", v, v, v)
	}
	depth := []float64{1, 0.65, 0.5, 0.3, 0.15}[index%10/2]
	pale := float64(index%2) / 2
	c := fromHue(float64(index/10-1)*15, 1, 0.5)
	for i := range c {
		c[i] = depth * (pale + (1-pale)*c[i])
	}
	return fmt.Sprintf("#%02x%02x%02x", int(c[0]*255+0.5), int(c[1]*255+0.5), int(c[2]*255+0.5))
}
