package cut

import "testing"

// The witness is a browser: each drawing was rendered by Chromium 156.0.8078.108 built on Debian GNU/Linux 12 (bookworm) on a page of 400 × 400 pixels
// with one user unit to four pixels, smoothed, and its ink summed: what the page is covered by, in square units. Our
// areas must agree, cut off at the page as a browser does.
func TestReadSVG_agreesWithABrowser(t *testing.T) {
	for i, row := range []struct {
		body string
		ink  float64
	}{
		{`<path d="M10 80 C 40 10, 65 10, 95 80 S 150 150, 180 80" fill="none" stroke="#000" stroke-width="6"/>`, 918.99},
		{`<path d="M20 20 q 30 60 60 0 t 10 40" fill="none" stroke="#000" stroke-width="5" stroke-linejoin="round" stroke-dasharray="9 4 2" stroke-dashoffset="5" stroke-linecap="round"/>`, 708.15},
		{`<path d="M30 50 a20 10 -30 1 1 30 10 a 5 5 0 0 0 5 -20 z"/>`, 227.25},
		{`<path d="M10 10 L90 15 L20 40 L80 80 L30 90" fill="none" stroke="#000" stroke-width="7" stroke-miterlimit="3"/>`, 1889.66},
		{`<path d="M10 10 L90 15 L20 40 L80 80 L30 90Z" fill-rule="evenodd" stroke="#000" stroke-width="2" stroke-linejoin="bevel"/>`, 2935.64},
		{`<g transform="translate(50 50) rotate(25) skewX(15) scale(1.2 .7)"><rect x="-30" y="-30" width="60" height="60" rx="12" fill="none" stroke="#000" stroke-width="8"/></g>`, 1472.22},
		{`<clipPath id="c"><circle cx="50" cy="50" r="30"/><rect width="40" height="30"/></clipPath><g clip-path="url(#c)"><path d="M0 0L100 30L20 100Z"/><rect x="60" y="40" width="30" height="50"/></g>`, 3512.95},
		{`<clipPath id="d" clipPathUnits="objectBoundingBox"><path clip-rule="evenodd" d="M0 0H1V1H0Z M.2 .2H.8V.8H.2Z"/></clipPath><g clip-path="url(#d)"><ellipse cx="60" cy="40" rx="30" ry="20"/><path d="M10 50L30 90L50 60Z"/></g>`, 1210.27},
		{`<symbol id="s" viewBox="0 0 20 10" preserveAspectRatio="xMaxYMid slice"><circle cx="10" cy="5" r="8"/></symbol><use href="#s" x="10" y="10" width="40" height="60"/><use href="#s" x="60" y="60" width="35" height="10" transform="rotate(5)"/>`, 1752.47},
		{`<svg x="10%" y="20%" width="50%" height="40%" viewBox="0 0 10 10" preserveAspectRatio="xMinYMax meet"><circle cx="5" cy="5" r="60%"/></svg>`, 1592.29},
		{`<circle cx="50" cy="50" r="35" fill="none" stroke="#000" stroke-width="10" stroke-dasharray="20 10" stroke-dashoffset="-7" stroke-linecap="square"/>`, 2176.74},
		{`<rect x="20" y="20" width="60" height="50" rx="5" ry="20" fill="none" stroke="#000" stroke-width="5" stroke-dasharray="25 12" stroke-linejoin="round"/>`, 729.34},
		{`<path d="M50 10 L20 90 L90 40 L10 40 L80 90Z"/>`, 2222.82},
		{`<polyline points="10,10 50,50 10,90 90,90" fill="none" stroke="#000" stroke-width="9" stroke-linecap="square"/>`, 1819.62},
		{`<path d="M10 50 L50 50 L10 52" fill="none" stroke="#000" stroke-width="6" stroke-miterlimit="40"/>`, 280.56},
		{`<path pathLength="10" d="M10 20 C 90 20 10 80 90 80" fill="none" stroke="#000" stroke-width="6" stroke-dasharray="1 .5"/>`, 494.3},
		{`<defs><g id="g"><rect width="20" height="20"/><circle cx="30" cy="10" r="8"/></g></defs><use href="#g" x="10" y="10"/><use href="#g" transform="translate(30 50) scale(-1 1) rotate(20)" x="5"/>`, 1108.96},
		{`<g fill="none" stroke="#000" stroke-width="10%"><path d="M20 20H80V80" stroke-linecap="round"/></g>`, 1278.48},
		{`<switch><g systemLanguage="xx"><rect width="90" height="90"/></g><path d="M10 10h30v40z"/></switch>`, 600.01},
		{`<path d="M20,20 h0" stroke="#000" stroke-width="20" stroke-linecap="round"/><path d="M60,60 z" stroke="#000" stroke-width="20" stroke-linecap="square"/><rect width="2" height="2"/>`, 716.59},
		{`<path d="M30 30 A 20 20 0 0 1 70 30 A 20 20 0 0 1 70 31 L 40 90" fill="none" stroke="#000" stroke-width="12" stroke-linejoin="round"/>`, 1559.1},
		{`<svg viewBox="0 0 50 50" overflow="visible" width="40" height="40"><rect x="30" y="30" width="40" height="40"/></svg>`, 1024.0},
	} {
		svg := page(`<clipPath id="page"><rect width="100" height="100"/></clipPath><g clip-path="url(#page)">` + row.body + `</g>`)
		d, err := ReadSVG([]byte(svg), ReadOptions{Tolerance: 5})
		if err != nil || !near(d.Area(), row.ink, 0.004*row.ink+0.5) {
			t.Errorf("drawing %d: %g square units, rendered %g, %v", i, d.Area(), row.ink, err)
		}
	}
}
