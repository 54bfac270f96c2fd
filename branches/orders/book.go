package orders

import (
	"context"
	"time"
)

// KeptDrawing is a drawing as stores keep it: outlines that were read, never the customer's file.
type KeptDrawing struct {
	Branch   string
	Name     string // "drawings/{sha256 of Outlines}"
	Title    string
	Outlines []byte // as this room wrote them
}

// KeptOrder is an order with the plan it was kept with.
type KeptOrder struct {
	Name    string // "branches/{branch}/orders/{id}"
	Branch  string
	Title   string
	Created time.Time
	Body    []byte // order and plan, as this room wrote them
}

// Book keeps drawings and orders. Both are insert-only.
type Book interface {
	// PutDrawing stores a drawing; the same name again changes nothing.
	PutDrawing(ctx context.Context, d KeptDrawing) error
	// Drawing reads one of a branch. Fault NotFound/DRAWING_NOT_FOUND.
	Drawing(ctx context.Context, branch, name string) (KeptDrawing, error)
	// AddOrder stores an order; the same name again answers the stored one.
	AddOrder(ctx context.Context, o KeptOrder) (KeptOrder, error)
	// Order reads one. Fault NotFound/ORDER_NOT_FOUND.
	Order(ctx context.Context, name string) (KeptOrder, error)
	// Orders lists a branch's orders, newest first.
	Orders(ctx context.Context, branch string, most int) ([]KeptOrder, error)
}
