package sqlstore

import (
	"cmp"
	"context"
	"slices"

	"evenpeel/branches"
	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
)

const rollColumns = `r.name, r.film, r.colour, r.lot, r.width_mm, r.remnant, r.place, r.received_us, r.cut_from,
	CAST((SELECT coalesce(sum(m.change_mm), 0) FROM stock_movement m WHERE m.roll = r.name) AS BIGINT)`

const (
	rollsOf    = `SELECT ` + rollColumns + ` FROM stock_roll r WHERE r.branch = $1`
	rollByName = `SELECT ` + rollColumns + ` FROM stock_roll r WHERE r.name = $1`
	rollAdd    = `INSERT INTO stock_roll (name, branch, film, colour, lot, width_mm, remnant, place, received_us, cut_from)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`
)

func scanRoll(row scanner) (stock.Roll, error) {
	var r stock.Roll
	var received int64
	err := row.Scan(&r.Name, &r.Film, &r.Colour, &r.Lot, &r.Width, &r.Remnant, &r.Place, &received, &r.CutFrom, &r.Length)
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

// AddRoll stores a roll and its first movement, whose change is the roll's length; the same again changes nothing. Faults
// Invalid/ROLL_TAKEN where another roll has the name, Invalid/MOVEMENT_ID_REUSED where the branch sent the id before with
// something else.
func (s *Store) AddRoll(ctx context.Context, r stock.Roll, first stock.Movement) error {
	branch := branches.Of(r.Name)
	first.Roll, first.Change = r.Name, r.Length
	return s.inWrite(ctx, func(t *writing) error {
		before, err := lockMovement(ctx, t, branch, first.ID)
		if err != nil {
			return err
		}
		if before != nil {
			same := before.says(first)
			if same {
				same, err = saysOf(ctx, t, r)
			}
			return orReused(err, same)
		}
		return addRoll(ctx, t, branch, r, first)
	})
}

func addRoll(ctx context.Context, t *writing, branch string, r stock.Roll, first stock.Movement) error {
	switch _, err := scanRoll(t.QueryRowContext(ctx, rollByName, r.Name)); {
	case err == nil:
		return fault.New(fault.Invalid, "stock", "ROLL_TAKEN", "There is a roll with this name already. Choose another name.")
	case !none(err):
		return err
	}
	if _, err := t.ExecContext(ctx, rollAdd, r.Name, branch, r.Film, r.Colour, r.Lot, r.Width, r.Remnant, r.Place, micros(r.Received), r.CutFrom); err != nil {
		return err
	}
	return addMovement(ctx, t, branch, first)
}

// Cut takes a piece off a roll and stores it as a remnant with the roll's film, lot and age; both movements or none.
// The same again changes nothing. Faults NotReady/ROLL_TOO_SHORT, NotFound/ROLL_NOT_FOUND, Invalid/REMNANT_INVALID,
// Invalid/ROLL_TAKEN, Invalid/MOVEMENT_ID_REUSED.
func (s *Store) Cut(ctx context.Context, p stock.Piece) error {
	branch := branches.Of(p.Roll)
	return s.inWrite(ctx, func(t *writing) error {
		off := stock.Movement{ID: p.ID, Roll: p.Roll, Change: -p.Length, Why: "remnant", Person: p.Person, Made: p.Made, Other: p.Remnant}
		before, err := lockMovement(ctx, t, branch, p.ID)
		if err != nil {
			return err
		}
		if before != nil {
			same := before.says(off)
			if same {
				roll, err := rollWith(ctx, t, stock.Movement{Roll: p.Roll})
				if err != nil {
					return err
				}
				if same, err = saysOf(ctx, t, remnantOf(roll, p)); err != nil {
					return err
				}
			}
			return orReused(nil, same)
		}
		roll, err := rollWith(ctx, t, off)
		if err != nil {
			return err
		}
		if p.Width > roll.Width {
			return fault.New(fault.Invalid, "stock", "REMNANT_INVALID", "The remnant would be %d mm wide, but the roll is %d mm wide. Measure again.", p.Width, roll.Width)
		}
		if err := addMovement(ctx, t, branch, off); err != nil {
			return err
		}
		piece := remnantOf(roll, p)
		on := stock.Movement{ID: p.ID + putAway, Roll: p.Remnant, Change: p.Length, Why: "remnant", Person: p.Person, Made: p.Made, Other: p.Roll}
		return addRoll(ctx, t, branch, piece, on)
	})
}

// remnantOf is the piece as a roll of its own.
func remnantOf(roll stock.Roll, p stock.Piece) stock.Roll {
	roll.Name, roll.CutFrom, roll.Remnant, roll.Place, roll.Length = p.Remnant, p.Roll, true, p.Place, p.Length
	if p.Width > 0 {
		roll.Width = p.Width
	}
	return roll
}

// putAway ends the id of a remnant's own first movement: the client made one id for both.
const putAway = "/put-away"
