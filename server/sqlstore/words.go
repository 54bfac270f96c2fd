package sqlstore

import (
	"context"
	"sync"

	"evenpeel/branches/runs"
)

// stratum is what a page's number of a stratum stands for.
type stratum struct {
	film, fabric   string
	band, revision int64
}

// words turns strata and causes into the small numbers that pages hold. The numbers are kept in two tables, rise from 0
// without gaps and never change, so that what is known here stays right; at most a few thousand are known.
type words struct {
	mu      sync.Mutex
	strata  []stratum
	causes  []string
	stratum map[stratum]int64
	cause   map[string]int64
}

const (
	strataFrom = `SELECT film, fabric, band, revision FROM compare_stratum WHERE id >= $1 ORDER BY id`
	causesFrom = `SELECT cause FROM compare_cause WHERE id >= $1 ORDER BY id`
)

// refresh learns what other processes have numbered since.
func (w *words) refresh(ctx context.Context, q querier) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	strata, err := all(ctx, q, func(row scanner) (k stratum, err error) {
		err = row.Scan(&k.film, &k.fabric, &k.band, &k.revision)
		return k, err
	}, strataFrom, len(w.strata))
	if err != nil {
		return err
	}
	causes, err := all(ctx, q, func(row scanner) (k string, err error) {
		err = row.Scan(&k)
		return k, err
	}, causesFrom, len(w.causes))
	if err != nil {
		return err
	}
	if w.stratum == nil {
		w.stratum, w.cause = map[stratum]int64{}, map[string]int64{}
	}
	for _, k := range strata {
		w.stratum[k] = int64(len(w.strata))
		w.strata = append(w.strata, k)
	}
	for _, k := range causes {
		w.cause[k] = int64(len(w.causes))
		w.causes = append(w.causes, k)
	}
	return nil
}

// known are all strata and causes by their number. The slices only ever grow past what is handed out.
func (w *words) known() ([]stratum, []string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.strata, w.causes
}

// numbering numbers strata and causes inside one writing transaction, which must hold the ledger's lock. What it adds
// becomes known to others by their next refresh, after the commit.
type numbering struct {
	w       *words
	fresh   bool // everything that is committed is known to w
	strata  map[stratum]int64
	causes  map[string]int64
	newRows [2][][]any
}

func (w *words) numbering() *numbering {
	return &numbering{w: w, strata: map[stratum]int64{}, causes: map[string]int64{}}
}

func (n *numbering) ofStratum(ctx context.Context, t *writing, k stratum) (int64, error) {
	if id, ok := n.strata[k]; ok {
		return id, nil
	}
	id, count, err := look(ctx, n, t, func(w *words) (int64, bool, int) {
		id, ok := w.stratum[k]
		return id, ok, len(w.strata)
	})
	if err != nil {
		return 0, err
	}
	if id < 0 {
		id = int64(count + len(n.newRows[0]))
		n.newRows[0] = append(n.newRows[0], []any{id, k.film, k.fabric, k.band, k.revision})
	}
	n.strata[k] = id
	return id, nil
}

func (n *numbering) ofCauses(ctx context.Context, t *writing, list []runs.Reprint) ([]cause, error) {
	var causes []cause
	for _, p := range list {
		id, ok := n.causes[p.Cause]
		if !ok {
			found, count, err := look(ctx, n, t, func(w *words) (int64, bool, int) {
				id, ok := w.cause[p.Cause]
				return id, ok, len(w.causes)
			})
			if err != nil {
				return nil, err
			}
			if id = found; id < 0 {
				id = int64(count + len(n.newRows[1]))
				n.newRows[1] = append(n.newRows[1], []any{id, p.Cause})
			}
			n.causes[p.Cause] = id
		}
		causes = append(causes, cause{id, p.Count})
	}
	return causes, nil
}

// look asks what is known, and before it says that something is not, learns what others have added. It answers −1 and how
// many are known where it is new.
func look(ctx context.Context, n *numbering, t *writing, ask func(w *words) (id int64, ok bool, count int)) (int64, int, error) {
	for {
		n.w.mu.Lock()
		id, ok, count := ask(n.w)
		n.w.mu.Unlock()
		switch {
		case ok:
			return id, count, nil
		case n.fresh:
			return -1, count, nil
		}
		if err := n.w.refresh(ctx, t); err != nil {
			return 0, 0, err
		}
		n.fresh = true
	}
}

// keep writes what was added.
func (n *numbering) keep(ctx context.Context, t *writing) error {
	if err := t.engine.repeat(ctx, t, insert("compare_stratum", []string{"id", "film", "fabric", "band", "revision"}), n.newRows[0]); err != nil {
		return err
	}
	return t.engine.repeat(ctx, t, insert("compare_cause", []string{"id", "cause"}), n.newRows[1])
}
