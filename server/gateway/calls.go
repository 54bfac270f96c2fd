package gateway

import (
	"fmt"
	"mime"
	"net/http"
	"slices"
	"strings"

	"github.com/improbable-eng/grpc-web/go/grpcweb"
	"google.golang.org/grpc"
)

// largestBody bounds a request's body: the largest message that the server takes, and its frame.
const largestBody = 1153 << 10

// calls lets through what a page may ask, and nothing else: known methods, by POST, in binary grpc-web.
type calls struct {
	methods map[string]bool // path of each method; true where it streams
	wrapped *grpcweb.WrappedGrpcServer
	guarded http.Handler
	origins []string
}

func newCalls(o Options) (*calls, error) {
	c := &calls{methods: map[string]bool{}, origins: o.Origins}
	for service, info := range o.RPC.GetServiceInfo() {
		if !strings.HasPrefix(service, "evenpeel.") {
			continue // health and reflection are for the native port
		}
		for _, m := range info.Methods {
			c.methods["/"+service+"/"+m.Name] = m.IsServerStream || m.IsClientStream
		}
	}
	c.wrapped = wrap(o.RPC, o.Origins)
	// The wrapper's own check of the origin only leaves headers away; it rejects nothing. This one stands outside it.
	protection := http.NewCrossOriginProtection()
	for _, origin := range o.Origins {
		if err := protection.AddTrustedOrigin(origin); err != nil {
			return nil, fmt.Errorf("origin %q: %w", origin, err)
		}
	}
	protection.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		refuse(w, http.StatusForbidden, "Calls from other sites are refused.")
	}))
	c.guarded = protection.Handler(http.HandlerFunc(c.serve))
	return c, nil
}

// wrap never turns websockets on: the library that stands behind them has ended whole processes.
func wrap(s *grpc.Server, origins []string) *grpcweb.WrappedGrpcServer {
	return grpcweb.WrapServer(s,
		grpcweb.WithOriginFunc(func(origin string) bool { return slices.Contains(origins, origin) }),
		grpcweb.WithAllowedRequestHeaders([]string{"content-type", "x-grpc-web", "x-user-agent", "grpc-timeout"}),
		grpcweb.WithCorsForRegisteredEndpointsOnly(true),
	)
}

func (c *calls) streams(path string) bool { return c.methods[path] }

func (c *calls) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	c.guarded.ServeHTTP(w, r)
}

func (c *calls) serve(w http.ResponseWriter, r *http.Request) {
	if _, known := c.methods[r.URL.Path]; !known || r.URL.RawQuery != "" {
		refuse(w, http.StatusNotFound, "There is no such call.")
		return
	}
	if r.Method == http.MethodOptions && slices.Contains(c.origins, r.Header.Get("Origin")) && c.wrapped.IsAcceptableGrpcCorsRequest(r) {
		c.wrapped.ServeHTTP(w, r)
		return
	}
	if r.Method != http.MethodPost || r.Header.Get("Upgrade") != "" {
		w.Header().Set("Allow", http.MethodPost)
		refuse(w, http.StatusMethodNotAllowed, "Calls are made by POST.")
		return
	}
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "application/grpc-web" && kind != "application/grpc-web+proto" {
		refuse(w, http.StatusUnsupportedMediaType, "Calls are made in application/grpc-web+proto.")
		return
	}
	if r.ContentLength > largestBody {
		refuse(w, http.StatusRequestEntityTooLarge, "This is too large.")
		return
	}
	r.Header.Set("Content-Type", kind)
	r.Header.Set("X-Grpc-Web", "1") // tells the handlers that a page asks, whatever the client wrote
	c.wrapped.ServeHTTP(w, r)
}
