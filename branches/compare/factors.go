package compare

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// Factor is a kind of thing that reprints may go together with.
type Factor string

// The first three are the work itself: their rates differ by nature, so they are always held equal for the others.
const (
	ByFilm     Factor = "film"
	ByFabric   Factor = "fabric"
	ByBand     Factor = "band"
	ByBranch   Factor = "branch"
	ByPress    Factor = "press"
	ByCutter   Factor = "cutter"
	ByRecipe   Factor = "recipe" // a film on a fabric, beyond what each brings
	ByRevision Factor = "revision"
	ByLot      Factor = "lot"
	ByHour     Factor = "hour"          // local time of the start
	ByOnFor    Factor = "hours at work" // since the reporter's first run that day
)

var (
	workFactors = []Factor{ByFilm, ByFabric, ByBand}
	// The wider one first: where two always come together, the finding bears the first one's name.
	otherFactors = []Factor{ByBranch, ByPress, ByCutter, ByRecipe, ByRevision, ByLot, ByHour, ByOnFor}
	// Pairs that are looked at together.
	pairs = [][2]Factor{{ByBranch, ByFilm}, {ByBranch, ByFabric}, {ByBranch, ByBand}, {ByBranch, ByHour}, {ByFabric, ByLot}, {ByFilm, ByHour}, {ByFabric, ByHour}, {ByBand, ByOnFor}}
)

// BandNames are the difficulties in words.
var BandNames = [bands]string{"easy", "middle", "hard"}

// level is which one of a factor a run has; "" where it has none.
func (f Factor) level(w *Work, zone *time.Location) string {
	switch f {
	case ByFilm:
		return w.Film
	case ByFabric:
		return w.Fabric
	case ByBand:
		return BandNames[min(max(w.Band, 0), bands-1)]
	case ByBranch:
		return w.Branch
	case ByPress:
		return w.Press
	case ByCutter:
		return w.Cutter
	case ByRecipe:
		record, _, _ := strings.Cut(w.Recipe, "/revisions/")
		return record
	case ByRevision:
		return w.Recipe
	case ByLot:
		if w.Lot == "" {
			return ""
		}
		return w.Film + " " + w.Lot
	case ByHour:
		return hourOf(w.Start.In(zone).Hour())
	case ByOnFor:
		return onForOf(w.OnFor)
	}
	return ""
}

// hourOf and onForOf are blocks wide enough to hold some reprints each. Common practice, no source.
func hourOf(hour int) string {
	switch {
	case hour < 10:
		return "before 10"
	case hour < 12:
		return "10 to 12"
	case hour < 14:
		return "12 to 14"
	case hour < 16:
		return "14 to 16"
	}
	return "from 16"
}

func onForOf(d time.Duration) string {
	switch {
	case d < 2*time.Hour:
		return "up to 2 h"
	case d < 4*time.Hour:
		return "2 to 4 h"
	case d < 6*time.Hour:
		return "4 to 6 h"
	}
	return "over 6 h"
}

// candidate is one level, or two together, with the runs that have it.
type candidate struct {
	factor, withFactor Factor
	level, with        string
	also               []string // levels of other factors that exactly the same runs have
	rows               []int32
	pieces             int64
}

func (c candidate) name() string {
	return string(c.factor) + "\x00" + c.level + "\x00" + string(c.withFactor) + "\x00" + c.with
}

// levels are the candidates of the factors, by factor and level. Those that hold all runs say nothing and are left out;
// those that exactly the same runs have are made one.
func levels(works []Work, zones map[string]*time.Location, factors []Factor) []candidate {
	var list []candidate
	for _, f := range factors {
		found := map[string]*candidate{}
		for i := range works {
			w := &works[i]
			level := f.level(w, zoneOf(zones, w.Branch))
			if level == "" || w.Pieces == 0 {
				continue
			}
			at(found, level).hold(i, w)
		}
		for level, c := range found {
			c.factor, c.level = f, level
			list = append(list, *c)
		}
	}
	return merged(list, len(works), factors)
}

func (c *candidate) hold(row int, w *Work) {
	c.rows = append(c.rows, int32(row))
	c.pieces += w.Pieces
}

func merged(list []candidate, runs int, factors []Factor) []candidate {
	place := map[Factor]int{}
	for i, f := range factors {
		place[f] = i
	}
	slices.SortFunc(list, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(place[a.factor], place[b.factor]), cmp.Compare(a.name(), b.name()))
	})
	same := map[uint64][]int{} // by a sum over the rows
	var kept []candidate
	for _, c := range list {
		if len(c.rows) == runs {
			continue
		}
		sum := uint64(len(c.rows))
		for _, r := range c.rows {
			sum = sum*0x9e3779b97f4a7c15 + uint64(r) + 1
		}
		twin := -1
		for _, k := range same[sum] {
			if slices.Equal(kept[k].rows, c.rows) {
				twin = k
			}
		}
		if twin >= 0 {
			kept[twin].also = append(kept[twin].also, c.level)
			continue
		}
		same[sum] = append(same[sum], len(kept))
		kept = append(kept, c)
	}
	return kept
}

func zoneOf(zones map[string]*time.Location, branch string) *time.Location {
	if z := zones[branch]; z != nil {
		return z
	}
	return time.UTC
}

// crossed are pairs of levels of which one is a finding.
func crossed(works []Work, zones map[string]*time.Location, findings []candidate) []candidate {
	type key struct{ factor, level string }
	found := map[key]bool{}
	for _, c := range findings {
		found[key{string(c.factor), c.level}] = true
	}
	var list []candidate
	for _, p := range pairs {
		type pair struct{ a, b string }
		crossing := map[pair]*candidate{}
		for i := range works {
			w := &works[i]
			zone := zoneOf(zones, w.Branch)
			k := pair{p[0].level(w, zone), p[1].level(w, zone)}
			if k.a != "" && k.b != "" && w.Pieces > 0 && (found[key{string(p[0]), k.a}] || found[key{string(p[1]), k.b}]) {
				at(crossing, k).hold(i, w)
			}
		}
		for k, c := range crossing {
			c.factor, c.level, c.withFactor, c.with = p[0], k.a, p[1], k.b
			list = append(list, *c)
		}
	}
	slices.SortFunc(list, func(a, b candidate) int { return cmp.Compare(a.name(), b.name()) })
	return list
}
