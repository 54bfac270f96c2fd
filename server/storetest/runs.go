package storetest

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// run is a run with every field filled.
func run(id string) runs.Run {
	return runs.Run{
		ID: id, Branch: harbour, Order: harbour + "/orders/o1", Recipe: glimmer.Revision(3), RecipeDigest: recipes.Digest{7}, Film: "glimmer",
		Fabric: "cotton", Colour: "gold", Lot: "L1", Cutter: harbour + "/machines/c1", Press: harbour + "/machines/p1", Band: 1, Pieces: 10, Good: 9,
		Reprints: []runs.Reprint{{Cause: "scorch", Count: 2, Film: 300}, {Cause: "edge-lift", Count: 1, Film: 50}, {Cause: "scorch", Count: 1, Film: 5}},
		Drawn:    10_000, DrawnLength: 500, Decorated: 6000, LayoutLoss: 1000, EdgeLoss: 900, TestCutLoss: 80, WeedingLoss: 70, RollEndLoss: 6,
		Achievable: 9000, Start: noon.Add(-time.Hour), End: noon, TimedDwell: 15, Reporter: "people/bo",
	}
}

// kept is a run as the ledger gives it back: with its place in the order of receipt.
func kept(r runs.Run, sequence int64) runs.Run {
	if r.Received.IsZero() {
		r.Received = r.End
	}
	r.Sequence = sequence
	return r
}

// appended stores runs and checks the counts.
func appended(t *testing.T, s Stores, stored, known int, rs ...runs.Run) {
	t.Helper()
	gotStored, gotKnown, err := s.Append(t.Context(), rs)
	must(t, err)
	same(t, [2]int{gotStored, gotKnown}, [2]int{stored, known})
}

var march = compare.Span{From: "2026-03-01", To: "2026-03-31"}

// pieces are pieces and reprints of all cells of a span, from the roll-up and from the runs themselves.
func tallies(t *testing.T, s Stores) [2]compare.Tally {
	t.Helper()
	var sums [2]compare.Tally
	for i, span := range []compare.Span{march, {From: "2026-03-02", To: "2026-03-30"}} {
		for _, c := range got(s.Cells(t.Context(), span))(t) {
			sums[i].Pieces += c.Pieces
			sums[i].Reprints += c.Reprints
		}
	}
	return sums
}

func bothTally(pieces, reprints int64) [2]compare.Tally {
	return [2]compare.Tally{{Pieces: pieces, Reprints: reprints}, {Pieces: pieces, Reprints: reprints}}
}

var runPromises = []promise{
	{"a run comes back as it was sent", func(t *testing.T, s Stores) {
		r := run("r1")
		plain := run("r2")
		plain.Reprints, plain.Recipe, plain.RecipeDigest, plain.Received = nil, "", recipes.Digest{}, noon.Add(time.Hour)
		appended(t, s, 2, 0, r, plain)
		same(t, got(s.Run(t.Context(), harbour, "r1"))(t), kept(r, 1))
		same(t, got(s.Run(t.Context(), harbour, "r2"))(t), kept(plain, 2))
		for _, key := range [][2]string{{harbour, "r3"}, {"branches/other", "r1"}} {
			_, err := s.Run(t.Context(), key[0], key[1])
			refused(t, err, fault.NotFound, "RUN_NOT_FOUND")
		}
	}},
	{"sending a run twice stores it once", func(t *testing.T, s Stores) {
		later := run("r1")
		later.Reporter, later.Received = "people/bo", noon.AddDate(0, 0, 3) // another tablet, another day, the same run
		appended(t, s, 2, 1, run("r1"), run("r2"), later)
		appended(t, s, 1, 2, later, run("r2"), run("r3"))
		same(t, tallies(t, s), bothTally(3*14, 3*4))
		same(t, got(s.Run(t.Context(), harbour, "r1"))(t), kept(run("r1"), 1))
		same(t, got(s.Run(t.Context(), harbour, "r3"))(t), kept(run("r3"), 3)) // what is known takes no place
	}},
	{"an id that comes again with other content is refused, and its batch with it", func(t *testing.T, s Stores) {
		appended(t, s, 1, 0, run("r1"))
		for name, change := range map[string]func(r *runs.Run){
			"pieces": func(r *runs.Run) { r.Pieces = 99 }, "lot": func(r *runs.Run) { r.Lot = "L2" },
			"end": func(r *runs.Run) { r.End = r.End.Add(time.Microsecond) }, "causes": func(r *runs.Run) { r.Reprints = r.Reprints[:2] },
			"digest": func(r *runs.Run) { r.RecipeDigest[31]++ }, "corrects": func(r *runs.Run) { r.Corrects = "r9" },
		} {
			t.Run(name, func(t *testing.T) {
				changed := run("r1")
				change(&changed)
				_, _, err := s.Append(t.Context(), []runs.Run{run("r2"), changed})
				refused(t, err, fault.Invalid, "RUN_ID_REUSED")
			})
		}
		twice := run("r2")
		twice.Good--
		_, _, err := s.Append(t.Context(), []runs.Run{run("r2"), twice})
		refused(t, err, fault.Invalid, "RUN_ID_REUSED")
		_, err = s.Run(t.Context(), harbour, "r2")
		refused(t, err, fault.NotFound, "RUN_NOT_FOUND")
		same(t, tallies(t, s), bothTally(14, 4))
	}},
	{"of many reports at once each is stored whole or refused by itself", func(t *testing.T, s Stores) {
		appended(t, s, 1, 0, run("r1"))
		atOnce(12, func(i int) {
			mine := run(fmt.Sprint("m", i))
			second := run(fmt.Sprint("n", i))
			if i%3 == 0 {
				second.Corrects = "nobody"
			}
			_, _, err := s.Append(t.Context(), []runs.Run{mine, second})
			if i%3 == 0 && !fault.Is(err, fault.NotFound) || i%3 != 0 && err != nil {
				t.Errorf("report %d: %v", i, err)
			}
		})
		same(t, tallies(t, s), bothTally(17*14, 17*4))
		seen := map[int64]bool{}
		for _, r := range got(s.Runs(t.Context(), harbour, time.Time{}, "", 100))(t) {
			seen[r.Sequence] = true
		}
		for i := range int64(17) {
			same(t, seen[i+1], true) // without gaps
		}
	}},
	{"two branches may have made the same id", func(t *testing.T, s Stores) {
		other := run("r1")
		other.Branch = "branches/quay"
		appended(t, s, 2, 0, run("r1"), other)
		same(t, got(s.Run(t.Context(), "branches/quay", "r1"))(t), kept(other, 2))
	}},
	{"the same batches from many at once are stored once", func(t *testing.T, s Stores) {
		var batch []runs.Run
		for i := range 60 {
			r := run(fmt.Sprint("r", i))
			if i%2 == 1 {
				r.Branch = "branches/quay"
			}
			batch = append(batch, r)
		}
		var stored atomic.Int64
		atOnce(6, func(i int) {
			mine := slices.Clone(batch)
			if i%2 == 1 {
				slices.Reverse(mine)
			}
			n, known, err := s.Append(t.Context(), mine)
			if err != nil || n+known != len(mine) {
				t.Errorf("got %d stored, %d known, %v", n, known, err)
			}
			stored.Add(int64(n))
		})
		same(t, stored.Load(), int64(60))
		same(t, tallies(t, s), bothTally(60*14, 60*4))
	}},
	{"a batch is stored whole or not at all", func(t *testing.T, s Stores) {
		bad := run("r2")
		bad.Corrects = "none"
		_, _, err := s.Append(t.Context(), []runs.Run{run("r1"), bad})
		refused(t, err, fault.NotFound, "RUN_NOT_FOUND")
		_, err = s.Run(t.Context(), harbour, "r1")
		refused(t, err, fault.NotFound, "RUN_NOT_FOUND")
		same(t, tallies(t, s), bothTally(0, 0))
	}},
	{"a correction takes the place of the run, once", func(t *testing.T, s Stores) {
		appended(t, s, 1, 0, run("r1"))
		better := run("r2")
		better.Corrects, better.Pieces, better.Reprints, better.End = "r1", 7, nil, noon.AddDate(0, 0, -2)
		appended(t, s, 1, 0, better)
		appended(t, s, 0, 1, better)
		same(t, tallies(t, s), bothTally(7, 0))
		same(t, len(got(s.CauseCounts(t.Context(), march))(t)), 0)
		same(t, got(s.LastDays(t.Context()))(t), map[string]string{harbour: "2026-03-12"})
		was := kept(run("r1"), 1)
		was.CorrectedBy = "r2"
		same(t, got(s.Run(t.Context(), harbour, "r1"))(t), was) // the raw row stays
		same(t, got(s.Runs(t.Context(), harbour, time.Time{}, "", 9))(t), []runs.Run{was, kept(better, 2)})
		again := run("r3")
		again.Corrects = "r1"
		_, _, err := s.Append(t.Context(), []runs.Run{again})
		refused(t, err, fault.NotReady, "RUN_CORRECTED_ALREADY")
		again.Corrects = "r2" // a correction may be corrected
		twice := run("r4")
		twice.Corrects = "r2"
		_, _, err = s.Append(t.Context(), []runs.Run{again, twice})
		refused(t, err, fault.NotReady, "RUN_CORRECTED_ALREADY")
		appended(t, s, 1, 0, again)
		same(t, tallies(t, s), bothTally(14, 4))
	}},
	{"of many that correct one run at once, one wins", func(t *testing.T, s Stores) {
		appended(t, s, 1, 0, run("r1"))
		var won atomic.Int64
		atOnce(6, func(i int) {
			r := run(fmt.Sprint("c", i))
			r.Corrects = "r1"
			switch _, _, err := s.Append(t.Context(), []runs.Run{r}); {
			case err == nil:
				won.Add(1)
			case !fault.Is(err, fault.NotReady):
				t.Error(err)
			}
		})
		same(t, won.Load(), int64(1))
		same(t, tallies(t, s), bothTally(14, 4))
	}},
	{"runs are listed newest end first, page by page", func(t *testing.T, s Stores) {
		var want []runs.Run
		for i := range 7 {
			r := run(fmt.Sprint("r", 6-i))
			r.End = noon.Add(-time.Duration(i/2) * time.Microsecond) // two ends alike
			want = append(want, r)
		}
		appended(t, s, 7, 0, want...)
		for i := range want {
			want[i] = kept(want[i], int64(i)+1)
		}
		var all []runs.Run
		before, id := time.Time{}, ""
		for {
			page := got(s.Runs(t.Context(), harbour, before, id, 2))(t)
			if len(page) == 0 {
				break
			}
			all = append(all, page...)
			before, id = page[len(page)-1].End, page[len(page)-1].ID
		}
		same(t, all, want)
		same(t, len(got(s.Runs(t.Context(), harbour, noon, "", 0))(t)), 0)
	}},
	{"a day counts by the UTC day of the end", func(t *testing.T, s Stores) {
		r := run("r1")
		r.End = time.Date(2026, 4, 1, 0, 30, 0, 0, time.FixedZone("", 3600)) // 31 March, 23:30 UTC
		appended(t, s, 1, 0, r)
		want := []compare.DayCount{{Day: "2026-03-31", Pieces: 14, Reprints: 4, Drawn: 10_000, Decorated: 6000}}
		same(t, got(s.Days(t.Context(), harbour, march))(t), want)
		narrow := march
		narrow.Film = "glimmer"
		same(t, got(s.Days(t.Context(), harbour, narrow))(t), want)
		same(t, got(s.LastDays(t.Context()))(t), map[string]string{harbour: "2026-03-31"})
		old := run("r2") // of an older day, received later
		old.End, old.Received = r.End.AddDate(0, 0, -9), r.End.AddDate(0, 0, 2).UTC()
		appended(t, s, 1, 0, old)
		same(t, got(s.LastReceived(t.Context()))(t), map[string]time.Time{harbour: old.Received})
		same(t, got(s.LastDays(t.Context()))(t), map[string]string{harbour: "2026-03-31"})
		for _, span := range []compare.Span{{From: "2026-03-02", To: "2026-03-01"}, {From: "2026-02-30", To: "2026-03-01"}, {}} {
			_, err := s.Cells(t.Context(), span)
			refused(t, err, fault.Invalid, "SPAN_INVALID")
		}
	}},
	{"comparison sees each run that counts, its causes and how long its reporter had been at it", worksAreListed},
	{"roll-ups give what the runs add up to, to the last unit", rollUpsAreExact},
}

// rollUpsAreExact appends random batches with repeats and corrections and compares every answer with sums made here.
func rollUpsAreExact(t *testing.T, s Stores) {
	rnd := rand.New(rand.NewPCG(1, 2))
	var sent []runs.Run
	counts := map[string]runs.Run{} // runs that count, by branch and id
	var ever []runs.Run
	for batch := range 12 {
		var rs []runs.Run
		replaced := map[string]bool{}
		for i := range 1 + rnd.IntN(30) {
			r := run(fmt.Sprint("b", batch, "-", i))
			r.Branch = fmt.Sprint("branches/b", rnd.IntN(3))
			r.Film, r.Fabric = []string{"glimmer", "velour"}[rnd.IntN(2)], recipes.Fabrics[rnd.IntN(2)]
			r.Band, r.Recipe = rnd.IntN(3), glimmer.Revision(1+rnd.Int64N(2))
			r.Pieces, r.Drawn, r.Decorated = 1+rnd.Int64N(50), units.SquareMillimetres(rnd.Int64N(1e10)), units.SquareMillimetres(rnd.Int64N(1e9))
			r.EdgeLoss, r.Achievable = units.SquareMillimetres(rnd.Int64N(1e9)), units.SquareMillimetres(rnd.Int64N(1e10))
			r.End = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rnd.Int64N(120*24)) * time.Hour)
			r.Reprints = r.Reprints[:rnd.IntN(4)]
			r.Received = r.End.Add(time.Duration(rnd.Int64N(40*24)) * time.Hour)
			if len(sent) > 0 && rnd.IntN(4) == 0 {
				old := sent[rnd.IntN(len(sent))]
				if key := old.Branch + old.ID; !replaced[key] {
					if _, stands := counts[key]; stands {
						r.Branch, r.Corrects, replaced[key] = old.Branch, old.ID, true
						delete(counts, key)
					}
				}
			}
			counts[r.Branch+r.ID] = r
			rs = append(rs, r)
			ever = append(ever, r)
		}
		appended(t, s, len(rs), 0, rs...)
		appended(t, s, 0, len(rs), rs...)
		sent = append(sent, rs...)
	}
	spans := []compare.Span{
		{From: "2026-01-01", To: "2026-12-31"}, {From: "2026-02-01", To: "2026-02-28"}, {From: "2026-02-28", To: "2026-03-01"},
		{From: "2026-02-28", To: "2026-02-28"}, {From: "2026-01-31", To: "2026-03-31", Film: "glimmer"}, {From: "2026-01-02", To: "2026-04-29", Fabric: "cotton"},
	}
	for i := range 60 {
		from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rnd.IntN(100))
		span := compare.Span{From: from.Format(time.DateOnly), To: from.AddDate(0, 0, rnd.IntN(60)).Format(time.DateOnly)}
		if i%2 == 1 {
			span.AsOf = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rnd.Int64N(170*24)) * time.Hour)
		}
		if i%3 == 1 {
			span.Film = "velour"
		}
		if i%5 == 1 {
			span.Fabric = "cotton"
		}
		spans = append(spans, span)
	}
	check := func() {
		t.Helper()
		for _, span := range spans {
			counts := counts
			if !span.AsOf.IsZero() {
				counts = asOf(ever, span.AsOf)
			}
			cells, causes := added(counts, span)
			same(t, sorted(got(s.Cells(t.Context(), span))(t)), sorted(cells))
			same(t, sorted(got(s.Strata(t.Context(), span))(t)), sorted(merged(cells, func(c *compare.Cell) { c.Revision, c.Period = 0, span.From })))
			same(t, sorted(got(s.FilmMonths(t.Context(), span))(t)), sorted(merged(cells, func(c *compare.Cell) { c.Fabric, c.Band, c.Revision = "all", 0, 0 })))
			same(t, sorted(got(s.Months(t.Context(), span))(t)), sorted(merged(cells, func(c *compare.Cell) { c.Film, c.Fabric, c.Band, c.Revision = "all", "all", 0, 0 })))
			same(t, sorted(got(s.CauseCounts(t.Context(), span))(t)), sorted(causes))
			byBranch, byRevision := addedDays(counts, span)
			same(t, got(s.AllDays(t.Context(), span))(t), byBranch)
			same(t, got(s.RevisionDays(t.Context(), span))(t), byRevision)
			var days []compare.DayCount
			for _, d := range byBranch {
				if d.Branch == "branches/b1" {
					days = append(days, d.DayCount)
				}
			}
			same(t, got(s.Days(t.Context(), "branches/b1", span))(t), days)
			same(t, got(s.Reporting(t.Context(), span))(t), reporting(ever, counts, span))
			anew, causesAnew, err := s.Anew(t.Context(), span)
			must(t, err)
			same(t, sorted(anew), sorted(cells))
			same(t, sorted(causesAnew), sorted(causes))
		}
	}
	check()
	must(t, s.RebuildRollUps(t.Context()))
	check()
}

// asOf are the runs that count where nothing received after an instant has come, by branch and id.
func asOf(ever []runs.Run, at time.Time) map[string]runs.Run {
	counts := map[string]runs.Run{}
	for _, r := range ever {
		if !r.Received.After(at) {
			counts[r.Branch+r.ID] = r
		}
	}
	for _, r := range ever {
		if !r.Received.After(at) && r.Corrects != "" {
			delete(counts, r.Branch+r.Corrects)
		}
	}
	return counts
}

// merged adds up cells that are alike once rename has been over them.
func merged(cells []compare.Cell, rename func(c *compare.Cell)) []compare.Cell {
	at := map[compare.Cell]int{}
	var list []compare.Cell
	for _, c := range cells {
		key := compare.Cell{Branch: c.Branch, Film: c.Film, Fabric: c.Fabric, Band: c.Band, Period: c.Period, Revision: c.Revision}
		rename(&key)
		i, seen := at[key]
		if !seen {
			i = len(list)
			at[key] = i
			list = append(list, key)
		}
		sum := &list[i]
		sum.Pieces, sum.Reprints = sum.Pieces+c.Pieces, sum.Reprints+c.Reprints
		sum.Drawn, sum.Decorated, sum.Achievable = sum.Drawn+c.Drawn, sum.Decorated+c.Decorated, sum.Achievable+c.Achievable
		sum.LayoutLoss, sum.EdgeLoss, sum.TestCutLoss = sum.LayoutLoss+c.LayoutLoss, sum.EdgeLoss+c.EdgeLoss, sum.TestCutLoss+c.TestCutLoss
		sum.WeedingLoss, sum.ReprintLoss, sum.RollEndLoss = sum.WeedingLoss+c.WeedingLoss, sum.ReprintLoss+c.ReprintLoss, sum.RollEndLoss+c.RollEndLoss
	}
	return list
}

func inside(r runs.Run, span compare.Span) (day string, ok bool) {
	day = r.End.UTC().Format(time.DateOnly)
	return day, day >= span.From && day <= span.To && (span.Film == "" || span.Film == r.Film) && (span.Fabric == "" || span.Fabric == string(r.Fabric))
}

// added sums runs up in the plainest way.
func added(counts map[string]runs.Run, span compare.Span) ([]compare.Cell, []compare.Cause) {
	cells, causes := map[compare.Cell]compare.Cell{}, map[compare.Cause]compare.Cause{}
	for _, r := range counts {
		day, ok := inside(r, span)
		if !ok {
			continue
		}
		_, revision, _ := r.Recipe.Parts()
		key := compare.Cell{Branch: r.Branch, Film: r.Film, Fabric: string(r.Fabric), Band: r.Band, Period: day[:7], Revision: revision}
		c, seen := cells[key]
		if !seen {
			c = key
		}
		c.Pieces += r.Pieces + r.ReprintCount()
		c.Reprints += r.ReprintCount()
		c.Drawn += r.Drawn
		c.Decorated += r.Decorated
		c.Achievable += r.Achievable
		c.LayoutLoss += r.LayoutLoss
		c.EdgeLoss += r.EdgeLoss
		c.TestCutLoss += r.TestCutLoss
		c.WeedingLoss += r.WeedingLoss
		c.ReprintLoss += r.ReprintFilm()
		c.RollEndLoss += r.RollEndLoss
		cells[key] = c
		for _, p := range r.Reprints {
			key := compare.Cause{Branch: r.Branch, Film: r.Film, Fabric: string(r.Fabric), Cause: p.Cause}
			c := causes[key]
			count := c.Count + p.Count
			c = key
			c.Count = count
			causes[key] = c
		}
	}
	var cs []compare.Cell
	for _, c := range cells {
		cs = append(cs, c)
	}
	var why []compare.Cause
	for _, c := range causes {
		why = append(why, c)
	}
	return cs, why
}

func addedDays(counts map[string]runs.Run, span compare.Span) ([]compare.BranchDay, []compare.RevisionDay) {
	byBranch, byRevision := map[compare.BranchDay]compare.DayCount{}, map[compare.RevisionDay]compare.DayCount{}
	add := func(d compare.DayCount, r runs.Run) compare.DayCount {
		return compare.DayCount{Day: r.End.UTC().Format(time.DateOnly), Pieces: d.Pieces + r.Pieces + r.ReprintCount(), Reprints: d.Reprints + r.ReprintCount(), Drawn: d.Drawn + r.Drawn, Decorated: d.Decorated + r.Decorated}
	}
	for _, r := range counts {
		if day, ok := inside(r, span); ok {
			_, revision, _ := r.Recipe.Parts()
			b, v := compare.BranchDay{Branch: r.Branch, DayCount: compare.DayCount{Day: day}}, compare.RevisionDay{Revision: revision, DayCount: compare.DayCount{Day: day}}
			byBranch[b], byRevision[v] = add(byBranch[b], r), add(byRevision[v], r)
		}
	}
	var list []compare.BranchDay
	for k, d := range byBranch {
		list = append(list, compare.BranchDay{Branch: k.Branch, DayCount: d})
	}
	slices.SortFunc(list, func(a, b compare.BranchDay) int {
		return cmp.Or(cmp.Compare(a.Branch, b.Branch), cmp.Compare(a.Day, b.Day))
	})
	var revisions []compare.RevisionDay
	for k, d := range byRevision {
		revisions = append(revisions, compare.RevisionDay{Revision: k.Revision, DayCount: d})
	}
	slices.SortFunc(revisions, func(a, b compare.RevisionDay) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Revision, b.Revision))
	})
	return list, revisions
}

// reporting counts runs, those that came late, and those that were corrected by the instant that the span is as of.
func reporting(ever []runs.Run, counts map[string]runs.Run, span compare.Span) (list []compare.Reporting) {
	at := map[string]*compare.Reporting{}
	for _, r := range ever {
		if _, ok := inside(r, span); !ok || !span.AsOf.IsZero() && r.Received.After(span.AsOf) {
			continue
		}
		of := at[r.Branch]
		if of == nil {
			of = &compare.Reporting{Branch: r.Branch}
			at[r.Branch] = of
		}
		if _, counted := counts[r.Branch+r.ID]; !counted {
			of.Corrected++
			continue
		}
		of.Runs++
		if r.Received.Sub(r.End) > 24*time.Hour {
			of.Late++
		}
	}
	for _, of := range at {
		list = append(list, *of)
	}
	slices.SortFunc(list, func(a, b compare.Reporting) int { return cmp.Compare(a.Branch, b.Branch) })
	return list
}

func sorted[T any](list []T) []T {
	slices.SortFunc(list, func(a, b T) int { return cmp.Compare(fmt.Sprint(a), fmt.Sprint(b)) })
	return list
}
