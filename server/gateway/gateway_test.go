package gateway

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/zap"
	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes/fault"
	"evenpeel/server/access"
	"evenpeel/server/rpc"
)

const (
	signIn = "/evenpeel.access.v1.AccessService/SignIn"
	whoAmI = "/evenpeel.access.v1.AccessService/WhoAmI"
	watch  = "/evenpeel.recipes.v1.CatalogService/WatchReleases"
)

// register is a Directory with one auditor whose sessions the test lays in.
type register struct {
	access.Directory
	mu       sync.Mutex
	sessions map[access.SessionHash]access.Session
}

func (r *register) Person(_ context.Context, name string) (access.Person, error) {
	return access.Person{Name: name, Roles: []access.Role{access.Auditor}}, nil
}

func (r *register) Session(_ context.Context, hash access.SessionHash) (access.Session, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if s, ok := r.sessions[hash]; ok {
		return s, nil
	}
	return access.Session{}, fault.New(fault.NotSignedIn, "access", access.SessionEnded, "Sign in again.")
}

func (r *register) SeeSessions(context.Context, []access.SessionHash, time.Time) error { return nil }

func (r *register) Standings(ctx context.Context, hashes []access.SessionHash) (list []access.Standing, _ error) {
	for _, hash := range hashes {
		s, err := r.Session(ctx, hash)
		if err != nil {
			continue
		}
		p, err := r.Person(ctx, s.Person)
		if err != nil {
			continue
		}
		list = append(list, access.Standing{Session: s, Person: p})
	}
	return list, nil
}
func (r *register) EndSession(context.Context, access.SessionHash) error { return nil }

func (r *register) signIn(seen time.Time) string {
	raw := make([]byte, 32)
	rand.Read(raw)
	token := base64.RawURLEncoding.EncodeToString(raw)
	hash := access.SessionHash(sha256.Sum256([]byte(token)))
	r.mu.Lock()
	defer r.mu.Unlock()
	r.sessions[hash] = access.Session{Hash: hash, Person: "people/a", Seen: seen, Ends: seen.Add(access.DefaultLife)}
	return token
}

type accessStub struct {
	accessv1.UnimplementedAccessServiceServer
	secure bool
	broken bool
}

func (s *accessStub) SignIn(ctx context.Context, r *accessv1.SignInRequest) (*accessv1.SignInResponse, error) {
	cookie := access.Cookie("the-token", time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), s.secure)
	if err := grpc.SetHeader(ctx, metadata.Pairs("set-cookie", cookie)); err != nil {
		return nil, err
	}
	if r.Password == "wrong" {
		return nil, fault.New(fault.NotSignedIn, "access", access.SignInRefused, "Address and password do not fit.")
	}
	return &accessv1.SignInResponse{}, nil
}

func (s *accessStub) WhoAmI(ctx context.Context, _ *accessv1.WhoAmIRequest) (*accessv1.WhoAmIResponse, error) {
	if s.broken {
		panic("broken")
	}
	page := metadata.ValueFromIncomingContext(ctx, "x-grpc-web")
	return &accessv1.WhoAmIResponse{Version: strings.Join(page, ",")}, nil
}

type catalogStub struct {
	recipesv1.UnimplementedCatalogServiceServer
	begun chan struct{}
}

func (s *catalogStub) WatchReleases(_ *recipesv1.WatchReleasesRequest, out grpc.ServerStreamingServer[recipesv1.WatchReleasesResponse]) error {
	if err := out.Send(&recipesv1.WatchReleasesResponse{Release: 3}); err != nil {
		return err
	}
	close(s.begun)
	<-out.Context().Done()
	return out.Context().Err()
}

// house is both servers, as the process runs them.
type house struct {
	people  *register
	access  *accessStub
	catalog *catalogStub
	rpc     *grpc.Server
	web     *http.Server
	health  *rpc.Health
	address string
	stop    context.CancelFunc
	client  *http.Client
	served  chan error
}

var builtPage = fstest.MapFS{
	"index.html":           {Data: []byte("<!doctype html><title>Evenpeel</title>")},
	"sign.svg":             {Data: []byte("<svg/>")},
	"sw.js":                {Data: []byte("self")},
	"assets/main-ab12.js":  {Data: []byte("console.log('plain')")},
	"assets/manifest.json": {Data: []byte("{}")},
}

func withPacked(t *testing.T) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	for name, f := range builtPage {
		m[name] = f
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(builtPage["assets/main-ab12.js"].Data); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	m["assets/main-ab12.js.gz"] = &fstest.MapFile{Data: packed.Bytes()}
	return m
}

func newHouse(t *testing.T, change func(*Options)) *house {
	t.Helper()
	stopping, stop := context.WithCancel(context.Background())
	h := &house{
		people: &register{sessions: map[access.SessionHash]access.Session{}}, access: &accessStub{},
		catalog: &catalogStub{begun: make(chan struct{})}, health: rpc.NewHealth(), stop: stop, served: make(chan error, 1),
	}
	h.rpc = rpc.NewServer(rpc.Options{
		Guard:  access.NewGuard(access.Parts{Directory: h.people, Now: time.Now, Rand: rand.Reader}),
		Health: h.health, Stopping: stopping,
	}, func(s *grpc.Server) {
		accessv1.RegisterAccessServiceServer(s, h.access)
		recipesv1.RegisterCatalogServiceServer(s, h.catalog)
	})
	o := Options{RPC: h.rpc, Page: withPacked(t), Version: "1.2.3"}
	if change != nil {
		change(&o)
	}
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	h.web = NewHTTPServer(handler, nil)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	h.address = l.Addr().String()
	h.client = &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{DisableCompression: true}}
	go func() { h.served <- Serve(h.web, l, "", "") }()
	t.Cleanup(func() {
		stop()
		h.client.CloseIdleConnections()
		h.web.Close()
		h.rpc.Stop()
	})
	return h
}

func framed(t *testing.T, m proto.Message) []byte {
	t.Helper()
	content, err := proto.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return append(binary.BigEndian.AppendUint32([]byte{0}, uint32(len(content))), content...)
}

func (h *house) ask(t *testing.T, method, path string, body io.Reader, header ...string) *http.Response {
	t.Helper()
	r, err := http.NewRequest(method, "http://"+h.address+path, body)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	got, err := h.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { got.Body.Close() })
	return got
}

func (h *house) call(t *testing.T, path string, m proto.Message, header ...string) *http.Response {
	t.Helper()
	return h.ask(t, "POST", path, bytes.NewReader(framed(t, m)), append([]string{"Content-Type", "application/grpc-web+proto"}, header...)...)
}

func all(t *testing.T, r *http.Response) string {
	t.Helper()
	content, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(content)
}

// statusOf is the grpc-status of an answer: in the headers where there is no message, else in the trailer frame.
func statusOf(t *testing.T, r *http.Response) (string, string) {
	t.Helper()
	body := all(t, r)
	if s := r.Header.Get("Grpc-Status"); s != "" {
		return s, body
	}
	_, rest, ok := strings.Cut(body, "grpc-status: ")
	if !ok {
		t.Fatalf("no status in %q", body)
	}
	return strings.SplitN(rest, "\r", 2)[0], body
}

func TestCall_byThePage(t *testing.T) {
	h := newHouse(t, nil)
	token := h.people.signIn(time.Now())
	for _, kind := range []string{"application/grpc-web+proto", "application/grpc-web"} {
		got := h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Cookie", "evenpeel_session="+token, "Origin", "http://"+h.address, "Content-Type", kind)
		status, body := statusOf(t, got)
		var who accessv1.WhoAmIResponse
		if err := proto.Unmarshal([]byte(body)[5:5+body[4]], &who); err != nil || status != "0" || got.StatusCode != 200 || who.Version != "1" {
			t.Errorf("got %d, status %s, %v, %v", got.StatusCode, status, &who, err)
		}
	}
	expired := h.people.signIn(time.Now().Add(-access.DefaultIdle - time.Minute))
	for name, cookie := range map[string]string{"nobody": "", "expired": expired, "rubbish": "x"} {
		if status, _ := statusOf(t, h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Cookie", "evenpeel_session="+cookie)); status != "16" {
			t.Errorf("%s: got status %s", name, status)
		}
	}
	if status, _ := statusOf(t, h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Cookie", "evenpeel_session="+token, "Grpc-Timeout", "1m")); status != "4" {
		t.Errorf("a millisecond is too little: got status %s", status)
	}
	h.access.broken = true
	if status, body := statusOf(t, h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Cookie", "evenpeel_session="+token)); status != "13" || strings.Contains(body, "broken") {
		t.Errorf("got status %s, %q", status, body)
	}
	h.access.broken = false
	if status, _ := statusOf(t, h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Cookie", "evenpeel_session="+token)); status != "0" {
		t.Errorf("the server did not survive: status %s", status)
	}
}

func TestCall_setCookieIsAHeaderAndNoTrailer(t *testing.T) {
	for _, secure := range []bool{false, true} {
		h := newHouse(t, nil)
		h.access.secure = secure
		for _, password := range []string{"right", "wrong"} {
			got := h.call(t, signIn, &accessv1.SignInRequest{Email: "a@example.com", Password: password})
			cookies := got.Cookies()
			if len(cookies) != 1 || cookies[0].Value != "the-token" || !cookies[0].HttpOnly || cookies[0].Secure != secure ||
				cookies[0].SameSite != http.SameSiteStrictMode || cookies[0].Path != "/" || strings.HasPrefix(cookies[0].Name, "__Host-") != secure {
				t.Fatalf("%s: got %v", password, got.Header)
			}
			_, body := statusOf(t, got)
			if strings.Contains(body, "the-token") || strings.Contains(strings.ToLower(body), "set-cookie") || len(got.Trailer) != 0 {
				t.Errorf("%s: the cookie stands in the body too: %q", password, body)
			}
		}
	}
}

func TestCall_onlyWhatIsKnown(t *testing.T) {
	h := newHouse(t, nil)
	empty := func() io.Reader { return bytes.NewReader(framed(t, &accessv1.WhoAmIRequest{})) }
	const binary = "application/grpc-web+proto"
	for _, row := range []struct {
		name, method, path, kind string
		code                     int
		header                   []string
	}{
		{name: "unknown method", method: "POST", path: "/evenpeel.access.v1.AccessService/Nothing", kind: binary, code: 404},
		{name: "unknown service", method: "POST", path: "/evenpeel.none.v1.NoneService/X", kind: binary, code: 404},
		{name: "health is for the native port", method: "POST", path: "/grpc.health.v1.Health/Check", kind: binary, code: 404},
		{name: "two slashes", method: "POST", path: "/" + whoAmI, kind: binary, code: 404},
		{name: "with a query", method: "POST", path: whoAmI + "?x=1", kind: binary, code: 404},
		{name: "by GET", method: "GET", path: whoAmI, kind: binary, code: 405},
		{name: "by HEAD", method: "HEAD", path: whoAmI, kind: binary, code: 405},
		{name: "by PUT", method: "PUT", path: whoAmI, kind: binary, code: 405},
		{name: "preflight of another site", method: "OPTIONS", path: whoAmI, code: 405, header: []string{"Origin", "https://evil.example", "Access-Control-Request-Method", "POST", "Access-Control-Request-Headers", "x-grpc-web"}},
		{name: "text", method: "POST", path: whoAmI, kind: "application/grpc-web-text", code: 415},
		{name: "text+proto", method: "POST", path: whoAmI, kind: "application/grpc-web-text+proto", code: 415},
		{name: "native", method: "POST", path: whoAmI, kind: "application/grpc", code: 415},
		{name: "a form, which needs no preflight", method: "POST", path: whoAmI, kind: "text/plain", code: 415},
		{name: "json", method: "POST", path: whoAmI, kind: "application/grpc-web+json", code: 415},
		{name: "nothing", method: "POST", path: whoAmI, code: 415},
		{name: "evil origin", method: "POST", path: whoAmI, kind: binary, code: 403, header: []string{"Origin", "https://evil.example"}},
		{name: "null origin", method: "POST", path: whoAmI, kind: binary, code: 403, header: []string{"Origin", "null"}},
		{name: "cross-site by the browser's word", method: "POST", path: whoAmI, kind: binary, code: 403, header: []string{"Sec-Fetch-Site", "cross-site"}},
		{name: "same-site is not same-origin", method: "POST", path: whoAmI, kind: binary, code: 403, header: []string{"Sec-Fetch-Site", "same-site"}},
		{name: "forwarded host does not count", method: "POST", path: whoAmI, kind: binary, code: 403, header: []string{"Origin", "https://evil.example", "X-Forwarded-Host", "evil.example"}},
		{name: "same origin", method: "POST", path: whoAmI, kind: binary, code: 200, header: []string{"Sec-Fetch-Site", "same-origin"}},
		{name: "no page at all", method: "POST", path: whoAmI, kind: binary, code: 200},
	} {
		got := h.ask(t, row.method, row.path, empty(), append([]string{"Content-Type", row.kind}, row.header...)...)
		body := all(t, got)
		if got.StatusCode != row.code {
			t.Errorf("%s: got %d, want %d", row.name, got.StatusCode, row.code)
		}
		if strings.Contains(body, "<!doctype") || got.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: got %v %q", row.name, got.Header, body)
		}
	}
}

func TestCall_trustedOrigin(t *testing.T) {
	h := newHouse(t, func(o *Options) { o.Origins = []string{"https://desk.example"} })
	got := h.ask(t, "OPTIONS", whoAmI, nil, "Origin", "https://desk.example", "Access-Control-Request-Method", "POST", "Access-Control-Request-Headers", "content-type,x-grpc-web")
	if got.StatusCode >= 300 || got.Header.Get("Access-Control-Allow-Origin") != "https://desk.example" {
		t.Errorf("got %d %v", got.StatusCode, got.Header)
	}
	got = h.ask(t, "OPTIONS", whoAmI, nil, "Origin", "https://desk.example", "Access-Control-Request-Method", "POST", "Access-Control-Request-Headers", "x-evil,x-grpc-web")
	if got.Header.Get("Access-Control-Allow-Headers") != "" {
		t.Errorf("any header is let in: %v", got.Header)
	}
	if got := h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Origin", "https://desk.example"); got.StatusCode != 200 {
		t.Errorf("got %d", got.StatusCode)
	}
	if _, err := New(Options{RPC: h.rpc, Origins: []string{"desk.example/path"}}); err == nil {
		t.Error("an origin with a path was taken")
	}
}

// With websockets on, one client can end the process; see design.md#7.
func TestWebsocketUpgrade_isRefused(t *testing.T) {
	h := newHouse(t, nil)
	for _, path := range []string{whoAmI, watch, "/", "/livez"} {
		got := h.ask(t, "GET", path, nil, "Connection", "Upgrade", "Upgrade", "websocket", "Sec-WebSocket-Version", "13",
			"Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ==", "Sec-WebSocket-Protocol", "grpc-websockets", "Origin", "http://"+h.address)
		if got.StatusCode == http.StatusSwitchingProtocols || strings.HasPrefix(path, "/evenpeel") && got.StatusCode != 405 {
			t.Errorf("%s: got %d", path, got.StatusCode)
		}
	}
}

func TestCall_sizes(t *testing.T) {
	h := newHouse(t, nil)
	got := h.call(t, signIn, &accessv1.SignInRequest{Email: "a@example.com", Password: strings.Repeat("x", 2<<20)})
	if got.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("got %d", got.StatusCode)
	}
	// Within the door's limit, above the method's own.
	if status, _ := statusOf(t, h.call(t, signIn, &accessv1.SignInRequest{Email: "a@example.com", Password: strings.Repeat("x", 1<<20)})); status != "8" {
		t.Errorf("got status %s", status)
	}
	// Without a length the body is cut while it is read; it must not be answered.
	body := io.MultiReader(bytes.NewReader(framed(t, &accessv1.SignInRequest{Password: strings.Repeat("x", 2<<20)})))
	r, err := http.NewRequest("POST", "http://"+h.address+signIn, body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/grpc-web+proto")
	if answered, err := h.client.Do(r); err == nil {
		defer answered.Body.Close()
		if status, _ := statusOf(t, answered); status == "0" {
			t.Error("a body without length and end was taken")
		}
	}
	// A frame that says 4 GiB.
	got = h.ask(t, "POST", signIn, bytes.NewReader([]byte{0, 0xff, 0xff, 0xff, 0xff, 1}), "Content-Type", "application/grpc-web+proto")
	if status, _ := statusOf(t, got); status != "8" {
		t.Errorf("got status %s", status)
	}
}

// Read while it is still being written: the server answers and hangs up before it has seen all of it.
func TestHeader_of900KB(t *testing.T) {
	h := newHouse(t, nil)
	conn, err := net.Dial("tcp", h.address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	written := make(chan struct{})
	go func() {
		defer close(written)
		_, _ = fmt.Fprintf(conn, "GET / HTTP/1.1\r\nHost: x\r\nX-Big: %s\r\n\r\n", strings.Repeat("x", 900<<10)) // cut off on the way
	}()
	got, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil || got.StatusCode != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("got %v, %v", got, err)
	}
	conn.Close()
	<-written
}

func TestSlowHeader_isClosed(t *testing.T) {
	h := newHouse(t, nil)
	if h.web.ReadHeaderTimeout != 5*time.Second || h.web.WriteTimeout != 0 || h.web.IdleTimeout == 0 || h.web.MaxHeaderBytes != 16<<10 {
		t.Errorf("got %+v", h.web)
	}
	// The same server with a shorter time, so that the test need not wait.
	s := NewHTTPServer(h.web.Handler, nil)
	s.ReadHeaderTimeout = 20 * time.Millisecond
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	go func() { _ = Serve(s, l, "", "") }()
	conn, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(conn, "GET / HTTP/1.1\r\nHost: x\r\nX-Slow: "); err != nil {
		t.Fatal(err)
	}
	rest, err := io.ReadAll(conn)
	if err != nil || strings.Contains(string(rest), "200") {
		t.Errorf("got %q, %v", rest, err)
	}
}

func TestHeaders_onEverything(t *testing.T) {
	for _, secure := range []bool{false, true} {
		h := newHouse(t, func(o *Options) { o.Secure = secure })
		answers := map[string]*http.Response{
			"page": h.ask(t, "GET", "/", nil), "screen": h.ask(t, "GET", "/recipes/a", nil), "file": h.ask(t, "GET", "/assets/main-ab12.js", nil),
			"missing": h.ask(t, "GET", "/assets/none.js", nil), "posted": h.ask(t, "POST", "/", nil), "call": h.call(t, whoAmI, &accessv1.WhoAmIRequest{}),
			"unknown call": h.call(t, "/evenpeel.x", &accessv1.WhoAmIRequest{}), "evil": h.call(t, whoAmI, &accessv1.WhoAmIRequest{}, "Origin", "https://evil.example"),
			"live": h.ask(t, "GET", "/livez", nil), "metrics": h.ask(t, "GET", "/metrics", nil),
		}
		for name, got := range answers {
			for header, want := range map[string]string{
				"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
				"X-Content-Type-Options":  "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
				"Cross-Origin-Resource-Policy": "same-origin", "X-Frame-Options": "DENY",
			} {
				if values := got.Header.Values(header); len(values) != 1 || values[0] != want {
					t.Errorf("%s: %s is %q", name, header, values)
				}
			}
			if got.Header.Get("Permissions-Policy") == "" || (got.Header.Get("Strict-Transport-Security") != "") != secure {
				t.Errorf("%s: got %v", name, got.Header)
			}
		}
	}
}

func TestStop_letsRunningCallsFinish(t *testing.T) {
	h := newHouse(t, nil)
	token := h.people.signIn(time.Now())
	stream := h.call(t, watch, &recipesv1.WatchReleasesRequest{}, "Cookie", "evenpeel_session="+token)
	first := make([]byte, 7)
	if _, err := io.ReadFull(stream.Body, first); err != nil || first[6] != 3 {
		t.Fatalf("the first message must come at once: %v, %v", first, err)
	}
	<-h.catalog.begun
	down := false
	stopped := make(chan struct{})
	go func() {
		defer close(stopped)
		Stop{Log: zap.NewNop(), Down: func() { down = true; h.health.Down() }, Streams: h.stop, Web: h.web, RPC: h.rpc, Grace: 20 * time.Second}.Run(context.Background())
	}()
	// The stream ends in order: with its status, not with a cut connection.
	if status, body := statusOf(t, stream); status != "14" {
		t.Errorf("got status %s, %q", status, body)
	}
	<-stopped
	if err := <-h.served; err != nil || !down || h.health.Serving() {
		t.Errorf("got %v", err)
	}
	if _, err := h.client.Get("http://" + h.address + "/livez"); err == nil {
		t.Error("the server still answers")
	}
}

func TestStop_cutsWhatDoesNotEnd(t *testing.T) {
	h := newHouse(t, nil)
	token := h.people.signIn(time.Now())
	stream := h.call(t, watch, &recipesv1.WatchReleasesRequest{}, "Cookie", "evenpeel_session="+token)
	<-h.catalog.begun
	Stop{Log: zap.NewNop(), Down: h.health.Down, Streams: func() {}, Web: h.web, RPC: h.rpc, Grace: 20 * time.Millisecond}.Run(context.Background())
	if _, err := io.ReadAll(stream.Body); err == nil {
		t.Error("a call that was cut looks whole")
	}
}

func TestProbes(t *testing.T) {
	var store, cache error
	clock := time.Unix(0, 0)
	state := func(r *readiness) readyState { clock = clock.Add(askEvery); return r.state(context.Background()) }
	memory := false
	r := &readiness{log: zap.NewNop(), now: func() time.Time { return clock }, checks: []Check{
		{Name: "store", Needed: true, GoesOn: func() bool { return memory }, Ask: func(context.Context) error { return store }},
		{Name: "cache", Ask: func(context.Context) error { return cache }},
	}}
	if got := state(r); got.State != "ready" || len(got.Checks) != 2 {
		t.Errorf("got %+v", got)
	}
	cache = errors.New("secret address refused")
	if got := r.state(context.Background()); got.State != "ready" {
		t.Errorf("asked twice in one second: %+v", got)
	}
	got := state(r)
	if text, _ := json.Marshal(got); got.State != "degraded" || strings.Contains(string(text), "secret") {
		t.Errorf("got %s", text)
	}
	store = errors.New("gone")
	if got := state(r); got.State != "unready" || got.Checks[0].State != "down" {
		t.Errorf("got %+v", got)
	}
	memory = true // what is needed is away, and there is enough to go on without it
	if got := state(r); got.State != "degraded" || got.Checks[0].State != "down" {
		t.Errorf("got %+v", got)
	}

	registry := prometheus.NewRegistry()
	registry.MustRegister(prometheus.NewCounter(prometheus.CounterOpts{Name: "peels_total", Help: "x"}))
	h := newHouse(t, func(o *Options) {
		o.Metrics = registry
		o.Checks = []Check{{Name: "store", Needed: true, Ask: func(context.Context) error { return errors.New("gone") }}}
	})
	for path, want := range map[string]string{
		"/livez": `{"state":"live"}`, "/version": `{"version":"1.2.3"}`, "/readyz": `{"state":"unready","checks":[{"name":"store","state":"down"}]}`, "/metrics": "peels_total 0",
	} {
		got := h.ask(t, "GET", path, nil)
		if body := all(t, got); !strings.Contains(body, want) || (got.StatusCode == 503) != (path == "/readyz") {
			t.Errorf("%s: got %d %q", path, got.StatusCode, body)
		}
		if got := h.ask(t, "POST", path, nil); got.StatusCode != 405 {
			t.Errorf("%s by POST: got %d", path, got.StatusCode)
		}
	}
	off := newHouse(t, nil)
	if got := off.ask(t, "GET", "/metrics", nil); got.StatusCode != 404 {
		t.Errorf("metrics are off, got %d", got.StatusCode)
	}
}

func TestDoor_survivesItsOwnPanic(t *testing.T) {
	h := newHouse(t, func(o *Options) {
		o.Checks = []Check{{Name: "store", Ask: func(context.Context) error { panic("secret") }}}
	})
	got := h.ask(t, "GET", "/readyz", nil)
	if body := all(t, got); got.StatusCode != 500 || strings.Contains(body, "secret") {
		t.Errorf("got %d %q", got.StatusCode, body)
	}
	if got := h.ask(t, "GET", "/livez", nil); got.StatusCode != 200 {
		t.Errorf("got %d", got.StatusCode)
	}
}

// A path that is not one must not be read as one, on the wire itself.
func TestCall_pathWithoutSlash(t *testing.T) {
	h := newHouse(t, nil)
	for _, target := range []string{whoAmI[1:], "*", "http:" + whoAmI} {
		conn, err := net.Dial("tcp", h.address)
		if err != nil {
			t.Fatal(err)
		}
		if err := conn.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nContent-Type: application/grpc-web+proto\r\nContent-Length: 5\r\nConnection: close\r\n\r\n\x00\x00\x00\x00\x00", target)
		got, err := http.ReadResponse(bufio.NewReader(conn), nil)
		if err != nil {
			t.Fatal(err)
		}
		if got.StatusCode < 400 && target[0] != 'h' || got.Header.Get("Grpc-Status") == "0" {
			t.Errorf("%q: got %d %v", target, got.StatusCode, got.Header)
		}
		conn.Close()
	}
}

// What is left of a body that was given up must never be read as the next request. It would be, were the body put
// into net/http's own request: net/http looks there for whether it was read to its end.
func TestCall_theRestOfABodyIsNoRequest(t *testing.T) {
	h := newHouse(t, nil)
	inner := strings.Repeat("GET /version HTTP/1.1\r\nHost: x\r\n\r\n", 60_000) // 2 MB
	for name, frame := range map[string]string{"frame says 4 GiB": "\x00\xff\xff\xff\xff", "frame says 1.1 MB": "\x00\x00\x11\x00\x00", "frame says 2 MB": "\x00\x00\x1f\x00\x00"} {
		for _, chunked := range []bool{true, false} {
			conn, err := net.Dial("tcp", h.address)
			if err != nil {
				t.Fatal(err)
			}
			if err := conn.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
				t.Fatal(err)
			}
			body := frame + inner
			length := fmt.Sprintf("Content-Length: %d\r\n\r\n%s", len(body), body)
			if chunked {
				length = fmt.Sprintf("Transfer-Encoding: chunked\r\n\r\n%x\r\n%s\r\n0\r\n\r\n", len(body), body)
			}
			written := make(chan struct{})
			go func() {
				defer close(written)
				_, _ = io.WriteString(conn, "POST "+signIn+" HTTP/1.1\r\nHost: x\r\nContent-Type: application/grpc-web+proto\r\n"+length) // cut off on the way
			}()
			answers, _ := io.ReadAll(conn) // the server hangs up, more or less politely
			if n := strings.Count(string(answers), "HTTP/1.1 "); n != 1 || strings.Contains(string(answers), "1.2.3") {
				t.Errorf("%s, chunked %t: got %d answers to one request", name, chunked, n)
			}
			conn.Close()
			<-written
		}
	}
}
