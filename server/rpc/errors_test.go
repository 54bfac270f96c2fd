package rpc

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes/fault"
)

func TestStatusOf_everyKind(t *testing.T) {
	for _, row := range []struct {
		kind   fault.Kind
		code   codes.Code
		source string
	}{
		{fault.NotFound, codes.NotFound, "google/rpc/code.proto NOT_FOUND"},
		{fault.Invalid, codes.InvalidArgument, "google/rpc/code.proto INVALID_ARGUMENT"},
		{fault.MovedOn, codes.Aborted, "AIP-154 etag mismatch: ABORTED"},
		{fault.NotAllowed, codes.PermissionDenied, "AIP-211 denied: PERMISSION_DENIED, checked before existence"},
		{fault.NotSignedIn, codes.Unauthenticated, "google/rpc/code.proto UNAUTHENTICATED"},
		{fault.NotReady, codes.FailedPrecondition, "google/rpc/code.proto FAILED_PRECONDITION"},
		{fault.TooLarge, codes.ResourceExhausted, "gRPC status codes: message larger than configured, RESOURCE_EXHAUSTED"},
		{fault.Gone, codes.NotFound, "ours: the detail's kind says GONE"},
		{fault.Unavailable, codes.Unavailable, "google/rpc/code.proto UNAVAILABLE"},
		{fault.Broken, codes.Internal, "google/rpc/code.proto INTERNAL"},
	} {
		if row.source == "" {
			t.Fatalf("%s has no source", row.kind)
		}
		f := fault.New(row.kind, "orders", "WHY", "What to do.").With("b", "2").With("a", "1")
		f.Fields = fault.Fields{{Path: "order.title", Words: "is empty"}}
		s := statusOf(fmt.Errorf("wrapped: %w", f.Because(errors.New("driver text"))), "7F3A2B1C", "orders")
		words := "What to do."
		if row.kind == fault.Broken {
			words += " (ref 7F3A2B1C)"
		}
		if s.Code() != row.code || s.Message() != words {
			t.Errorf("%s: got %s %q", row.kind, s.Code(), s.Message())
		}
		d := s.Details()[0].(*recordv1.Fault)
		if d.Kind != string(row.kind) || d.Room != "orders" || d.Reason != "WHY" || d.Words != words || d.Reference != "7F3A2B1C" ||
			len(d.Fields) != 1 || d.Fields[0].Path != "order.title" || len(d.Facts) != 2 || d.Facts[0].Key != "a" || d.Facts[1].Value != "2" {
			t.Errorf("%s: got %v", row.kind, d)
		}
		if strings.Contains(s.String(), "driver text") {
			t.Errorf("%s: the cause got out", row.kind)
		}
	}
	if len(codeOf) != 10 {
		t.Errorf("the mapping holds %d kinds; the table above must name them all", len(codeOf))
	}
}

func TestStatusOf_whatIsNoFault(t *testing.T) {
	for _, row := range []struct {
		name string
		err  error
		code codes.Code
	}{
		{"nothing", nil, codes.OK},
		{"plain", errors.New("pq: secret"), codes.Internal},
		{"deadline", fmt.Errorf("query: %w", context.DeadlineExceeded), codes.DeadlineExceeded},
		{"cancelled", context.Canceled, codes.Canceled},
		{"store away since the caller left", fault.New(fault.Unavailable, "access", "STORE_AWAY", "Away.").Because(context.Canceled), codes.Canceled},
		{"theirs though the context ended", fault.New(fault.Invalid, "orders", "X", "Wrong.").Because(context.Canceled), codes.InvalidArgument},
		{"gRPC's own", status.Error(codes.NotFound, "unknown service"), codes.NotFound},
		{"unknown kind", fault.New("NEW_KIND", "orders", "X", "Words."), codes.Internal},
	} {
		s := statusOf(row.err, "7F3A2B1C", "orders")
		if s.Code() != row.code || strings.Contains(s.Message(), "secret") {
			t.Errorf("%s: got %v", row.name, s)
		}
	}
}

// On the browser's way a refusal travels in headers: however much is wrong, it must stay small.
func TestStatusOf_staysSmall(t *testing.T) {
	f := fault.New(fault.Invalid, "branches", "RUN_INVALID", "%s", strings.Repeat("ä", 5000))
	for i := range 10_000 {
		f.Fields = append(f.Fields, fault.Field{Path: fmt.Sprintf("runs[%d].film", i), Words: "is empty\xff"})
	}
	s := statusOf(f, "7F3A2B1C", "branches")
	d := s.Details()[0].(*recordv1.Fault)
	if n := len(s.Proto().String()); n > 24<<10 {
		t.Errorf("got %d bytes", n)
	}
	if got := len(d.Fields); got < 100 || d.Facts[0].Key != "fields_left_out" || d.Facts[0].Value != itoa(10_000-got) {
		t.Errorf("got %d fields, %v", got, d.Facts)
	}
}

func TestRoomOf(t *testing.T) {
	for method, want := range map[string]string{
		"/evenpeel.orders.v1.OrdersService/GetOrder": "orders", "/grpc.health.v1.Health/Check": "health", "": "rpc", "x": "rpc",
	} {
		if got := roomOf(method); got != want {
			t.Errorf("%q: got %q, want %q", method, got, want)
		}
	}
}
