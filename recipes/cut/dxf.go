package cut

import (
	"math"
	"strconv"
	"strings"

	"evenpeel/recipes/fault"
)

// ReadDXF reads the closed polylines of an R12 file whose unit is the millimetre, bulges flattened within tol mm; y is
// turned down on a sheet of the given height. Other entities are passed over: it reads back what WriteDXF writes. Read
// takes a drawing in.
// Faults: NOT_A_CUT_FILE, TOO_LARGE, TOO_MANY_POINTS.
func ReadDXF(text []byte, height, tol float64) ([]Ring, error) {
	if !(tol >= 0.001 && tol <= 1) || !(math.Abs(height) <= maxExtent) {
		return nil, refuse(fault.Invalid, OptionsInvalid, "The DXF file can not be read with a tolerance of %g mm and a height of %g mm.", tol, height)
	}
	d, err := readDXF(text)
	if err != nil {
		return nil, err
	}
	var rings []Ring
	points := 0
	for i := range d.strands {
		s := &d.strands[i]
		if !s.closed || s.entity != "POLYLINE" {
			continue
		}
		ring := withoutRepeats(s.flattened(matrix{a: 1, d: -1, f: height}, tol), true)
		if points += len(ring); points > 5*maxPoints {
			return nil, refuse(fault.TooLarge, TooManyPoints, "The DXF file has more than %d points. Simplify its lines.", 5*maxPoints)
		}
		if len(ring) > 1 {
			rings = append(rings, ring)
		}
	}
	return rings, nil
}

// drawnDXF makes a drawing of POLYLINE (with bulges), LWPOLYLINE, LINE, ARC and CIRCLE, coloured by their own colour or
// their layer's. Layers that are switched off are left out; anything else that would be cut is refused by its name.
func drawnDXF(text []byte, o ReadOptions) (Drawing, error) {
	d, err := readDXF(text)
	if err != nil {
		return Drawing{}, err
	}
	if d.foreign != "" {
		if strings.HasSuffix(d.foreign, "TEXT") || strings.HasPrefix(d.foreign, "ATT") {
			return Drawing{}, refuse(fault.Invalid, TextNotOutlined, "The drawing holds text. Convert text to outlines, so that it is cut in the face you chose, and save it again.")
		}
		return Drawing{}, refuse(fault.Invalid, Unsupported, "The drawing holds a %q, which is not read. Break it up into lines, arcs and polylines, and save it as DXF R12.", short(d.foreign)).With("entity", short(d.foreign))
	}
	var strands []strand
	for _, s := range d.strands {
		colour := s.colour
		if colour == 0 || colour == byLayer {
			colour = 7
			if c, known := d.layers[s.layer]; known {
				colour = c
			}
		}
		if colour > 0 {
			s.strand.colour = indexColour(colour)
			strands = append(strands, s.strand)
		}
	}
	if len(strands) == 0 {
		return Drawing{}, nothingToCut(0)
	}
	return lined(strands, o, "A DXF R12 drawing does not say how long its unit is. Enter the width it shall have, or say whether it is drawn in millimetres or inches.")
}

func notDXF(why string) error {
	return refuse(fault.Invalid, NotACutFile, "The file can not be read as DXF: %s. Save it as R12 again.", why)
}

const byLayer = 256

// dxfStrand is one entity as it stands in the file.
type dxfStrand struct {
	strand
	entity, layer string
	colour        int
}

type dxf struct {
	section string
	layers  map[string]int // colour index; negative is off
	strands []dxfStrand
	foreign string // the first entity that is not read

	entity entity
	open   *entity // the POLYLINE whose vertices follow
}

// entity gathers the groups of one entity; x, y and bulge hold one number for each vertex.
type entity struct {
	name, layer, label string
	colour, flags      int
	x, y, bulge        []float64
	far                Point // of a LINE: groups 11 and 21
	radius, from, to   float64
}

// readDXF reads group codes and values, line by line. The form: shared reference physics C.6; group codes of R12, from
// memory: 0 entity, 2 name, 8 layer, 10/20 place, 11/21 second place, 40 radius, 42 bulge, 50/51 angles, 62 colour,
// 70 flags.
func readDXF(text []byte) (*dxf, error) {
	if len(text) > 8*maxBytes {
		return nil, refuse(fault.TooLarge, TooLarge, "The DXF file is larger than 8 MiB. Leave out what is not cut.")
	}
	d := &dxf{layers: map[string]int{}}
	rest := string(text)
	for line, points := 1, 0; rest != ""; line += 2 {
		var first, value string
		var paired bool
		first, rest, paired = strings.Cut(rest, "\n")
		if !paired {
			return nil, notDXF("its codes and values do not pair up")
		}
		value, rest, _ = strings.Cut(rest, "\n")
		code, err := strconv.Atoi(strings.TrimSpace(first))
		if err != nil {
			return nil, notDXF("line " + strconv.Itoa(line) + " is not a group code")
		}
		value = strings.TrimSpace(value)
		if code == 0 {
			d.finish()
			d.entity = entity{name: value}
			if value == "EOF" {
				return d, nil
			}
		} else if !d.group(code, value) {
			return nil, notDXF("line " + strconv.Itoa(line+1) + " is not a number in range")
		}
		if code == 10 || code == 0 {
			if points++; points > 5*maxPoints {
				return nil, refuse(fault.TooLarge, TooManyPoints, "The DXF file has more than %d points. Simplify its lines.", 5*maxPoints)
			}
		}
	}
	return nil, notDXF("its end is missing")
}

func (d *dxf) group(code int, value string) bool {
	e := &d.entity
	switch code {
	case 2:
		e.label = value
		if e.name == "SECTION" {
			d.section = value
		}
		return true
	case 8:
		e.layer = value
		return true
	case 62, 70:
		v, err := strconv.Atoi(value)
		if code == 62 {
			e.colour = v
		} else {
			e.flags = v
		}
		return err == nil && v >= -1<<15 && v < 1<<15
	case 10, 20, 11, 21, 40, 42, 50, 51:
	default:
		return true
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || !(math.Abs(v) <= maxNumber) {
		return d.section == "HEADER" // variables may hold what they like
	}
	switch code {
	case 10:
		e.x, e.y, e.bulge = append(e.x, v), append(e.y, 0), append(e.bulge, 0)
	case 20:
		if n := len(e.y); n > 0 {
			e.y[n-1] = v
		}
	case 42:
		if n := len(e.bulge); n > 0 {
			e.bulge[n-1] = v
		}
	case 11:
		e.far.X = v
	case 21:
		e.far.Y = v
	case 40:
		e.radius = v
	case 50:
		e.from = v
	case 51:
		e.to = v
	}
	return true
}
