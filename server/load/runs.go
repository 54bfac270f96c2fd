package load

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
	"evenpeel/server/sqlstore"
)

// runsFlags are what `load runs` can be told.
type runsFlags struct {
	Store    string        `required:"" help:"An empty store: sqlite:PATH or postgres://…. It is filled and left behind."`
	Branches int           `default:"500" help:"Branches."`
	Days     int           `default:"730" help:"Days."`
	Runs     int           `default:"10000000" help:"Runs that the store is filled with."`
	Seed     uint64        `default:"1" help:"The same seed invents the same runs."`
	Rate     int           `default:"20000" help:"Runs a second that the paced uploads come at."`
	For      time.Duration `default:"20s" help:"How long each part with uploads or drilling lasts."`
	Raw      bool          `negatable:"" default:"true" help:"Also add up the raw runs, to compare with and to check by."`
}

// Runs fills an empty store with invented runs and measures uploads, the fair view and one branch's days. It writes a table.
func Runs(ctx context.Context, args []string, out io.Writer) error {
	var f runsFlags
	done := false
	parser, err := kong.New(&f, kong.Name("evenpeel load runs"), kong.Writers(out, out), kong.Exit(func(int) { done = true }),
		kong.Description("Fills an EMPTY store with invented runs, then measures uploads, the fair view and one branch's days."))
	if err != nil {
		return fmt.Errorf("flags: %w", err)
	}
	if _, err := parser.Parse(args); err != nil || done {
		return err
	}
	if f.Branches < 1 || f.Days < 2 || f.Runs < f.Days {
		return fmt.Errorf("there has to be a branch, two days, and a run a day")
	}
	store, err := sqlstore.Open(ctx, f.Store, nil)
	if err != nil {
		return fmt.Errorf("opening the store: %w", err)
	}
	defer store.Close()
	newest, err := store.NewestSequence(ctx)
	if err != nil {
		return err
	}
	meter, err := newMeter(ctx, f.Store)
	if err != nil {
		return fmt.Errorf("finding the database's processes: %w", err)
	}
	b := bench{runsFlags: f, store: store, meter: meter, out: out, invent: newInventor(f), salt: time.Now().UnixNano()}
	if newest == 0 {
		if err := b.fill(ctx); err != nil {
			return fmt.Errorf("filling the store: %w", err)
		}
	} else {
		fmt.Fprintf(out, "The store holds %d runs already, taken to be those of an earlier filling with the same flags.\n", newest)
		b.invent.skip(f.Runs)
	}
	for _, part := range []func(context.Context) error{b.views, b.asOf, b.drill, b.uploads} {
		if err := part(ctx); err != nil {
			return err
		}
	}
	if f.Raw {
		return b.check(ctx)
	}
	return nil
}

// bench is one measuring under way.
type bench struct {
	runsFlags
	store  *sqlstore.Store
	meter  *meter
	invent *inventor
	out    io.Writer
	shown  bool
	salt   int64 // tells the uploads of this measuring from those of earlier ones on the same store
}

// row writes a line of the table.
func (b *bench) row(what, format string, values ...any) {
	if !b.shown {
		fmt.Fprintf(b.out, "\n%-62s %s\n%s\n", "what", "measured", strings.Repeat("-", 110))
		b.shown = true
	}
	fmt.Fprintf(b.out, "%-62s %s\n", what, fmt.Sprintf(format, values...))
}

// fillBatch is how many runs one filling Append takes.
const fillBatch = sqlstore.MaxRuns

func (b *bench) fill(ctx context.Context) error {
	fmt.Fprintf(b.out, "Filling the store with %d runs of %d branches over %d days.\n", b.Runs, b.Branches, b.Days)
	from, began := b.meter.read(), time.Now()
	for n := 0; n < b.Runs; {
		batch := make([]runs.Run, min(fillBatch, b.Runs-n))
		for i := range batch {
			batch[i] = b.invent.next()
		}
		stored, _, err := b.store.Append(ctx, batch)
		if err != nil {
			return err
		}
		if stored != len(batch) {
			return fmt.Errorf("only %d of %d runs were new: the store was not empty", stored, len(batch))
		}
		if n += len(batch); n%1_000_000 < fillBatch {
			fmt.Fprintf(b.out, "  %d runs, %.0f a second\n", n, float64(n)/time.Since(began).Seconds())
		}
	}
	took := time.Since(began)
	spent := b.meter.since(from)
	b.row(fmt.Sprintf("fill: %d runs, %d in a report", b.Runs, fillBatch), "%.0f runs/s; CPU a run %.1f µs here, %.1f µs in the database",
		float64(b.Runs)/took.Seconds(), perRun(spent.own, b.Runs), perRun(spent.database, b.Runs))
	return nil
}

func perRun(d time.Duration, n int) float64 { return float64(d.Microseconds()) / float64(n) }

// span is the last days of what was invented, leaving out the newest ones.
func (b *bench) span(days, leaveOut int) compare.Span {
	to := b.invent.last().AddDate(0, 0, -leaveOut)
	return compare.Span{From: to.AddDate(0, 0, 1-days).Format(time.DateOnly), To: to.Format(time.DateOnly)}
}
