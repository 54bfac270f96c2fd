package rpc

import (
	"sync/atomic"

	"google.golang.org/grpc"
	"google.golang.org/grpc/health"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"
)

// Health says by grpc.health.v1 whether the server takes calls: for "" and for each service.
type Health struct {
	server *health.Server
	down   atomic.Bool
}

// NewHealth makes one that serves.
func NewHealth() *Health { return &Health{server: health.NewServer()} }

func (h *Health) register(s *grpc.Server) {
	for name := range s.GetServiceInfo() {
		h.server.SetServingStatus(name, healthv1.HealthCheckResponse_SERVING)
	}
	healthv1.RegisterHealthServer(s, h.server)
}

// Down says NOT_SERVING for everything from now on, so that nobody is sent here while the server stops.
func (h *Health) Down() {
	h.down.Store(true)
	h.server.Shutdown()
}

// Serving reports whether calls are still wanted.
func (h *Health) Serving() bool { return !h.down.Load() }
