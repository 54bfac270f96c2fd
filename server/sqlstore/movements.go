package sqlstore

import (
	"context"
	"strings"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
)

// what is left after a movement is the sum of the roll's movements up to it, in the order in which they are listed.
const (
	movementColumns = `m.id, m.roll, m.change_mm, m.why, m.person, m.made_us, m.counted_mm, m.other_roll,
	CAST((SELECT sum(e.change_mm) FROM stock_movement e WHERE e.roll = m.roll AND (e.made_us < m.made_us OR e.made_us = m.made_us AND e.id <= m.id)) AS BIGINT)`

	movementByID = `SELECT ` + movementColumns + ` FROM stock_movement m WHERE m.branch = $1 AND m.id = $2`
	movementsOf  = `SELECT ` + movementColumns + ` FROM stock_movement m
		WHERE m.branch = $1 AND ($2 = '' OR m.roll = $2) AND (m.made_us < $3 OR m.made_us = $3 AND m.id < $4)
		ORDER BY m.made_us DESC, m.id DESC LIMIT $5`
	movementAdd = `INSERT INTO stock_movement (branch, id, roll, change_mm, why, person, made_us, counted_mm, other_roll)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`
	movementLast = `SELECT coalesce(max(made_us), 0) FROM stock_movement WHERE roll = $1`

	usesSince = `SELECT r.film, r.colour, m.made_us / 86400000000, CAST(-sum(m.change_mm) AS BIGINT)
		FROM stock_movement m JOIN stock_roll r ON r.name = m.roll
		WHERE m.branch = $1 AND m.made_us >= $2 AND m.why IN ('draw', 'waste', 'return')
		GROUP BY r.film, r.colour, m.made_us / 86400000000 ORDER BY 1, 2, 3`
)

func scanMovement(row scanner) (stock.Movement, error) {
	var m stock.Movement
	var made int64
	err := row.Scan(&m.ID, &m.Roll, &m.Change, &m.Why, &m.Person, &made, &m.Counted, &m.Other, &m.Left)
	m.Made = instant(made)
	return m, err
}

// Move stores a movement; the same one again changes nothing. Faults NotReady/ROLL_TOO_SHORT, NotFound/ROLL_NOT_FOUND,
// Invalid/MOVEMENT_ID_REUSED where the branch sent the id before with something else.
func (s *Store) Move(ctx context.Context, m stock.Movement) error {
	branch := branches.Of(m.Roll)
	return s.inWrite(ctx, func(t *writing) error {
		before, err := lockMovement(ctx, t, branch, m.ID)
		if err != nil || before != nil {
			return orReused(err, before.says(m))
		}
		if _, err := rollWith(ctx, t, m); err != nil {
			return err
		}
		return addMovement(ctx, t, branch, m)
	})
}

// Count stores what was measured on a roll, with the difference to the account at that instant, and answers it; the same
// one again answers the first. Faults NotFound/ROLL_NOT_FOUND, Invalid/MOVEMENT_ID_REUSED.
func (s *Store) Count(ctx context.Context, m stock.Movement) (stock.Movement, error) {
	branch := branches.Of(m.Roll)
	var stored stock.Movement
	err := s.inWrite(ctx, func(t *writing) error {
		before, err := lockMovement(ctx, t, branch, m.ID)
		if err != nil {
			return err
		}
		m.Why = "count"
		if before != nil {
			m.Change = before.Change // it follows from the account, which has moved on
			if err := orReused(nil, before.says(m)); err != nil {
				return err
			}
		} else {
			r, err := rollWith(ctx, t, stock.Movement{Roll: m.Roll})
			if err != nil {
				return err
			}
			m.Change = m.Counted - r.Length
			if err := addMovement(ctx, t, branch, m); err != nil {
				return err
			}
		}
		stored, err = scanMovement(t.QueryRowContext(ctx, movementByID, branch, m.ID))
		return err
	})
	return stored, err
}

// Movements lists those of a branch or of one roll, newest first.
func (s *Store) Movements(ctx context.Context, of string, before time.Time, beforeID string, most int) ([]stock.Movement, error) {
	at := int64(1) << 62
	if !before.IsZero() {
		at = micros(before)
	}
	branch, roll := branches.Of(of), ""
	if strings.Count(of, "/") > 1 {
		roll = of
	}
	list, err := all(ctx, s.read, scanMovement, movementsOf, branch, roll, at, beforeID, limit(most))
	return list, s.fault(err)
}

// Uses sums a branch's draws since an instant by film, colour and day.
func (s *Store) Uses(ctx context.Context, branch string, since time.Time) ([]stock.Use, error) {
	list, err := all(ctx, s.read, func(row scanner) (u stock.Use, err error) {
		err = row.Scan(&u.Film, &u.Colour, &u.Day, &u.Length)
		return u, err
	}, usesSince, branch, micros(since))
	return list, s.fault(err)
}

// rollWith reads the roll of a movement that is about to be made. Faults NotReady/ROLL_TOO_SHORT, NotFound/ROLL_NOT_FOUND.
func rollWith(ctx context.Context, t *writing, m stock.Movement) (stock.Roll, error) {
	r, err := scanRoll(t.QueryRowContext(ctx, rollByName, m.Roll))
	switch {
	case none(err):
		return r, rollNotFound()
	case err != nil:
		return r, err
	case r.Length+m.Change < 0:
		return r, fault.New(fault.NotReady, "stock", "ROLL_TOO_SHORT", "Only %d mm are left on this roll, and %d mm would be taken. Count the roll again, or draw from another.", r.Length, -m.Change)
	}
	return r, nil
}

// lockMovement keeps other movements of the branch out, so that no two take the same last millimetre.
// What has the id already is handed out; nil is nothing.
func lockMovement(ctx context.Context, t *writing, branch, id string) (*sent, error) {
	if err := t.lock(ctx, "stock_movement "+branch); err != nil {
		return nil, err
	}
	m, err := scanMovement(t.QueryRowContext(ctx, movementByID, branch, id))
	if none(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &sent{m}, nil
}

// sent is a movement that was stored under an id before.
type sent struct{ stock.Movement }

// says reports whether a movement that is sent again says what it said before. Who sends it, and when, may differ.
func (s *sent) says(m stock.Movement) bool {
	return s != nil && s.Roll == m.Roll && s.Change == m.Change && s.Why == m.Why && s.Counted == m.Counted && s.Other == m.Other
}

// saysOf reports the same of a roll that came with a movement.
func saysOf(ctx context.Context, t *writing, r stock.Roll) (bool, error) {
	was, err := scanRoll(t.QueryRowContext(ctx, rollByName, r.Name))
	r.Length, r.Received = was.Length, was.Received // what is left, and when it came, may differ
	return was == r, err
}

// orReused is an error, or else the fault of an id that says something else this time.
func orReused(err error, same bool) error {
	if err != nil || same {
		return err
	}
	return fault.New(fault.Invalid, "stock", "MOVEMENT_ID_REUSED", "This was sent before with something else in it, and that was stored. Look at the roll; what you want now is sent by itself.")
}

// addMovement stores a movement no earlier than the roll's last one, whatever the clocks say, so that the sum up to each
// is what was left then.
func addMovement(ctx context.Context, t *writing, branch string, m stock.Movement) error {
	var last int64
	if err := t.QueryRowContext(ctx, movementLast, m.Roll).Scan(&last); err != nil {
		return err
	}
	made := micros(m.Made)
	if made <= last {
		made = last + 1
	}
	_, err := t.ExecContext(ctx, movementAdd, branch, m.ID, m.Roll, m.Change, m.Why, m.Person, made, m.Counted, m.Other)
	return err
}
