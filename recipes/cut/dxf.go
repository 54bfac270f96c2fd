package cut

import (
	"math"
	"strconv"
	"strings"

	"evenpeel/recipes/fault"
)

// ReadDXF reads the closed polylines of an R12 file whose unit is the millimetre, bulges flattened within tol mm; y is
// turned down on a sheet of the given height. Other entities are passed over.
// A bulge is tan(sweep/4), +1 a counter-clockwise half circle. Faults: NOT_A_CUT_FILE, TOO_LARGE, TOO_MANY_POINTS.
func ReadDXF(text []byte, height, tol float64) ([]Ring, error) {
	if len(text) > 8*maxBytes {
		return nil, refuse(fault.TooLarge, TooLarge, "The DXF file is larger than 8 MiB.")
	}
	if !(tol >= 0.001 && tol <= 1) || !(math.Abs(height) <= maxExtent) {
		return nil, refuse(fault.Invalid, OptionsInvalid, "The DXF file can not be read with a tolerance of %g mm and a height of %g mm.", tol, height)
	}
	lines := strings.Split(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n")
	if n := len(lines); lines[n-1] == "" {
		lines = lines[:n-1]
	}
	if len(lines)%2 != 0 {
		return nil, notDXF("its codes and values do not pair up")
	}
	var p polyline
	p.height, p.tol = height, tol
	for i := 0; i < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			return nil, notDXF("line " + strconv.Itoa(i+1) + " is not a group code")
		}
		value := strings.TrimSpace(lines[i+1])
		if code == 0 {
			p.entity(value)
			if value == "EOF" {
				return p.rings, nil
			}
		} else if !p.group(code, value) {
			return nil, notDXF("line " + strconv.Itoa(i+2) + " is not a number in range")
		}
		if p.points > 5*maxPoints {
			return nil, refuse(fault.TooLarge, TooManyPoints, "The DXF file has more than %d points.", 5*maxPoints)
		}
	}
	return nil, notDXF("its end is missing")
}

func notDXF(why string) error {
	return refuse(fault.Invalid, NotACutFile, "The file can not be read as DXF: %s. Save it as R12 again.", why)
}

type bulged struct {
	at    Point
	bulge float64
}

type polyline struct {
	height, tol float64
	within      string // the entity whose groups are being read
	open        bool   // between POLYLINE and SEQEND
	closed      bool
	vertices    []bulged
	rings       []Ring
	points      int
}

func (p *polyline) entity(name string) {
	p.within = name
	switch name {
	case "POLYLINE":
		p.open, p.closed, p.vertices = true, false, nil
	case "VERTEX":
		if p.open {
			p.vertices = append(p.vertices, bulged{})
			p.points++
		}
	case "SEQEND":
		if p.open && p.closed && len(p.vertices) > 1 {
			p.rings = append(p.rings, p.ring())
		}
		p.open = false
	}
}

func (p *polyline) group(code int, value string) bool {
	switch {
	case !p.open:
		return true
	case p.within == "POLYLINE" && code == 70:
		flags, err := strconv.Atoi(value)
		p.closed = flags&1 != 0
		return err == nil
	case p.within == "VERTEX" && (code == 10 || code == 20 || code == 42):
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || !(math.Abs(v) <= maxNumber) {
			return false
		}
		last := &p.vertices[len(p.vertices)-1]
		switch code {
		case 10:
			last.at.X = v
		case 20:
			last.at.Y = p.height - v
		case 42:
			last.bulge = v
		}
	}
	return true
}

func (p *polyline) ring() Ring {
	var ring Ring
	for i, v := range p.vertices {
		ring = append(ring, v.at)
		next := p.vertices[(i+1)%len(p.vertices)].at
		chord, sweep := v.at.to(next), 4*math.Atan(v.bulge)
		if v.bulge == 0 || chord == 0 {
			continue
		}
		r := chord * (1 + v.bulge*v.bulge) / (4 * math.Abs(v.bulge))
		n := arcChords(r, sweep, p.tol)
		u, _ := next.minus(v.at).unit()
		// y points down here, so that a counter-clockwise arc of the file bulges to the left of its chord
		centre := lerp(v.at, next, 0.5).plus(u.leftNormal().times(-chord / 2 / math.Tan(sweep/2)))
		from := v.at.minus(centre)
		for k := 1; k < n; k++ {
			s, c := math.Sincos(-sweep * float64(k) / float64(n))
			ring = append(ring, centre.plus(Point{from.X*c - from.Y*s, from.X*s + from.Y*c}))
		}
		p.points += n
	}
	return ring
}
