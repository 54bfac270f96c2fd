package cut

import (
	"slices"

	"evenpeel/recipes/fault"
)

const mmPerPixel = 25.4 / 96

// drawing flattens what was drawn at its final size and joins it, colour by colour.
func (r *reader) drawing(o ReadOptions) (Drawing, error) {
	tol := float64(o.Tolerance) / 1000
	if tol == 0 {
		tol = defaultTolerance / 1000.
	}
	size := scaling(mmPerPixel, mmPerPixel)
	area, err := r.extent(size)
	if err != nil {
		return Drawing{}, err
	}
	if r.cutOff() { // only what is left after clipping tells how large the drawing is
		if area, err = r.clippedExtent(size, area); err != nil {
			return Drawing{}, err
		}
	}
	if o.sized() {
		f, err := factor(o, area)
		if err != nil {
			return Drawing{}, err
		}
		size = scaling(f, f).times(size)
		area = box{area.minX * f, area.minY * f, area.maxX * f, area.maxY * f}
	}
	if !(area.maxX-area.minX < maxExtent) || !(area.maxY-area.minY < maxExtent) {
		return Drawing{}, refuse(fault.TooLarge, TooLarge, "The drawing is more than 20 m long or wide. Enter the width it shall have.")
	}
	c, err := r.composed(translation(-area.minX, -area.minY).times(size), tol)
	if err != nil {
		return Drawing{}, err
	}
	return c.finish(o)
}

// factor is by how much what lies in the box grows to have the width or height asked for.
func factor(o ReadOptions, b box) (float64, error) {
	has, wanted, side := b.maxX-b.minX, o.Width, "width"
	if o.Width == 0 {
		has, wanted, side = b.maxY-b.minY, o.Height, "height"
	}
	if !(has > 1e-9) {
		return 0, refuse(fault.Invalid, NothingToCut, "The drawing has no %s, so that it can not be given one of %d µm. Check that its shapes are closed.", side, wanted)
	}
	return float64(wanted) / 1000 / has, nil
}

func (r *reader) composed(size matrix, tol float64) (*composer, error) {
	r.notes = notes{}
	c := &composer{tol: tol, size: size, rings: map[string][][]Ring{}, notes: &r.notes}
	if r.page.w > 0 && r.page.h > 0 {
		corner := size.on(Point{r.page.w, r.page.h})
		zero := size.on(Point{})
		c.page = &box{zero.X, zero.Y, corner.X, corner.Y}
	}
	for i := range r.drawn {
		if err := c.path(&r.drawn[i]); err != nil {
			return nil, err
		}
	}
	return c, nil
}

func (r *reader) cutOff() bool {
	return slices.ContainsFunc(r.drawn, func(d drawnPath) bool { return len(d.clips) > 0 })
}

// clippedExtent is the box of what is left after clipping, from coarse chords at a size of a metre.
func (r *reader) clippedExtent(size matrix, rough box) (box, error) {
	const metre = 1000.0
	f := metre / max(rough.maxX-rough.minX, rough.maxY-rough.minY, 1e-9)
	c, err := r.composed(scaling(f, f).times(translation(-rough.minX, -rough.minY)).times(size), metre/5000)
	if err != nil {
		return rough, err
	}
	b := emptyBox()
	for _, paths := range c.rings {
		for _, rings := range paths {
			for _, ring := range rings {
				for _, p := range ring {
					b.take(p.times(1 / f).plus(Point{rough.minX, rough.minY}))
				}
			}
		}
	}
	r.forgetRegions()
	if !(b.maxX >= b.minX) {
		return b, nothingToCut(0)
	}
	return b, nil
}

// forgetRegions lets clips be worked out anew at another size.
func (r *reader) forgetRegions() {
	var forget func(list []*clip)
	forget = func(list []*clip) {
		for _, k := range list {
			if k.known {
				k.known, k.region = false, nil
				forget(k.within)
				for i := range k.parts {
					forget(k.parts[i].clips)
				}
			}
		}
	}
	for i := range r.drawn {
		forget(r.drawn[i].clips)
	}
}

// extent is the box of all that is drawn, in mm, from coarse chords: it serves to place and scale.
func (r *reader) extent(size matrix) (box, error) {
	b := emptyBox()
	for i := range r.drawn {
		d := &r.drawn[i]
		m := size.times(d.m)
		grow := 0.0
		if d.look.stroke != "" {
			grow = d.look.width / 2 * m.stretch()
			if !(grow < maxNumber) {
				return b, notFinite()
			}
		}
		for j := range d.subs {
			if len(d.subs[j].pieces) == 0 {
				continue
			}
			rough := emptyBox()
			for _, p := range d.subs[j].flattened(m, 1) {
				if !p.finite() {
					return b, notFinite()
				}
				rough.take(p)
			}
			fine := max(rough.maxX-rough.minX, rough.maxY-rough.minY) / 5000
			for _, p := range d.subs[j].flattened(m, max(fine, 1e-6)) {
				b.take(Point{p.X - grow, p.Y - grow})
				b.take(Point{p.X + grow, p.Y + grow})
			}
		}
	}
	if !(b.maxX >= b.minX) {
		return b, nothingToCut(0)
	}
	return b, nil
}

func nothingToCut(opens int) error {
	if opens > 0 {
		return refuse(fault.Invalid, NothingToCut, "The drawing has only open lines, which hold no film. Close the paths, or give them a stroke width.")
	}
	return refuse(fault.Invalid, NothingToCut, "The drawing has no filled or stroked shape that can be seen. Check that it is not hidden or empty.")
}

// composer gathers clean rings by colour.
type composer struct {
	tol     float64
	size    matrix
	colours []string
	rings   map[string][][]Ring // by colour, one list for each path
	points  int
	page    *box // nil where it is not known
	joined  int  // points of all joinings, clips counted each time
	crossed int  // crossings met in all of them
	opens   []Open
	notes   *notes
}

func (c *composer) path(d *drawnPath) error {
	m := c.size.times(d.m)
	if d.damaged {
		c.notes.add(DamagedPath, m.on(d.subs[0].start), 0, "This path can be read only in part; what follows the fault is missing. Save the drawing again and compare.")
	}
	if colour := d.look.fill; colour != "" {
		var rings []Ring
		for i := range d.subs {
			s := &d.subs[i]
			if len(s.pieces) == 0 {
				continue
			}
			ring := s.flattened(m, c.tol)
			if gap := ring[0].to(ring[len(ring)-1]); !s.closed && gap > max(c.tol, 0.01) {
				c.opens = append(c.opens, Open{At: ring[len(ring)-1], Colour: colour, Gap: gap})
			}
			rings = append(rings, ring)
		}
		if err := c.add(colour, rings, d.look.rule, true, d.clips); err != nil {
			return err
		}
	}
	if d.look.stroke != "" {
		return c.stroke(d, m)
	}
	return nil
}

// stroke adds the outline of a drawn line. A stroke is drawn in the path's own coordinates, or, where it keeps its
// width whatever the transform, in the page's (SVG 2, coords, "vector-effect").
func (c *composer) stroke(d *drawnPath, m matrix) error {
	inner, outer := identity, m
	if d.fixedStroke {
		inner, outer = d.m, c.size
	}
	stretch := outer.stretch()
	if !(stretch > 0) {
		return nil
	}
	l := d.look
	if d.dashScale > 0 {
		l.dashes = slices.Clone(l.dashes)
		for i := range l.dashes {
			l.dashes[i] *= d.dashScale
		}
		l.dashOffset *= d.dashScale
	}
	var rings []Ring
	for i := range d.subs {
		outline, ok := outlinedStroke(d.subs[i].flattened(inner, c.tol/stretch), d.subs[i].closed, l, c.tol/stretch)
		if !ok {
			return refuse(fault.TooLarge, TooManyPoints, "A line of the drawing has more than %d dashes. Draw it whole, or convert strokes to outlines and simplify them.", maxDashes)
		}
		for _, ring := range outline {
			for j, p := range ring {
				ring[j] = outer.on(p)
			}
			rings = append(rings, ring)
		}
		if len(rings) > maxPoints {
			return tooManyPoints()
		}
	}
	width := l.width * stretch
	c.notes.add(StrokeOutlined, m.on(d.subs[0].start), width, "A drawn line %.2f mm wide was made into an outline round it. If it was meant as the cut itself, give the shape a fill and no stroke.", width)
	return c.add(l.stroke, rings, nonZero, false, d.clips)
}

func tooManyPoints() error {
	return refuse(fault.TooLarge, TooManyPoints, "The drawing needs more than %d points at this size. Simplify its paths or allow a coarser tolerance.", maxPoints)
}

// count keeps the points of all that is joined within the limit, and every point within reach of the lattice.
func (c *composer) count(rings []Ring) error {
	for _, r := range rings {
		if c.points += len(r); c.points > maxPoints {
			return tooManyPoints()
		}
		for _, p := range r {
			if !(p.X > -maxExtent && p.X < 2*maxExtent && p.Y > -maxExtent && p.Y < 2*maxExtent) {
				return notFinite()
			}
		}
	}
	return nil
}

// cover is covered within what one drawing may cross in all: each joining has limits of its own, but there can be many.
func (c *composer) cover(rings []Ring, rule fillRule) ([]Ring, []Point, error) {
	for _, r := range rings {
		c.joined += len(r)
	}
	if c.joined > 5*maxPoints {
		return nil, nil, tooManyPoints()
	}
	clean, crossings, err := covered(rings, rule)
	if err != nil {
		return nil, nil, tooTangled(err)
	}
	if c.crossed += len(crossings); c.crossed > maxPoints {
		return nil, nil, tooTangled(tangled{})
	}
	return clean, crossings, nil
}

func (c *composer) add(colour string, rings []Ring, rule fillRule, asDrawn bool, clips []*clip) error {
	if err := c.count(rings); err != nil {
		return err
	}
	clean, crossings, err := c.cover(rings, rule)
	if err != nil {
		return err
	}
	if asDrawn {
		for _, at := range crossings {
			c.notes.add(SelfCrossing, at, 0, "This outline crosses itself. It was cut along the outer edge of what it fills; check that this is what was meant.")
		}
	}
	if clean, err = c.cutTo(clean, clips); err != nil {
		return err
	}
	if len(clean) == 0 {
		return nil
	}
	c.noteOffPage(clean)
	if c.rings[colour] == nil {
		c.colours = append(c.colours, colour)
	}
	c.rings[colour] = append(c.rings[colour], clean)
	return nil
}

func tooTangled(cause error) error {
	return refuse(fault.TooLarge, TooManyPoints, "The drawing's outlines cross too often to be joined. Join the shapes in the drawing program and save it again.").Because(cause)
}

func (c *composer) finish(o ReadOptions) (Drawing, error) {
	var d Drawing
	for _, colour := range c.colours {
		rings, err := c.union(colour)
		if err != nil {
			return Drawing{}, err
		}
		d.Shapes = append(d.Shapes, shapesOf(rings, colour)...)
	}
	if len(d.Shapes) == 0 {
		return Drawing{}, nothingToCut(len(c.opens))
	}
	d.Opens, d.Notes = c.opens, c.notes.list
	b := emptyBox()
	for _, s := range d.Shapes {
		for _, p := range s.Rings[0] {
			b.take(p)
		}
	}
	d.Width, d.Height = b.maxX-b.minX, b.maxY-b.minY
	f := 1.0
	if o.sized() { // the coarse box was out by a hair: give exactly the size asked for
		exact, err := factor(o, b)
		if err != nil {
			return Drawing{}, err
		}
		f = exact
	}
	corner := Point{b.minX, b.minY}
	d = d.mapped(func(p Point) Point { return p.minus(corner) }, false)
	return d.Scaled(f), nil
}

// union joins all paths of one colour.
func (c *composer) union(colour string) ([]Ring, error) {
	paths := c.rings[colour]
	if len(paths) == 1 {
		return paths[0], nil
	}
	var all []Ring
	before := 0.0
	for _, p := range paths {
		all = append(all, p...)
		before += signedArea(p)
	}
	rings, crossings, err := covered(all, nonZero)
	if err != nil {
		return nil, tooTangled(err)
	}
	for _, at := range crossings {
		c.notes.add(Overlap, at, 0, "Shapes of one colour overlap here. They were joined, so that the blade does not cut through them.")
	}
	if after := signedArea(rings); len(crossings) == 0 && before-after > 1e-3 {
		c.notes.add(Overlap, all[len(all)-1][0], 0, "A shape lies wholly on another of the same colour (%.1f mm² twice). They were joined.", before-after)
	}
	return rings, nil
}

func signedArea(rings []Ring) float64 {
	sum := 0.0
	for _, r := range rings {
		sum += r.Area()
	}
	return sum
}
