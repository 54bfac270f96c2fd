package rpc

import (
	"time"

	"google.golang.org/protobuf/proto"

	"evenpeel/recipes/fault"
)

// Limits bound what a caller may cost. Zero fields take the default named beside them.
type Limits struct {
	Receive  int           // bytes of a request where requestSizes says nothing else; 256 KiB
	Send     int           // bytes of an answer; 4 MiB
	Streams  uint32        // open at once on one connection; 100
	OfPerson int           // open streams of one person; 24
	Header   uint32        // bytes of all headers; 16 KiB
	Connect  time.Duration // to finish a connection's handshake; 10 s
	Window   int32         // bytes of a stream's flow-control window, twice that for a connection; 1 MiB
	Deadline time.Duration // of a call that is no stream; 30 s
	Session  time.Duration // how often open streams are looked after: whether their sessions go on; 2 s
}

// leastTime is what a call must have left to be begun: less is work for nobody.
const leastTime = 50 * time.Millisecond

// largestRequest is the limit of the whole server, in bytes; nothing above it is even decoded.
const largestRequest = 1152 << 10

// requestSizes are the methods that may send more than Limits.Receive, in bytes.
var requestSizes = map[string]int{
	"/evenpeel.orders.v1.OrdersService/ReadDrawing": 1126 << 10, // a drawing of 1 MiB and what stands around it
	"/evenpeel.branches.v1.RunsService/ReportRuns":  1 << 20,
}

func (l Limits) filled() Limits {
	or(&l.Receive, 256<<10)
	or(&l.Send, 4<<20)
	or(&l.Streams, 100)
	or(&l.OfPerson, 24)
	or(&l.Header, 16<<10)
	or(&l.Connect, 10*time.Second)
	or(&l.Window, 1<<20)
	or(&l.Deadline, 30*time.Second)
	or(&l.Session, 2*time.Second)
	return l
}

func or[T comparable](field *T, value T) {
	var zero T
	if *field == zero {
		*field = value
	}
}

// sizeAllowed refuses a request above its method's limit. Fault TooLarge/MESSAGE_TOO_LARGE with the fact limit_bytes.
func (l Limits) sizeAllowed(method string, req any) error {
	limit, ok := requestSizes[method]
	if !ok {
		limit = l.Receive
	}
	m, ok := req.(proto.Message)
	if !ok {
		return nil
	}
	if n := proto.Size(m); n > limit {
		return fault.New(fault.TooLarge, room, MessageTooLarge,
			"This is too large: %d KiB were sent, at most %d KiB are taken. Send less at once.", (n+1023)>>10, limit>>10).
			With("limit_bytes", itoa(limit))
	}
	return nil
}

// streamWorkers are goroutines that serve one call after the other, whose stacks have grown to what a call needs; a
// fresh goroutine's stack is copied several times on the way. Above their number each call has a fresh one.
const streamWorkers = 64
