package sqlstore

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"evenpeel/branches/runs"
	"evenpeel/recipes/fault"
)

// ledgerLock is held by whoever adds to the ledger, until the commit: so sequences become visible in their order, and the
// ledger up to a sequence is a state that once was.
const ledgerLock = "compare"

const newestRun = `SELECT sequence FROM runs_run ORDER BY sequence DESC LIMIT 1`

// runKey names a run: ids are made by clients, so another branch may have made the same.
type runKey struct{ branch, id string }

// pageKey names the pages of one branch and month.
type pageKey struct{ branch, month string }

// appending is one group of uploads being written.
type appending struct {
	t              *writing
	words          *numbering
	sequence       int64
	stored         map[runKey]bool      // ids of the group that were stored before it
	fresh          map[runKey]*runs.Run // runs of the group taken so far
	corrected      map[runKey]bool      // runs that the group corrects
	rows, reprints [][]any
	entries        []pageEntry
}

// pageEntry is an entry with the pages it goes to.
type pageEntry struct {
	key pageKey
	entry
}

func (a *appending) do(ctx context.Context, group []*upload) error {
	if err := a.open(ctx, group); err != nil {
		return err
	}
	for _, u := range group {
		if err := a.takeAll(ctx, u); err != nil {
			return err
		}
	}
	if err := a.keep(ctx); err != nil {
		return err
	}
	return keepUses(ctx, a.t, a.fresh)
}

// open locks the ledger and finds out where it ends and which ids it holds.
func (a *appending) open(ctx context.Context, group []*upload) error {
	if err := a.t.lock(ctx, ledgerLock); err != nil {
		return err
	}
	if err := a.t.QueryRowContext(ctx, newestRun).Scan(&a.sequence); err != nil && !none(err) {
		return err
	}
	var keys []runKey
	for _, u := range group {
		for i := range u.runs {
			keys = append(keys, runKey{u.runs[i].Branch, u.runs[i].ID})
		}
	}
	slices.SortFunc(keys, func(a, b runKey) int { return cmp.Or(cmp.Compare(a.branch, b.branch), cmp.Compare(a.id, b.id)) })
	known, err := a.t.engine.known(ctx, a.t, slices.Compact(keys))
	if err != nil {
		return err
	}
	a.stored, a.fresh, a.corrected = map[runKey]bool{}, make(map[runKey]*runs.Run, len(keys)), map[runKey]bool{}
	for _, key := range known {
		a.stored[key] = true
	}
	return nil
}

// takeAll takes an upload, or refuses it and leaves no trace of it. An error is one of the database.
func (a *appending) takeAll(ctx context.Context, u *upload) error {
	sequence, rows, reprints, entries := a.sequence, len(a.rows), len(a.reprints), len(a.entries)
	u.stored, u.known, u.err = 0, 0, nil
	for i := range u.runs {
		err := a.take(ctx, &u.runs[i], u.revisions[i])
		if err == nil {
			continue
		}
		var f *fault.Fault
		if !errors.As(err, &f) {
			return err
		}
		for j := range u.runs[:i] {
			if r := &u.runs[j]; a.fresh[runKey{r.Branch, r.ID}] == r {
				delete(a.fresh, runKey{r.Branch, r.ID})
				delete(a.corrected, runKey{r.Branch, r.Corrects})
			}
		}
		a.sequence, a.rows, a.reprints, a.entries = sequence, a.rows[:rows], a.reprints[:reprints], a.entries[:entries]
		u.err = err
		return nil
	}
	u.stored = len(a.rows) - rows
	u.known = len(u.runs) - u.stored
	return nil
}

// take adds one run to what will be kept, unless it is known.
func (a *appending) take(ctx context.Context, r *runs.Run, revision int64) error {
	key := runKey{r.Branch, r.ID}
	if a.stored[key] || a.fresh[key] != nil {
		return a.repeated(ctx, r, key)
	}
	var old *runs.Run
	if r.Corrects != "" {
		var err error
		if old, err = a.correct(ctx, r); err != nil {
			return err
		}
	}
	a.sequence++
	r.Sequence = a.sequence
	if err := a.enter(ctx, r, revision, r, false); err != nil {
		return err
	}
	if old != nil {
		if err := a.enter(ctx, old, revisionOf(old), r, true); err != nil {
			return err
		}
		a.corrected[runKey{r.Branch, r.Corrects}] = true
	}
	a.fresh[key] = r
	a.rows = append(a.rows, runRow(r, revision))
	for place, p := range r.Reprints {
		a.reprints = append(a.reprints, []any{r.Branch, r.ID, int64(place), p.Cause, p.Count, int64(p.Film)})
	}
	return nil
}

// repeated checks that what is sent again is what was sent before.
func (a *appending) repeated(ctx context.Context, r *runs.Run, key runKey) error {
	was := a.fresh[key]
	if was == nil {
		read, err := readRun(ctx, a.t, r.Branch, r.ID)
		if err != nil {
			return err
		}
		was = &read
	}
	if !atMicros(*r).Same(atMicros(*was)) {
		return fault.New(fault.Invalid, "runs", "RUN_ID_REUSED", "A run with this id is stored already and says something else. Nothing of this report was stored. Report it under an id of its own, or correct the stored run.").With("run", r.ID)
	}
	return nil
}

// atMicros is a run with its times as they are kept.
func atMicros(r runs.Run) runs.Run {
	r.Start, r.End = instant(micros(r.Start)), instant(micros(r.End))
	return r
}

// correct finds the run that r takes the place of.
func (a *appending) correct(ctx context.Context, r *runs.Run) (*runs.Run, error) {
	key := runKey{r.Branch, r.Corrects}
	old := a.fresh[key]
	if old == nil {
		read, err := readRun(ctx, a.t, r.Branch, r.Corrects)
		if err != nil {
			return nil, err
		}
		old = &read
	}
	if old.CorrectedBy != "" || a.corrected[key] {
		return nil, fault.New(fault.NotReady, "runs", "RUN_CORRECTED_ALREADY", "This run was corrected already. Correct the run that took its place.").With("run", r.Corrects)
	}
	return old, nil
}

// enter writes what run adds to the sums, or with out takes away, in the act of receiving act.
func (a *appending) enter(ctx context.Context, run *runs.Run, revision int64, act *runs.Run, out bool) error {
	e, err := entryOf(ctx, a.t, a.words, run, revision, act, out)
	a.entries = append(a.entries, e)
	return err
}

func entryOf(ctx context.Context, t *writing, w *numbering, run *runs.Run, revision int64, act *runs.Run, out bool) (e pageEntry, err error) {
	day := run.End.UTC()
	e = pageEntry{pageKey{run.Branch, day.Format("2006-01")}, entry{
		// A correction that is received before what it corrects (clocks differ) takes it out when it comes.
		sequence: act.Sequence, received: max(micros(act.Received), micros(run.Received)), day: day.Day(), out: out,
		late: latenessOf(micros(run.End), micros(run.Received)), sums: sumsOf(run),
	}}
	if e.stratum, err = w.ofStratum(ctx, t, stratum{run.Film, string(run.Fabric), int64(run.Band), revision}); err != nil {
		return e, err
	}
	e.causes, err = w.ofCauses(ctx, t, run.Reprints)
	return e, err
}

// keep writes the rows and the pages.
func (a *appending) keep(ctx context.Context) error {
	if len(a.rows) == 0 {
		return nil
	}
	if err := a.t.engine.bulk(ctx, a.t, "runs_run", runColumns, a.rows); err != nil {
		return err
	}
	if len(a.reprints) > 0 {
		if err := a.t.engine.bulk(ctx, a.t, "runs_reprint", reprintColumns, a.reprints); err != nil {
			return err
		}
	}
	if err := a.words.keep(ctx, a.t); err != nil {
		return err
	}
	return a.keepPages(ctx)
}

// keepPages puts the entries at the ends of their pages.
func (a *appending) keepPages(ctx context.Context) error {
	slices.SortStableFunc(a.entries, func(x, y pageEntry) int {
		return cmp.Or(cmp.Compare(x.key.branch, y.key.branch), cmp.Compare(x.key.month, y.key.month))
	})
	var keys []pageKey
	for i := range a.entries {
		if n := len(keys); n == 0 || keys[n-1] != a.entries[i].key {
			keys = append(keys, a.entries[i].key)
		}
	}
	ends, err := a.t.engine.ends(ctx, a.t, keys)
	if err != nil {
		return err
	}
	var written []writtenPage
	for i := 0; i < len(a.entries); {
		key := a.entries[i].key
		p := ends[key]
		if p == nil {
			p = &page{}
		}
		if !p.fits() {
			p = p.after()
		}
		for ; i < len(a.entries) && a.entries[i].key == key; i++ {
			if !p.fits() {
				written = append(written, writtenPage{key, p})
				p = p.after()
			}
			p.add(&a.entries[i].entry)
		}
		written = append(written, writtenPage{key, p})
	}
	return a.t.engine.pages(ctx, a.t, written)
}

// writtenPage is a page to be put in the place of the one of its key and part, or to be added.
type writtenPage struct {
	pageKey
	*page
}
