//go:build page

package web

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Page is the built page; `make build` puts it into the binary.
func Page() fs.FS {
	page, err := fs.Sub(dist, "dist")
	if err != nil {
		return nil
	}
	return page
}
