//go:build !page

package web

import "io/fs"

// Page is nil where the binary was built without the page, so that Go builds alone; the server then reads a folder.
func Page() fs.FS { return nil }
