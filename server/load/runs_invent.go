package load

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/recipes/units"
)

const inventedFilms = 40

// firstDay is the first day of what is invented.
var firstDay = time.Date(2024, 11, 1, 0, 0, 0, 0, time.UTC)

// inventor makes runs in the order in which servers receive them. Branches and films are skewed as 1/n: the largest branch
// has some hundred times the runs of the smallest, and a few films do most of the work. Each film is pressed on two or three
// fabrics and gets a new recipe revision every half year. One run in sixteen has reprints; 2 % come more than a day late;
// one in two hundred corrects an earlier one.
type inventor struct {
	runsFlags
	rnd             *rand.Rand
	n               int
	branches, films []float64 // cumulated weights
	branchNames     []string
	filmNames       []string
	newest          []string // a run of each branch that may be corrected
}

func newInventor(f runsFlags) *inventor {
	v := &inventor{runsFlags: f, rnd: rand.New(rand.NewPCG(f.Seed, 5)), newest: make([]string, f.Branches)}
	v.branches = skewed(f.Branches, 40)
	v.films = skewed(inventedFilms, 2)
	for i := range f.Branches {
		v.branchNames = append(v.branchNames, fmt.Sprintf("branches/load-%03d", i))
	}
	for i := range inventedFilms {
		v.filmNames = append(v.filmNames, fmt.Sprintf("film-%02d", i))
	}
	return v
}

// skewed are the cumulated weights 1/(i+soft).
func skewed(n int, soft float64) []float64 {
	weights := make([]float64, n)
	sum := 0.0
	for i := range weights {
		sum += 1 / (float64(i) + soft)
		weights[i] = sum
	}
	return weights
}

func (v *inventor) pick(weights []float64) int {
	return sort.SearchFloat64s(weights, v.rnd.Float64()*weights[len(weights)-1])
}

// last is the last day of what the store is filled with.
func (v *inventor) last() time.Time { return firstDay.AddDate(0, 0, v.Days-1) }

// skip goes past n runs.
func (v *inventor) skip(n int) {
	for range n {
		v.next()
	}
}

// at is when the n-th run ends: evenly over the days, and on the last day beyond them.
func (v *inventor) at(n int) time.Time {
	whole := time.Duration(v.Days) * 24 * time.Hour
	if n >= v.Runs {
		return firstDay.Add(whole - time.Duration(1+v.rnd.IntN(86_000))*time.Second)
	}
	return firstDay.Add(time.Duration(float64(whole) * float64(n) / float64(v.Runs))).Truncate(time.Microsecond)
}

func (v *inventor) next() runs.Run { return v.of(v.pick(v.branches)) }

// of makes the next run, at a branch.
func (v *inventor) of(branch int) runs.Run {
	film := v.pick(v.films)
	end := v.at(v.n)
	late := time.Duration(v.rnd.ExpFloat64() * float64(10*time.Minute))
	if v.rnd.IntN(50) == 0 {
		late = time.Duration(float64(24*time.Hour) * (1 + 5*v.rnd.Float64()))
		end = end.Add(-late) // it comes now and was done before
	}
	revision := 1 + (int(end.Sub(firstDay).Hours()/24)+film*7)/180
	pieces := 1 + int64(v.rnd.ExpFloat64()*12)
	decorated := units.SquareMillimetres(float64(pieces) * (8_000 + 30_000*v.rnd.Float64()))
	r := runs.Run{
		ID: fmt.Sprintf("%08x-%04x-7000-8000-%012x", v.n>>8, v.n&0xff, v.rnd.Uint64()&0xffffffffffff), Branch: v.branchNames[branch],
		Order:  v.branchNames[branch] + "/orders/" + fmt.Sprint(v.n/3),
		Recipe: recipes.RecordName("recipes/" + v.filmNames[film]).Revision(int64(revision)), RecipeDigest: recipes.Digest{byte(film), byte(revision)},
		Film: v.filmNames[film], Fabric: recipes.Fabrics[(film+v.pick(skewedFabrics))%len(recipes.Fabrics)], Band: v.pick(skewedBands),
		Colour: "colour-" + fmt.Sprint(v.rnd.IntN(8)), Lot: "lot-" + fmt.Sprint(v.n/50_000), Cutter: v.branchNames[branch] + "/machines/cutter", Press: v.branchNames[branch] + "/machines/press",
		Pieces: pieces, Good: pieces, Decorated: decorated, LayoutLoss: decorated / 5, EdgeLoss: decorated / units.SquareMillimetres(7+v.rnd.IntN(6)),
		TestCutLoss: units.SquareMillimetres(v.rnd.IntN(2500)), WeedingLoss: units.SquareMillimetres(v.rnd.IntN(4) * v.rnd.IntN(1500)),
		TimedDwell: 15, Reporter: "people/load", End: end, Start: end.Add(-time.Duration(10+v.rnd.IntN(90)) * time.Minute), Received: end.Add(late),
	}
	if v.rnd.IntN(16) == 0 {
		r.Reprints = append(r.Reprints, runs.Reprint{Cause: runs.Causes[(film+v.pick(skewedCauses))%len(runs.Causes)], Count: 1 + int64(v.rnd.IntN(3)), Film: decorated / units.SquareMillimetres(pieces)})
	}
	r.Achievable = decorated + decorated/4
	r.Drawn = r.Decorated + r.LayoutLoss + r.EdgeLoss + r.TestCutLoss + r.WeedingLoss + r.ReprintFilm() + units.SquareMillimetres(v.rnd.IntN(4000))
	r.DrawnLength = units.Millimetres(math.Ceil(float64(r.Drawn) / 500))
	switch v.rnd.IntN(200) {
	case 0:
		r.Corrects, v.newest[branch] = v.newest[branch], ""
	case 1:
		v.newest[branch] = r.ID
	}
	v.n++
	return r
}

var (
	skewedFabrics = skewed(3, 0.5)
	skewedBands   = skewed(3, 0.7)
	skewedCauses  = skewed(len(runs.Causes), 1)
)
