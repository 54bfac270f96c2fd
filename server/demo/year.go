package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sort"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/recipes/units"
)

// seed makes every load's year the same.
const seed = 20_26

// batch is how many runs are handed over at once.
const batch = 500

// sheetFrom is a branch's settings sheet from an instant, by record.
type sheetFrom struct {
	from    time.Time
	entries map[recipes.RecordName]recipes.SheetEntry
}

// sheetsOf are a branch's settings sheets in order of time.
func (l *loading) sheetsOf(h house) []sheetFrom {
	var list []sheetFrom
	for _, r := range l.released {
		if !r.Reaches(h.Name, h.Market) || len(list) > 0 && list[len(list)-1].from.Equal(r.Effective) {
			continue
		}
		sheet, _ := recipes.SheetAt(l.released, h.Name, h.Market, r.Effective)
		s := sheetFrom{r.Effective, map[recipes.RecordName]recipes.SheetEntry{}}
		for _, e := range sheet.Entries {
			if record, _, err := e.Revision.Parts(); err == nil {
				s.entries[record] = e
			}
		}
		list = append(list, s)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].from.Before(list[j].from) })
	return list
}

func inForce(sheets []sheetFrom, record recipes.RecordName, at time.Time) (recipes.SheetEntry, bool) {
	i := sort.Search(len(sheets), func(i int) bool { return sheets[i].from.After(at) })
	if i == 0 {
		return recipes.SheetEntry{}, false
	}
	e, ok := sheets[i-1].entries[record]
	return e, ok
}

// pairing is a film on a fabric with how often it is asked for.
type pairing struct {
	stuff
	fabric recipes.Fabric
	upTo   float64 // cumulative weight
}

// worn is how often each family is asked for, and hard how readily film fails on it; 1 is ordinary. Invented.
var (
	worn = map[recipes.Fabric]float64{"cotton": 5, "polyester": 3, "blend": 2.5, "stretch": 1.2, "nylon": 0.7}
	hard = map[recipes.Fabric]float64{"cotton": 0.9, "polyester": 1, "blend": 0.9, "stretch": 1.2, "nylon": 1.5}
)

func pairings() []pairing {
	var list []pairing
	sum := 0.0
	for _, s := range films() {
		for _, fabric := range s.fabrics {
			sum += s.asked * worn[fabric]
			list = append(list, pairing{s, fabric, sum})
		}
	}
	return list
}

// year writes the runs of the year that ended yesterday, branch by branch.
func (l *loading) year(ctx context.Context) error {
	pairs := pairings()
	for i, h := range l.houses {
		w := worker{
			loading: l, house: h, sheets: l.sheetsOf(h), pairs: pairs, rnd: rand.New(rand.NewPCG(seed, uint64(i))),
			cold: l.before(ColdMonths, 0), reporter: l.bench[h.Name],
		}
		var err error
		if w.zone, err = time.LoadLocation(h.TimeZone); err != nil {
			return fmt.Errorf("branch %s: %w", h.Name, err)
		}
		done := w.corrected(w.year())
		for len(done) > 0 {
			n := min(batch, len(done))
			if _, _, err := l.store.Append(ctx, done[:n]); err != nil {
				return err
			}
			done = done[n:]
		}
	}
	return nil
}

// worker invents one branch's year.
type worker struct {
	*loading
	house
	sheets   []sheetFrom
	pairs    []pairing
	rnd      *rand.Rand
	zone     *time.Location
	cold     time.Time
	reporter string
	count    int
}

// season is how busy each month is: before summer and before the end of the year. Invented.
var season = [12]float64{0.8, 0.85, 0.95, 1, 1.1, 1.2, 1.05, 0.85, 1, 1, 1.1, 1.15}

func (w *worker) year() []runs.Run {
	var done []runs.Run
	for day := w.day.AddDate(0, 0, -yearDays); day.Before(w.day); day = day.AddDate(0, 0, 1) {
		if day.Weekday() == time.Sunday {
			continue
		}
		mean := float64(w.house.runs) / 26 * season[day.Month()-1]
		if day.Weekday() == time.Saturday {
			mean /= 2
		}
		for range w.poisson(mean) {
			if r, ok := w.run(day); ok {
				done = append(done, r)
			}
		}
	}
	return done
}

// poisson draws a count by multiplying chances; means here are a few a day.
func (w *worker) poisson(mean float64) int {
	n, sum := 0, w.rnd.ExpFloat64()
	for sum < mean {
		n++
		sum += w.rnd.ExpFloat64()
	}
	return n
}

// run invents one run; ok is false where the film was not yet in force.
func (w *worker) run(day time.Time) (runs.Run, bool) {
	at := w.rnd.Float64() * w.pairs[len(w.pairs)-1].upTo
	p := w.pairs[sort.Search(len(w.pairs), func(i int) bool { return w.pairs[i].upTo > at })]
	pieces := min(1+int64(w.rnd.ExpFloat64()*14), 120)
	band := []int{0, 0, 0, 0, 0, 1, 1, 1, 1, 2}[w.rnd.IntN(10)]
	took := time.Duration(480+int64(150*band)+pieces*int64(50+w.rnd.IntN(25))) * time.Second
	opens := time.Date(day.Year(), day.Month(), day.Day(), 8, 0, 0, 0, w.zone)
	start := opens.Add(time.Duration(w.rnd.Int64N(int64(10*time.Hour-took)) / int64(time.Minute) * int64(time.Minute)))
	entry, ok := inForce(w.sheets, recordOf(p.Code, p.fabric), start)
	if !ok {
		return runs.Run{}, false
	}
	w.count++
	recipe := w.approved[entry.Revision]
	cutter, press := w.machines[0], w.machines[1+w.rnd.IntN(w.presses)]
	lot := lots(p.Code)[min(3, int(start.Sub(w.day.AddDate(0, 0, -yearDays)).Hours()/24/92))]
	r := runs.Run{
		ID: fmt.Sprintf("demo-%05d", w.count), Branch: w.Name, Recipe: entry.Revision, RecipeDigest: entry.Digest, Film: p.Code, Fabric: p.fabric,
		Colour: p.Colours[w.rnd.IntN(len(p.Colours))], Lot: lot, Cutter: cutter.Name, Press: press.Name, Band: band, Pieces: pieces, Good: pieces,
		Start: start.UTC(), End: start.Add(took).UTC(), TimedDwell: recipe.Dwell.Set + units.Seconds(w.rnd.IntN(2)), Reporter: w.reporter,
	}
	if w.rnd.IntN(40) == 0 {
		r.Good-- // one was given up
	}
	r.Received = w.received(r.End, w.count)
	lost := w.again(&r, p)
	w.film(&r, recipe, cutter.EdgeMargin, cutter.Lead+cutter.Tail, lost)
	return r, true
}

// failing are the ordinary causes and their part of all reprints; edge-lift, by far the largest, comes first, then
// weeding-tear.
var failing = []struct {
	cause string
	part  float64
}{
	{"edge-lift", 0.32}, {"weeding-tear", 0.18}, {"misplaced", 0.16}, {"wrinkle", 0.1}, {"shallow-cut", 0.08},
	{"scorch", 0.06}, {"deep-cut", 0.04}, {"wrong-colour", 0.03}, {"film-end", 0.02}, {"other", 0.01},
}

// byBand is how much readier hard designs are to fail.
var byBand = [3]float64{0.8, 1.2, 1.9}

// again decides for every piece whether it was made again, and why. The planted causes raise edge-lift or weeding-tear alone.
func (w *worker) again(r *runs.Run, p pairing) map[string]int64 {
	rate := 0.022 * p.lift * hard[p.fabric] * byBand[r.Band]
	lift := 1.0
	if w.Name == Cold && !r.Start.Before(w.cold) {
		lift *= 5
	}
	if r.Recipe == Short.Revision(2) {
		lift *= 5
	}
	tear := 1.0
	if r.Lot == Brittle {
		tear = 4
	}
	lost := map[string]int64{}
	for range r.Pieces {
		at := w.rnd.Float64() / rate
		for i, f := range failing {
			part := f.part
			switch i {
			case 0:
				part *= lift
			case 1:
				part *= tear
			}
			if at < part {
				lost[f.cause]++
				break
			}
			at -= part
		}
	}
	return lost
}

// film works out where the film of a run went; the parts and a little not accounted for add up to what was drawn.
func (w *worker) film(r *runs.Run, recipe recipes.Recipe, margin, ends units.Millimetres, lost map[string]int64) {
	area := func(mm2 float64) units.SquareMillimetres { return units.SquareMillimetres(mm2) }
	width := float64(recipe.Film.RollWidth)
	usable := width - 2*float64(margin)
	box := (70 + 230*w.rnd.Float64()) * (60 + 200*w.rnd.Float64()) // mm² around one design
	ink := box * (0.62 - 0.08*float64(r.Band) + 0.1*w.rnd.Float64())
	slot := box / (0.8 + 0.12*w.rnd.Float64()) // with gaps, as it lies
	length := float64(int64(float64(r.Pieces)*slot/usable)+1) + float64(ends)
	planned := length * width
	r.Achievable = area(planned)
	r.Decorated = area(ink * float64(r.Good))
	r.EdgeLoss = area(2*float64(margin)*length + float64(ends)*usable)
	r.LayoutLoss = r.Achievable - r.EdgeLoss - area(ink*float64(r.Pieces)) - 1 // a millimetre's rounding
	r.TestCutLoss = area(900 + 1600*w.rnd.Float64())
	r.WeedingLoss = area(planned * 0.006 * w.rnd.Float64() * float64(1+r.Band))
	often, least, most := 0.25, 0.0, 0.08
	if w.Name == Wasteful {
		often, least, most = 0.5, 0.06, 0.2
	}
	if w.rnd.Float64() < often {
		r.RollEndLoss = area(planned * (least + (most-least)*w.rnd.Float64()))
	}
	spent := r.Achievable + r.TestCutLoss + r.WeedingLoss + r.RollEndLoss
	for _, f := range failing {
		if n := lost[f.cause]; n > 0 {
			again := runs.Reprint{Cause: f.cause, Count: n, Film: area(float64(n) * (slot + 4*width))}
			r.Reprints = append(r.Reprints, again)
			spent += again.Film
		}
	}
	slip := 1 + 0.004*w.rnd.Float64()
	r.DrawnLength = units.Millimetres(float64(spent)*slip/width) + 1
	r.Drawn = units.SquareMillimetres(int64(r.DrawnLength) * int64(recipe.Film.RollWidth))
}
