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
	hpglLeast, hpglMost   = -32768, 32767
	hpgl2Least, hpgl2Most = -1 << 30, 1<<30 - 1 // HP-GL/2: HP PCL 5 Technical Reference Manual, as in physics.md C.1
	hpglPointsAtOnce      = 60                  // keeps an instruction below the 1024 bytes of the manual's buffer
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
	if f.Speed > 1270 {
		fields.Add("speed", "is %d mm/s; HP-GL holds up to 1270", f.Speed)
	}
	if f.BladeOffset < 0 || f.BladeOffset > 5000 || f.Overcut < 0 || f.Overcut > 20_000 {
		fields.Add("blade_offset", "is %d µm with an overcut of %d µm; at most 5000 and 20000", f.BladeOffset, f.Overcut)
	}
	if err := fields.Fault("cut", OptionsInvalid, "The HP-GL file can not be written."); err != nil {
		return err
	}
	least, most := float64(hpglLeast), float64(hpglMost)
	if f.Long {
		least, most = hpgl2Least, hpgl2Most
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
			if !(x >= least && x <= most && y >= least && y <= most) {
				return refuse(fault.Invalid, OutOfRange, "Outline %d reaches %.0f, %.0f plotter units; the numbers of this machine's HP-GL end at %.0f. Cut the sheet in shorter parts.", i+1, x, y, most)
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
