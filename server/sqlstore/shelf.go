package sqlstore

import (
	"cmp"
	"context"
	"slices"

	"evenpeel/branches"
	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
)

const rollColumns = `r.name, r.film, r.colour, r.lot, r.width_mm, r.remnant, r.place, r.received_us,
	CAST((SELECT coalesce(sum(m.change_mm), 0) FROM stock_movement m WHERE m.roll = r.name) AS BIGINT)`

const (
	rollsOf    = `SELECT ` + rollColumns + ` FROM stock_roll r WHERE r.branch = $1`
	rollByName = `SELECT ` + rollColumns + ` FROM stock_roll r WHERE r.name = $1`
	rollAdd    = `INSERT INTO stock_roll (name, branch, film, colour, lot, width_mm, remnant, place, received_us)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`
	movementKnown = `SELECT 1 FROM stock_movement WHERE branch = $1 AND id = $2`
	movementAdd   = `INSERT INTO stock_movement (branch, id, roll, change_mm, why, person, made_us) VALUES ($1, $2, $3, $4, $5, $6, $7)`
)

func scanRoll(row scanner) (stock.Roll, error) {
	var r stock.Roll
	var received int64
	err := row.Scan(&r.Name, &r.Film, &r.Colour, &r.Lot, &r.Width, &r.Remnant, &r.Place, &received, &r.Length)
	r.Received = instant(received)
	return r, err
}

// Rolls lists a branch's rolls with what is left, by film, colour and age.
func (s *Store) Rolls(ctx context.Context, branch string) ([]stock.Roll, error) {
	list, err := all(ctx, s.read, scanRoll, rollsOf, branch)
	slices.SortFunc(list, func(a, b stock.Roll) int {
		return cmp.Or(cmp.Compare(a.Film, b.Film), cmp.Compare(a.Colour, b.Colour), a.Received.Compare(b.Received), cmp.Compare(a.Name, b.Name))
	})
	return list, s.fault(err)
}

// Roll reads one. Fault NotFound/ROLL_NOT_FOUND.
func (s *Store) Roll(ctx context.Context, name string) (stock.Roll, error) {
	r, err := scanRoll(s.read.QueryRowContext(ctx, rollByName, name))
	if none(err) {
		return r, rollNotFound()
	}
	return r, s.fault(err)
}

func rollNotFound() error {
	return fault.New(fault.NotFound, "stock", "ROLL_NOT_FOUND", "There is no such roll in this branch. Look at the list of rolls.")
}

// AddRoll stores a roll and its first movement, whose change is the roll's length; a movement id that the branch sent
// before changes nothing. Fault Invalid/ROLL_TAKEN where another roll has the name.
func (s *Store) AddRoll(ctx context.Context, r stock.Roll, first stock.Movement) error {
	branch := branches.Of(r.Name)
	first.Roll, first.Change = r.Name, r.Length
	return s.inWrite(ctx, func(t *writing) error {
		known, err := lockMovement(ctx, t, branch, first.ID)
		if err != nil || known {
			return err
		}
		switch _, err := scanRoll(t.QueryRowContext(ctx, rollByName, r.Name)); {
		case err == nil:
			return fault.New(fault.Invalid, "stock", "ROLL_TAKEN", "There is a roll with this name already. Choose another name.")
		case !none(err):
			return err
		}
		if _, err := t.ExecContext(ctx, rollAdd, r.Name, branch, r.Film, r.Colour, r.Lot, r.Width, r.Remnant, r.Place, micros(r.Received)); err != nil {
			return err
		}
		return addMovement(ctx, t, branch, first)
	})
}

// Move stores a movement; an id that the branch sent before changes nothing. Faults NotReady/ROLL_TOO_SHORT,
// NotFound/ROLL_NOT_FOUND.
func (s *Store) Move(ctx context.Context, m stock.Movement) error {
	branch := branches.Of(m.Roll)
	return s.inWrite(ctx, func(t *writing) error {
		known, err := lockMovement(ctx, t, branch, m.ID)
		if err != nil || known {
			return err
		}
		r, err := scanRoll(t.QueryRowContext(ctx, rollByName, m.Roll))
		switch {
		case none(err):
			return rollNotFound()
		case err != nil:
			return err
		case r.Length+m.Change < 0:
			return fault.New(fault.NotReady, "stock", "ROLL_TOO_SHORT", "Only %d mm are left on this roll, and %d mm would be taken. Count the roll again, or draw from another.", r.Length, -m.Change)
		}
		return addMovement(ctx, t, branch, m)
	})
}

// lockMovement keeps other movements of the branch out, so that no two take the same last millimetre.
func lockMovement(ctx context.Context, t *writing, branch, id string) (known bool, err error) {
	if err := t.lock(ctx, "stock_movement "+branch); err != nil {
		return false, err
	}
	var one int
	err = t.QueryRowContext(ctx, movementKnown, branch, id).Scan(&one)
	if none(err) {
		return false, nil
	}
	return err == nil, err
}

func addMovement(ctx context.Context, t *writing, branch string, m stock.Movement) error {
	_, err := t.ExecContext(ctx, movementAdd, branch, m.ID, m.Roll, m.Change, m.Why, m.Person, micros(m.Made))
	return err
}
