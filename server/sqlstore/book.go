package sqlstore

import (
	"context"

	"evenpeel/branches/orders"
	"evenpeel/recipes/fault"
)

const (
	drawingPut = `INSERT INTO orders_drawing (branch, name, title, outlines) VALUES ($1, $2, $3, $4) ON CONFLICT (branch, name) DO NOTHING`
	drawingOf  = `SELECT branch, name, title, outlines FROM orders_drawing WHERE branch = $1 AND name = $2`
	orderAdd   = `INSERT INTO orders_order (name, branch, title, created_us, body) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (name) DO NOTHING`
	orderOf    = `SELECT name, branch, title, created_us, body FROM orders_order WHERE name = $1`
	ordersOf   = `SELECT name, branch, title, created_us, body FROM orders_order WHERE branch = $1 ORDER BY created_us DESC, name DESC LIMIT $2`
)

// PutDrawing stores a drawing; the same name again changes nothing.
func (s *Store) PutDrawing(ctx context.Context, d orders.KeptDrawing) error {
	_, err := s.write.ExecContext(ctx, drawingPut, d.Branch, d.Name, d.Title, bytesOf(d.Outlines))
	return s.fault(err)
}

// Drawing reads one of a branch. Fault NotFound/DRAWING_NOT_FOUND.
func (s *Store) Drawing(ctx context.Context, branch, name string) (orders.KeptDrawing, error) {
	var d orders.KeptDrawing
	err := s.read.QueryRowContext(ctx, drawingOf, branch, name).Scan(&d.Branch, &d.Name, &d.Title, &d.Outlines)
	if none(err) {
		return d, fault.New(fault.NotFound, "orders", "DRAWING_NOT_FOUND", "There is no such drawing in this branch. Read the file in again.")
	}
	return d, s.fault(err)
}

func scanOrder(row scanner) (orders.KeptOrder, error) {
	var o orders.KeptOrder
	var created int64
	err := row.Scan(&o.Name, &o.Branch, &o.Title, &created, &o.Body)
	o.Created = instant(created)
	return o, err
}

// AddOrder stores an order; the same name again answers the stored one.
func (s *Store) AddOrder(ctx context.Context, o orders.KeptOrder) (orders.KeptOrder, error) {
	var stored orders.KeptOrder
	err := s.inWrite(ctx, func(t *writing) error {
		if _, err := t.ExecContext(ctx, orderAdd, o.Name, o.Branch, o.Title, micros(o.Created), bytesOf(o.Body)); err != nil {
			return err
		}
		var err error
		stored, err = scanOrder(t.QueryRowContext(ctx, orderOf, o.Name))
		return err
	})
	return stored, err
}

// Order reads one. Fault NotFound/ORDER_NOT_FOUND.
func (s *Store) Order(ctx context.Context, name string) (orders.KeptOrder, error) {
	o, err := scanOrder(s.read.QueryRowContext(ctx, orderOf, name))
	if none(err) {
		return o, fault.New(fault.NotFound, "orders", "ORDER_NOT_FOUND", "There is no such order. Look at the branch's list of orders.")
	}
	return o, s.fault(err)
}

// Orders lists a branch's orders, newest first, at most 10 000.
func (s *Store) Orders(ctx context.Context, branch string, most int) ([]orders.KeptOrder, error) {
	list, err := all(ctx, s.read, scanOrder, ordersOf, branch, limit(most))
	return list, s.fault(err)
}
