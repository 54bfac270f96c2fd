package orders

import (
	"math"
	"slices"

	"evenpeel/recipes/cut"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/units"
)

// Outline is one line at one size: mirrored, upright, the corner of its box at 0,0, every point on a whole micrometre,
// so that what is checked, shown and cut is one and the same.
type Outline struct {
	Rings         []cut.Ring // millimetres
	Width, Height units.Micrometres
	Area          float64 // mm²
	Line          int
	Size          string
	// RegisterX and RegisterY are where its box begins in the whole drawing at this size, as it is worn: with them, the
	// colours of one drawing are pressed in register.
	RegisterX, RegisterY units.Micrometres
}

// Place is one copy of an outline on the roll.
type Place struct {
	Line          int
	Size          string
	Outline       int
	Cut           int               // index into the layout's cuts; X and Y count from the start of that cut
	X, Y          units.Micrometres // corner of the box around it as it lies
	Width, Height units.Micrometres // that box
	Angle         layout.Millidegrees
	Locked        bool
	OriginX       units.Micrometres // where the outline's own 0,0 comes to lie
	OriginY       units.Micrometres
	Turned        bool `json:",omitempty"` // by a quarter: of orders kept before there were angles
}

// outlined makes the outline of a drawing at its size, and how far its box lies inside the drawing's own.
func outlined(d cut.Drawing) Outline {
	o := Outline{Area: d.Area()}
	up := func(mm float64) units.Micrometres { return units.Micrometres(math.Round(mm * 1000)) }
	left, right, top, bottom := units.Micrometres(math.MaxInt64), units.Micrometres(math.MinInt64), units.Micrometres(math.MaxInt64), units.Micrometres(math.MinInt64)
	rings := d.Rings()
	for _, r := range rings {
		for _, p := range r {
			left, right, top, bottom = min(left, up(p.X)), max(right, up(p.X)), min(top, up(p.Y)), max(bottom, up(p.Y))
		}
	}
	o.Width, o.Height, o.RegisterX, o.RegisterY = right-left, bottom-top, left, top
	for _, r := range rings {
		ring := make(cut.Ring, 0, len(r))
		for _, p := range slices.Backward(r) { // the other way round, so that the mirror image keeps the rings' sense
			q := cut.Point{X: float64(right-up(p.X)) / 1000, Y: float64(up(p.Y)-top) / 1000} // mirrored
			if len(ring) == 0 || ring[len(ring)-1] != q {
				ring = append(ring, q)
			}
		}
		o.Rings = append(o.Rings, ring)
	}
	return o
}

// exact are the rings in whole micrometres.
func (o Outline) exact() []layout.Ring {
	out := make([]layout.Ring, len(o.Rings))
	for i, r := range o.Rings {
		out[i] = make(layout.Ring, len(r))
		for j, p := range r {
			out[i][j] = layout.Point{X: units.Micrometres(math.Round(p.X * 1000)), Y: units.Micrometres(math.Round(p.Y * 1000))}
		}
	}
	return out
}

// pose is an outline turned by an angle, its box at 0,0.
type pose struct {
	rings         []layout.Ring
	width, height units.Micrometres
	origin        layout.Point // where the outline's own 0,0 lies
	way           []cut.Ring   // the rings in the order of cutting, millimetres
}

// poses remembers what was turned before: a layout holds many copies in few angles.
type poses struct {
	outlines []Outline
	known    map[poseKey]pose
	ways     map[int][]step // by line
}

type poseKey struct {
	outline int
	angle   layout.Millidegrees
}

func (ps *poses) of(outline int, angle layout.Millidegrees) pose {
	key := poseKey{outline, angle}
	if p, ok := ps.known[key]; ok {
		return p
	}
	rings := ps.outlines[outline].exact()
	p := pose{rings: layout.Outlined(layout.Piece{Outline: rings}, layout.Place{Angle: angle})}
	for _, r := range p.rings {
		for _, q := range r {
			p.width, p.height = max(p.width, q.X), max(p.height, q.Y)
		}
	}
	if len(rings) > 0 && len(rings[0]) > 0 {
		sin, cos := turn(angle)
		first := rings[0][0]
		x, y := float64(first.X), float64(first.Y)
		p.origin = layout.Point{
			X: p.rings[0][0].X - units.Micrometres(math.Round(x*cos-y*sin)),
			Y: p.rings[0][0].Y - units.Micrometres(math.Round(x*sin+y*cos)),
		}
	}
	p.way = ps.wayOf(outline, millimetres(p.rings, 0, 0))
	if ps.known == nil {
		ps.known = map[poseKey]pose{}
	}
	ps.known[key] = p
	return p
}

// turn is the sine and cosine of an angle, exact at the quarters.
func turn(angle layout.Millidegrees) (sin, cos float64) {
	switch angle {
	case 0:
		return 0, 1
	case 90_000:
		return 1, 0
	case 180_000:
		return 0, -1
	case 270_000:
		return -1, 0
	}
	return math.Sincos(float64(angle) * math.Pi / 180_000)
}

// settle works the box and the origin of a place out from its outline, corner and angle.
func (ps *poses) settle(at Place) Place {
	p, o := ps.of(at.Outline, at.Angle), ps.outlines[at.Outline]
	at.Line, at.Size = o.Line, o.Size
	at.Width, at.Height = p.width, p.height
	at.OriginX, at.OriginY = at.X+p.origin.X, at.Y+p.origin.Y
	return at
}

// Rings are all outlines of one cut where they lie on the film, mirrored, in millimetres, in the order as drawn.
func (l Layout) Rings(cutIndex int) []cut.Ring {
	return l.drawn(&poses{outlines: l.Outlines}, cutIndex)
}

func (l Layout) drawn(ps *poses, cutIndex int) []cut.Ring {
	var rings []cut.Ring
	for _, at := range l.Places {
		if at.Cut == cutIndex {
			rings = append(rings, millimetres(ps.of(at.Outline, at.Angle).rings, at.X, at.Y)...)
		}
	}
	return rings
}

// millimetres are rings moved to x, y.
func millimetres(rings []layout.Ring, x, y units.Micrometres) []cut.Ring {
	out := make([]cut.Ring, len(rings))
	for i, r := range rings {
		out[i] = make(cut.Ring, len(r))
		for j, q := range r {
			out[i][j] = cut.Point{X: float64(x+q.X) / 1000, Y: float64(y+q.Y) / 1000}
		}
	}
	return out
}
