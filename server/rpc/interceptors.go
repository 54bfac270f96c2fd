package rpc

import (
	"context"
	"fmt"
	"io"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"buf.build/go/protovalidate"
	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

// frame is what stands around every call.
type frame struct {
	Options
	validator protovalidate.Validator
	counts    *counts

	streams streams
	mu      sync.Mutex
	open    map[string]int // open streams by person
}

type callKey struct{}

// call is one call while it runs; the frame reads what the steps inside it found out.
type call struct {
	reference string
	method    string
	begun     time.Time
	person    access.Person
	raw       *Raw
}

func newFrame(o Options) *frame {
	validator, err := newValidator()
	if err != nil {
		panic(fmt.Sprintf("rpc: rules of validation do not compile: %v", err))
	}
	return &frame{Options: o, validator: validator, counts: newCounts(o.Registry), open: map[string]int{}}
}

// Reference is the number of the request, which stands in the log and which a person can read out; "" outside a call.
func Reference(ctx context.Context) string {
	if c, ok := ctx.Value(callKey{}).(*call); ok {
		return c.reference
	}
	return ""
}

// run is the outermost step: request number, recovery from a panic, one log line, and the status that goes out.
func (f *frame) run(ctx context.Context, method string, do func(context.Context, *call) error) error {
	c := &call{reference: f.reference(), method: method, begun: f.Now()}
	// Headers can not be set where the transport is gone already; the call will end by itself then.
	_ = grpc.SetHeader(ctx, metadata.MD{"x-request-id": {c.reference}})
	err := recovered(func() error { return do(context.WithValue(ctx, callKey{}, c), c) })
	s := statusOf(err, c.reference, roomOf(method))
	f.note(c, err, s.Code())
	return s.Err()
}

func (f *frame) reference() string {
	raw := make([]byte, 12) // four random bytes, then their eight digits
	if _, err := io.ReadFull(f.Rand, raw[:4]); err != nil {
		return "00000000" // a call without its own number is better than no call
	}
	const digits = "0123456789ABCDEF"
	for i, b := range raw[:4] {
		raw[4+2*i], raw[5+2*i] = digits[b>>4], digits[b&15]
	}
	return string(raw[4:])
}

func recovered(do func() error) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v\n%s", r, debug.Stack())
		}
	}()
	return do()
}

// note writes the one line of a call. What a person typed stays out of it: of faults that are theirs only reason and
// paths are kept, of ours everything.
func (f *frame) note(c *call, err error, code codes.Code) {
	took := f.Now().Sub(c.begun).Seconds()
	f.counts.count(c.method, code, took)
	level := zapcore.InfoLevel
	switch code {
	case codes.OK:
		if strings.HasPrefix(c.method, "/grpc.health.") {
			level = zapcore.DebugLevel // probes would drown the rest
		}
	case codes.Internal, codes.Unknown, codes.DataLoss:
		level = zapcore.ErrorLevel
	case codes.Unavailable, codes.DeadlineExceeded:
		level = zapcore.WarnLevel
	}
	line := f.Log.Check(level, "call")
	if line == nil { // of very many alike in one second the log takes only some
		return
	}
	fields := []zap.Field{
		zap.String("reference", c.reference), zap.String("room", roomOf(c.method)), zap.String("method", c.method),
		zap.String("code", code.String()), zap.Float64("duration_seconds", took),
	}
	if c.person.Name != "" {
		fields = append(fields, zap.String("person", c.person.Name))
	}
	if refused, ok := fault.As(err); ok && level == zapcore.InfoLevel {
		paths := make([]string, len(refused.Fields))
		for i, field := range refused.Fields {
			paths[i] = field.Path
		}
		fields = append(fields, zap.String("reason", string(refused.Reason)), zap.Strings("fields", paths))
	} else if level >= zapcore.WarnLevel {
		fields = append(fields, zap.Error(err))
	}
	line.Write(fields...)
}

// unary is every step around a call that is no stream, in order: who asks, may they, is it right. It is one function,
// since each interceptor of its own costs a closure and a deeper stack on every call.
func (f *frame) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (resp any, err error) {
	err = f.run(ctx, info.FullMethod, func(ctx context.Context, c *call) error {
		if at, ok := ctx.Deadline(); ok && time.Until(at) < leastTime {
			return fmt.Errorf("less than %s left: %w", leastTime, context.DeadlineExceeded)
		}
		ctx, stop := context.WithTimeout(ctx, f.Limits.Deadline)
		defer stop()
		ctx, err := f.signedIn(ctx, info.FullMethod)
		if err != nil {
			return err
		}
		if err := f.allowed(ctx, info.FullMethod, req); err != nil {
			return err
		}
		if err := f.valid(req); err != nil {
			return err
		}
		if resp, err = next(ctx, req); err == nil && c.raw != nil {
			resp = c.raw
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	return resp, nil
}

// signedIn finds out who asks, where a token is there. A call without one goes on as nobody and is refused by the
// table of rights, unless its method needs nobody.
func (f *frame) signedIn(ctx context.Context, method string) (context.Context, error) {
	if access.NeedsNobody(method) {
		return ctx, nil
	}
	token := access.TokenFromBearer(metadata.ValueFromIncomingContext(ctx, "authorization"))
	if token == "" {
		token = access.TokenFromCookies(metadata.ValueFromIncomingContext(ctx, "cookie"), f.Secure)
	}
	if token == "" {
		return ctx, nil
	}
	p, s, err := f.Guard.Recognise(ctx, token, method)
	if err != nil {
		return nil, err
	}
	if c, ok := ctx.Value(callKey{}).(*call); ok {
		c.person = p
	}
	return access.WithPerson(ctx, p, s), nil
}

// allowed asks the table of rights, then looks at the size: who may not call learns nothing of limits.
func (f *frame) allowed(ctx context.Context, method string, req any) error {
	p, _ := access.PersonFrom(ctx)
	m, _ := req.(proto.Message)
	if err := access.Allowed(p, method, m); err != nil {
		return err
	}
	return f.Limits.sizeAllowed(method, req)
}

// stream is a stream with its own context and a check of every message that comes in.
type stream struct {
	grpc.ServerStream
	ctx   context.Context
	check func(any) error
}

func (s *stream) Context() context.Context { return s.ctx }

func (s *stream) RecvMsg(m any) error {
	if err := s.ServerStream.RecvMsg(m); err != nil {
		return err
	}
	if s.check == nil {
		return nil
	}
	return s.check(m)
}

func (f *frame) frameStream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) error {
	return f.run(ss.Context(), info.FullMethod, func(ctx context.Context, _ *call) error {
		return next(srv, &stream{ServerStream: ss, ctx: ctx})
	})
}

func (f *frame) allowedStream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) error {
	ctx := ss.Context()
	p, _ := access.PersonFrom(ctx)
	// The role is known before the first message: nobody may hold a stream open by sending none.
	if err := access.MayCall(p, info.FullMethod); err != nil {
		return err
	}
	if !f.enter(p.Name) {
		return fault.New(fault.NotReady, room, TooManyStreams,
			"You have too many pages open at once. Close some; at most %d can wait for news.", f.Limits.OfPerson)
	}
	defer f.leave(p.Name)
	return next(srv, &stream{ServerStream: ss, ctx: ctx, check: func(m any) error {
		if err := f.allowed(ctx, info.FullMethod, m); err != nil {
			return err
		}
		return f.valid(m)
	}})
}

func (f *frame) enter(person string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.open[person] >= f.Limits.OfPerson {
		return false
	}
	f.open[person]++
	return true
}

func (f *frame) leave(person string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.open[person]--; f.open[person] <= 0 {
		delete(f.open, person)
	}
}
