package cut

import (
	"bytes"
	"fmt"
	"io"
	"math"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// HP-GL's numbers: HP 7475A Interfacing and Programming Manual 07475-90001 (1984), pp. 2-5 and 3-4.
const (
	hpglLeast, hpglMost = -32768, 32767
	hpglPointsAtOnce    = 60 // keeps an instruction below the 1024 bytes of the manual's buffer
)

// WriteHPGL writes portable HP-GL: two-letter instructions, whole numbers, one comma, a semicolon after each, no space
// and no line feed (pp. 3-2 to 3-4). The unit's length is the machine's own: the manual prints 0.025 mm and measures
// 0.02487. y runs up. Out-of-range points would be skipped and their neighbours joined by the machine (p. 3-5), so they
// are refused here: OUT_OF_RANGE.
func WriteHPGL(w io.Writer, f File) error {
	if err := f.check(); err != nil {
		return err
	}
	scaleX, scaleY := f.UnitsPerMM, f.UnitsPerMMY
	if scaleY == 0 {
		scaleY = scaleX
	}
	var fields fault.Fields
	if !(scaleX >= 1 && scaleX <= 4000) || !(scaleY >= 1 && scaleY <= 4000) {
		fields.Add("units_per_mm", "is %g along x and %g along y; it must be 1 to 4000", scaleX, scaleY)
	}
	if f.Force < 0 || f.Force > hpglMost {
		fields.Add("force", "is %d; it must be 0 to %d", f.Force, hpglMost)
	}
	if f.Speed < 0 || f.Speed > 1270 {
		fields.Add("speed", "is %d mm/s; HP-GL holds up to 1270", f.Speed)
	}
	if f.BladeOffset < 0 || f.BladeOffset > 5000 || f.Overcut < 0 || f.Overcut > 20_000 {
		fields.Add("blade_offset", "is %d µm with an overcut of %d µm; at most 5000 and 20000", f.BladeOffset, f.Overcut)
	}
	if err := fields.Fault("cut", OptionsInvalid, "The HP-GL file can not be written."); err != nil {
		return err
	}
	var b bytes.Buffer
	b.WriteString("IN;SP1;")
	if f.Speed > 0 {
		fmt.Fprintf(&b, "VS%d;", max(1, units.MulDiv(int64(f.Speed), 1, 10))) // cm/s
	}
	if f.Force > 0 {
		fmt.Fprintf(&b, "FS%d;", f.Force)
	}
	for i, r := range f.Rings {
		way := Compensated(r, float64(f.BladeOffset)/1000, float64(f.Overcut)/1000, 0.01)
		if len(way) == 0 {
			continue
		}
		steps := make([][2]int64, 0, len(way))
		for _, p := range way {
			x, y := math.Round(p.X*scaleX), math.Round((f.Height-p.Y)*scaleY)
			if !(x >= hpglLeast && x <= hpglMost && y >= hpglLeast && y <= hpglMost) {
				return refuse(fault.Invalid, OutOfRange, "Outline %d reaches %.0f, %.0f plotter units; HP-GL holds %d to %d. Cut the sheet in shorter parts.", i+1, x, y, hpglLeast, hpglMost)
			}
			if x < 0 || y < 0 {
				return refuse(fault.Invalid, OutOfRange, "Outline %d lies so near the edge that the blade's offset takes it %.2f mm outside. Leave a wider margin.", i+1, -min(x/scaleX, y/scaleY))
			}
			if step := [2]int64{int64(x), int64(y)}; len(steps) == 0 || steps[len(steps)-1] != step {
				steps = append(steps, step)
			}
		}
		for range max(1, f.Passes) {
			pen(&b, "PU", steps[:1])
			for k := 1; k < len(steps); k += hpglPointsAtOnce {
				pen(&b, "PD", steps[k:min(len(steps), k+hpglPointsAtOnce)])
			}
		}
	}
	b.WriteString("PU;SP0;")
	return deliver(w, &b)
}

func pen(b *bytes.Buffer, instruction string, points [][2]int64) {
	b.WriteString(instruction)
	for i, p := range points {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(b, "%d,%d", p[0], p[1])
	}
	b.WriteByte(';')
}

// ReadHPGL reads back what the blade would do: each pen-down run as a ring, its last point dropped where it returned to
// its start; runs that do not return are given as open. Height is that of the sheet in mm: y is turned down again.
// Coordinates are truncated downward as the manual has it (p. 3-4); IN, DF, PA, PR, PU, PD are obeyed, other
// instructions passed over. Faults: NOT_A_CUT_FILE, TOO_LARGE, TOO_MANY_POINTS.
func ReadHPGL(program []byte, unitsPerMM, height float64) (rings, open []Ring, err error) {
	if len(program) > 8*maxBytes {
		return nil, nil, refuse(fault.TooLarge, TooLarge, "The HP-GL file is larger than 8 MiB.")
	}
	if !(unitsPerMM >= 1 && unitsPerMM <= 4000) || !(math.Abs(height) <= maxExtent) {
		return nil, nil, refuse(fault.Invalid, OptionsInvalid, "The HP-GL file can not be read with %g units a millimetre and a height of %g mm.", unitsPerMM, height)
	}
	r := plotter{scale: unitsPerMM, height: height}
	t := tokens{text: string(program)}
	for {
		t.space()
		for t.at < len(t.text) && (t.text[t.at] == ';' || t.text[t.at] == ',') {
			t.at++
			t.space()
		}
		if t.at >= len(t.text) {
			break
		}
		if t.at+2 > len(t.text) || !letter(t.text[t.at]) || !letter(t.text[t.at+1]) {
			return nil, nil, refuse(fault.Invalid, NotACutFile, "The file stops being HP-GL at byte %d.", t.at)
		}
		name := string([]byte{t.text[t.at] &^ 0x20, t.text[t.at+1] &^ 0x20})
		t.at += 2
		var v []float64
		for {
			t.comma()
			n, ok := t.number()
			if !ok {
				break
			}
			v = append(v, max(min(math.Floor(n), hpglMost), hpglLeast))
		}
		r.obey(name, v)
		if r.points > 5*maxPoints {
			return nil, nil, refuse(fault.TooLarge, TooManyPoints, "The HP-GL file has more than %d points.", 5*maxPoints)
		}
	}
	r.lift()
	return r.rings, r.open, nil
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

type plotter struct {
	scale, height  float64
	x, y           float64 // units
	down, relative bool
	run            Ring
	rings, open    []Ring
	points         int
}

func (p *plotter) obey(name string, v []float64) {
	switch name {
	case "IN", "DF":
		p.lift()
		p.relative = false
		if name == "IN" {
			p.x, p.y = 0, 0
		}
		return
	case "PA":
		p.relative = false
	case "PR":
		p.relative = true
	case "PU":
		p.lift()
	case "PD":
		p.down = true
	default:
		return
	}
	for i := 0; i+1 < len(v); i += 2 { // an odd last number sets an error on the machine and moves nothing (p. 3-2)
		if p.down && len(p.run) == 0 {
			p.run = append(p.run, p.place())
		}
		if p.relative {
			p.x, p.y = p.x+v[i], p.y+v[i+1]
		} else {
			p.x, p.y = v[i], v[i+1]
		}
		if p.down {
			p.run = append(p.run, p.place())
		}
		p.points++
	}
}

func (p *plotter) place() Point { return Point{p.x / p.scale, p.height - p.y/p.scale} }

func (p *plotter) lift() {
	if n := len(p.run); n > 2 && p.run[0] == p.run[n-1] {
		p.rings = append(p.rings, p.run[:n-1])
	} else if n > 1 {
		p.open = append(p.open, p.run)
	}
	p.run, p.down = nil, false
}
