package load

import (
	"context"
	"errors"
	"net"
	"net/http"
	"sync"

	"github.com/improbable-eng/grpc-web/go/grpcweb"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/wrapperspb"
)

// The methods of the bare service.
const (
	bareGet   = "/bare.Bare/Get"
	bareWatch = "/bare.Bare/Watch"
	bareTell  = "/bare.Bare/Tell"
)

// largestBare bounds what may be asked of it.
const largestBare = 4 << 20

// bareService answers with as many bytes as it is asked for and tells watchers a number, and does nothing else: no
// rights, no log, no count, no store.
func bareService() *grpc.Server {
	var answers sync.Map // size → message
	var watchers bareWatchers
	s := grpc.NewServer()
	s.RegisterService(&grpc.ServiceDesc{ServiceName: "bare.Bare", HandlerType: (*any)(nil), Methods: []grpc.MethodDesc{{MethodName: "Get",
		Handler: func(_ any, _ context.Context, decode func(any) error, _ grpc.UnaryServerInterceptor) (any, error) {
			size := new(wrapperspb.Int32Value)
			if err := decode(size); err != nil {
				return nil, err
			}
			answer, known := answers.Load(size.GetValue())
			if !known {
				answer, _ = answers.LoadOrStore(size.GetValue(), wrapperspb.Bytes(make([]byte, max(0, min(size.GetValue(), largestBare)))))
			}
			return answer, nil
		}}, {MethodName: "Tell",
		Handler: func(_ any, _ context.Context, decode func(any) error, _ grpc.UnaryServerInterceptor) (any, error) {
			number := new(wrapperspb.Int32Value)
			if err := decode(number); err != nil {
				return nil, err
			}
			watchers.tell(number)
			return number, nil
		}}},
		Streams: []grpc.StreamDesc{{StreamName: "Watch", ServerStreams: true, Handler: func(_ any, s grpc.ServerStream) error { return watchers.watch(s) }}}}, nil)
	return s
}

// bareWatchers are streams that sleep until somebody tells them a number: the plain way, a goroutine and a channel each.
type bareWatchers struct {
	mu    sync.Mutex
	bells map[chan struct{}]struct{}
	last  *bareNews
}

// bareNews is a number, encoded and framed once for all.
type bareNews struct {
	number   *wrapperspb.Int32Value
	once     sync.Once
	prepared grpc.PreparedMsg
	err      error
}

func (n *bareNews) send(s grpc.ServerStream) error {
	n.once.Do(func() { n.err = n.prepared.Encode(s, n.number) })
	if n.err != nil {
		return n.err
	}
	return s.SendMsg(&n.prepared)
}

func (w *bareWatchers) tell(number *wrapperspb.Int32Value) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.last = &bareNews{number: number}
	for bell := range w.bells {
		select {
		case bell <- struct{}{}:
		default:
		}
	}
}

func (w *bareWatchers) watch(s grpc.ServerStream) error {
	if err := s.SendMsg(wrapperspb.Int32(0)); err != nil {
		return err
	}
	bell := make(chan struct{}, 1)
	w.mu.Lock()
	if w.bells == nil {
		w.bells = map[chan struct{}]struct{}{}
	}
	w.bells[bell] = struct{}{}
	w.mu.Unlock()
	for {
		select {
		case <-s.Context().Done():
			w.mu.Lock()
			delete(w.bells, bell)
			w.mu.Unlock()
			return s.Context().Err()
		case <-bell:
		}
		w.mu.Lock()
		news := w.last
		w.mu.Unlock()
		if err := news.send(s); err != nil {
			return err
		}
	}
}

// startBare starts it in a process of its own.
func (r *run) startBare(ctx context.Context) (p *process, address, web string, err error) {
	if address, err = freeAddress(); err != nil {
		return nil, "", "", err
	}
	if web, err = freeAddress(); err != nil {
		return nil, "", "", err
	}
	if p, err = r.start(ctx, "bare", r.self, "load", "bare", "--address", address, "--web", web); err != nil {
		return nil, "", "", err
	}
	return p, address, web, r.listening(ctx, p, web)
}

// serveBare serves natively and through the same wrapper for browsers as ours, until ctx ends.
func serveBare(ctx context.Context, address, web string) error {
	native, err := net.Listen("tcp", address)
	if err != nil {
		return err
	}
	browser, err := net.Listen("tcp", web)
	if err != nil {
		return errors.Join(err, native.Close())
	}
	s := bareService()
	door := &http.Server{Handler: grpcweb.WrapServer(s)}
	go func() {
		<-ctx.Done()
		s.Stop()
		_ = door.Close()
	}()
	go func() { _ = door.Serve(browser) }() // ends with the process
	return s.Serve(native)
}
