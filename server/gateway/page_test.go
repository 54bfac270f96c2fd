package gateway

import (
	"compress/gzip"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

func TestPage_paths(t *testing.T) {
	h := newHouse(t, nil)
	for _, row := range []struct {
		path, kind, cache string
		code              int
		index             bool
	}{
		{"/", "text/html; charset=utf-8", "no-store", 200, true},
		{"/index.html", "text/html; charset=utf-8", "no-store", 200, true},
		{"/recipes/glimmer-cotton", "text/html; charset=utf-8", "no-store", 200, true},
		{"/branches/a/orders/", "text/html; charset=utf-8", "no-store", 200, true},
		{"/recipes/glimmer-cotton?side=by", "text/html; charset=utf-8", "no-store", 200, true},
		{"/sign.svg", "image/svg+xml", "no-cache", 200, false},
		{"/assets/main-ab12.js", "text/javascript; charset=utf-8", "public, max-age=31536000, immutable", 200, false},
		{"/assets/manifest.json", "application/json", "no-cache", 200, false},
		{"/sw.js", "text/javascript; charset=utf-8", "no-cache", 200, false}, // at the root: a worker's scope is its folder
		{"/assets/main-ab12.js.gz", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/assets/none", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/none.js", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/.env", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/../../etc/passwd.txt", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/evenpeel.access.v1.AccessService/None", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/evenpeel.none", "text/plain; charset=utf-8", "no-store", 404, false},
		{"//evenpeel.none", "text/plain; charset=utf-8", "no-store", 404, false},
		{"/grpc.health.v1.Health/Check", "text/plain; charset=utf-8", "no-store", 404, false},
	} {
		for _, method := range []string{"GET", "HEAD"} {
			got := h.ask(t, method, row.path, nil)
			body := all(t, got)
			if got.StatusCode != row.code || got.Header.Get("Content-Type") != row.kind || got.Header.Get("Cache-Control") != row.cache {
				t.Errorf("%s %s: got %d %v", method, row.path, got.StatusCode, got.Header)
			}
			if method == "GET" && strings.HasPrefix(body, "<!doctype") != row.index {
				t.Errorf("%s: got %q", row.path, body)
			}
			if method == "HEAD" && (body != "" || row.code == 200 && got.ContentLength <= 0) {
				t.Errorf("HEAD %s: got %q, length %d", row.path, body, got.ContentLength)
			}
		}
	}
}

func TestPage_packed(t *testing.T) {
	h := newHouse(t, nil)
	const path = "/assets/main-ab12.js"
	tags := map[bool]string{}
	for _, row := range []struct {
		accept string
		packed bool
		source string
	}{
		{"gzip", true, "RFC 9110 12.5.3"},
		{"br, gzip;q=0.5", true, "RFC 9110 12.5.3"},
		{"GZIP", true, "RFC 9110 8.4.1: codings are case-insensitive"},
		{"x-gzip", true, "RFC 9110 8.4.1.3: x-gzip is gzip"},
		{"*", true, "RFC 9110 12.5.3: * matches what is not named"},
		{"*;q=0.1, gzip;q=0", false, "RFC 9110 12.5.3: q=0 is not acceptable"},
		{"gzip;q=0", false, "RFC 9110 12.5.3"},
		{"gzip;q=rubbish", false, "ours: what can not be read is not offered"},
		{"identity", false, "RFC 9110 12.5.3"},
		{"", false, "RFC 9110 12.5.3: an empty field wants no coding"},
	} {
		if row.source == "" {
			t.Fatalf("%q has no source", row.accept)
		}
		got := h.ask(t, "GET", path, nil, "Accept-Encoding", row.accept)
		if (got.Header.Get("Content-Encoding") == "gzip") != row.packed || got.Header.Get("Vary") != "Accept-Encoding" ||
			got.Header.Get("Content-Type") != "text/javascript; charset=utf-8" {
			t.Errorf("%q: got %v", row.accept, got.Header)
		}
		tags[row.packed] = got.Header.Get("ETag")
		var body io.Reader = got.Body
		if row.packed {
			z, err := gzip.NewReader(body)
			if err != nil {
				t.Fatal(err)
			}
			body = z
		}
		if content, err := io.ReadAll(body); err != nil || string(content) != "console.log('plain')" {
			t.Errorf("%q: got %q, %v", row.accept, content, err)
		}
	}
	if tags[true] == tags[false] || tags[true] == "" {
		t.Errorf("the two forms need two tags: %v", tags)
	}
	got := h.ask(t, "GET", path, nil, "Accept-Encoding", "gzip", "If-None-Match", `"x", W/`+tags[true])
	if body := all(t, got); got.StatusCode != 304 || body != "" || got.Header.Get("ETag") != tags[true] {
		t.Errorf("got %d %v", got.StatusCode, got.Header)
	}
	if got := h.ask(t, "GET", path, nil, "Accept-Encoding", "gzip", "If-None-Match", tags[false]); got.StatusCode != 200 {
		t.Errorf("the plain form's tag fits the packed one: %d", got.StatusCode)
	}
}

func TestPage_missing(t *testing.T) {
	for name, page := range map[string]fstest.MapFS{"none": nil, "empty": {}} {
		h := newHouse(t, func(o *Options) {
			o.Page = nil
			if page != nil {
				o.Page = page
			}
		})
		if got := h.ask(t, "GET", "/", nil); got.StatusCode != 404 {
			t.Errorf("%s: got %d", name, got.StatusCode)
		}
	}
}

// By TLS a browser gets HTTP/2, and nothing older than TLS 1.2.
func TestServe_byTLS(t *testing.T) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	certFile, keyFile := filepath.Join(t.TempDir(), "cert.pem"), filepath.Join(t.TempDir(), "key.pem")
	for file, block := range map[string]*pem.Block{certFile: {Type: "CERTIFICATE", Bytes: der}, keyFile: {Type: "PRIVATE KEY", Bytes: private}} {
		if err := os.WriteFile(file, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	h := newHouse(t, func(o *Options) { o.Secure = true })
	s := NewHTTPServer(h.web.Handler, nil)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	go func() { _ = Serve(s, l, certFile, keyFile) }()
	roots := x509.NewCertPool()
	roots.AddCert(must(x509.ParseCertificate(der)))
	client := &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{RootCAs: roots}}}
	defer client.CloseIdleConnections()
	got, err := client.Get("https://" + l.Addr().String() + "/recipes")
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	if got.ProtoMajor != 2 || got.StatusCode != 200 || got.Header.Get("Strict-Transport-Security") == "" {
		t.Errorf("got %s %d %v", got.Proto, got.StatusCode, got.Header)
	}
	old := &tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}
	if conn, err := tls.Dial("tcp", l.Addr().String(), old); err == nil {
		conn.Close()
		t.Error("TLS 1.1 is spoken")
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func FuzzTakesGzip(f *testing.F) {
	f.Add("gzip;q=0.1, *")
	f.Add(";;,,q=")
	f.Fuzz(func(t *testing.T, header string) {
		if takesGzip([]string{header}) && !strings.Contains(strings.ToLower(header), "gzip") && !strings.Contains(header, "*") {
			t.Errorf("%q does not name gzip", header)
		}
	})
}
