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

// bareGet is the method of the bare service.
const bareGet = "/bare.Bare/Get"

// largestBare bounds what may be asked of it.
const largestBare = 4 << 20

// bareService answers with as many bytes as it is asked for, and does nothing else: no rights, no log, no count.
func bareService() *grpc.Server {
	var answers sync.Map // size → message
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
		}}}}, nil)
	return s
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
