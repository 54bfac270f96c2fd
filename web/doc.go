// Package web carries the built page into the server's binary. The page itself is TypeScript, in src.
//
// Room: web
// Holds: Page
// May touch: nothing
// Never: anything but the page's files
package web
