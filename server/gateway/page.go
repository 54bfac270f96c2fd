package gateway

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"
)

// Limits of the page's files, so that a wrong folder shows at the start.
const (
	mostFiles   = 2000
	largestFile = 16 << 20
)

// mediaTypes are those of the files that a page is built from; the system's own table differs from machine to machine.
var mediaTypes = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
	".svg": "image/svg+xml", ".png": "image/png", ".ico": "image/x-icon", ".woff2": "font/woff2",
	".json": "application/json", ".webmanifest": "application/manifest+json", ".txt": "text/plain; charset=utf-8",
	".wasm": "application/wasm", ".map": "application/json",
}

// page serves the built page from memory.
type page struct {
	files map[string]*file // by path without the leading slash
	index *file            // nil where no page was built
}

type file struct {
	plain, packed []byte // packed is the .gz beside it; nil where there is none
	kind, tag     string
	cache         string
}

func newPage(from fs.FS) (*page, error) {
	p := &page{files: map[string]*file{}}
	if from == nil {
		return p, nil
	}
	err := fs.WalkDir(from, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		facts, err := entry.Info()
		if err != nil {
			return err
		}
		if facts.Size() > largestFile || len(p.files) >= mostFiles {
			return fmt.Errorf("%s: the page may have %d files of at most %d MiB", name, mostFiles, largestFile>>20)
		}
		content, err := fs.ReadFile(from, name)
		if err != nil {
			return err
		}
		p.files[name] = newFile(name, content)
		return nil
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("page: %w", err)
	}
	for name, packed := range p.files {
		if plain, ok := p.files[strings.TrimSuffix(name, ".gz")]; ok && plain != packed {
			plain.packed = packed.plain
			delete(p.files, name)
		}
	}
	p.index = p.files["index.html"]
	return p, nil
}

func newFile(name string, content []byte) *file {
	f := &file{plain: content, kind: mediaTypes[path.Ext(name)], cache: "no-cache"}
	if f.kind == "" {
		f.kind = "application/octet-stream"
	}
	sum := sha256.Sum256(content)
	f.tag = hex.EncodeToString(sum[:12])
	switch {
	case name == "index.html":
		f.cache = "no-store" // it names the files of one build
	case strings.HasPrefix(name, "assets/") && name != "assets/manifest.json":
		f.cache = "public, max-age=31536000, immutable" // the name holds a hash of the content
	}
	return f
}

func (p *page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		refuse(w, http.StatusMethodNotAllowed, "Pages are read by GET.")
		return
	}
	f := p.find(r.URL.Path)
	if f == nil {
		refuse(w, http.StatusNotFound, "There is nothing here.")
		return
	}
	f.ServeHTTP(w, r)
}

// find is the file of a path. A path without a dot is a screen of the page, which its script knows.
func (p *page) find(at string) *file {
	name := strings.TrimPrefix(at, "/")
	if f, ok := p.files[name]; ok {
		return f
	}
	if strings.Contains(path.Base(name), ".") && path.Base(name) != "." || strings.HasPrefix(name, "assets/") {
		return nil
	}
	return p.index
}

func (f *file) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	content, tag := f.plain, `"`+f.tag+`"`
	h := w.Header()
	if f.packed != nil {
		h.Set("Vary", "Accept-Encoding")
		if takesGzip(r.Header.Values("Accept-Encoding")) {
			content, tag = f.packed, `"`+f.tag+`-gz"`
			h.Set("Content-Encoding", "gzip")
		}
	}
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", f.cache)
	h.Set("ETag", tag)
	if hasTag(r.Header.Values("If-None-Match"), tag) {
		h.Del("Content-Type")
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Length", strconv.Itoa(len(content)))
	w.WriteHeader(http.StatusOK)
	if r.Method != http.MethodHead {
		_, _ = bytes.NewReader(content).WriteTo(w) // a client that went away is nobody's fault
	}
}

// takesGzip reads Accept-Encoding by RFC 9110 12.5.3: a weight of zero refuses, "*" stands for what is not named.
func takesGzip(headers []string) bool {
	named, any := -1.0, -1.0
	for _, header := range headers {
		for part := range strings.SplitSeq(header, ",") {
			coding, params, _ := strings.Cut(part, ";")
			weight := 1.0
			if q, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(params)), "q="); ok {
				parsed, err := strconv.ParseFloat(q, 64)
				if err != nil {
					parsed = 0
				}
				weight = parsed
			}
			switch strings.ToLower(strings.TrimSpace(coding)) {
			case "gzip", "x-gzip":
				named = weight
			case "*":
				any = weight
			}
		}
	}
	if named >= 0 {
		return named > 0
	}
	return any > 0
}

// hasTag compares weakly, as RFC 9110 13.1.2 asks for If-None-Match.
func hasTag(headers []string, tag string) bool {
	for _, header := range headers {
		for part := range strings.SplitSeq(header, ",") {
			part = strings.TrimSpace(part)
			if part == "*" || strings.TrimPrefix(part, "W/") == tag {
				return true
			}
		}
	}
	return false
}
