package cut

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
)

func TestReadSVG_refusals(t *testing.T) {
	deep := strings.Repeat("<g>", 40) + strings.Repeat("</g>", 40)
	for _, row := range []struct {
		name, svg string
		want      fault.Reason
	}{
		{"empty", "", NotSVG},
		{"not XML", "hello", NotSVG},
		{"other XML", "<html/>", NotSVG},
		{"unclosed", page("<g>") + "<", NotSVG},
		{"no size", `<svg xmlns="http://www.w3.org/2000/svg"><rect width="4" height="4"/></svg>`, NoSize},
		{"size in per cent", `<svg xmlns="http://www.w3.org/2000/svg" width="100%" height="100%" viewBox="0 0 9 9"><rect width="4" height="4"/></svg>`, NoSize},
		{"zero width", `<svg xmlns="http://www.w3.org/2000/svg" width="0" height="5"><rect width="4" height="4"/></svg>`, NoSize},
		{"viewBox 0", `<svg xmlns="http://www.w3.org/2000/svg" width="5" height="5" viewBox="0 0 0 0"><rect width="4" height="4"/></svg>`, NotSVG},
		{"doctype", `<!DOCTYPE svg [<!ENTITY a "b">]>` + page("&a;"), Hostile},
		{"entity", page("&a;"), Hostile},
		{"style sheet instruction", `<?xml-stylesheet href="x"?>` + page(""), Hostile},
		{"script", page("<script/>"), Hostile},
		{"script in what is skipped", page("<metadata><script/></metadata>"), Hostile},
		{"handler", page(`<rect onload="x()" width="4" height="4"/>`), Hostile},
		{"foreign object", page("<foreignObject/>"), Hostile},
		{"picture", page(`<image href="#a"/>`), Hostile},
		{"outside link", page(`<use href="http://example.com/a.svg#b"/>`), Hostile},
		{"import", page(`<style>@import "a.css";</style><rect width="4" height="4"/>`), Hostile},
		{"style url", page(`<style>rect{fill:url(http://example.com)}</style>`), Hostile},
		{"text", page(`<text>Hi</text>`), TextNotOutlined},
		{"gradient", page(`<rect width="4" height="4" fill="url(#g)"/>`), Unsupported},
		{"clip by a basic shape", page(`<rect width="4" height="4" clip-path="circle(2px)"/>`), Unsupported},
		{"dashes in font units", page(`<path d="M0 0H9" stroke="red" stroke-dasharray="2em 2"/>`), Unsupported},
		{"nothing", page(""), NothingToCut},
		{"only hidden", page(`<rect display="none" width="4" height="4"/>`), NothingToCut},
		{"open line without stroke", page(`<path d="M0 0H9"/>`), NothingToCut},
		{"huge number", page(`<path d="M0 0H1e308V4Z"/>`), NotFinite},
		{"beyond a million", page(`<rect x="2000000" width="4" height="4"/>`), NotFinite},
		{"not a number", page(`<path d="M0 0H1e999V4Z"/>`), NotFinite},
		{"20 m", page(`<rect width="900000" height="4"/>`), TooLarge},
		{"deep", page(deep), TooLarge},
		{"deep in what is skipped", page("<metadata>" + deep + "</metadata>"), TooLarge},
		{"use of itself", page(`<g id="a"><use href="#a"/></g>`), TooLarge},
		{"copies of copies", page(bomb()), TooLarge},
		{"many elements", page(strings.Repeat("<g/>", 15_000)), TooLarge},
		{"many attributes", page("<g " + manyAttributes() + "/>"), TooLarge},
		{"long attribute", page(`<path d="` + strings.Repeat("M0 0", 70_000) + `"/>`), TooLarge},
		{"1 MiB", page(strings.Repeat(" ", 1<<20)), TooLarge},
		{"many commands", page(strings.Repeat(`<path d="`+strings.Repeat("M0 0", 60_000)+`"/>`, 4)), TooManyPoints},
	} {
		_, err := ReadSVG([]byte(row.svg), ReadOptions{})
		var f *fault.Fault
		if !errors.As(err, &f) || f.Reason != row.want || f.Words == "" {
			t.Errorf("%s: got %v, want %s", row.name, err, row.want)
		}
	}
	if _, err := ReadSVG([]byte(page("")), ReadOptions{Tolerance: -1, Width: -1}); err == nil || !strings.Contains(err.Error(), "width") || !strings.Contains(err.Error(), "tolerance") {
		t.Errorf("both options must be named: %v", err)
	}
}

func bomb() string {
	b := `<g id="a0"><rect width="1" height="1"/></g>`
	for i := range 12 {
		b += fmt.Sprintf(`<g id="a%d">%s</g>`, i+1, strings.Repeat(fmt.Sprintf(`<use href="#a%d"/>`, i), 10))
	}
	return b
}

func manyAttributes() string {
	var b strings.Builder
	for i := range 80 {
		fmt.Fprintf(&b, `a%d="" `, i)
	}
	return b.String()
}

// Reasons are branched on by programs: the list may grow at its end, and nothing in it may change.
func TestReasons_areAppendOnly(t *testing.T) {
	want := "NOT_SVG TOO_LARGE NO_SIZE HOSTILE NOT_FINITE TOO_MANY_POINTS TEXT_NOT_OUTLINED UNSUPPORTED NOTHING_TO_CUT OPTIONS_INVALID OUT_OF_RANGE NOT_A_CUT_FILE FILE_NOT_WRITTEN UNKNOWN_FORMAT"
	source, err := os.ReadFile("faults.go")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range regexp.MustCompile(`fault\.Reason = "([A-Z_]+)"`).FindAllStringSubmatch(string(source), -1) {
		got = append(got, m[1])
	}
	if strings.Join(got, " ") != want {
		t.Errorf("got  %s\nwant %s", strings.Join(got, " "), want)
	}
}

// Whatever is refused, the words themselves say what is wrong and what to do: the page has nothing to add, and no place
// to mark where the fault is in a file. Options are the program's own, and name their fields instead.
func TestRefusals_sayWhatToDoAtTheSource(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	form := regexp.MustCompile(`refuse\(fault\.\w+, (\w+), "((?:[^"\\]|\\.)*)"`)
	for _, path := range files {
		source, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		for _, m := range form.FindAllStringSubmatch(string(source), -1) {
			if m[1] == "OptionsInvalid" || m[1] == "FileNotWritten" || m[2] == "%s" {
				continue
			}
			if count++; !saysWhatToDo(strings.TrimSpace(m[2])) {
				t.Errorf("%s: %q does not say what to do", path, m[2])
			}
		}
	}
	if count < 50 {
		t.Errorf("only %d refusals were found", count)
	}
}
