package cut

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// File is what a cut file holds. Rings are in mm, x right and y down, already placed and mirrored; every one lies in
// 0 … Width and 0 … Height. The writers turn y up where their format wants it.
type File struct {
	Rings         []Ring
	Width, Height float64 // mm
	Title         string

	// obeyed by HP-GL; said in words by the other formats, which can not carry them
	Speed  units.MillimetresPerSecond // 0 leaves the machine's own
	Force  int                        // the machine's own force step (FS); 0 leaves the machine's own
	Passes int                        // 0 is one

	// for HP-GL only
	UnitsPerMM  float64           // plotter units a millimetre along x, from the machine's own calibration
	UnitsPerMMY float64           // the same along y; 0 is as along x
	Long        bool              // the machine takes HP-GL/2 numbers, up to 2³⁰, so that a cut may be longer than 32767 units
	BladeOffset units.Micrometres // of a drag blade; 0 leaves compensation to the machine
	Overcut     units.Micrometres // run past the start of each outline
}

// settings says in words what a format can not carry, for a person to set by hand; empty where nothing is asked for.
func (f *File) settings() string {
	var parts []string
	if f.Speed > 0 {
		parts = append(parts, fmt.Sprintf("speed %d mm/s", f.Speed))
	}
	if f.Force > 0 {
		parts = append(parts, fmt.Sprintf("force step %d", f.Force))
	}
	if f.Passes > 1 {
		parts = append(parts, fmt.Sprintf("%d passes", f.Passes))
	}
	if len(parts) == 0 {
		return ""
	}
	return "Set at the machine: " + strings.Join(parts, ", ") + "."
}

const maxRings = 100_000

// check gathers what is wrong with f for any format.
func (f *File) check() error {
	var fields fault.Fields
	if !(f.Width > 0 && f.Width <= maxExtent) || !(f.Height > 0 && f.Height <= maxExtent) {
		fields.Add("size", "is %g × %g mm; both must be above 0 and at most 20 m", f.Width, f.Height)
	}
	if len(f.Rings) == 0 || len(f.Rings) > maxRings {
		fields.Add("rings", "are %d; there must be 1 to %d", len(f.Rings), maxRings)
	}
	if f.Passes < 0 || f.Passes > 20 {
		fields.Add("passes", "are %d; there must be 1 to 20", f.Passes)
	}
	if f.Force < 0 || f.Force > hpglMost {
		fields.Add("force", "is %d; it must be 0 to %d", f.Force, hpglMost)
	}
	if f.Speed < 0 || f.Speed > 10_000 {
		fields.Add("speed", "is %d mm/s; it must be 0 to 10000", f.Speed)
	}
	if len(f.Title) > 200 {
		fields.Add("title", "is longer than 200 bytes")
	}
	if err := fields.Fault("cut", OptionsInvalid, "The cut file can not be written."); err != nil {
		return err
	}
	points := 0
	for i, r := range f.Rings {
		if len(r) < 2 {
			return refuse(fault.Invalid, OptionsInvalid, "Outline %d has fewer than two points. Read the drawing again.", i+1)
		}
		if points += len(r); points > 5*maxPoints {
			return refuse(fault.TooLarge, TooManyPoints, "The cut file would have more than %d points. Cut it in parts.", 5*maxPoints)
		}
		for _, p := range r {
			const slack = 1e-6
			if !(p.X >= -slack && p.Y >= -slack && p.X <= f.Width+slack && p.Y <= f.Height+slack) {
				return refuse(fault.Invalid, OutOfRange, "Outline %d leaves the sheet at %.2f, %.2f mm (the sheet is %.2f × %.2f mm). Move it inside.", i+1, p.X, p.Y, f.Width, f.Height)
			}
		}
	}
	return nil
}

func deliver(w io.Writer, b *bytes.Buffer) error {
	if _, err := w.Write(b.Bytes()); err != nil {
		return refuse(fault.Unavailable, FileNotWritten, "The cut file could not be written out. Try again.").Because(err)
	}
	return nil
}

func rounded(v float64, places int) float64 {
	f := math.Pow10(places)
	return math.Round(v*f)/f + 0 // + 0 turns -0 into 0
}
