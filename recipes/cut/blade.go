package cut

import "math"

// Caution stands on every screen and print where cutting is set up.
const Caution = "Blades cut skin as easily as film, and pinch rollers draw in fingers, hair and cords. Keep clear of the moving head, and switch the cutter off before you change a blade or free a jam. The machine's manual and local safety law come first."

// swivelFrom is the turn in degrees above which the blade is swung round at a corner; below it, it follows by itself.
// Common practice, no source.
const swivelFrom = 5

// Compensated is the way of the swivel, so that the tip of a drag blade, trailing it by offset mm, cuts ring: the
// swivel runs ahead along the tangent by the offset, and at a corner turns about it on an arc of that radius. After
// closing, it runs on for overcut mm. The way starts with the blade in line with the first edge.
// Source of the geometry: the tractrix of a trailing tip; shared reference physics C.4. Lead-in and overcut lengths are
// common practice, no source. tol is the largest sagitta of the arcs' chords in mm.
func Compensated(ring Ring, offset, overcut, tol float64) []Point {
	r := withoutRepeats(ring, true)
	n := len(r)
	if n < 2 {
		return nil
	}
	direction := func(i int) Point {
		u, _ := r[(i+1)%n].minus(r[i%n]).unit()
		return u
	}
	way := []Point{r[0].plus(direction(0).times(offset))}
	for i := range n {
		u, v := direction(i), direction(i+1)
		corner := r[(i+1)%n]
		way = append(way, corner.plus(u.times(offset)))
		way = append(way, swung(corner, u, v, offset, tol)...)
	}
	left := overcut
	for i := 0; left > 1e-9 && i < n; i++ {
		u := direction(i)
		step := min(left, r[i].to(r[(i+1)%n]))
		if i > 0 {
			way = append(way, swung(r[i], direction(i-1), u, offset, tol)...)
		}
		way = append(way, r[i].plus(u.times(step+offset)))
		left -= step
	}
	return way
}

// swung is the arc of the swivel about a corner from heading u to v, its end included.
func swung(corner, u, v Point, offset, tol float64) []Point {
	angle := math.Atan2(u.cross(v), u.dot(v))
	if offset == 0 {
		return nil
	}
	steps := 1
	if math.Abs(angle) > swivelFrom*math.Pi/180 {
		steps = arcChords(offset, angle, tol)
	}
	var arc []Point
	for k := 1; k <= steps; k++ {
		s, c := math.Sincos(angle * float64(k) / float64(steps))
		arc = append(arc, corner.plus(Point{u.X*c - u.Y*s, u.X*s + u.Y*c}.times(offset)))
	}
	return arc
}
