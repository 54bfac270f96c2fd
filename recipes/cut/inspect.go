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
	complete := true
	for _, colour := range d.Colours() {
		var shapes []Shape
		for _, s := range d.Shapes {
			if s.Colour == colour {
				shapes = append(shapes, s)
			}
		}
		stroke, gap := float64(l.MinStroke)/1000, float64(l.MinGap)/1000
		places, whole := narrow(shapes, stroke, false)
		complete = complete && whole
		for _, p := range places {
			note(Finding{ThinStroke, p.at, p.size, percentTo(stroke / p.size),
				fmt.Sprintf("This stroke is %.2f mm wide; the film holds %.2f mm. Thicken it%s.", p.size, stroke, enlarging(stroke/p.size))}, p.size/stroke)
		}
		places, whole = narrow(shapes, gap, true)
		complete = complete && whole
		for _, p := range places {
			note(Finding{NarrowGap, p.at, p.size, percentTo(gap / p.size),
				fmt.Sprintf("This gap is %.2f mm wide; the film wants %.2f mm. Open it%s.", p.size, gap, enlarging(gap/p.size))}, p.size/gap)
		}
		small(shapes, float64(l.SmallestPiece), note)
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

func percentTo(factor float64) int {
	if !(factor < 100) {
		return 0
	}
	return int(math.Ceil(factor*100 - 1e-6))
}

func enlarging(factor float64) string {
	if p := percentTo(factor); p > 0 {
		return fmt.Sprintf(", or enlarge the drawing to %d %%", p)
	}
	return ""
}

func small(shapes []Shape, limit float64, note func(Finding, float64)) {
	if limit <= 0 {
		return
	}
	for _, s := range shapes {
		if s.Area < limit {
			f := math.Sqrt(limit / s.Area)
			note(Finding{TinyPiece, s.Rings[0][0], s.Area, percentTo(f),
				fmt.Sprintf("This piece is %.2f mm²; pieces below %.0f mm² come away. Join it to its neighbour%s.", s.Area, limit, enlarging(f))}, s.Area/limit)
		}
		for _, h := range s.Rings[1:] {
			if a := -h.Area(); a < limit {
				f := math.Sqrt(limit / a)
				note(Finding{TinyHole, h[0], a, percentTo(f),
					fmt.Sprintf("This hole is %.2f mm²; holes below %.0f mm² are hard to weed. Fill it or open it%s.", a, limit, enlarging(f))}, a/limit)
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
