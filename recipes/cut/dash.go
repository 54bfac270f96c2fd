package cut

import (
	"math"
	"strings"

	"evenpeel/recipes/fault"
)

const maxDashes = 20_000 // in one subpath

// readDashes reads a stroke-dasharray: an odd list is repeated once, a list of zeros or a negative length is a whole
// line (SVG 2, painting, "stroke-dasharray").
func readDashes(value string, view viewport) ([]float64, error) {
	if value == "none" || value == "" {
		return nil, nil
	}
	var list []float64
	sum := 0.0
	for _, part := range strings.FieldsFunc(value, func(r rune) bool { return r == ',' || r == ' ' || r == '\t' || r == '\n' || r == '\r' }) {
		v, ok := view.length(part, 'd')
		if !ok || !(v <= maxNumber) || len(list) == 256 {
			return nil, refuse(fault.Invalid, Unsupported, "The dashes %q can not be read. Convert strokes to outlines and save the drawing again.", short(value))
		}
		if v < 0 {
			return nil, nil
		}
		list, sum = append(list, v), sum+v
	}
	if sum == 0 {
		return nil, nil
	}
	if len(list)%2 == 1 {
		list = append(list, list...)
	}
	return list, nil
}

// dashed cuts the line (closed or not) into its dashes from the offset on. Where a closed line begins and ends within
// dashes, the two are one. ok is false where there would be too many.
// Source: SVG 2, painting, "computing the shape of the stroke".
func dashed(line Ring, closed bool, dashes []float64, offset float64) (runs []Ring, ok bool) {
	period := 0.0
	for _, d := range dashes {
		period += d
	}
	if closed {
		line = append(line[:len(line):len(line)], line[0])
	}
	way := 0.0
	for i := 1; i < len(line); i++ {
		way += line[i-1].to(line[i])
	}
	if !(way/period*float64(len(dashes)) < maxDashes) {
		return nil, false
	}
	k, left := 0, math.Mod(offset, period)
	if left < 0 {
		left += period
	}
	for left > 0 && left >= dashes[k] { // a dash of no length at the start is drawn
		left -= dashes[k]
		k = (k + 1) % len(dashes)
	}
	left = dashes[k] - left
	var run Ring
	if k%2 == 0 {
		run = Ring{line[0]}
	}
	startsOn := k%2 == 0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := a.to(b)
		at := 0.0
		for at+left <= length && length > 0 {
			at += left
			p := lerp(a, b, at/length)
			if k%2 == 0 {
				runs = append(runs, append(run, p))
				run = nil
			} else {
				run = Ring{p}
			}
			if k = (k + 1) % len(dashes); len(runs) > maxDashes {
				return nil, false
			}
			left = dashes[k]
		}
		if left -= length - at; k%2 == 0 {
			run = append(run, b)
		}
	}
	if len(run) > 0 {
		if closed && startsOn && len(runs) > 0 {
			runs[0] = append(run, runs[0]...)
		} else {
			runs = append(runs, run)
		}
	}
	return runs, true
}
