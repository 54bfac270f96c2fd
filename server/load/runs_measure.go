package load

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	_ "modernc.org/sqlite" // database/sql's name for SQLite

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
)

// times is how often a view is asked for; the cheapest counts, since other work on the machine only ever adds.
const times = 7

// cheapest does something several times and answers the least CPU, here and in the database together.
func (b *bench) cheapest(n int, do func() error) (least spent, err error) {
	for i := range n {
		from := b.meter.read()
		if err := do(); err != nil {
			return least, err
		}
		if s := b.meter.since(from); i == 0 || s.both() < least.both() {
			least = s
		}
	}
	return least, nil
}

func ms(d time.Duration) string { return fmt.Sprintf("%.1f ms", float64(d.Microseconds())/1000) }

// views measures the fair view over several spans, beside the raw runs grouped in the same store.
func (b *bench) views(ctx context.Context) error {
	from, began := b.meter.read(), time.Now()
	if err := b.store.Warm(ctx); err != nil {
		return err
	}
	taken := b.meter.since(from)
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	b.row("roll-up into memory (once after a start)", "%s CPU (%s in the database), %.1f s; heap %d MB", ms(taken.both()), ms(taken.database), time.Since(began).Seconds(), m.HeapAlloc>>20)
	whole, year, odd := b.span(b.Days, 0), b.span(365, 0), b.span(333, 10)
	film, fabric := odd, odd
	film.Film, fabric.Fabric = "film-03", "cotton"
	for _, v := range []struct {
		words string
		span  compare.Span
	}{{"every day", whole}, {"the last year", year}, {"333 days that cut two months", odd}, {"90 days that cut two months", b.span(90, 10)}, {"333 days, one film", film}, {"333 days, one fabric", fabric}} {
		var cells, months []compare.Cell
		strata, err := b.cheapest(times, func() (err error) { cells, err = b.store.Strata(ctx, v.span); return err })
		if err != nil {
			return err
		}
		byMonth, err := b.cheapest(times, func() (err error) { months, err = b.store.Months(ctx, v.span); return err })
		if err != nil {
			return err
		}
		view, err := b.cheapest(times, func() error {
			mix, err := b.store.Mix(ctx, v.span)
			if err == nil {
				_, err = compare.FairReprintsOf(mix, compare.Options{})
			}
			return err
		})
		if err != nil {
			return err
		}
		yields, err := b.cheapest(times, func() error {
			mix, err := b.store.Mix(ctx, v.span)
			if err != nil {
				return err
			}
			months, err := b.store.Months(ctx, v.span)
			if err == nil {
				_, err = compare.FairYieldOf(mix, months, compare.Options{})
			}
			return err
		})
		if err != nil {
			return err
		}
		b.row("fair view whole, "+v.words, "reprints %s CPU, yield %s CPU: sums and what is computed from them", ms(view.both()), ms(yields.both()))
		b.row("  its sums as rows of cells", "strata %s CPU (%d rows), months %s CPU (%d rows)", ms(strata.both()), len(cells), ms(byMonth.both()), len(months))
	}
	if !b.Raw {
		return nil
	}
	return b.raw(ctx, whole)
}

const (
	rawByBranch = `SELECT branch, count(*), sum(pieces), sum(reprints), sum(drawn_mm2), sum(decorated_mm2), sum(layout_loss_mm2), sum(edge_loss_mm2),
	sum(test_cut_loss_mm2), sum(weeding_loss_mm2), sum(reprint_film_mm2), sum(roll_end_loss_mm2), sum(achievable_mm2) FROM runs_run GROUP BY branch`
	rawByStratum = `SELECT branch, film, fabric, band, count(*), sum(pieces), sum(reprints) FROM runs_run GROUP BY branch, film, fabric, band`
)

// raw groups the raw runs, as somebody would without roll-ups.
func (b *bench) raw(ctx context.Context, span compare.Span) error {
	driver, address := "pgx", b.Store
	if path, ok := strings.CutPrefix(b.Store, "sqlite:"); ok {
		driver, address = "sqlite", "file:"+path+"?mode=ro"
	}
	db, err := sql.Open(driver, address)
	if err != nil {
		return err
	}
	defer db.Close()
	for _, q := range []struct{ words, text string }{{"by branch, 12 sums", rawByBranch}, {"by branch, film, fabric, band, 2 sums", rawByStratum}} {
		least, err := b.cheapest(2, func() error {
			rows, err := db.QueryContext(ctx, q.text)
			if err != nil {
				return err
			}
			defer rows.Close()
			for rows.Next() { // to the end: what is asked is asked whole
			}
			return rows.Err()
		})
		if err != nil {
			return err
		}
		b.row("raw runs grouped "+q.words, "%s CPU (%s in the database)", ms(least.both()), ms(least.database))
	}
	return nil
}

// asOf measures the view as it was a day and a month before the end.
func (b *bench) asOf(ctx context.Context) error {
	for _, days := range []int{1, 30} {
		span := b.span(333, 10)
		span.AsOf = b.invent.last().AddDate(0, 0, -days)
		var cells []compare.Cell
		least, err := b.cheapest(3, func() (err error) { cells, err = b.store.Strata(ctx, span); return err })
		if err != nil {
			return err
		}
		b.row(fmt.Sprintf("the same 333 days as of %d days before", days), "strata %s CPU (%d rows)", ms(least.both()), len(cells))
	}
	return nil
}

// drill asks for one branch's 90 days, again and again, while full reports run.
func (b *bench) drill(ctx context.Context) error {
	until := time.Now().Add(b.For)
	rnd := rand.New(rand.NewPCG(b.Seed, 9))
	reports := make(chan int)
	failed := make(chan error, 1)
	go func() {
		n := 0
		for ; time.Now().Before(until); n++ {
			if _, err := b.store.Strata(ctx, b.span(333, 10)); err != nil {
				failed <- err
				break
			}
		}
		reports <- n
	}()
	var days, film, listed []time.Duration
	span := b.span(90, 5)
	for time.Now().Before(until) {
		branch := b.invent.branchNames[rnd.IntN(b.Branches)]
		began := time.Now()
		if _, err := b.store.Days(ctx, branch, span); err != nil {
			return err
		}
		days = append(days, time.Since(began))
		one := span
		one.Film = b.invent.filmNames[rnd.IntN(inventedFilms)]
		began = time.Now()
		if _, err := b.store.Days(ctx, branch, one); err != nil {
			return err
		}
		film = append(film, time.Since(began))
		began = time.Now()
		if _, err := b.store.Runs(ctx, branch, time.Time{}, "", 50); err != nil {
			return err
		}
		listed = append(listed, time.Since(began))
	}
	n := <-reports
	select {
	case err := <-failed:
		return err
	default:
	}
	b.row("one branch's 90 days while full reports run", "%s (%d reports in %s)", quantiles(days), n, b.For)
	b.row("  the same of one film, from its pages", "%s", quantiles(film))
	b.row("  its newest 50 runs", "%s", quantiles(listed))
	return nil
}

func quantiles(list []time.Duration) string {
	if len(list) == 0 {
		return "none"
	}
	slices.SortFunc(list, cmp.Compare[time.Duration])
	at := func(q float64) time.Duration { return list[min(len(list)-1, int(q*float64(len(list))))] }
	return fmt.Sprintf("p50 %s, p99 %s, most %s (n %d)", ms(at(0.5)), ms(at(0.99)), ms(list[len(list)-1]), len(list))
}

// report is how many runs a branch sends at once.
const report = 100

// uploads sends reports of 100 runs as fast as they are taken, and then at a pace.
func (b *bench) uploads(ctx context.Context) error {
	var making sync.Mutex
	batch := func() []runs.Run {
		making.Lock()
		defer making.Unlock()
		branch := b.invent.pick(b.invent.branches)
		list := make([]runs.Run, report)
		for i := range list {
			list[i] = b.invent.of(branch)
			list[i].Corrects = ""                                 // what it corrects may be on its way still
			list[i].ID = fmt.Sprintf("%s-%x", list[i].ID, b.salt) // an earlier measuring has sent the same runs
		}
		return list
	}
	for _, pace := range []int{0, b.Rate} {
		var mu sync.Mutex
		var took []time.Duration
		var failed error
		send := func(list []runs.Run) {
			began := time.Now()
			_, _, err := b.store.Append(ctx, list)
			mu.Lock()
			defer mu.Unlock()
			took = append(took, time.Since(began))
			if err != nil {
				failed = err
			}
		}
		from, began := b.meter.read(), time.Now()
		var sending sync.WaitGroup
		if pace == 0 {
			for range 8 {
				sending.Go(func() {
					for time.Since(began) < b.For {
						send(batch())
					}
				})
			}
		} else {
			for n := 0; time.Since(began) < b.For; n++ {
				list := batch()
				time.Sleep(time.Until(began.Add(time.Duration(n) * time.Second * report / time.Duration(pace))))
				sending.Go(func() { send(list) })
			}
		}
		sending.Wait()
		if failed != nil {
			return failed
		}
		s, n := b.meter.since(from), len(took)*report
		words := "8 branches at once, as fast as taken"
		if pace > 0 {
			words = fmt.Sprintf("at %d runs a second", pace)
		}
		b.row("uploads of 100 runs, "+words, "%.0f runs/s; %s; CPU a run %.1f µs here (with inventing it), %.1f µs in the database", float64(n)/time.Since(began).Seconds(), quantiles(took), perRun(s.own, n), perRun(s.database, n))
	}
	return nil
}

// check compares the roll-ups with the raw runs, to the last unit.
func (b *bench) check(ctx context.Context) error {
	for _, span := range []compare.Span{b.span(45, 10), b.span(b.Days, 0)} {
		cells, err := b.store.Cells(ctx, span)
		if err != nil {
			return err
		}
		causes, err := b.store.CauseCounts(ctx, span)
		if err != nil {
			return err
		}
		raw, rawCauses, err := b.store.Anew(ctx, span)
		if err != nil {
			return err
		}
		if !alike(cells, raw) || !alike(causes, rawCauses) {
			return fmt.Errorf("the roll-ups of %s to %s differ from the runs", span.From, span.To)
		}
		b.row(fmt.Sprintf("roll-ups of %s to %s against the raw runs", span.From, span.To), "%d rows and %d causes, equal to the last unit", len(cells), len(causes))
	}
	return nil
}

// alike says whether two lists hold the same, in any order.
func alike[T comparable](a, b []T) bool {
	if len(a) != len(b) {
		return false
	}
	count := make(map[T]int, len(a))
	for _, x := range a {
		count[x]++
	}
	for _, x := range b {
		count[x]--
		if count[x] < 0 {
			return false
		}
	}
	return true
}
