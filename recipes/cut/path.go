package cut

import (
	"math"
	"strconv"
)

// piece is one stretch of a path in its own coordinates: a line (one point), a cubic (three points) or an arc.
type piece struct {
	kind    byte // 'L', 'C', 'A'
	c1, c2  Point
	to      Point
	ellipse arc
}

// subpath is one run of pieces from its start; closed where the drawing closed it.
type subpath struct {
	start  Point
	pieces []piece
	closed bool
}

func (s *subpath) end() Point {
	if len(s.pieces) == 0 {
		return s.start
	}
	return s.pieces[len(s.pieces)-1].to
}

// tokens reads numbers and flags by the grammar of SVG 2 paths ("M 100-200" is two numbers, ".6.5" likewise).
type tokens struct {
	text string
	at   int
}

func (t *tokens) space() {
	for t.at < len(t.text) && (t.text[t.at] == ' ' || t.text[t.at] >= '\t' && t.text[t.at] <= '\r') {
		t.at++
	}
}

func (t *tokens) comma() {
	t.space()
	if t.at < len(t.text) && t.text[t.at] == ',' {
		t.at++
		t.space()
	}
}

func digits(s string, i int) int {
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		i++
	}
	return i
}

// number reads one number. A trailing dot ("23.") left the grammar in SVG 2 but is accepted, as SVG 1.1 had it.
func (t *tokens) number() (float64, bool) {
	s, i := t.text, t.at
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	whole := digits(s, i)
	count := whole - i
	i = whole
	if i < len(s) && s[i] == '.' {
		fraction := digits(s, i+1)
		count += fraction - i - 1
		i = fraction
	}
	if count == 0 {
		return 0, false
	}
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if k := digits(s, j); k > j {
			i = k
		}
	}
	v, err := strconv.ParseFloat(s[t.at:i], 64)
	if err != nil && !math.IsInf(v, 0) {
		return 0, false
	}
	t.at = i
	return v, true
}

func (t *tokens) flag() (bool, bool) {
	if t.at < len(t.text) && (t.text[t.at] == '0' || t.text[t.at] == '1') {
		t.at++
		return t.text[t.at-1] == '1', true
	}
	return false, false
}

// readNumbers reads a list of at most limit numbers (limit 0: any count).
func readNumbers(text string, limit int) (list []float64, ok bool) {
	t := tokens{text: text}
	t.space()
	for t.at < len(t.text) {
		v, good := t.number()
		if !good || limit > 0 && len(list) == limit {
			return list, false
		}
		list = append(list, v)
		t.comma()
	}
	return list, true
}

var argumentCount = map[byte]int{'m': 2, 'l': 2, 'h': 1, 'v': 1, 'c': 6, 's': 4, 'q': 4, 't': 2, 'a': 7, 'z': 0}

// readPath reads path data by SVG 2 (paths, "path data"). At a fault in it, what came before is kept, as the standard
// has it, and ok is false. At most limit commands are read; over is true where there were more.
func readPath(data string, limit int) (subs []subpath, commands int, ok, over bool) {
	var (
		t             = tokens{text: data}
		at, start     Point
		control       Point
		last, command byte
		args          [7]float64
		current       *subpath
	)
	for {
		t.space()
		if t.at >= len(t.text) {
			return subs, commands, true, false
		}
		implicit := true
		if ch := t.text[t.at]; ch|0x20 >= 'a' && ch|0x20 <= 'z' {
			command, implicit = ch, false
			t.at++
		} else if command == 0 || command|0x20 == 'z' {
			return subs, commands, false, false
		} else if ch == ',' && last != 0 {
			t.comma()
		}
		lower, relative := command|0x20, command >= 'a'
		n, known := argumentCount[lower]
		if !known || last == 0 && lower != 'm' {
			return subs, commands, false, false
		}
		for i := range n {
			if i > 0 || !implicit {
				if i > 0 {
					t.comma()
				} else {
					t.space()
				}
			}
			var good bool
			if lower == 'a' && (i == 3 || i == 4) {
				var set bool
				if set, good = t.flag(); set {
					args[i] = 1
				} else {
					args[i] = 0
				}
			} else {
				args[i], good = t.number()
			}
			if !good {
				return subs, commands, false, false
			}
		}
		if commands++; commands > limit {
			return subs, commands, true, true
		}
		base := Point{}
		if relative {
			base = at
		}
		if lower == 'm' {
			at = base.plus(Point{args[0], args[1]})
			start = at
			subs = append(subs, subpath{start: at})
			current = &subs[len(subs)-1]
			if command = 'L'; relative { // further pairs are lines
				command = 'l'
			}
			last, control = 'm', at
			continue
		}
		if lower == 'z' {
			current.closed = true
			at, last, control = start, 'z', start
			continue
		}
		if current.closed { // after a close the next stretch begins a new subpath at the same start
			subs = append(subs, subpath{start: at})
			current = &subs[len(subs)-1]
		}
		p := drawn(lower, last, args, base, at, control)
		switch lower {
		case 'h':
			p.to = Point{base.X + args[0], at.Y}
		case 'v':
			p.to = Point{at.X, base.Y + args[0]}
		case 'c', 's':
			control = p.c2
		case 'q':
			control = base.plus(Point{args[0], args[1]})
		case 't':
			control = reflected(last, "qt", at, control)
		}
		current.pieces = append(current.pieces, p)
		at, last = p.to, lower
	}
}

// reflected is the control point mirrored in the current point where the last command was of the same family.
func reflected(last byte, family string, at, control Point) Point {
	if last == family[0] || last == family[1] {
		return at.times(2).minus(control)
	}
	return at
}

func drawn(lower, last byte, v [7]float64, base, at, control Point) piece {
	pair := func(i int) Point { return base.plus(Point{v[i], v[i+1]}) }
	switch lower {
	case 'l':
		return piece{kind: 'L', to: pair(0)}
	case 'c':
		return piece{kind: 'C', c1: pair(0), c2: pair(2), to: pair(4)}
	case 's':
		return piece{kind: 'C', c1: reflected(last, "cs", at, control), c2: pair(0), to: pair(2)}
	case 'q':
		return raised(at, pair(0), pair(2))
	case 't':
		return raised(at, reflected(last, "qt", at, control), pair(0))
	case 'a':
		to := pair(5)
		if e, ok := arcBetween(at, to, v[0], v[1], v[2], v[3] == 1, v[4] == 1); ok {
			return piece{kind: 'A', to: to, ellipse: e}
		}
		return piece{kind: 'L', to: to}
	}
	return piece{kind: 'L', to: at}
}

// raised is a quadratic as the cubic that equals it.
func raised(from, control, to Point) piece {
	return piece{kind: 'C', c1: lerp(from, control, 2./3), c2: lerp(to, control, 2./3), to: to}
}
