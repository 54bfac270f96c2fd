package cut

import (
	"bytes"
	"strconv"
	"strings"

	"evenpeel/recipes/fault"
)

// Read reads a drawing in any of the open formats that this room knows: SVG, DXF R12 and HP-GL, told apart by their
// bytes and never by a file's name. DXF and HP-GL carry no length of their unit: without UnitsPerMM, Width or Height in
// o they are refused with NO_SIZE, since a guessed size is cut at that size.
//
// Faults: those of ReadSVG; UNKNOWN_FORMAT for anything else, with what to save instead; NOT_A_CUT_FILE.
func Read(content []byte, o ReadOptions) (Drawing, error) {
	if err := o.check(); err != nil {
		return Drawing{}, err
	}
	text := bytes.TrimLeft(bytes.TrimPrefix(content, []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case len(text) == 0:
		return Drawing{}, refuse(fault.Invalid, UnknownFormat, "The file is empty. Choose the drawing again.")
	case text[0] == '<':
		return ReadSVG(content, o)
	case text[0] == 0x1b || plots(text):
		return drawnHPGL(text, o)
	case looksDXF(text):
		return drawnDXF(text, o)
	}
	for _, known := range []struct{ start, words string }{
		{"\x1f\x8b", "The drawing is compressed. Save it as plain SVG, not as compressed SVG."},
		{"%PDF", "This is a PDF. Open it in a drawing program and save it as SVG."},
		{"%!PS", "This is PostScript. Open it in a drawing program and save it as SVG."},
		{"\x89PNG", "This is a picture of dots, which has no outlines to cut. Draw or trace it, and save it as SVG."},
		{"\xff\xd8", "This is a photograph, which has no outlines to cut. Draw or trace it, and save it as SVG."},
		{"GIF8", "This is a picture of dots, which has no outlines to cut. Draw or trace it, and save it as SVG."},
		{"RIFF", "This is a picture or a closed format, which is not read. Save the drawing as SVG."},
		{"PK\x03\x04", "This is an archive. Take the drawing out of it, and choose that."},
		{"\xff\xfe", "The file is written in UTF-16. Save it as SVG in UTF-8."},
		{"\xfe\xff", "The file is written in UTF-16. Save it as SVG in UTF-8."},
	} {
		if bytes.HasPrefix(text, []byte(known.start)) {
			return Drawing{}, refuse(fault.Invalid, UnknownFormat, "%s", known.words)
		}
	}
	if bytes.Contains(text[:min(len(text), 32)], []byte("Binary DXF")) {
		return Drawing{}, refuse(fault.Invalid, UnknownFormat, "This is a binary DXF. Save it as a text DXF, R12.")
	}
	return Drawing{}, refuse(fault.Invalid, UnknownFormat, "The file is none of the formats that are read: SVG, DXF R12 and HP-GL. Save the drawing as SVG.")
}

// looksDXF: a group code on the first line, and a section after it.
func looksDXF(text []byte) bool {
	line, rest, _ := bytes.Cut(text, []byte("\n"))
	_, err := strconv.Atoi(strings.TrimSpace(string(line)))
	return err == nil && bytes.Contains(rest, []byte("SECTION"))
}

// plots: an instruction of two letters that plotters know, with a number, a letter or a semicolon after it.
func plots(text []byte) bool {
	if len(text) < 3 {
		return false
	}
	switch strings.ToUpper(string(text[:2])) {
	case "IN", "DF", "SP", "PU", "PD", "PA", "PR", "VS", "FS", "IP", "SC", "RO", "LT", "PS", "BP", "CT":
		return !letter(text[2]) || len(text) > 4 && letter(text[3])
	}
	return false
}

// lined makes a drawing of lines without a fill: what they enclose an odd number of times is film. Lines of one colour
// whose ends meet are joined into outlines first; those that stay open are reported. up tells that y runs up.
func lined(strands []strand, o ReadOptions, unsized string) (Drawing, error) {
	perMM := o.UnitsPerMM
	if perMM == 0 {
		if !o.sized() {
			return Drawing{}, refuse(fault.Invalid, NoSize, "%s", unsized)
		}
		perMM = 1
	}
	pixels := 1 / perMM / mmPerPixel
	r := reader{}
	var colours []string
	by := map[string][]subpath{}
	b := emptyBox()
	for _, s := range strands {
		if by[s.colour] == nil {
			colours = append(colours, s.colour)
		}
		by[s.colour] = append(by[s.colour], s.subpath)
		if !s.within(maxNumber) {
			return Drawing{}, notFinite()
		}
		for _, p := range s.flattened(identity, maxNumber) {
			b.take(p)
		}
	}
	reach := max(b.maxX-b.minX, b.maxY-b.minY) / endsMeet
	for _, colour := range colours {
		subs, err := chainedStrands(by[colour], reach)
		if err != nil {
			return Drawing{}, err
		}
		r.drawn = append(r.drawn, drawnPath{subs: subs, m: scaling(pixels, -pixels), look: look{fill: colour, rule: evenOdd}})
	}
	return r.drawing(o)
}
