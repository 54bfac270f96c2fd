package rpc

import (
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc/codes"
)

// counts are the metrics of calls. Only methods that are registered reach the frame, so labels stay few.
type counts struct {
	calls *prometheus.CounterVec
	took  *prometheus.HistogramVec
}

func newCounts(registry prometheus.Registerer) *counts {
	c := &counts{
		calls: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "rpc_calls_total", Help: "Calls by method and code.",
		}, []string{"method", "code"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "rpc_call_duration_seconds", Help: "Duration of calls by method; streams count with their whole life.",
			Buckets: []float64{.0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30},
		}, []string{"method"}),
	}
	if registry != nil {
		registry.MustRegister(c.calls, c.took)
	}
	return c
}

func (c *counts) count(method string, code codes.Code, seconds float64) {
	c.calls.WithLabelValues(method, code.String()).Inc()
	c.took.WithLabelValues(method).Observe(seconds)
}
