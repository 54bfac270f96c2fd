package cut

import (
	"math"
	"testing"
)

// Areas in mm² that follow from the standard by hand, on a page of 100 × 100 mm with one user unit a millimetre.
func TestReadSVG_clipsViewportsAndStyles(t *testing.T) {
	const quarterUse = `<symbol id="s" viewBox="0 0 10 10" preserveAspectRatio="xMinYMin slice"><rect width="10" height="10"/></symbol>`
	for _, row := range []struct {
		name, body string
		area, tol  float64
		shapes     int
		source     string
	}{
		{"clip path", `<clipPath id="c"><rect x="5" y="5" width="10" height="30"/></clipPath><rect width="20" height="20" clip-path="url(#c)"/>`, 150, 1e-6, 1, "CSS Masking 1, 5: clip-path"},
		{"clip by a circle", `<defs><clipPath id="c"><circle cx="20" cy="20" r="10"/></clipPath></defs><rect width="50" height="50" style="clip-path:url(#c)"/>`, 100 * math.Pi, 0.25, 1, "CSS Masking 1, 5; πr²"},
		{"clip of a group", `<clipPath id="c"><rect width="10" height="10"/></clipPath><g clip-path="url('#c')"><rect x="5" width="10" height="10"/><rect y="5" width="4" height="10"/></g>`, 50 + 20, 1e-6, 2, "CSS Masking 1, 5: clips the group as a whole"},
		{"clip within a clip", `<clipPath id="a"><rect width="10" height="10"/></clipPath><clipPath id="b" clip-path="url(#a)"><rect x="5" y="5" width="10" height="10"/></clipPath><rect width="50" height="50" clip-path="url(#b)"/>`, 25, 1e-6, 1, "CSS Masking 1, 6: clip-path on clipPath intersects"},
		{"clip child with its own clip", `<clipPath id="a"><rect width="10" height="10"/></clipPath><clipPath id="b"><rect x="5" y="5" width="10" height="10" clip-path="url(#a)"/><rect x="30" y="30" width="2" height="2"/></clipPath><rect width="50" height="50" clip-path="url(#b)"/>`, 25 + 4, 1e-6, 2, "CSS Masking 1, 6: children are clipped, then united"},
		{"clip-rule evenodd", `<clipPath id="c"><path clip-rule="evenodd" d="M0 0H30V30H0Z M10 10H20V20H10Z"/></clipPath><rect width="50" height="50" clip-path="url(#c)"/>`, 800, 1e-6, 1, "CSS Masking 1, 6.1: clip-rule"},
		{"clip in units of the box", `<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height=".25"/></clipPath><rect x="10" y="10" width="40" height="20" clip-path="url(#c)"/>`, 20 * 5, 1e-3, 1, "CSS Masking 1, 6: clipPathUnits"},
		{"clip moved with its element", `<clipPath id="c"><rect width="10" height="10"/></clipPath><rect width="20" height="20" transform="translate(30 30) scale(2)" clip-path="url(#c)"/>`, 400, 1e-6, 1, "CSS Masking 1, 6: userSpaceOnUse of the referencing element"},
		{"clip of nothing", `<clipPath id="c"/><rect width="20" height="20" clip-path="url(#c)"/><rect x="50" width="2" height="2"/>`, 4, 1e-6, 1, "CSS Masking 1, 6: an empty clipPath hides the element"},
		{"clip that is missing", `<rect width="20" height="20" clip-path="url(#none)"/>`, 400, 1e-6, 1, "CSS Masking 1, 5: a link to nothing clips nothing"},
		{"clip by use", `<defs><rect id="r" width="5" height="5"/><clipPath id="c"><use href="#r" x="5"/></clipPath></defs><rect width="20" height="20" clip-path="url(#c)"/>`, 25, 1e-6, 1, "CSS Masking 1, 6: use of a shape as a child"},
		{"clipped stroke", `<clipPath id="c"><rect width="10" height="100"/></clipPath><path d="M0 50H40" stroke="black" stroke-width="2" clip-path="url(#c)"/>`, 20, 1e-6, 1, "CSS Masking 1, 5: strokes are clipped"},
		{"symbol cut off at its viewport", `<symbol id="s" viewBox="0 0 10 10"><rect width="20" height="20"/></symbol><use href="#s" width="30" height="30"/>`, 900, 1e-6, 1, "SVG 2, struct, symbol; UA style sheet: overflow hidden"},
		{"symbol that overflows", `<symbol id="s" viewBox="0 0 10 10" overflow="visible"><rect width="20" height="20"/></symbol><use href="#s" width="30" height="30"/>`, 3600, 1e-6, 1, "SVG 2, render, overflow"},
		{"slice", quarterUse + `<use href="#s" width="40" height="20"/>`, 800, 1e-6, 1, "SVG 2, coords, preserveAspectRatio slice: scale 4, cut at 40 × 20"},
		{"meet", `<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol><use href="#s" width="40" height="20"/>`, 400, 1e-6, 1, "SVG 2, coords, preserveAspectRatio meet: scale 2"},
		{"none", `<symbol id="s" viewBox="0 0 10 10" preserveAspectRatio="none"><rect width="10" height="10"/></symbol><use href="#s" width="40" height="20"/>`, 800, 1e-6, 1, "SVG 2, coords, preserveAspectRatio none"},
		{"symbol fills the page by default", `<symbol id="s" viewBox="0 0 10 10"><rect width="1" height="1"/></symbol><use href="#s"/>`, 100, 1e-6, 1, "SVG 2, struct, symbol: width and height auto are 100 %"},
		{"nested svg in per cent", `<svg x="10" width="50%" height="20%"><rect width="100%" height="50%"/></svg>`, 50 * 10, 1e-6, 1, "SVG 2, coords, units: percentages of the nearest viewport"},
		{"circle in per cent", `<circle cx="50" cy="50" r="10%"/>`, 100 * math.Pi, 0.25, 1, "SVG 2, coords, units: the diagonal over √2 is 100 here"},
		{"switch", `<switch><g requiredExtensions="x"><rect width="50" height="50"/></g><rect width="3" height="3"/><rect width="9" height="9"/></switch>`, 9, 1e-6, 1, "SVG 2, struct, switch: the first that fits"},
		{"descendant selector", `<style>g .a{fill:none} .b > rect{fill:none}</style><g><rect class="a" width="50" height="50"/></g><g class="b"><g><rect width="3" height="3"/></g><rect width="40" height="40"/></g>`, 9, 1e-6, 1, "Selectors 4, 15.1 and 15.2"},
		{"compound selector", `<style>rect.a.b{fill:none}</style><rect class="a b c" width="50" height="50"/><rect class="a" width="3" height="3"/>`, 9, 1e-6, 1, "Selectors 4, 6.6: class selectors"},
		{"specificity", `<style>#x{fill:red} .a{fill:none} rect{fill:none}</style><rect id="x" class="a" width="3" height="3"/>`, 9, 1e-6, 1, "Selectors 4, 17: an id outweighs a class"},
		{"important", `<style>.a{fill:none !important} #x{fill:red}</style><rect id="x" class="a" style="fill:blue" width="50" height="50"/><rect width="3" height="3"/>`, 9, 1e-6, 1, "CSS Cascade 4, 6.1: importance"},
		{"inherit", `<g fill="none"><rect style="fill:initial" width="3" height="3"/><rect fill="inherit" width="50" height="50"/></g>`, 9, 1e-6, 1, "CSS Cascade 4, 7.3"},
		{"rules that do not paint are passed over", `<style>@font-face{font-family:x} text[x]{font-size:3px} a:hover{fill:none}</style><rect width="3" height="3"/>`, 9, 1e-6, 1, "ours: what is not painted is not cut"},
		{"stroke that does not scale", `<line x1="0" y1="5" x2="1" y2="5" transform="scale(40)" stroke="black" stroke-width="96" vector-effect="non-scaling-stroke"/>`, 40 * 25.4, 1e-3, 1, "SVG 2, coords, vector-effect: 96 px of the page are 25.4 mm"},
	} {
		sourced(t, row.source)
		d := read(t, row.body)
		if !near(d.Area(), row.area, row.tol) || len(d.Shapes) != row.shapes {
			t.Errorf("%s: %g mm² in %d shapes, want %g in %d (%s)", row.name, d.Area(), len(d.Shapes), row.area, row.shapes, row.source)
		}
	}
}

func TestReadSVG_dashes(t *testing.T) {
	for _, row := range []struct {
		name, body string
		area, tol  float64
		shapes     int
		source     string
	}{
		{"even", `<path d="M0 5H40" stroke="black" stroke-width="2" stroke-dasharray="5 3"/>`, 2 * 25, 1e-6, 5, "SVG 2, painting, stroke-dasharray: five dashes of 5"},
		{"odd list", `<path d="M0 5H30" stroke="black" stroke-width="2" stroke-dasharray="5"/>`, 2 * 15, 1e-6, 3, "SVG 2, painting: an odd list is repeated"},
		{"offset", `<path d="M0 5H40" stroke="black" stroke-width="2" stroke-dasharray="5 3" stroke-dashoffset="2"/>`, 2 * (3 + 4*5 + 2), 1e-6, 6, "SVG 2, painting, stroke-dashoffset: 0–3, 6–11, 14–19, 22–27, 30–35, 38–40"},
		{"negative offset", `<path d="M0 5H16" stroke="black" stroke-width="2" stroke-dasharray="5 3" stroke-dashoffset="-3"/>`, 2 * 10, 1e-6, 2, "SVG 2, painting, stroke-dashoffset: 3–8, 11–16"},
		{"round caps", `<path d="M5 5H21" stroke="black" stroke-width="2" stroke-linecap="round" stroke-dasharray="0 4"/>`, 5 * math.Pi, 0.12, 5, "SVG 2, painting: dashes of no length are dots, at 0, 4, 8, 12 and 16"},
		{"zeros are a whole line", `<path d="M0 5H40" stroke="black" stroke-width="2" stroke-dasharray="0 0"/>`, 80, 1e-6, 1, "SVG 2, painting: a sum of 0 is solid"},
		{"closed", `<rect x="10" y="10" width="20" height="20" fill="none" stroke="black" stroke-width="2" stroke-dasharray="10 10" stroke-dashoffset="5"/>`, 4*(2*10) + 4*0, 1e-6, 4, "SVG 2, painting: a dash over each corner, joined with a mitre: 10 × 2"},
		{"path length", `<path d="M0 5H40" pathLength="4" stroke="black" stroke-width="2" stroke-dasharray="1"/>`, 2 * 20, 1e-3, 2, "SVG 2, paths, pathLength: 40 mm count as 4"},
		{"off", `<g stroke-dasharray="1 1"><path d="M0 5H40" stroke="black" stroke-width="2" stroke-dasharray="none"/></g>`, 80, 1e-6, 1, "SVG 2, painting, stroke-dasharray none"},
	} {
		sourced(t, row.source)
		d := read(t, row.body)
		if !near(d.Area(), row.area, row.tol) || len(d.Shapes) != row.shapes {
			t.Errorf("%s: %g mm² in %d shapes, want %g in %d (%s)", row.name, d.Area(), len(d.Shapes), row.area, row.shapes, row.source)
		}
	}
}

func TestReadSVG_rootIsInherited(t *testing.T) {
	// source: SVG 2, styling: the outermost svg is an element like others; its fill is inherited.
	d, err := ReadSVG([]byte(`<svg xmlns="http://www.w3.org/2000/svg" width="50mm" viewBox="0 0 50 50" fill="none" stroke="tomato"><path d="M0 0H10" stroke-width="2"/><rect y="5" width="3" height="3" fill="#0f0" stroke="none"/></svg>`), ReadOptions{})
	if err != nil || !near(d.Area(), 29, 1e-3) || d.Colours()[0] != "#ff6347" || d.Colours()[1] != "#00ff00" {
		t.Errorf("%g mm² in %v, %v", d.Area(), d.Colours(), err)
	}
}

func TestReadColour_published(t *testing.T) {
	for _, row := range []struct{ text, want, source string }{
		{"rebeccapurple", "#663399", "CSS Color 4, 6.1"},
		{"lightGoldenrodYellow", "#fafad2", "CSS Color 4, 6.1"},
		{"#f0F", "#ff00ff", "CSS Color 4, 5.2"},
		{"#12345600", "", "CSS Color 4, 5.2: alpha 0"},
		{"#1234", "#112233", "CSS Color 4, 5.2"},
		{"rgb(0, 127.5, 300)", "#0080ff", "CSS Color 4, 5.1: clamped"},
		{"rgb(0 50% 100% / 0.5)", "#0080ff", "CSS Color 4, 5.1"},
		{"rgba(1,2,3,0)", "", "CSS Color 4, 5.1: alpha 0"},
		{"hsl(120, 100%, 25%)", "#008000", "CSS Color 4, 7: green"},
		{"hsl(30deg 100% 50%)", "#ff8000", "CSS Color 4, 7, table of hues"},
		{"hsl(-120,100%,50%)", "#0000ff", "CSS Color 4, 7: hues wrap"},
		{"#CD853F icc-color(acmecmyk, 0.11, 0.48, 0.83, 0.00)", "#cd853f", "SVG 1.1, painting, 11.2"},
	} {
		sourced(t, row.source)
		if got, err := readColour(row.text, ""); err != nil || got != row.want {
			t.Errorf("%s: got %q %v, want %q (%s)", row.text, got, err, row.want, row.source)
		}
	}
	for _, bad := range []string{"#12345", "rgb(1,2)", "rgb(a,b,c)", "hsl(1,2,3)", "lab(1 2 3)", "nocolour", "rgb(1,2,3", ""} {
		if got, err := readColour(bad, ""); !hasReason(err, Unsupported) {
			t.Errorf("%q was read as %q", bad, got)
		}
	}
	if len(colourNames) != 148 {
		t.Errorf("%d names, want 148 (CSS Color 4, 6.1)", len(colourNames))
	}
}

func TestReadSVG_sizeByHeightAndAfterClipping(t *testing.T) {
	body := page(`<clipPath id="c"><rect x="20" y="10" width="10" height="40"/></clipPath><rect width="90" height="90" clip-path="url(#c)"/>`)
	for _, o := range []ReadOptions{{Width: 100_000}, {Height: 400_000}} {
		d, err := ReadSVG([]byte(body), o)
		if err != nil || !near(d.Width, 100, 1e-3) || !near(d.Height, 400, 1e-3) || !near(d.Area(), 40_000, 0.1) {
			t.Errorf("%+v: %g × %g mm, %v", o, d.Width, d.Height, err)
		}
	}
	if _, err := ReadSVG([]byte(body), ReadOptions{Width: 1000, Height: 1000}); !hasReason(err, OptionsInvalid) {
		t.Errorf("both sizes: %v", err)
	}
}

func TestReadSVG_tellsWhatLiesOffThePage(t *testing.T) {
	off := func(d Drawing) (list []Finding) {
		for _, n := range d.Notes {
			if n.Kind == OffPage {
				list = append(list, n)
			}
		}
		return list
	}
	d := read(t, `<rect width="10" height="10"/><rect x="95" y="40" width="10" height="10"/><rect x="-30" y="80" width="8" height="9"/>`)
	found := off(d)
	if len(found) != 2 || !near(found[0].Size, 5, 1e-6) || !near(found[1].Size, 30, 1e-6) || found[1].At.X != 0 || len(d.Shapes) != 3 {
		t.Errorf("%+v in %d shapes", found, len(d.Shapes))
	}
	if found := off(read(t, `<rect width="100.3" height="100"/>`)); len(found) != 0 {
		t.Errorf("a hair's breadth is told: %+v", found)
	}
	plain, err := ReadSVG([]byte(`<svg xmlns="http://www.w3.org/2000/svg"><rect x="-5" width="9" height="9"/></svg>`), ReadOptions{Width: 9000})
	if err != nil || len(off(plain)) != 0 {
		t.Errorf("no page is known, yet: %+v %v", plain.Notes, err)
	}
}
