// Package gateway is the browser's door: the page itself, the calls it makes in grpc-web, and the probes of whoever
// runs the server. grpc-go's own limits do not hold on this way, so limits stand here again. What is lost at the
// border: nothing is translated; the calls go to the same server, the same interceptors and the same rights.
//
// Room: gateway
// Holds: New, NewHTTPServer, the page's files, probes, headers, Stop
// May touch: github.com/improbable-eng/grpc-web, github.com/prometheus/client_golang, go.uber.org/zap, google.golang.org/grpc
// Never: websockets, a write timeout of the whole server, an answer without its security headers
package gateway

import (
	"io/fs"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/zap"
	"google.golang.org/grpc"
)

// Options are what the door needs.
type Options struct {
	RPC     *grpc.Server        // its services must be registered already
	Page    fs.FS               // web/dist; nil or without index.html serves no page
	Log     *zap.Logger         // nil says nothing
	Secure  bool                // whether browsers come by TLS: adds HSTS
	Origins []string            // further origins that may call, such as "https://desk.example"; usually none
	Checks  []Check             // what /readyz asks
	Metrics prometheus.Gatherer // nil serves no /metrics
	Version string
}

// Times of one request, outside streams.
const (
	longestRead  = 30 * time.Second
	longestWrite = 75 * time.Second // a call may take 30 s and its answer must still reach a slow tablet
)

type door struct {
	Options
	calls  *calls
	page   *page
	probes map[string]http.Handler
}

// New makes the handler. Faults of the page's files show in the log and as a missing page, never as a missing API.
func New(o Options) (http.Handler, error) {
	if o.Log == nil {
		o.Log = zap.NewNop()
	}
	c, err := newCalls(o)
	if err != nil {
		return nil, err
	}
	p, err := newPage(o.Page)
	if err != nil {
		return nil, err
	}
	return &door{Options: o, calls: c, page: p, probes: newProbes(o)}, nil
}

// isCall tells paths of the API, known or not: they never fall through to the page.
func isCall(path string) bool {
	first := strings.TrimLeft(path, "/")
	return strings.HasPrefix(first, "evenpeel.") || strings.HasPrefix(first, "grpc.")
}

func (d *door) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	answer := &answer{ResponseWriter: w}
	defer func() {
		broken := recover()
		if broken == nil {
			return
		}
		if broken == http.ErrAbortHandler {
			panic(broken) // net/http's own way of hanging up
		}
		d.Log.Error("panic at the door", zap.Any("panic", broken), zap.ByteString("stack", debug.Stack()))
		if !answer.begun {
			refuse(answer, http.StatusInternalServerError, "Something went wrong here.")
			return
		}
		panic(http.ErrAbortHandler)
	}()
	protect(w.Header(), d.Secure)
	// The read deadline is for the body: once that is read, net/http takes it away itself, so that it ends no stream
	// (tried with go1.26). Writers that know no deadlines are those of tests.
	control := http.NewResponseController(w)
	_ = control.SetReadDeadline(time.Now().Add(longestRead))
	write := time.Now().Add(longestWrite)
	if d.calls.streams(r.URL.Path) {
		write = time.Time{}
	}
	_ = control.SetWriteDeadline(write)

	switch probe, ok := d.probes[r.URL.Path]; {
	case ok:
		probe.ServeHTTP(answer, r)
	case isCall(r.URL.Path):
		// A copy, since net/http looks into its own request afterwards to see whether the body was read to its end;
		// with another body there, what is left of this one would be read as the next request. The limit is given
		// net/http's own writer, which it tells to hang up.
		own := r.WithContext(r.Context()) // a flat copy: nobody here changes what both point to but the header
		own.Body = http.MaxBytesReader(w, r.Body, largestBody)
		d.calls.ServeHTTP(answer, own)
	default:
		d.page.ServeHTTP(answer, r)
	}
}

// answer knows whether something was sent already.
type answer struct {
	http.ResponseWriter
	begun bool
}

func (a *answer) WriteHeader(code int) {
	a.begun = true
	a.ResponseWriter.WriteHeader(code)
}

func (a *answer) Write(b []byte) (int, error) {
	a.begun = true
	return a.ResponseWriter.Write(b)
}

// Flush is what grpc asks of a writer.
func (a *answer) Flush() {
	a.begun = true
	_ = http.NewResponseController(a.ResponseWriter).Flush() // the next write shows the same error
}

func (a *answer) Unwrap() http.ResponseWriter { return a.ResponseWriter }
