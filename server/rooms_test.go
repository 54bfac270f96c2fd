package main

import (
	"encoding/json"
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// listed is what `go list` says of a package.
type listed struct {
	ImportPath, Dir string
	Standard        bool
	GoFiles         []string
	Imports         []string
}

// bare are parts of the standard library that only the server may use.
var bare = []string{"database/sql", "net/http", "net/rpc"}

// generated packages carry no sign: nobody writes them.
func generated(path string) bool { return strings.HasPrefix(path, "evenpeel/proto/") }

func packages(t *testing.T) []listed {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Dir,Standard,GoFiles,Imports", "evenpeel/...").Output()
	if err != nil {
		t.Fatal("go list:", err)
	}
	var all []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); d.More(); {
		var p listed
		if err := d.Decode(&p); err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	return all
}

// sign reads the four lines on a package's door.
func sign(t *testing.T, p listed) map[string]string {
	t.Helper()
	for _, name := range p.GoFiles {
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(p.Dir, name), nil, parser.ParseComments|parser.PackageClauseOnly)
		if err != nil {
			t.Fatal(err)
		}
		if f.Doc == nil {
			continue
		}
		lines := map[string]string{}
		for _, line := range strings.Split(f.Doc.Text(), "\n") {
			for _, key := range []string{"Room", "Holds", "May touch", "Never"} {
				if rest, ok := strings.CutPrefix(line, key+": "); ok {
					lines[key] = rest
				}
			}
		}
		if len(lines) > 0 {
			return lines
		}
	}
	return nil
}

// TestRooms reads the sign on each package's door and fails where the package imports what its sign does not allow.
func TestRooms(t *testing.T) {
	for _, p := range packages(t) {
		if generated(p.ImportPath) {
			continue
		}
		s := sign(t, p)
		if len(s) != 4 {
			t.Errorf("%s: its package comment has no whole sign (Room, Holds, May touch, Never); it has %v", p.ImportPath, s)
			continue
		}
		if broken := trespasses(p, s["May touch"]); len(broken) > 0 {
			t.Errorf("%s imports %s, but the sign on its door says: May touch: %s", p.ImportPath, strings.Join(broken, ", "), s["May touch"])
		}
	}
}

func trespasses(p listed, mayTouch string) (broken []string) {
	allowed := strings.Split(mayTouch, ", ")
	inServer := strings.HasPrefix(p.ImportPath, "evenpeel/server")
	for _, imported := range p.Imports {
		own, ours := strings.CutPrefix(imported, "evenpeel/")
		outside := strings.Contains(strings.Split(imported, "/")[0], ".")
		switch {
		case ours:
			if !slices.Contains(allowed, own) && !(slices.Contains(allowed, "proto") && generated(imported)) && !slices.Contains(allowed, "everything in this module") {
				broken = append(broken, own)
			}
		case outside:
			if !slices.ContainsFunc(allowed, func(a string) bool { return imported == a || strings.HasPrefix(imported, a+"/") }) {
				broken = append(broken, imported)
			}
		case !inServer && slices.ContainsFunc(bare, func(b string) bool { return imported == b || strings.HasPrefix(imported, b+"/") }):
			broken = append(broken, imported)
		}
	}
	return broken
}

// The check itself is checked: a trespass that it must see.
func TestRooms_seesATrespass(t *testing.T) {
	p := listed{ImportPath: "evenpeel/recipes", Imports: []string{"database/sql", "evenpeel/server/rpc", "go.uber.org/zap", "fmt", "evenpeel/recipes/units"}}
	if got := trespasses(p, "recipes/units"); len(got) != 3 {
		t.Errorf("saw %v", got)
	}
}

// Only package sealed and the wire's codec marshal a record, so that sealed bytes are made once.
func TestRooms_onlySealedMarshals(t *testing.T) {
	allowed := []string{"evenpeel/recipes/sealed", "evenpeel/server/rpc"}
	for _, p := range packages(t) {
		if generated(p.ImportPath) || slices.Contains(allowed, p.ImportPath) {
			continue
		}
		for _, name := range p.GoFiles {
			text, err := os.ReadFile(filepath.Join(p.Dir, name))
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(string(text), "proto.Marshal") {
				t.Errorf("%s/%s marshals protobuf; only %v may", p.ImportPath, name, allowed)
			}
		}
	}
}
