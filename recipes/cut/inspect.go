package cut

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"evenpeel/recipes/units"
)

// Limits are what a film can hold: from its recipe.
type Limits struct {
	MinStroke, MinGap units.Micrometres
	SmallestPiece     units.SquareMillimetres
}

// sharpest is the interior angle below which a corner is shown as one that may lift. Common practice, no source.
const sharpest = 30

// Inspect measures the drawing against the limits. First come the faults of the drawing itself (open and damaged
// paths, crossings), then strokes, gaps, pieces and holes below their limits, the worst in proportion first; at most
// 50 of a kind. A limit of 0 is not measured.
func Inspect(d Drawing, l Limits) []Finding {
	var drawn notes
	for _, o := range d.Opens {
		drawn.add(OpenPath, o.At, o.Gap, "This outline is open: its ends are %.2f mm apart. It was closed with a straight line; close it in the drawing.", o.Gap)
	}
	found := append(drawn.list, d.Notes...)
	var measured []Finding
	worst := map[int]float64{}
	note := func(f Finding, badness float64) {
		worst[len(measured)] = badness
		measured = append(measured, f)
	}
	stroke, gap := float64(l.MinStroke)/1000, float64(l.MinGap)/1000
	small(d.Shapes, float64(l.SmallestPiece), note)
	atLeast := 0
	for _, f := range measured {
		atLeast = max(atLeast, f.PassesAt)
	}
	places, complete := narrowPlaces(d, stroke, gap, atLeast)
	for _, p := range places {
		if p.outside {
			note(narrowGap(p.place, gap), p.size/gap)
		} else {
			note(thinStroke(p.place, stroke), p.size/stroke)
		}
	}
	order := make([]int, len(measured))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(worst[i], worst[j]) })
	count := map[FindingKind]int{}
	for _, i := range order {
		if f := measured[i]; count[f.Kind] < maxOfKind {
			count[f.Kind]++
			found = append(found, f)
		}
	}
	found = append(found, sharpCorners(d)...)
	if !complete {
		found = append(found, Finding{Kind: PartlyMeasured, Words: "The drawing is too dense to be measured everywhere; narrow places may be missing from this list. Simplify its paths."})
	}
	return found
}

// narrowPlace is a thin stroke, or a narrow gap where it lies outside the film.
type narrowPlace struct {
	place
	outside bool
}

// narrowPlaces finds the places of each colour that are narrower than the limits, and looks once more at the size that it
// would name for all of them, at least the given percent: a larger drawing is sampled more closely, and may show a place that was missed.
func narrowPlaces(d Drawing, stroke, gap float64, atLeast int) (places []narrowPlace, complete bool) {
	places, complete = narrowAt(d, 1, stroke, gap)
	for range 3 {
		percent := atLeast
		for _, p := range places {
			limit := stroke
			if p.outside {
				limit = gap
			}
			if !p.taper {
				percent = max(percent, percentTo(limit/p.size))
			}
		}
		if percent == 0 {
			break
		}
		missed := false
		again, _ := narrowAt(d, float64(percent)/100, stroke, gap)
		for _, p := range again {
			if !p.taper {
				places, missed = append(places, p), true
			}
		}
		if !missed {
			break
		}
	}
	return places, complete
}

// narrowAt measures the drawing scaled, and gives the places and sizes as they are unscaled.
func narrowAt(d Drawing, scale, stroke, gap float64) (places []narrowPlace, complete bool) {
	complete = true
	if scale != 1 {
		d = d.Scaled(scale)
	}
	for _, colour := range d.Colours() {
		var shapes []Shape
		for _, s := range d.Shapes {
			if s.Colour == colour {
				shapes = append(shapes, s)
			}
		}
		for _, outside := range []bool{false, true} {
			limit := stroke
			if outside {
				limit = gap
			}
			found, whole := narrow(shapes, limit, outside)
			complete = complete && whole
			for _, p := range found {
				p.at, p.size = p.at.times(1/scale), p.size/scale
				places = append(places, narrowPlace{p, outside})
			}
		}
	}
	return places, complete
}

func thinStroke(p place, limit float64) Finding {
	f := Finding{Kind: ThinStroke, At: p.at, Size: p.size}
	if p.taper {
		f.Words = fmt.Sprintf("This stroke runs out into a long point, %.2f mm wide here; the film holds %.2f mm. Blunt or shorten the point: enlarging does not help.", p.size, limit)
		return f
	}
	f.PassesAt = percentTo(limit / p.size)
	f.Words = fmt.Sprintf("This stroke is %.2f mm wide; the film holds %.2f mm. Thicken it%s.", p.size, limit, enlarging(limit/p.size, "a thinner film"))
	return f
}

func narrowGap(p place, limit float64) Finding {
	f := Finding{Kind: NarrowGap, At: p.at, Size: p.size}
	if p.taper {
		f.Words = fmt.Sprintf("This gap runs out into a long notch, %.2f mm wide here; the film wants %.2f mm. Round the end of the notch: enlarging does not help.", p.size, limit)
		return f
	}
	f.PassesAt = percentTo(limit / p.size)
	f.Words = fmt.Sprintf("This gap is %.2f mm wide; the film wants %.2f mm. Open it%s.", p.size, limit, enlarging(limit/p.size, "a thinner film"))
	return f
}

// percentTo is the whole percent from which on a place that is short by the factor passes; a size that misses a limit
// by less than a millionth is at it.
func percentTo(factor float64) int {
	if !(factor < 100) {
		return 0
	}
	return int(math.Ceil(factor * 100 * (1 - sameSize)))
}

// enlarging says what helps but for redrawing: the size at which the place passes, or another film.
func enlarging(factor float64, film string) string {
	if p := percentTo(factor); p > 0 {
		return fmt.Sprintf(", enlarge the drawing to %d %%, or use %s", p, film)
	}
	return ", or use " + film
}

func small(shapes []Shape, limit float64, note func(Finding, float64)) {
	if limit <= 0 {
		return
	}
	for _, s := range shapes {
		if s.Area < limit*(1-sameSize) {
			f := math.Sqrt(limit / s.Area)
			note(Finding{TinyPiece, s.Rings[0][0], s.Area, percentTo(f),
				fmt.Sprintf("This piece is %.2f mm²; pieces below %.0f mm² come away. Join it to its neighbour%s.", s.Area, limit, enlarging(f, "a film that holds smaller ones"))}, s.Area/limit)
		}
		for _, h := range s.Rings[1:] {
			if a := -h.Area(); a < limit*(1-sameSize) {
				f := math.Sqrt(limit / a)
				note(Finding{TinyHole, h[0], a, percentTo(f),
					fmt.Sprintf("This hole is %.2f mm²; holes below %.0f mm² are hard to weed. Fill it or open it%s.", a, limit, enlarging(f, "a film that holds smaller ones"))}, a/limit)
			}
		}
	}
}

// sharpCorners is one finding for all corners below 30°, at the sharpest, with their number in its words.
func sharpCorners(d Drawing) []Finding {
	count, least := 0, float64(sharpest)
	var at Point
	for _, r := range d.Rings() {
		for i, p := range r {
			u, v := p.minus(r[(i+len(r)-1)%len(r)]), r[(i+1)%len(r)].minus(p)
			if turn := math.Atan2(u.cross(v), u.dot(v)) * 180 / math.Pi; turn > 0 && 180-turn < sharpest {
				if count++; 180-turn < least {
					least, at = 180-turn, p
				}
			}
		}
	}
	if count == 0 {
		return nil
	}
	words := fmt.Sprintf("%d corners are sharper than %d°, the sharpest %.0f°. Their points lift first; round them where the drawing allows.", count, sharpest, least)
	if count == 1 {
		words = fmt.Sprintf("One corner is sharper than %d°: %.0f°. Its point lifts first; round it where the drawing allows.", sharpest, least)
	}
	return []Finding{{Kind: SharpCorner, At: at, Size: least, Words: words}}
}
