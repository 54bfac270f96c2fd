// Package rpc is the wire: it turns calls into acts of the rooms and faults into statuses. Everything that holds
// for every call stands here once: limits, request number, log line, deadline, session, rights, validation. What is
// lost at the border: the cause of a fault, which goes to the log; the caller gets words and a reference.
//
// Room: rpc
// Holds: NewServer, Options, the interceptors, the one mapping from faults to codes, the services' handlers
// May touch: recipes, recipes/fault, recipes/units, recipes/sealed, recipes/press, recipes/cut, recipes/layout, recipes/placement, recipes/prices, recipes/compliance, recipes/compliance/care, branches, branches/machines, branches/stock, branches/orders, branches/runs, branches/compare, server/access, server/patch, proto, buf.build, go.uber.org/zap, google.golang.org/grpc, google.golang.org/protobuf, github.com/prometheus/client_golang
// Never: sqlstore, rediscache, SQL, the words of a library in an answer
package rpc

import (
	"context"
	"crypto/rand"
	"io"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/zap"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/grpc/reflection"

	"evenpeel/server/access"
)

// Options are what the frame needs.
type Options struct {
	Log        *zap.Logger
	Guard      *access.Guard
	Secure     bool                             // whether browsers come by TLS: then only the __Host- cookie counts
	TLS        credentials.TransportCredentials // for the native listener; nil is plaintext
	Reflection bool                             // lets signed-in people list the services; off in production
	Registry   prometheus.Registerer            // nil counts nothing
	Health     *Health                          // nil makes one that nobody can turn off
	Stopping   context.Context                  // once done, open streams end; nil never is
	Limits     Limits                           // zero fields take the defaults
	Now        func() time.Time                 // nil is time.Now
	Rand       io.Reader                        // for request numbers; nil is crypto/rand.Reader
}

// NewServer makes a server, lets register add the services to it, and adds health. It panics where the rules of
// validation in the generated code do not compile, which a test keeps from happening.
func NewServer(o Options, register func(*grpc.Server)) *grpc.Server {
	o = o.filled()
	f := newFrame(o)
	l := o.Limits
	options := []grpc.ServerOption{
		grpc.MaxRecvMsgSize(largestRequest),
		grpc.MaxSendMsgSize(l.Send),
		grpc.MaxConcurrentStreams(l.Streams),
		grpc.MaxHeaderListSize(l.Header),
		grpc.ConnectionTimeout(l.Connect),
		// Static windows: growing them by measurement costs a ping for each small message.
		grpc.StaticStreamWindowSize(l.Window),
		grpc.StaticConnWindowSize(2 * l.Window),
		// A watching branch's connection is quiet nearly always: its buffers are what it costs.
		grpc.ReadBufferSize(8 << 10),
		grpc.SharedWriteBuffer(true),
		grpc.KeepaliveParams(keepalive.ServerParameters{
			Time: 30 * time.Second, Timeout: 10 * time.Second,
			MaxConnectionIdle: 15 * time.Minute, MaxConnectionAge: 30 * time.Minute, MaxConnectionAgeGrace: 30 * time.Second,
		}),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{MinTime: 20 * time.Second, PermitWithoutStream: true}),
		grpc.ForceServerCodecV2(newCodec()),
		grpc.NumStreamWorkers(streamWorkers),
		grpc.UnaryInterceptor(f.unary),
		grpc.ChainStreamInterceptor(f.frameStream, f.signedInStream, f.allowedStream),
	}
	if o.TLS != nil {
		options = append(options, grpc.Creds(o.TLS))
	}
	s := grpc.NewServer(options...)
	register(s)
	o.Health.register(s)
	if o.Reflection {
		reflection.RegisterV1(s)
	}
	return s
}

func (o Options) filled() Options {
	if o.Log == nil {
		o.Log = zap.NewNop()
	}
	if o.Health == nil {
		o.Health = NewHealth()
	}
	if o.Stopping == nil {
		o.Stopping = context.Background()
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	o.Limits = o.Limits.filled()
	return o
}
