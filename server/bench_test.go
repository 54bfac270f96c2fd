package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"net"
	"net/http"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/emptypb"
	"google.golang.org/protobuf/types/known/wrapperspb"

	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/server/demo"
)

// echoing is the reference: a plain service of one method that answers the same number of bytes, and does nothing else.
func echoing(b *testing.B, size int) *grpc.ClientConn {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		b.Fatal(err)
	}
	answer := wrapperspb.Bytes(make([]byte, size))
	s := grpc.NewServer()
	s.RegisterService(&grpc.ServiceDesc{ServiceName: "echo.Echo", HandlerType: (*any)(nil), Methods: []grpc.MethodDesc{{MethodName: "Say",
		Handler: func(_ any, _ context.Context, dec func(any) error, _ grpc.UnaryServerInterceptor) (any, error) {
			return answer, dec(new(emptypb.Empty))
		}}}}, nil)
	go s.Serve(l)
	b.Cleanup(s.Stop)
	conn, err := grpc.NewClient(l.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { conn.Close() })
	return conn
}

// BenchmarkPull pulls a branch's whole sheet, the same when nothing changed, and the plain echo of as many bytes, all
// in one run on one machine: read the ratios, not the times.
func BenchmarkPull(b *testing.B) {
	h := started(b, b.TempDir(), "--demo")
	bench := h.as(b, "operator.eu@evenpeel.example")
	catalog := recipesv1.NewCatalogServiceClient(h.conn)
	whole, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold})
	if err != nil {
		b.Fatal(err)
	}
	size := proto.Size(whole)
	for name, held := range map[string]int64{"whole": 0, "not-modified": whole.GetNewestRelease()} {
		b.Run(name, func(b *testing.B) {
			b.SetParallelism(16)
			b.RunParallel(func(pb *testing.PB) {
				for pb.Next() {
					if _, err := catalog.PullSheet(bench, &recipesv1.PullSheetRequest{Branch: demo.Cold, HeldRelease: held}); err != nil {
						b.Error(err)
						return
					}
				}
			})
			b.ReportMetric(float64(size), "sheet-bytes")
		})
	}
	echo := echoing(b, size)
	b.Run("echo-of-whole", func(b *testing.B) {
		b.SetParallelism(16)
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				if err := echo.Invoke(b.Context(), "/echo.Echo/Say", new(emptypb.Empty), new(wrapperspb.BytesValue)); err != nil {
					b.Error(err)
					return
				}
			}
		})
	})
	b.Run("grpc-web-whole", func(b *testing.B) {
		token := h.token(b, "operator.eu@evenpeel.example")
		body, err := proto.Marshal(&recipesv1.PullSheetRequest{Branch: demo.Cold})
		if err != nil {
			b.Fatal(err)
		}
		frame := append(binary.BigEndian.AppendUint32([]byte{0}, uint32(len(body))), body...)
		for b.Loop() {
			req, err := http.NewRequest(http.MethodPost, "http://"+h.web+"/evenpeel.recipes.v1.CatalogService/PullSheet", bytes.NewReader(frame))
			if err != nil {
				b.Fatal(err)
			}
			req.Header.Set("Content-Type", "application/grpc-web+proto")
			req.Header.Set("Authorization", "Bearer "+token)
			answer, err := http.DefaultClient.Do(req)
			if err != nil {
				b.Fatal(err)
			}
			n, err := io.Copy(io.Discard, answer.Body)
			answer.Body.Close()
			if err != nil || n < int64(size) {
				b.Fatalf("%d bytes, %v, %s", n, err, answer.Header.Get("grpc-message"))
			}
		}
	})
}

// BenchmarkCompareBranches asks the fair view of the demo's year.
func BenchmarkCompareBranches(b *testing.B) {
	h := started(b, b.TempDir(), "--demo")
	manager := h.as(b, "franchise@evenpeel.example")
	compare := comparev1.NewCompareServiceClient(h.conn)
	for b.Loop() {
		if _, err := compare.CompareBranches(manager, &comparev1.CompareBranchesRequest{Metric: comparev1.Metric_METRIC_REPRINTS, MixAdjusted: true, Span: &comparev1.Span{FromDay: "2025-01-01", ToDay: "2030-12-31"}}); err != nil {
			b.Fatal(err)
		}
	}
}
