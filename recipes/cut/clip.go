package cut

import (
	"strings"

	"evenpeel/recipes/fault"
)

// maxClips bounds how many clips a drawing may apply: each is a joining of outlines of its own.
const (
	maxClips     = 2000
	maxClipDepth = 8
)

// clip is a region that what is drawn is cut to: the union of its parts, each cut to its own clips in turn.
// Source: CSS Masking 1, "clip-path" and "clipPath".
type clip struct {
	parts  []drawnPath
	within []*clip
	region []Ring // worked out once, by the composer that asks first
	known  bool
}

// clipped reads a clip-path property of element e, whose user space is that of s.
func (r *reader) clipped(value string, e *element, s scope) (*clip, error) {
	if value == "" || value == "none" {
		return nil, nil
	}
	name, isLink := strings.CutPrefix(strings.ReplaceAll(value, " ", ""), "url(")
	name, closed := strings.CutSuffix(name, ")")
	name, inside := strings.CutPrefix(strings.Trim(name, `'"`), "#")
	if !isLink || !closed || !inside {
		return nil, refuse(fault.Invalid, Unsupported, "The drawing clips with %q, which is not read. Cut the shape itself to its final outline.", short(value))
	}
	target := r.ids[name]
	if target == nil || target.name != "clipPath" {
		return nil, nil // CSS Masking 1: a link to nothing clips nothing
	}
	if r.clips++; r.clips > maxClips || s.clipDepth == maxClipDepth {
		return nil, refuse(fault.TooLarge, TooLarge, "The drawing has more than %d clips, or clips within clips more than %d deep. Cut the shapes themselves to their final outlines.", maxClips, maxClipDepth)
	}
	s.clipDepth++
	inner := scope{m: s.m, look: plainLook, view: s.view, depth: s.depth, clipDepth: s.clipDepth, silhouette: true}
	if target.set["clipPathUnits"] == "objectBoundingBox" {
		b, err := r.bounds(e, s)
		if err != nil {
			return nil, err
		}
		if !(b.maxX > b.minX) || !(b.maxY > b.minY) {
			return &clip{}, nil // SVG 2: a box without extent shows nothing
		}
		inner.m = s.m.times(translation(b.minX, b.minY)).times(scaling(b.maxX-b.minX, b.maxY-b.minY))
		inner.view = viewport{1, 1}
	}
	own, err := r.styled(target, plainLook, s.view)
	if err != nil {
		return nil, err
	}
	c := &clip{}
	within, err := r.clipped(own.clip, e, s)
	if err != nil {
		return nil, err
	}
	if within != nil {
		c.within = append(c.within, within)
	}
	t, ok := readTransform(own.transform)
	if !ok {
		return nil, unreadableTransform(own.transform)
	}
	inner.m = inner.m.times(t)
	inner.look = own.look
	c.parts, err = r.aside(func() error {
		for _, k := range target.kids {
			if k.name == "g" || k.name == "svg" { // SVG 2: shapes and use of shapes only
				continue
			}
			if err := r.draw(k, inner.deeper(), false); err != nil {
				return err
			}
		}
		return nil
	})
	return c, err
}

// aside draws and gives what was drawn, instead of adding it to the drawing.
func (r *reader) aside(draw func() error) ([]drawnPath, error) {
	before := r.drawn
	r.drawn = nil
	err := draw()
	parts := r.drawn
	r.drawn = before
	return parts, err
}

// bounds is the box of the element's geometry in its own user space, strokes and clips left out.
func (r *reader) bounds(e *element, s scope) (box, error) {
	b := emptyBox()
	bare := scope{m: identity, look: plainLook, view: s.view, depth: s.depth, clipDepth: s.clipDepth, silhouette: true, unclipped: true}
	parts, err := r.aside(func() error {
		switch e.name {
		case "g", "switch", "svg", "symbol":
			return r.children(e, bare)
		case "use":
			return r.use(e, bare)
		}
		return r.shape(e, bare, style{look: plainLook})
	})
	if err != nil {
		return b, err
	}
	for i := range parts {
		for j := range parts[i].subs {
			rough := parts[i].subs[j].flattened(parts[i].m, 1).box()
			fine := max(rough.maxX-rough.minX, rough.maxY-rough.minY, 1e-6) / 5000
			for _, p := range parts[i].subs[j].flattened(parts[i].m, fine) {
				if !p.finite() {
					return b, notFinite()
				}
				b.take(p)
			}
		}
	}
	return b, nil
}

// cutTo gives what of the clean rings lies in every clip.
func (c *composer) cutTo(rings []Ring, clips []*clip) ([]Ring, error) {
	for _, k := range clips {
		if len(rings) == 0 {
			return nil, nil
		}
		region, err := c.regionOf(k)
		if err != nil {
			return nil, err
		}
		if surrounds(region, rings) {
			continue
		}
		both, _, err := c.cover(append(region[:len(region):len(region)], rings...), overlapOnly)
		if err != nil {
			return nil, err
		}
		rings = both
	}
	return rings, nil
}

// surrounds reports whether the region is an upright box that holds the rings whole, as most viewports are.
func surrounds(region, rings []Ring) bool {
	if len(region) != 1 || len(region[0]) != 4 {
		return false
	}
	b := region[0].box()
	if region[0].Area() < (b.maxX-b.minX)*(b.maxY-b.minY)*(1-1e-12) {
		return false
	}
	for _, r := range rings {
		for _, p := range r {
			if !b.holds(p) {
				return false
			}
		}
	}
	return true
}

func (c *composer) regionOf(k *clip) ([]Ring, error) {
	if k.known {
		return k.region, nil
	}
	var all []Ring
	for i := range k.parts {
		d := &k.parts[i]
		m := c.size.times(d.m)
		var rings []Ring
		for j := range d.subs {
			if len(d.subs[j].pieces) > 0 {
				rings = append(rings, d.subs[j].flattened(m, c.tol))
			}
		}
		if err := c.count(rings); err != nil {
			return nil, err
		}
		clean, _, err := c.cover(rings, d.look.rule)
		if err != nil {
			return nil, err
		}
		if clean, err = c.cutTo(clean, d.clips); err != nil {
			return nil, err
		}
		all = append(all, clean...)
	}
	region, _, err := c.cover(all, nonZero)
	if err != nil {
		return nil, err
	}
	if region, err = c.cutTo(region, k.within); err != nil {
		return nil, err
	}
	k.region, k.known = region, true
	return region, nil
}
