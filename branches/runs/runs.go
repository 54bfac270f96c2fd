// Package runs is the ledger of what was done: film drawn, good garments, reprints with their cause. It is only ever
// appended to; a correction is a new run that takes the place of an old one in every sum.
//
// Room: runs
// Holds: Run, Reprint, Ledger, the rules of reporting
// May touch: recipes, recipes/fault, recipes/units, branches
// Never: SQL, Redis, RPC, a clock it was not handed
package runs

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// Causes of a reprint, in the order that a bench shows them.
var Causes = []string{"edge-lift", "wrinkle", "scorch", "shallow-cut", "deep-cut", "weeding-tear", "misplaced", "wrong-colour", "film-end", "other"}

// Reprint is garments or decorations made again for one cause.
type Reprint struct {
	Cause string
	Count int64
	Film  units.SquareMillimetres
}

// Run is what was really done, in one film on one fabric.
type Run struct {
	ID           string // made by the client: sending twice stores once
	Branch       string
	Order        string
	Recipe       recipes.RevisionName
	RecipeDigest recipes.Digest
	Film         string
	Fabric       recipes.Fabric
	Colour       string
	Lot          string
	Cutter       string
	Press        string
	Band         int   // difficulty: 0 easy, 1 middle, 2 hard
	Pieces       int64 // pressed, reprints left out
	Good         int64
	Reprints     []Reprint
	Drawn        units.SquareMillimetres
	DrawnLength  units.Millimetres
	Decorated    units.SquareMillimetres // on good garments
	LayoutLoss   units.SquareMillimetres
	EdgeLoss     units.SquareMillimetres
	TestCutLoss  units.SquareMillimetres
	WeedingLoss  units.SquareMillimetres
	RollEndLoss  units.SquareMillimetres
	Achievable   units.SquareMillimetres // film that the plan said was enough
	Start, End   time.Time
	TimedDwell   units.Seconds
	Corrects     string // id of the run that this one takes the place of
	Reporter     string

	Received time.Time // when a server took it; a run that is appended without one takes its End

	// The ledger sets these.
	Sequence    int64  // its place in the order of receipt, over all branches, from 1
	CorrectedBy string // id of the run that took its place; "" while it counts
}

// Same reports whether a run that is sent again says what it said before. Who sends it, and when, may differ.
func (r Run) Same(other Run) bool {
	if !r.Start.Equal(other.Start) || !r.End.Equal(other.End) || !slices.Equal(r.Reprints, other.Reprints) {
		return false
	}
	for _, x := range []*Run{&r, &other} {
		x.Start, x.End, x.Received, x.Sequence, x.CorrectedBy, x.Reporter, x.Reprints = time.Time{}, time.Time{}, time.Time{}, 0, "", "", nil
	}
	return reflect.DeepEqual(r, other)
}

// ReprintCount is the number of pieces made again, whatever the cause.
func (r Run) ReprintCount() (n int64) {
	for _, p := range r.Reprints {
		n += p.Count
	}
	return n
}

// ReprintFilm is the film drawn for them.
func (r Run) ReprintFilm() (area units.SquareMillimetres) {
	for _, p := range r.Reprints {
		area += p.Film
	}
	return area
}

// Ledger keeps runs.
type Ledger interface {
	// Append stores runs, all or none, and their roll-ups in the same act. A run whose id is stored already is
	// counted as known and changes nothing. A run that corrects another takes its place in the roll-ups. Faults
	// Invalid/RUN_ID_REUSED where a known id comes with other content (times are told apart to the microsecond),
	// NotFound/RUN_NOT_FOUND and NotReady/RUN_CORRECTED_ALREADY for a correction.
	Append(ctx context.Context, rs []Run) (stored, known int, err error)
	// Run reads one. Fault NotFound/RUN_NOT_FOUND.
	Run(ctx context.Context, branch, id string) (Run, error)
	// Runs lists a branch's runs, newest end first, below the one named by (before, id); "" starts at the newest.
	Runs(ctx context.Context, branch string, before time.Time, id string, most int) ([]Run, error)
}

// A run's numbers are bounded so that no sum over a franchise's life can wrap.
const (
	maxPieces = 1_000_000
	maxArea   = units.SquareMillimetres(10_000_000_000) // 10 000 m²
	maxSpan   = 31 * 24 * time.Hour
)

// Check finds everything that is wrong with a run by itself. Paths are those of branches.v1.Run.
func (r Run) Check(now time.Time) fault.Fields {
	var fs fault.Fields
	for path, v := range map[string]string{"film": r.Film, "fabric": string(r.Fabric)} {
		if strings.TrimSpace(v) == "" || len(v) > 60 {
			fs.Add(path, "is empty, or longer than 60 characters")
		}
	}
	if len(r.Order) > 200 || len(r.Colour) > 60 || len(r.Lot) > 60 || len(r.Cutter) > 200 || len(r.Press) > 200 {
		fs.Add("order", "or colour, lot, cutter, press is longer than it can be")
	}
	if r.Band < 0 || r.Band > 2 {
		fs.Add("band", "is %d; 0 is easy, 1 middle, 2 hard", r.Band)
	}
	count := func(path string, v int64) {
		if v < 0 || v > maxPieces {
			fs.Add(path, "is %d; allowed are 0 to %d", v, maxPieces)
		}
	}
	count("pieces_count", r.Pieces)
	count("good_count", r.Good)
	if r.Pieces == 0 {
		fs.Add("pieces_count", "is 0; a run has at least one piece")
	}
	if r.Good > r.Pieces {
		fs.Add("good_count", "is %d, more than the %d pieces pressed", r.Good, r.Pieces)
	}
	if len(r.Reprints) > 2*len(Causes) {
		fs.Add("reprints", "are %d lines; add up those of one cause", len(r.Reprints))
		return fs
	}
	for i, p := range r.Reprints {
		path := fmt.Sprintf("reprints[%d]", i)
		if !slices.Contains(Causes, p.Cause) {
			fs.Add(path+".cause", "is %q; choose one of %s", p.Cause, strings.Join(Causes, ", "))
		}
		if p.Count < 1 {
			fs.Add(path+".count", "is %d; leave the cause out where nothing was made again", p.Count)
		}
		count(path+".count", p.Count)
		// Each by itself: in their sum one below nothing would hide behind another, and huge ones could wrap.
		if p.Film < 0 || p.Film > maxArea {
			fs.Add(path+".film_area_mm2", "is %d mm²; allowed are 0 to %d mm²", p.Film, maxArea)
		}
	}
	areas := []struct {
		path string
		area units.SquareMillimetres
	}{
		{"drawn_area_mm2", r.Drawn}, {"decorated_area_mm2", r.Decorated}, {"layout_loss_mm2", r.LayoutLoss}, {"edge_loss_mm2", r.EdgeLoss},
		{"test_cut_loss_mm2", r.TestCutLoss}, {"weeding_loss_mm2", r.WeedingLoss}, {"roll_end_loss_mm2", r.RollEndLoss},
		{"achievable_area_mm2", r.Achievable}, {"reprints.film_area_mm2", r.ReprintFilm()},
	}
	var spent units.SquareMillimetres
	for i, a := range areas {
		if a.area < 0 || a.area > maxArea {
			fs.Add(a.path, "is %d mm²; allowed are 0 to %d mm²", a.area, maxArea)
		} else if i > 0 && a.path != "achievable_area_mm2" {
			spent += a.area
		}
	}
	if r.Drawn == 0 {
		fs.Add("drawn_area_mm2", "is 0; a run draws film")
	} else if spent > r.Drawn && r.Drawn > 0 {
		fs.Add("drawn_area_mm2", "is %d mm², less than the %d mm² that the parts add up to", r.Drawn, spent)
	}
	switch {
	case r.Start.IsZero() || r.End.IsZero():
		fs.Add("start_time", "or end_time is missing")
	case r.End.Before(r.Start):
		fs.Add("end_time", "lies before the start")
	case r.End.Sub(r.Start) > maxSpan:
		fs.Add("end_time", "lies more than a month after the start")
	case r.End.After(now.Add(time.Hour)):
		fs.Add("end_time", "lies in the future; set the tablet's clock")
	case r.Start.Before(now.AddDate(-5, 0, 0)):
		fs.Add("start_time", "lies more than five years back")
	}
	if r.TimedDwell < 0 || r.TimedDwell > 3600 {
		fs.Add("timed_dwell_seconds", "is %d; allowed are 0 to 3600", r.TimedDwell)
	}
	slices.SortStableFunc(fs, func(a, b fault.Field) int { return strings.Compare(a.Path, b.Path) })
	return fs
}
