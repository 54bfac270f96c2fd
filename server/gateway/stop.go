package gateway

import (
	"context"
	"net/http"
	"time"

	"go.uber.org/zap"
	"google.golang.org/grpc"
)

// Stop ends both servers in the only order that lets running calls finish: grpc's GracefulStop cuts calls of the
// browser's way at once, so the HTTP server must be empty before it.
type Stop struct {
	Log     *zap.Logger
	Down    func()        // says NOT_SERVING from now on
	Drain   time.Duration // how long to go on serving after that, until nobody is sent here any more
	Streams func()        // lets open streams end
	Web     *http.Server
	RPC     *grpc.Server
	Grace   time.Duration // for running calls, of each server
}

// Run stops. It takes at most Drain and twice Grace; where ctx ends, the rest goes at once.
func (s Stop) Run(ctx context.Context) {
	s.Log.Info("stopping", zap.Duration("drain", s.Drain), zap.Duration("grace", s.Grace))
	s.Down()
	drained := time.NewTimer(s.Drain)
	defer drained.Stop()
	select {
	case <-drained.C:
	case <-ctx.Done():
	}
	s.Streams()
	web, end := context.WithTimeout(ctx, s.Grace)
	defer end()
	if err := s.Web.Shutdown(web); err != nil {
		s.Log.Warn("calls of pages were cut", zap.Error(err))
		if err := s.Web.Close(); err != nil {
			s.Log.Warn("closing the web listener", zap.Error(err))
		}
	}
	native, end := context.WithTimeout(ctx, s.Grace)
	defer end()
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.RPC.GracefulStop()
	}()
	select {
	case <-done:
	case <-native.Done():
		s.Log.Warn("native calls were cut")
		s.RPC.Stop()
		<-done
	}
	s.Log.Info("stopped")
}
