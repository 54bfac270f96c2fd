package gateway

import (
	"io"
	"net/http"
)

// contentPolicy lets the page load its own files and nothing else; images may be made in the page (data:, blob:).
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; " +
	"connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; " +
	"frame-ancestors 'none'"

// protect sets the headers that stand on every answer (OWASP HTTP Headers sheet).
func protect(h http.Header, secure bool) {
	h.Set("Content-Security-Policy", contentPolicy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()")
	h.Set("X-Frame-Options", "DENY")
	if secure {
		h.Set("Strict-Transport-Security", "max-age=63072000; includeSubDomains")
	}
}

// refuse answers in plain words.
func refuse(w http.ResponseWriter, code int, words string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	_, _ = io.WriteString(w, words+"\n") // nobody is left to tell where this fails
}
