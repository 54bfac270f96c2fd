package gateway

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
	"go.uber.org/zap"
)

// Check is one part that the server leans on.
type Check struct {
	Name   string
	Needed bool // whether the server is of no use without it; a cache is not needed
	// GoesOn says of what is needed whether the server has enough in memory to be of use without it for a while; nil is no.
	GoesOn func() bool
	Ask    func(context.Context) error
}

const (
	longestAsk = 2 * time.Second
	askEvery   = time.Second // probes of strangers must not become work for the store
)

// newProbes are the paths for whoever runs the server. They tell states, never reasons: those stand in the log.
func newProbes(o Options) map[string]http.Handler {
	ready := &readiness{checks: o.Checks, log: o.Log, now: time.Now}
	probes := map[string]http.Handler{
		"/livez": reads(func(w http.ResponseWriter, r *http.Request) {
			tell(w, r, http.StatusOK, map[string]string{"state": "live"})
		}),
		"/readyz": reads(ready.ServeHTTP),
		"/version": reads(func(w http.ResponseWriter, r *http.Request) {
			tell(w, r, http.StatusOK, map[string]string{"version": o.Version})
		}),
		"/metrics": reads(func(w http.ResponseWriter, _ *http.Request) { refuse(w, http.StatusNotFound, "Metrics are off.") }),
	}
	if o.Metrics != nil {
		probes["/metrics"] = reads(promhttp.HandlerFor(o.Metrics, promhttp.HandlerOpts{MaxRequestsInFlight: 4}).ServeHTTP)
	}
	return probes
}

func reads(do http.HandlerFunc) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			refuse(w, http.StatusMethodNotAllowed, "This is read by GET.")
			return
		}
		w.Header().Set("Cache-Control", "no-store")
		do(w, r)
	})
}

func tell(w http.ResponseWriter, r *http.Request, code int, what any) {
	content, err := json.Marshal(what)
	if err != nil {
		refuse(w, http.StatusInternalServerError, "Something went wrong here.")
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	if r.Method != http.MethodHead {
		_, _ = w.Write(append(content, '\n'))
	}
}

type checkState struct {
	Name  string `json:"name"`
	State string `json:"state"`
}

type readyState struct {
	State  string       `json:"state"` // "ready", "degraded" where something not needed is away, "unready"
	Checks []checkState `json:"checks"`
}

// readiness asks the checks, at most once a second for all who ask.
type readiness struct {
	checks []Check
	log    *zap.Logger
	now    func() time.Time

	mu    sync.Mutex
	asked time.Time
	last  readyState
}

func (s *readiness) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	state := s.state(r.Context())
	code := http.StatusOK
	if state.State == "unready" {
		code = http.StatusServiceUnavailable
	}
	tell(w, r, code, state)
}

func (s *readiness) state(ctx context.Context) readyState {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.asked.IsZero() && s.now().Sub(s.asked) < askEvery {
		return s.last
	}
	// The answer is for everybody who asks in this second, so the one who happened to ask may not cancel it.
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), longestAsk)
	defer stop()
	state := readyState{State: "ready", Checks: []checkState{}}
	for _, check := range s.checks {
		shown := "ok"
		if err := check.Ask(ctx); err != nil {
			shown = "down"
			needed := check.Needed && (check.GoesOn == nil || !check.GoesOn())
			s.log.Warn("not ready", zap.String("check", check.Name), zap.Bool("needed", needed), zap.Error(err))
			switch {
			case needed:
				state.State = "unready"
			case state.State == "ready":
				state.State = "degraded"
			}
		}
		state.Checks = append(state.Checks, checkState{check.Name, shown})
	}
	s.asked, s.last = s.now(), state
	return state
}
