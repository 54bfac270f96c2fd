package cut

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"evenpeel/recipes/fault"
)

func number(v float64) string { return strconv.FormatFloat(rounded(v, 4), 'f', -1, 64) }

// WriteSVG writes the outlines as one SVG drawing in millimetres, fit to be served: nothing of the file that was read
// passes through but its geometry.
func WriteSVG(w io.Writer, f File) error {
	if err := f.check(); err != nil {
		return err
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %[1]s %[2]s">`+"\n", number(f.Width), number(f.Height))
	if f.Title != "" {
		b.WriteString("<title>")
		if err := xml.EscapeText(&b, []byte(f.Title)); err != nil {
			return refuse(fault.Broken, FileNotWritten, "The title could not be written.").Because(err)
		}
		b.WriteString("</title>\n")
	}
	if words := f.settings(); words != "" {
		b.WriteString("<desc>" + words + "</desc>\n")
	}
	b.WriteString(`<path fill="#000000" fill-rule="evenodd" d="`)
	for _, r := range f.Rings {
		for i, p := range r {
			b.WriteByte("ML"[min(i, 1)])
			b.WriteString(number(p.X) + " " + number(p.Y))
		}
		b.WriteByte('Z')
	}
	b.WriteString("\"/>\n</svg>\n")
	return deliver(w, &b)
}

// WriteDXF writes closed polylines in the AC1009 (R12) form: HEADER with its version, POLYLINE, VERTEX, SEQEND. The form
// carries no unit: the reader must be told millimetres, as the file's first comment says. y runs up.
func WriteDXF(w io.Writer, f File) error {
	if err := f.check(); err != nil {
		return err
	}
	var b bytes.Buffer
	b.WriteString("999\nmillimetres\n")
	if words := f.settings(); words != "" {
		b.WriteString("999\n" + words + "\n")
	}
	b.WriteString("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n")
	for _, r := range f.Rings {
		b.WriteString("0\nPOLYLINE\n8\nCUT\n66\n1\n70\n1\n")
		for _, p := range r {
			fmt.Fprintf(&b, "0\nVERTEX\n8\nCUT\n70\n0\n10\n%s\n20\n%s\n", number(p.X), number(f.Height-p.Y))
		}
		b.WriteString("0\nSEQEND\n")
	}
	b.WriteString("0\nENDSEC\n0\nEOF\n")
	return deliver(w, &b)
}

// A PDF page may be 14 400 points long (ISO 32000-1, annex C.2, from memory): 5080 mm.
const (
	maxPage  = 5080.0
	checkBar = 100.0 // mm
	barFoot  = 16.0  // mm below the outlines
)

// WritePDF writes the outlines at full size with a bar of exactly 100 mm below them, so that a person can see by a
// ruler whether a printer or program has scaled the page.
func WritePDF(w io.Writer, f File) error {
	if err := f.check(); err != nil {
		return err
	}
	width, height := max(f.Width, checkBar+10), f.Height+barFoot
	if width > maxPage || height > maxPage {
		return refuse(fault.TooLarge, OutOfRange, "A PDF page can be at most %.0f mm long; this one would be %.0f × %.0f mm. Cut the sheet in shorter parts.", maxPage, width, height)
	}
	orientation, size := "P", fpdf.SizeType{Wd: width, Ht: height}
	if width > height {
		orientation, size = "L", fpdf.SizeType{Wd: height, Ht: width} // the page is turned, its size is given upright
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: orientation, UnitStr: "mm", Size: size})
	pdf.SetCreationDate(time.Unix(0, 0).UTC()) // same input, same bytes
	pdf.SetModificationDate(time.Unix(0, 0).UTC())
	pdf.SetCatalogSort(true)
	pdf.SetTitle(f.Title, true)
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddPage()
	pdf.SetLineWidth(0.1)
	for _, r := range f.Rings {
		pdf.MoveTo(r[0].X, r[0].Y)
		for _, p := range r[1:] {
			pdf.LineTo(p.X, p.Y)
		}
		pdf.ClosePath()
		pdf.DrawPath("D")
	}
	y := f.Height + 6
	pdf.SetLineWidth(0.3)
	pdf.Line(5, y, 5+checkBar, y)
	pdf.Line(5, y-2, 5, y+2)
	pdf.Line(5+checkBar, y-2, 5+checkBar, y+2)
	pdf.SetFont("Helvetica", "", 7)
	if words := f.settings(); words != "" {
		pdf.Text(5, y-2.5, words)
	}
	pdf.Text(5, y+6, "This bar is 100 mm long. If it is not, the page was scaled: print it at full size.")
	var b bytes.Buffer
	if err := pdf.Output(&b); err != nil {
		return refuse(fault.Broken, FileNotWritten, "The PDF could not be written.").Because(err)
	}
	return deliver(w, &b)
}
