package cut

import (
	"math"

	"evenpeel/recipes/fault"
)

// ReadHPGL reads back what the blade would do: each pen-down run as a ring, its last point dropped where it returned to
// its start; runs that do not return are given as open. Height is that of the sheet in mm: y is turned down again.
// Coordinates are truncated downward as the manual has it (p. 3-4). Other instructions than those of obey are passed
// over. Faults: NOT_A_CUT_FILE, TOO_LARGE, TOO_MANY_POINTS.
func ReadHPGL(program []byte, unitsPerMM, height float64) (rings, open []Ring, err error) {
	if !(unitsPerMM >= 1 && unitsPerMM <= 4000) || !(math.Abs(height) <= maxExtent) {
		return nil, nil, refuse(fault.Invalid, OptionsInvalid, "The HP-GL file can not be read with %g units a millimetre and a height of %g mm.", unitsPerMM, height)
	}
	p := plotter{tol: 0.01 * unitsPerMM}
	if err := p.read(program); err != nil {
		return nil, nil, err
	}
	for _, run := range p.runs {
		ring := make(Ring, len(run.points))
		for i, q := range run.points {
			ring[i] = Point{q.X / unitsPerMM, height - q.Y/unitsPerMM}
		}
		if n := len(ring); n > 2 && run.points[0] == run.points[n-1] {
			rings = append(rings, ring[:n-1])
		} else {
			open = append(open, ring)
		}
	}
	return rings, open, nil
}

// drawnHPGL makes a drawing of the pen-down runs, each pen a colour. What would change size or place unseen (scaling,
// turning, encoded lines) is refused by its name.
func drawnHPGL(program []byte, o ReadOptions) (Drawing, error) {
	p := plotter{tol: 0.01 * 40}
	if o.UnitsPerMM > 0 {
		p.tol = 0.01 * o.UnitsPerMM
	}
	if err := p.read(program); err != nil {
		return Drawing{}, err
	}
	switch p.foreign {
	case "":
	case "LB":
		return Drawing{}, refuse(fault.Invalid, TextNotOutlined, "The drawing holds text. Convert text to outlines, so that it is cut in the face you chose, and save it again.")
	default:
		return Drawing{}, refuse(fault.Invalid, Unsupported, "The drawing uses the HP-GL instruction %s, which is not read. Save it again as plain pen movements, or as SVG.", p.foreign).With("instruction", p.foreign)
	}
	var strands []strand
	for _, run := range p.runs {
		s := subpath{start: run.points[0]}
		for _, q := range run.points[1:] {
			s.pieces = append(s.pieces, piece{kind: 'L', to: q})
		}
		if n := len(s.pieces); n > 2 && s.pieces[n-1].to == s.start {
			s.closed, s.pieces = true, s.pieces[:n-1]
		}
		strands = append(strands, strand{s, penColours[(max(run.pen, 1)-1)%len(penColours)]})
	}
	if len(strands) == 0 {
		return Drawing{}, nothingToCut(0)
	}
	return lined(strands, o, "An HP-GL drawing does not say how long its unit is. Enter the width it shall have, or the number of plotter units in a millimetre.")
}

// penColours are the colours of pens 1 to 7 of the default palette: HP PCL 5 Technical Reference, from memory.
var penColours = []string{"#000000", "#ff0000", "#00ff00", "#ffff00", "#0000ff", "#ff00ff", "#00ffff"}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// penRun is a line drawn with the pen down, in plotter units with y up.
type penRun struct {
	points Ring
	pen    int
}

type plotter struct {
	tol            float64 // of arcs, in plotter units
	at             Point
	down, relative bool
	pen            int
	run            Ring
	runs           []penRun
	points         int
	foreign        string // the first instruction that would change what is drawn and is not read
}

func (p *plotter) read(program []byte) error {
	if len(program) > 8*maxBytes {
		return refuse(fault.TooLarge, TooLarge, "The HP-GL file is larger than 8 MiB. Leave out what is not cut.")
	}
	t := tokens{text: string(program)}
	for {
		t.escape()
		if t.at >= len(t.text) {
			break
		}
		if t.at+2 > len(t.text) || !letter(t.text[t.at]) || !letter(t.text[t.at+1]) {
			return refuse(fault.Invalid, NotACutFile, "The file stops being HP-GL at byte %d. Save it again.", t.at)
		}
		name := string([]byte{t.text[t.at] &^ 0x20, t.text[t.at+1] &^ 0x20})
		t.at += 2
		if name == "LB" || name == "PE" { // what follows is no list of numbers
			if p.note(name); name == "PE" {
				break
			}
			for t.at < len(t.text) && t.text[t.at] != 3 {
				t.at++
			}
			t.at = min(t.at+1, len(t.text))
			continue
		}
		var v []float64
		for {
			t.comma()
			n, ok := t.number()
			if !ok {
				break
			}
			if v = append(v, n); len(v) > 10*maxPoints {
				return tooManyPenPoints()
			}
		}
		p.obey(name, v)
		if p.points > 5*maxPoints {
			return tooManyPenPoints()
		}
	}
	p.lift()
	return nil
}

func tooManyPenPoints() error {
	return refuse(fault.TooLarge, TooManyPoints, "The HP-GL file has more than %d points. Simplify its lines.", 5*maxPoints)
}

// escape passes over what stands between instructions: semicolons, commas, space, and escape sequences of the line
// control (ESC . letter …) and of entering the language (ESC % number letter).
func (t *tokens) escape() {
	for {
		t.space()
		switch {
		case t.at >= len(t.text):
			return
		case t.text[t.at] == ';' || t.text[t.at] == ',':
			t.at++
		case t.text[t.at] == 0x1b && t.at+2 < len(t.text) && t.text[t.at+1] == '.':
			t.at += 3
			for t.at < len(t.text) && (t.text[t.at] == ';' || t.text[t.at] >= '0' && t.text[t.at] <= '9') {
				t.at++
			}
			if t.at < len(t.text) && t.text[t.at] == ':' {
				t.at++
			}
		case t.text[t.at] == 0x1b:
			for t.at++; t.at < len(t.text) && !letter(t.text[t.at]); t.at++ {
			}
			t.at = min(t.at+1, len(t.text))
		default:
			return
		}
	}
}

func (p *plotter) note(name string) {
	if p.foreign == "" {
		p.foreign = name
	}
}

// unitsOf truncates downward (p. 3-4) and holds to what an instruction can say.
func unitsOf(v float64) float64 { return max(min(math.Floor(v), hpgl2Most), hpgl2Least) }

// obey follows IN, DF, SP, PA, PR, PU, PD, the arcs AA, AR and CI, and the boxes EA and ER (HP 7475A manual, chapters 3
// and 4); it notes what would change the drawing and is not followed.
func (p *plotter) obey(name string, v []float64) {
	switch name {
	case "IN", "DF":
		p.lift()
		p.relative = false
		if name == "IN" {
			p.at = Point{}
		}
	case "SP":
		p.lift()
		if p.pen = 0; len(v) > 0 && v[0] >= 0 && v[0] < 256 {
			p.pen = int(v[0])
		}
	case "PA", "PR", "PU", "PD":
		switch name {
		case "PU":
			p.lift()
		case "PD":
			p.down = true
		default:
			p.relative = name == "PR"
		}
		for i := 0; i+1 < len(v); i += 2 { // an odd last number sets an error on the machine and moves nothing (p. 3-2)
			p.move(p.placed(v[i], v[i+1], p.relative))
		}
	case "AA", "AR":
		if len(v) >= 3 {
			p.swing(p.placed(v[0], v[1], name == "AR"), v[2])
		}
	case "CI":
		if len(v) >= 1 && v[0] != 0 {
			middle, was := p.at, p.down
			p.lift()
			p.at, p.down = middle.plus(Point{math.Abs(unitsOf(v[0])), 0}), true
			p.swing(middle, 360)
			p.lift()
			p.at, p.down = middle, was
		}
	case "EA", "ER":
		if len(v) >= 2 {
			a, b, was := p.at, p.placed(v[0], v[1], name == "ER"), p.down
			p.lift()
			p.down = true
			for _, q := range []Point{{b.X, a.Y}, b, {a.X, b.Y}, a} {
				p.move(q)
			}
			p.lift()
			p.down = was
		}
	case "SC", "RO", "IW":
		if len(v) > 0 && !(name == "RO" && v[0] == 0) {
			p.note(name)
		}
	case "RA", "RR", "WG", "EW", "AT", "RT", "BZ", "BR":
		p.note(name)
	}
}

func (p *plotter) placed(x, y float64, relative bool) Point {
	q := Point{unitsOf(x), unitsOf(y)}
	if relative {
		q = q.plus(p.at)
		q = Point{unitsOf(q.X), unitsOf(q.Y)}
	}
	return q
}

func (p *plotter) move(q Point) {
	if p.down && len(p.run) == 0 {
		p.run = append(p.run, p.at)
	}
	if p.at = q; p.down {
		p.run = append(p.run, q)
	}
	p.points++
}

// swing moves on a circle about the middle, counter-clockwise for degrees above 0.
func (p *plotter) swing(middle Point, degrees float64) {
	from := p.at.minus(middle)
	sweep := min(max(degrees, -360), 360) * math.Pi / 180
	n := arcChords(from.length(), sweep, max(p.tol, 1e-3))
	start := p.at
	for i := 1; i <= n; i++ {
		s, c := math.Sincos(sweep * float64(i) / float64(n))
		q := middle.plus(Point{from.X*c - from.Y*s, from.X*s + from.Y*c})
		if i == n && math.Abs(degrees) >= 360 {
			q = start
		}
		p.move(q)
	}
}

func (p *plotter) lift() {
	if len(p.run) > 1 {
		p.runs = append(p.runs, penRun{p.run, p.pen})
	}
	p.run, p.down = nil, false
}
