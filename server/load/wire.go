package load

import (
	"context"
	"slices"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/encoding"
	_ "google.golang.org/grpc/encoding/proto" // registers the codec that is wrapped here
	"google.golang.org/grpc/mem"
	"google.golang.org/protobuf/encoding/protowire"
)

// raw passes bytes on as they are: the client here must cost as little as it can, and the same for everybody. Anything
// that is no *[]byte is a message.
type raw struct{ encoding.CodecV2 }

func (c raw) Marshal(v any) (mem.BufferSlice, error) {
	if b, ok := v.(*[]byte); ok {
		return mem.BufferSlice{mem.SliceBuffer(*b)}, nil
	}
	return c.CodecV2.Marshal(v)
}

func (c raw) Unmarshal(data mem.BufferSlice, v any) error {
	if b, ok := v.(*[]byte); ok {
		*b = slices.Grow((*b)[:0], data.Len())[:data.Len()]
		data.CopyTo(*b)
		return nil
	}
	return c.CodecV2.Unmarshal(data, v)
}

func dial(address string, more ...grpc.DialOption) (*grpc.ClientConn, error) {
	return grpc.NewClient(address, append([]grpc.DialOption{
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		// Static windows, as our own client has: measuring them costs a ping for each small message.
		grpc.WithInitialWindowSize(1 << 20), grpc.WithInitialConnWindowSize(1 << 20),
		grpc.WithDefaultCallOptions(grpc.ForceCodecV2(raw{encoding.GetCodecV2("proto")}), grpc.MaxCallRecvMsgSize(8<<20)),
	}, more...)...)
}

// field appends a field of bytes to a message.
func field(m []byte, number protowire.Number, b []byte) []byte {
	return protowire.AppendBytes(protowire.AppendTag(m, number, protowire.BytesType), b)
}

// number appends a field that is a whole number.
func number(m []byte, at protowire.Number, n uint64) []byte {
	return protowire.AppendVarint(protowire.AppendTag(m, at, protowire.VarintType), n)
}

// firstNumber reads a whole number from the top of a message; 0 where it is not there.
func firstNumber(m []byte, at protowire.Number) uint64 {
	for len(m) > 0 {
		n, kind, size := protowire.ConsumeTag(m)
		if size < 0 {
			return 0
		}
		m = m[size:]
		if n == at && kind == protowire.VarintType {
			v, _ := protowire.ConsumeVarint(m)
			return v
		}
		if size = protowire.ConsumeFieldValue(n, kind, m); size < 0 {
			return 0
		}
		m = m[size:]
	}
	return 0
}

// measured are the times of many calls.
type measured []time.Duration

func (m measured) at(share float64) time.Duration {
	if len(m) == 0 {
		return 0
	}
	slices.Sort(m)
	return m[min(len(m)-1, int(share*float64(len(m))))]
}

// stream opens a stream on which bytes go as they are, and sends the first message.
func stream(ctx context.Context, conn *grpc.ClientConn, method string, both bool, first []byte) (grpc.ClientStream, error) {
	s, err := conn.NewStream(ctx, &grpc.StreamDesc{ServerStreams: true, ClientStreams: both}, method)
	if err != nil {
		return nil, err
	}
	if err := s.SendMsg(&first); err != nil {
		return nil, err
	}
	if both { // etcd's client keeps its side open
		return s, nil
	}
	return s, s.CloseSend()
}
