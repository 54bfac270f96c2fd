package rpc

import (
	"sync"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc/codes"
)

// counts are the metrics of calls. Only methods that are registered reach the frame, so labels stay few.
type counts struct {
	calls *prometheus.CounterVec
	took  *prometheus.HistogramVec
	of    sync.Map // outcome → *outcomes; looking them up by their labels costs more than counting
}

type outcome struct {
	method string
	code   codes.Code
}

type outcomes struct {
	calls prometheus.Counter
	took  prometheus.Observer
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
	key := outcome{method, code}
	known, ok := c.of.Load(key)
	if !ok {
		known, _ = c.of.LoadOrStore(key, &outcomes{c.calls.WithLabelValues(method, code.String()), c.took.WithLabelValues(method)})
	}
	o := known.(*outcomes)
	o.calls.Inc()
	o.took.Observe(seconds)
}
