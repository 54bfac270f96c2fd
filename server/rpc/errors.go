package rpc

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes/fault"
)

const room = "rpc"

// Reasons of this room's own faults; the list is append-only.
const (
	RequestInvalid   fault.Reason = "REQUEST_INVALID"
	MessageTooLarge  fault.Reason = "MESSAGE_TOO_LARGE"
	TooManyStreams   fault.Reason = "TOO_MANY_STREAMS"
	ServerStopping   fault.Reason = "SERVER_STOPPING"
	SomethingBroke   fault.Reason = "SOMETHING_BROKE"
	GivenUp          fault.Reason = "GIVEN_UP"
	TookTooLong      fault.Reason = "TOOK_TOO_LONG"
	mostDetailBytes               = 6 << 10 // on the browser's way a refusal travels in headers, which proxies bound at 8 KiB
	longestWords                  = 1 << 10 // bytes of a status message, for the same reason
	leftOutFact                   = "fields_left_out"
	somethingWrong                = "Something went wrong here"
	takesTooLong                  = "This took too long and was given up. Try again; where it happens again, ask for less at once."
	callerGaveUp                  = "The call was given up before it was done."
	serverIsStopping              = "The server is being restarted. This page connects again by itself."
)

// codeOf is the one mapping from a kind of fault to a code.
var codeOf = map[fault.Kind]codes.Code{
	fault.NotFound:    codes.NotFound,
	fault.Invalid:     codes.InvalidArgument,
	fault.MovedOn:     codes.Aborted,
	fault.NotAllowed:  codes.PermissionDenied,
	fault.NotSignedIn: codes.Unauthenticated,
	fault.NotReady:    codes.FailedPrecondition,
	fault.TooLarge:    codes.ResourceExhausted,
	fault.Gone:        codes.NotFound, // the detail's kind tells the two apart
	fault.Unavailable: codes.Unavailable,
	fault.Broken:      codes.Internal,
}

// statusOf turns any error into what the caller gets. A plain error becomes Broken: its text stays here. A context
// that ended keeps its code. A status made by gRPC itself passes as it is.
func statusOf(err error, reference, ofRoom string) *status.Status {
	f, isFault := fault.As(err)
	ours := isFault && f.Kind != fault.Broken && f.Kind != fault.Unavailable
	switch {
	case err == nil:
		return status.New(codes.OK, "")
	case ours:
	case errors.Is(err, context.DeadlineExceeded):
		return detailed(codes.DeadlineExceeded, &fault.Fault{Kind: fault.Unavailable, Room: ofRoom, Reason: TookTooLong, Words: takesTooLong}, reference)
	case errors.Is(err, context.Canceled):
		return detailed(codes.Canceled, &fault.Fault{Kind: fault.Unavailable, Room: ofRoom, Reason: GivenUp, Words: callerGaveUp}, reference)
	case isFault:
	default:
		if s, ok := err.(interface{ GRPCStatus() *status.Status }); ok {
			return s.GRPCStatus()
		}
		f = &fault.Fault{Kind: fault.Broken, Room: ofRoom, Reason: SomethingBroke}
	}
	code, known := codeOf[f.Kind]
	if !known {
		code = codes.Internal
	}
	if code == codes.Internal {
		shown := *f
		if shown.Words == "" {
			shown.Words = somethingWrong
		}
		shown.Words += " (ref " + reference + ")"
		f = &shown
	}
	return detailed(code, f, reference)
}

// detailed makes the status with the fault as its detail, cut so that it fits into headers.
func detailed(code codes.Code, f *fault.Fault, reference string) *status.Status {
	detail := &recordv1.Fault{
		Kind: string(f.Kind), Room: f.Room, Reason: string(f.Reason), Words: shortened(f.Words), Reference: reference,
	}
	size := len(detail.Words)
	for _, key := range slices.Sorted(maps.Keys(f.Facts)) {
		if size += len(key) + len(f.Facts[key]); size > mostDetailBytes {
			break
		}
		detail.Facts = append(detail.Facts, &recordv1.FaultFact{Key: key, Value: utf8(f.Facts[key])})
	}
	for i, field := range f.Fields {
		if size += len(field.Path) + len(field.Words) + 8; size > mostDetailBytes {
			detail.Facts = append(detail.Facts, &recordv1.FaultFact{Key: leftOutFact, Value: itoa(len(f.Fields) - i)})
			break
		}
		detail.Fields = append(detail.Fields, &recordv1.FaultField{Path: utf8(field.Path), Words: utf8(field.Words)})
	}
	s := status.New(code, detail.Words)
	with, err := s.WithDetails(detail)
	if err != nil {
		return s // a detail that can not be marshalled costs the detail, never the answer
	}
	return with
}

// utf8 keeps a stray byte out of proto strings, which would not marshal.
func utf8(text string) string { return strings.ToValidUTF8(text, "\uFFFD") }

func shortened(words string) string {
	if len(words) <= longestWords {
		return utf8(words)
	}
	return strings.ToValidUTF8(words[:longestWords], "") + "…"
}

// roomOf is the room of a method: "orders" for "/evenpeel.orders.v1.OrdersService/GetOrder".
func roomOf(method string) string {
	service, _, _ := strings.Cut(strings.TrimPrefix(method, "/"), "/")
	if parts := strings.Split(service, "."); len(parts) == 4 {
		return parts[1]
	}
	return room
}

func itoa(n int) string { return strconv.Itoa(n) }
