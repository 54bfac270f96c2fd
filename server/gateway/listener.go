package gateway

import (
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"time"

	"go.uber.org/zap"
)

// NewHTTPServer makes the server around the handler. It has no WriteTimeout, which would cut streams; the handler
// sets deadlines for each request.
func NewHTTPServer(handler http.Handler, log *zap.Logger) *http.Server {
	protocols := new(http.Protocols)
	protocols.SetHTTP1(true)
	protocols.SetHTTP2(true) // by TLS only
	s := &http.Server{
		Handler:           handler,
		MaxHeaderBytes:    16 << 10,
		ReadHeaderTimeout: 5 * time.Second,
		IdleTimeout:       2 * time.Minute,
		Protocols:         protocols,
		HTTP2:             &http.HTTP2Config{MaxConcurrentStreams: 64},
		TLSConfig:         &tls.Config{MinVersion: tls.VersionTLS12},
	}
	if log != nil {
		s.ErrorLog = zap.NewStdLog(log.Named("http"))
	}
	return s
}

// Serve serves until the server is shut down: by TLS where a certificate and its key are named, else in the clear.
func Serve(s *http.Server, l net.Listener, certFile, keyFile string) error {
	var err error
	if certFile != "" {
		err = s.ServeTLS(l, certFile, keyFile)
	} else {
		err = s.Serve(l)
	}
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}
