package cut

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"testing"
)

func preview(t *testing.T, figures []Figure, pixels int) image.Image {
	t.Helper()
	var b bytes.Buffer
	if err := WritePNG(&b, figures, pixels); err != nil {
		t.Fatal(err)
	}
	picture, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	return picture
}

// inked is the sum of what each pixel is covered by.
func inked(picture image.Image, of func(color.NRGBA) bool) float64 {
	sum := 0.0
	for y := range picture.Bounds().Dy() {
		for x := range picture.Bounds().Dx() {
			if c := picture.At(x, y).(color.NRGBA); of(c) {
				sum += float64(c.A) / 255
			}
		}
	}
	return sum
}

// Coverage is exact, so that the picture's ink is the drawing's area: of known figures, and of every demo drawing.
func TestWritePNG_inkIsArea(t *testing.T) {
	any := func(color.NRGBA) bool { return true }
	for _, row := range []struct {
		name, body string
		area       float64 // mm², of the drawing's box of 100 mm in 400 pixels
		source     string
	}{
		{"circle", `<circle cx="50" cy="50" r="50"/>`, 2500 * math.Pi, "πr²"},
		{"ring", `<path fill-rule="evenodd" d="M0 0H100V100H0Z M20 20H80V80H20Z"/>`, 6400, "by hand"},
		{"triangle", `<path d="M0 0 L100 30 L0 100Z"/>`, 5000, "Euclid I.41"},
		{"thin wedge", `<path d="M0 0 L100 1 L0 2Z"/>`, 100, "Euclid I.41"},
	} {
		sourced(t, row.source)
		d := read(t, row.body)
		scale := 400 / max(d.Width, d.Height)
		if got := inked(preview(t, d.Figures(), 400), any) / scale / scale; !near(got, row.area, 0.002*row.area+0.05) {
			t.Errorf("%s: %g mm² of ink, want %g (%s)", row.name, got, row.area, row.source)
		}
	}
	for _, path := range []string{"badge", "lettering", "numbers", "scatter", "layered"} {
		d := demo(t, "testdata/"+path+".svg")
		scale := 700 / max(d.Width, d.Height)
		for _, f := range d.Figures() {
			got := inked(preview(t, []Figure{f, {At: Point{d.Width, d.Height}}, {}}, 700), any) / scale / scale
			if !near(got, f.Area(), 0.004*f.Area()) {
				t.Errorf("%s %s: %g mm² of ink, %g of film", path, f.Colour, got, f.Area())
			}
		}
	}
}

func TestWritePNG_placesColoursAndMirror(t *testing.T) {
	d := read(t, `<rect width="30" height="10" fill="red"/><rect x="40" width="10" height="40" fill="#00f"/>`)
	figures := d.Figures()
	if len(figures) != 2 || figures[1].At != (Point{40, 0}) || figures[1].Width != 10 || figures[1].Height != 40 || figures[1].Rings()[0].box().minX != 0 {
		t.Fatalf("figures %+v", figures)
	}
	straight, mirrored := preview(t, figures, 50), preview(t, d.Mirrored().Figures(), 50)
	for _, row := range []struct {
		picture image.Image
		x, y    int
		want    color.NRGBA
	}{
		{straight, 5, 5, color.NRGBA{255, 0, 0, 255}}, {straight, 45, 35, color.NRGBA{0, 0, 255, 255}}, {straight, 35, 5, color.NRGBA{}}, {straight, 5, 35, color.NRGBA{}},
		{mirrored, 44, 5, color.NRGBA{255, 0, 0, 255}}, {mirrored, 4, 35, color.NRGBA{0, 0, 255, 255}}, {mirrored, 14, 5, color.NRGBA{}},
	} {
		if got := row.picture.At(row.x, row.y); got != row.want {
			t.Errorf("at %d, %d: %v, want %v", row.x, row.y, got, row.want)
		}
	}
	// half covered pixels are half clear
	if got := preview(t, read(t, `<path d="M0 0H20V20H10.5V10H0Z"/>`).Figures(), 20).At(10, 15).(color.NRGBA); got.A < 126 || got.A > 129 {
		t.Errorf("a pixel half covered has alpha %d", got.A)
	}
	for _, bad := range []func() error{
		func() error { return WritePNG(io.Discard, nil, 100) },
		func() error { return WritePNG(io.Discard, figures, 5) },
		func() error { return WritePNG(io.Discard, figures, 1<<20) },
		func() error { return WritePNG(io.Discard, []Figure{{At: Point{math.NaN(), 0}}}, 100) },
	} {
		if err := bad(); !hasReason(err, OptionsInvalid) {
			t.Errorf("got %v", err)
		}
	}
	if err := WritePNG(broken{}, figures, 50); !hasReason(err, FileNotWritten) {
		t.Errorf("a full disk: %v", err)
	}
}
