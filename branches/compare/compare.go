// Package compare says which branches differ by more than chance, where film is lost, and whether a change
// helped. It is pure computation on roll-up rows (cells) that somebody else has added up: the same cells and
// options give the same answer, to the last bit, in any order of the cells.
//
// Names of the constructions, because the literature uses the same words for different formulas:
//   - reprint ratio: observed ÷ expected, indirect standardisation over film × fabric × band, the rates being those
//     of all cells handed in (the branch itself included, which pulls a large branch a little towards 1);
//   - limits of a ratio: exact (Garwood 1936) limits of the observed count, divided by the expected count;
//   - funnel limits: by observation, that is the ratio at which the exact limit of the observed count just reaches the
//     expected one. Neither the interpolated limits of Spiegelhalter 2005 nor chi-square limits taken at the
//     expected count are used; the three differ for small counts;
//   - over-dispersion: square-root scale, 10 % winsorised at each end with type 7 quantiles; the normal score of the exact
//     limits is then multiplied, by √φ or by √(1 + 4Eτ²), so that marks, p-values and the curve drawn are one construction;
//   - shrinkage: gamma-Poisson by maximum likelihood (Clayton and Kaldor 1987); a yield's limits: see YieldMethod;
//   - Byar: observed in the lower limit and observed + 1 in the upper (Breslow and Day 1987), never observed + ½;
//   - moving-range divisor: 1.128;
//   - causes: Poisson regression with a ridge of 1 on each film, fabric and difficulty, then forward, one level at a time, by exact
//     Poisson p-values after Benjamini and Hochberg;
//   - limits from orders: bias-corrected and accelerated bootstrap (Efron 1987), type 7 quantiles, seeded;
//   - looks at a trial: Lan and DeMets with the spending 4 − 4Φ(z_{α/4}/√t), two-sided; days between them: Wald's bounds.
//
// Room: compare
// Holds: cells, fair reprint and yield standings, funnel limits, waterfall, causes and what goes with them, control charts, before and after, trials, costs, methods in words
// May touch: recipes/units, recipes/fault, gonum.org/v1/gonum
// Never: reading a store, a clock, stored ratios, a league table by rank
package compare

import (
	"fmt"
	"strings"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

const room = "compare"

// Reasons of this room's faults; the list is append-only.
const (
	CellsInvalid   fault.Reason = "COMPARE_CELLS_INVALID"
	TooMany        fault.Reason = "COMPARE_TOO_MANY"
	OptionsInvalid fault.Reason = "COMPARE_OPTIONS_INVALID"
	CausesInvalid  fault.Reason = "COMPARE_CAUSES_INVALID"
	SeriesInvalid  fault.Reason = "COMPARE_SERIES_INVALID"
	TallyInvalid   fault.Reason = "COMPARE_TALLY_INVALID"
)

// Limits of what is accepted. MaxCells times all areas of a cell stays inside an
// int64, and MaxCells × MaxPieces inside the whole numbers of a float64, so sums are exact.
const (
	MaxCells  = 4_000_000
	MaxCauses = 4_000_000
	MaxArea   = units.SquareMillimetres(100_000_000_000) // a tenth of a square kilometre in one cell
	MaxPieces = int64(1_000_000_000)                     // in one cell
	MaxName   = 200                                      // bytes of a branch, film, fabric or cause
	maxFields = 20                                       // field faults told at once
	bands     = 3                                        // difficulty 0, 1, 2
)

// Cell is one roll-up row: a branch, film, fabric, difficulty band, recipe revision and period. Counts and areas
// only; ratios are computed, never stored.
type Cell struct {
	Branch, Film, Fabric string
	Band                 int    // difficulty of the drawing: 0, 1 or 2
	Period               string // "2026-03" or "2026-03-14"
	Revision             int64  // number of the recipe revision worked by

	Pieces   int64 // pieces pressed, those made again included
	Reprints int64 // of these, pieces that made good an earlier failure; never more than Pieces

	Drawn      units.SquareMillimetres // film drawn from the roll
	Decorated  units.SquareMillimetres // film on good garments
	Achievable units.SquareMillimetres // film the layout says those very orders needed; 0 where not known

	LayoutLoss, EdgeLoss, TestCutLoss, WeedingLoss, ReprintLoss, RollEndLoss units.SquareMillimetres
}

// stratum is what a fair comparison holds equal.
type stratum struct {
	film, fabric string
	band         int
}

func (c *Cell) stratum() stratum { return stratum{c.Film, c.Fabric, c.Band} }

// areas are the cell's areas with the names used in faults.
func (c *Cell) areas() [9]units.SquareMillimetres {
	return [9]units.SquareMillimetres{c.Drawn, c.Decorated, c.Achievable, c.LayoutLoss, c.EdgeLoss, c.TestCutLoss, c.WeedingLoss, c.ReprintLoss, c.RollEndLoss}
}

var areaNames = [9]string{"drawn", "decorated", "achievable", "layout_loss", "edge_loss", "test_cut_loss", "weeding_loss", "reprint_loss", "roll_end_loss"}

// check refuses cells that can not be a roll-up. Fault kinds: TooLarge, Invalid (with every field, up to 20).
func check(cells []Cell) error {
	if len(cells) > MaxCells {
		return fault.New(fault.TooLarge, room, TooMany, "There are %d cells; at most %d are compared at once. Choose a shorter span or fewer films.", len(cells), MaxCells)
	}
	var fields fault.Fields
	for i := range cells {
		c := &cells[i]
		if c.sound() {
			continue
		}
		fields.Under(fmt.Sprintf("cells[%d]", i), c.faults())
		if len(fields) >= maxFields {
			fields = fields[:maxFields]
			break
		}
	}
	return fields.Fault(room, CellsInvalid, "Some rows can not be a roll-up of runs. Rebuild the roll-ups from the runs.")
}

// sound is the quick test; faults says in words what it found.
func (c *Cell) sound() bool {
	if !name(c.Branch) || !name(c.Film) || !name(c.Fabric) || c.Band < 0 || c.Band >= bands || !period(c.Period) ||
		c.Pieces < 0 || c.Pieces > MaxPieces || c.Reprints < 0 || c.Reprints > c.Pieces {
		return false
	}
	for _, a := range c.areas() {
		if a < 0 || a > MaxArea {
			return false
		}
	}
	return true
}

func (c *Cell) faults() fault.Fields {
	var fs fault.Fields
	for _, n := range []struct{ path, value string }{{"branch", c.Branch}, {"film", c.Film}, {"fabric", c.Fabric}} {
		if !name(n.value) {
			fs.Add(n.path, "must have 1 to %d bytes", MaxName)
		}
	}
	if c.Band < 0 || c.Band >= bands {
		fs.Add("band", "is %d, must be 0, 1 or 2", c.Band)
	}
	if !period(c.Period) {
		fs.Add("period", "is %q, must be a month like 2026-03 or a day like 2026-03-14", shortened(c.Period))
	}
	if c.Pieces < 0 || c.Pieces > MaxPieces {
		fs.Add("pieces", "is %d, must be 0 to %d", c.Pieces, MaxPieces)
	}
	if c.Reprints < 0 || c.Reprints > c.Pieces {
		fs.Add("reprints", "is %d, must be 0 to the %d pieces pressed", c.Reprints, c.Pieces)
	}
	for i, a := range c.areas() {
		if a < 0 || a > MaxArea {
			fs.Add(areaNames[i], "is %d mm², must be 0 to %d", a, MaxArea)
		}
	}
	return fs
}

func name(s string) bool { return s != "" && len(s) <= MaxName }

func shortened(s string) string {
	if len(s) > MaxName {
		return strings.ToValidUTF8(s[:MaxName], "") + "…"
	}
	return s
}

// period accepts yyyy-mm and yyyy-mm-dd; whether the day exists is the calendar's business, not ours.
func period(s string) bool {
	if len(s) != len("2026-03") && len(s) != len("2026-03-14") {
		return false
	}
	for i := range len(s) {
		if i == 4 || i == 7 {
			if s[i] != '-' {
				return false
			}
		} else if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s[5:7] >= "01" && s[5:7] <= "12" && (len(s) == 7 || s[8:] >= "01" && s[8:] <= "31")
}
