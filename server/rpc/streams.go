package rpc

import (
	"context"
	"sync"
	"time"

	"go.uber.org/zap"
	"google.golang.org/grpc"

	"evenpeel/recipes/fault"
	"evenpeel/server/access"
)

// streams looks after all open streams together: ten thousand of them need one timer and one look at their sessions.
type streams struct {
	mu      sync.Mutex
	open    map[*openStream]struct{}
	looking bool
}

// openStream is one of them.
type openStream struct {
	session access.SessionHash // zero where nobody is signed in
	end     context.CancelCauseFunc
}

// begin takes a stream in, and starts looking where it is the first.
func (s *streams) begin(f *frame, one *openStream) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.open == nil {
		s.open = map[*openStream]struct{}{}
	}
	s.open[one] = struct{}{}
	if !s.looking {
		s.looking = true
		go s.lookAfter(f)
	}
}

func (s *streams) over(one *openStream) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.open, one)
}

// lookAfter ends streams whose session ended, and all where the server stops. It returns when none is open: then the
// next one starts it anew.
func (s *streams) lookAfter(f *frame) {
	tick := time.NewTicker(f.Limits.Session)
	defer tick.Stop()
	for {
		select {
		case <-f.Stopping.Done():
		case <-tick.C:
		}
		s.mu.Lock()
		if len(s.open) == 0 {
			s.open, s.looking = nil, false
			s.mu.Unlock()
			return
		}
		bySession := make(map[access.SessionHash][]*openStream, len(s.open))
		for one := range s.open {
			bySession[one.session] = append(bySession[one.session], one)
		}
		if f.Stopping.Err() != nil {
			s.open, s.looking = nil, false
		}
		s.mu.Unlock()
		if f.Stopping.Err() != nil {
			endAll(bySession, fault.New(fault.Unavailable, room, ServerStopping, serverIsStopping))
			return
		}
		delete(bySession, access.SessionHash{})
		hashes := make([]access.SessionHash, 0, len(bySession))
		for hash := range bySession {
			hashes = append(hashes, hash)
		}
		err := recovered(func() error {
			ctx, end := context.WithTimeout(context.Background(), f.Limits.Deadline)
			defer end()
			ended, err := f.Guard.Ended(ctx, hashes)
			for hash, why := range ended {
				endAll(map[access.SessionHash][]*openStream{hash: bySession[hash]}, why)
			}
			return err
		})
		if err != nil { // a store that does not answer just now is no reason to end a stream
			f.Log.Warn("the sessions of open streams can not be read", zap.String("room", room), zap.Error(err))
		}
	}
}

func endAll(bySession map[access.SessionHash][]*openStream, why error) {
	for _, list := range bySession {
		for _, one := range list {
			one.end(why)
		}
	}
}

// signedInStream finds out who asks, and ends the stream within seconds of a sign-out, or when the server stops.
func (f *frame) signedInStream(srv any, ss grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) error {
	ctx, err := f.signedIn(ss.Context(), info.FullMethod)
	if err != nil {
		return err
	}
	ctx, end := context.WithCancelCause(ctx)
	defer end(nil)
	one := &openStream{end: end}
	if session, known := access.SessionFrom(ctx); known {
		one.session = session.Hash
	}
	f.streams.begin(f, one)
	defer f.streams.over(one)
	err = next(srv, &stream{ServerStream: ss, ctx: ctx})
	if cause := context.Cause(ctx); cause != nil {
		if _, ours := fault.As(cause); ours {
			return cause
		}
	}
	return err
}
