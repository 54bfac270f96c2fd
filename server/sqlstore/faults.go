package sqlstore

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"

	"evenpeel/recipes/fault"
)

const room = "sqlstore"

// Reasons of this room's own faults; the list is append-only. All others are those that the interfaces promise.
const (
	StoreAway      fault.Reason = "STORE_AWAY"
	StoreBroken    fault.Reason = "STORE_BROKEN"
	StoreFull      fault.Reason = "STORE_FULL"
	SchemaNewer    fault.Reason = "SCHEMA_NEWER"
	TextInvalid    fault.Reason = "TEXT_INVALID"
	SpanInvalid    fault.Reason = "SPAN_INVALID"
	SpanTooLong    fault.Reason = "SPAN_TOO_LONG"
	TooManyRuns    fault.Reason = "TOO_MANY_RUNS"
	TooManyWorks   fault.Reason = "TOO_MANY_WORKS"
	CopyExists     fault.Reason = "COPY_EXISTS"
	CopyNotHere    fault.Reason = "COPY_NOT_HERE"
	AddressInvalid fault.Reason = "STORE_ADDRESS_INVALID"
)

// fault turns an error of the driver into a Fault; a Fault passes as it is.
func (s *Store) fault(err error) error {
	if err == nil {
		return nil
	}
	if _, ok := fault.As(err); ok {
		return err
	}
	switch m := s.engine.meaning(err); {
	case m == away, m == tryAgain, errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded),
		errors.Is(err, driver.ErrBadConn), errors.Is(err, sql.ErrConnDone):
		return fault.New(fault.Unavailable, room, StoreAway, "The store does not answer just now. Nothing was changed; try again in a moment.").Because(err)
	case m == full:
		return fault.New(fault.Unavailable, room, StoreFull, "The disk of the store is full. Nothing of this was kept: make room on the server, then send it again.").Because(err)
	case m == badText:
		return fault.New(fault.Invalid, room, TextInvalid, "A text holds a character that can not be kept, such as a zero byte. Type it again.").Because(err)
	}
	return fault.New(fault.Broken, room, StoreBroken, "The store gave an answer that it should not. Tell whoever looks after the server.").Because(err)
}

// none reports whether a query found no row.
func none(err error) bool { return errors.Is(err, sql.ErrNoRows) }
