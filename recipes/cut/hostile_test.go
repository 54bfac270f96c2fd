package cut

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

// memoryLimit bounds what reading any file may allocate in all, in bytes: the limits of markup.go and lattice.go hold it.
const memoryLimit = 1 << 30

// accepted marks files that are odd but harmless: what they draw is read.
const accepted fault.Reason = ""

type hostileFile struct {
	name, svg string
	want      fault.Reason
}

func nestedIn(open, shut string, n int, middle string) string {
	return strings.Repeat(open, n) + middle + strings.Repeat(shut, n)
}

func hostileFiles() []hostileFile {
	const box = `<rect width="4" height="4"/>`
	root := func(attributes, body string) string {
		return `<svg xmlns="http://www.w3.org/2000/svg" ` + attributes + `>` + body + `</svg>`
	}
	sized := `width="10mm" height="10mm" `
	entities := `<!DOCTYPE s [<!ENTITY a "x"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>`
	long := strings.Repeat("M0 0L5 5L9 1", 20_000)
	var clips, rules, uses, chain strings.Builder
	for i := range 40 {
		fmt.Fprintf(&clips, `<clipPath id="c%d" clip-path="url(#c%d)"><rect width="9" height="9"/></clipPath>`, i, i+1)
	}
	for i := range 3000 {
		fmt.Fprintf(&rules, ".a%d g > .b rect{fill:red}", i)
	}
	for i := range 18 {
		fmt.Fprintf(&uses, `<g id="u%d"><use href="#u%d"/><use href="#u%d"/></g>`, i, i+1, i+1)
	}
	for i := range 200 {
		fmt.Fprintf(&chain, `<use id="k%d" href="#k%d"/>`, i, i+1)
	}
	return []hostileFile{
		// entities and document types
		{"entities that grow", entities + root(sized, "<title>&c;</title>"+box), Hostile},
		{"outside entity", `<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]>` + root(sized, "&x;"), Hostile},
		{"parameter entity", `<!DOCTYPE s [<!ENTITY % p SYSTEM "http://example.com/x.dtd">%p;]>` + root(sized, box), Hostile},
		{"bare document type", `<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">` + root(sized, box), Hostile},
		{"document type in small letters", `<!doctype svg>` + root(sized, box), Hostile},
		{"entity in an attribute", root(sized, `<path d="&x;"/>`), Hostile},
		{"notation", `<!DOCTYPE s [<!NOTATION n SYSTEM "x">]>` + root(sized, box), Hostile},
		// things that act or reach out
		{"script", root(sized, `<script>fetch("//x")</script>`+box), Hostile},
		{"script in defs", root(sized, `<defs><script href="x.js"/></defs>`+box), Hostile},
		{"script in a gradient", root(sized, `<linearGradient><script/></linearGradient>`+box), Hostile},
		{"handler on the root", root(sized+`onload="x()"`, box), Hostile},
		{"handler in capitals", root(sized, `<g ONCLICK="x()">`+box+`</g>`), Hostile},
		{"handler in what is skipped", root(sized, `<metadata onfocus="x()"/>`+box), Hostile},
		{"link by javascript", root(sized, `<a href="javascript:x()">`+box+`</a>`), Hostile},
		{"use by data", root(sized, `<use href="data:image/svg+xml;base64,AAAA#a"/>`), Hostile},
		{"use of a file", root(sized, `<use href="file:///etc/passwd#a"/>`), Hostile},
		{"use with space before", root(sized, `<use href="  https://example.com/#a"/>`), Hostile},
		{"picture by data", root(sized, `<image href="data:image/png;base64,AAAA"/>`), Hostile},
		{"foreign object", root(sized, `<foreignObject><body/></foreignObject>`), Hostile},
		{"frame", root(sized, `<iframe/>`), Hostile},
		{"animation", root(sized, `<rect width="4" height="4"><animate attributeName="x" to="9"/></rect>`), Hostile},
		{"set", root(sized, `<rect width="4" height="4"><set attributeName="href" to="x"/></rect>`), Hostile},
		{"import", root(sized, `<style>@import url(http://example.com/a.css);</style>`+box), Hostile},
		{"import in capitals", root(sized, `<style>@IMPORT "a.css";</style>`+box), Hostile},
		{"import behind a comment", root(sized, `<style>/* */@import "a";</style>`+box), Hostile},
		{"import by escapes", root(sized, `<style>@\69mport "a";</style>`+box), Hostile},
		{"font by url", root(sized, `<style>@font-face{src:url(http://example.com/f)}</style>`+box), Hostile},
		{"style sheet in a CDATA part", root(sized, `<style><![CDATA[@import "a";]]></style>`+box), Hostile},
		{"instruction", `<?xml-stylesheet type="text/css" href="http://example.com/x.css"?>` + root(sized, box), Hostile},
		{"program instruction", `<?php echo 1?>` + root(sized, box), Hostile},
		{"fill by an outside url", root(sized, `<rect width="4" height="4" fill="url(http://example.com/#a)"/>`), Unsupported},
		{"clip by an outside url", root(sized, `<rect width="4" height="4" clip-path="url(http://example.com/#a)"/>`), Unsupported},
		{"mask by an outside url", root(sized, `<rect width="4" height="4" style="mask:url(//x)"/>`), Unsupported},
		// depth and copies
		{"groups 40 deep", root(sized, nestedIn("<g>", "</g>", 40, box)), TooLarge},
		{"groups 100000 deep", root(sized, nestedIn("<g>", "</g>", 100_000, box)), TooLarge},
		{"nested svg 40 deep", root(sized, nestedIn("<svg>", "</svg>", 40, box)), TooLarge},
		{"metadata 100000 deep", root(sized, nestedIn("<metadata>", "</metadata>", 40_000, "")+box), TooLarge},
		{"copies doubled 18 times", root(sized, `<g id="u18">`+box+`</g>`+uses.String()), TooLarge},
		{"copies in tens", root(sized, bomb()), TooLarge},
		{"chain of copies", root(sized, chain.String()), TooLarge},
		{"use of itself", root(sized, `<use id="a" href="#a"/>`), TooLarge},
		{"use of what holds it", root(sized, `<symbol id="a"><use href="#a"/></symbol><use href="#a"/>`), TooLarge},
		{"use of the root", root(sized+`id="r"`, `<use href="#r"/>`), TooLarge},
		{"clip by itself", root(sized, `<clipPath id="c"><rect width="4" height="4" clip-path="url(#c)"/></clipPath><g clip-path="url(#c)">`+box+`</g>`), TooLarge},
		{"clips in a ring", root(sized, `<clipPath id="c" clip-path="url(#d)">`+box+`</clipPath><clipPath id="d" clip-path="url(#c)">`+box+`</clipPath><g clip-path="url(#c)">`+box+`</g>`), TooLarge},
		{"clips 40 deep", root(sized, clips.String()+`<g clip-path="url(#c0)">`+box+`</g>`), TooLarge},
		{"10000 clips", root(sized, `<clipPath id="c">`+box+`</clipPath>`+strings.Repeat(`<g clip-path="url(#c)"/>`, 9000)), TooLarge},
		{"box of what is clipped by it", root(sized, `<clipPath id="c" clipPathUnits="objectBoundingBox"><use href="#g"/></clipPath><g id="g" clip-path="url(#c)">`+box+`</g>`), TooLarge},
		// sizes
		{"1 MiB of space", root(sized, strings.Repeat(" ", 1<<20)), TooLarge},
		{"30000 elements", root(sized, strings.Repeat("<g/>", 30_000)), TooLarge},
		{"200 attributes", root(sized, `<g `+strings.Repeat(`a="" `, 200)+`/>`), TooLarge},
		{"path of 500 kB", root(sized, `<path d="`+strings.Repeat(long, 2)+`"/>`), TooLarge},
		{"900000 points", root(sized, strings.Repeat(`<path d="`+strings.Repeat("M0 0", 60_000)+`"/>`, 4)), TooManyPoints},
		{"tangle", root(sized, `<path d="M0 0`+tangled1k(9000)+`"/>`), TooManyPoints},
		{"many tangles, each within bounds", root(sized, strings.Repeat(`<path d="M0 0`+tangled1k(700)+`"/>`, 80)), TooManyPoints},
		{"many tangles, all clipped", root(sized, `<clipPath id="c"><path d="M0 0`+tangled1k(600)+`"/></clipPath>`+strings.Repeat(`<path clip-path="url(#c)" d="M0 0`+tangled1k(100)+`"/>`, 300)), TooManyPoints},
		{"3000 rules with descent", root(sized, `<style>`+rules.String()+`</style>`+box), TooLarge},
		{"rules on many elements", root(sized, `<style>`+strings.Repeat("g g g g rect{fill:red}", 900)+`</style>`+nestedIn("<g>", "</g>", 25, strings.Repeat(box, 4000))), TooLarge},
		{"selector of 1000 parts", root(sized, `<style>`+strings.Repeat("g ", 1000)+`{fill:red}</style>`+box), Unsupported},
		{"style sheet never closed", root(sized, `<style>`+strings.Repeat("g{fill:red;", 3000)+`</style>`+box), accepted},
		{"hundred thousand dashes", root(sized, `<path d="M0 0H900" stroke="red" stroke-dasharray=".001"/>`), TooManyPoints},
		{"copies of a dashed line", root(sized, `<path id="p" d="M0 0H900" stroke="red" stroke-dasharray=".1"/>`+strings.Repeat(`<use href="#p"/>`, 500)), TooManyPoints},
		{"thousand round dashes on a curve", root(sized, strings.Repeat(`<circle r="400" stroke="red" stroke-width="9" stroke-linecap="round" stroke-dasharray="0 2"/>`, 60)), TooManyPoints},
		// numbers
		{"infinite", root(sized, `<path d="M0 0H1e999V4Z"/>`), NotFinite},
		{"NaN in a path", root(sized, `<path d="M0 0HNaNV4Z"/>`+box), accepted},
		{"NaN as width", root(sized, `<rect width="NaN" height="4"/>`), Unsupported},
		{"NaN in a transform", root(sized, `<g transform="scale(NaN)">`+box+`</g>`), NotSVG},
		{"infinite transform", root(sized, `<g transform="scale(1e308) scale(1e308)">`+box+`</g>`), NotFinite},
		{"transform to nothing", root(sized, `<g transform="scale(0)">`+box+`</g>`), NothingToCut},
		{"huge there and back", root(sized, `<g transform="scale(1e200)"><g transform="scale(1e-200)">`+box+`</g></g>`), accepted},
		{"skew of a right angle", root(sized, `<g transform="skewX(90)">`+box+`</g>`), TooLarge},
		{"million transforms", root(sized, `<g transform="`+strings.Repeat("rotate(1) ", 20_000)+`">`+box+`</g>`), accepted},
		{"arc of 1e300", root(sized, `<path d="M0 0A1e300 1 0 0 0 9 9Z"/>`), NotFinite},
		{"circle beyond a million", root(sized, `<circle r="9e9"/>`), NotFinite},
		{"width of 30 m", root(sized, `<rect width="120000" height="4"/>`), TooLarge},
		{"stroke of a kilometre", root(sized, `<path d="M0 0H9" stroke="red" stroke-width="999999"/>`), TooLarge},
		{"mitre of a million", root(sized, `<path d="M0 0L900 0L0 .001" fill="none" stroke="red" stroke-width="9" stroke-miterlimit="999999"/>`), accepted},
		{"viewBox of nothing", root(sized+`viewBox="0 0 0 0"`, box), NotSVG},
		{"viewBox below nothing", root(sized+`viewBox="0 0 -9 9"`, box), NotSVG},
		{"viewBox of NaN", root(sized+`viewBox="0 0 NaN 9"`, box), NotSVG},
		{"viewBox of five", root(sized+`viewBox="0 0 9 9 9"`, box), NotSVG},
		{"viewBox of 1e-300", root(sized+`viewBox="0 0 1e-300 1e-300"`, box), TooLarge},
		{"width of nothing", root(`width="0" height="0"`, box), NoSize},
		{"width below nothing", root(`width="-5mm" height="5mm"`, box), NoSize},
		{"no size", root(`viewBox="0 0 9 9"`, box), NoSize},
		{"size in per cent", root(`width="100%" height="100%" viewBox="0 0 9 9"`, box), NoSize},
		// form
		{"UTF-16 said", `<?xml version="1.0" encoding="UTF-16"?>` + root(sized, box), NotSVG},
		{"bytes that are no UTF-8", root(sized, "<title>\xff\xfe</title>"+box), NotSVG},
		{"zero bytes", root(sized, "<title>\x00</title>"+box), NotSVG},
		{"cut off in a tag", `<svg xmlns="http://www.w3.org/2000/svg" width="10mm"`, NotSVG},
		{"cut off in a path", root(sized, `<path d="M0 0`), NotSVG},
		{"tags crossed", root(sized, `<g><defs></g></defs>`), NotSVG},
		{"two roots", root(sized, box) + root(sized, box), accepted},
		{"attribute twice", root(sized, `<rect width="4" width="5" height="4"/>`), accepted},
		{"other language", `<html xmlns="http://www.w3.org/1999/xhtml"><svg/></html>`, NotSVG},
		{"compressed", "\x1f\x8b\x08\x00\x00\x00\x00\x00", UnknownFormat},
		{"text", root(sized, `<text>x</text>`), TextNotOutlined},
		{"text in a clip", root(sized, `<clipPath id="c"><text>x</text></clipPath>`+box), TextNotOutlined},
		{"marker", root(sized, `<marker id="m"/><path d="M0 0H9" stroke="red" marker-end="url(#m)"/>`), Unsupported},
		{"pattern", root(sized, `<pattern id="p"/><rect width="4" height="4" fill="url(#p)"/>`), Unsupported},
		{"conditional style", root(sized, `<style>@media print{rect{fill:red}}</style>`+box), Unsupported},
		{"attribute selector", root(sized, `<style>rect[width]{fill:red}</style>`+box), Unsupported},
		{"variable", root(sized, `<rect width="4" height="4" style="fill:var(--x)"/>`), Unsupported},
	}
}

// tangled1k is a path of n lines to and fro over a field of a thousand by a thousand.
func tangled1k(n int) string {
	var d strings.Builder
	seed := uint32(1)
	for range n {
		seed = seed*1664525 + 1013904223
		fmt.Fprintf(&d, "L%d %d", seed>>8%1000, seed>>16%1000)
	}
	return d.String()
}

// Every hostile file is refused in words that say what to do, or read where it is harmless, within the memory allowed.
func TestRead_hostileFiles(t *testing.T) {
	files := hostileFiles()
	if len(files) < 60 {
		t.Errorf("only %d files", len(files))
	}
	slow := os.Getenv("EVENPEEL_WATCH") != ""
	for _, row := range files {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		d, err := Read([]byte(row.svg), ReadOptions{})
		runtime.ReadMemStats(&after)
		if used := after.TotalAlloc - before.TotalAlloc; used > memoryLimit {
			t.Errorf("%s: %d MiB were allocated for %d bytes", row.name, used>>20, len(row.svg))
		} else if slow {
			t.Logf("%s: %d kB for %d bytes", row.name, used>>10, len(row.svg))
		}
		f, refused := fault.As(err)
		switch {
		case row.want == accepted && (err != nil || len(d.Shapes) == 0):
			t.Errorf("%s: not read: %v", row.name, err)
		case row.want != accepted && (!refused || f.Reason != row.want):
			t.Errorf("%s: %v, want %s", row.name, err, row.want)
		case refused && !saysWhatToDo(f.Words):
			t.Errorf("%s: %q does not say what to do", row.name, f.Words)
		}
	}
}

// saysWhatToDo: a sentence for what is wrong, and one that begins with what to do about it.
func saysWhatToDo(words string) bool {
	sentences := strings.SplitAfter(words, ". ")
	return len(sentences) > 1 && strings.HasSuffix(words, ".") && !strings.Contains(words, "marked")
}
