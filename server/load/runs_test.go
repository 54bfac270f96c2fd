package load

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestRuns_fillsMeasuresAndChecks runs all of it once, small. What it measures is not looked at; that it found the roll-ups
// equal to the runs is.
func TestRuns_fillsMeasuresAndChecks(t *testing.T) {
	var out strings.Builder
	args := []string{"--store", "sqlite:" + filepath.Join(t.TempDir(), "load.db"), "--branches", "7", "--days", "70", "--runs", "4000", "--for", "100ms"}
	for range 2 { // the second time it finds the store filled
		if err := Runs(t.Context(), args, &out); err != nil {
			t.Fatalf("%v\n%s", err, &out)
		}
	}
	if n := strings.Count(out.String(), "equal to the last unit"); n != 4 {
		t.Errorf("%d of 4 spans were checked:\n%s", n, &out)
	}
	if strings.Count(out.String(), "fill: 4000 runs") != 1 {
		t.Errorf("the store was not filled once:\n%s", &out)
	}
}

func TestInventor_inventsTheSameForTheSameSeed(t *testing.T) {
	f := runsFlags{Branches: 50, Days: 60, Runs: 3000, Seed: 4}
	a, b := newInventor(f), newInventor(f)
	f.Seed = 5
	c := newInventor(f)
	same, differ := 0, 0
	ids := map[string]bool{}
	for range f.Runs {
		x, y, z := a.next(), b.next(), c.next()
		if fs := x.Check(a.last().AddDate(0, 0, 2)); len(fs) > 0 {
			t.Fatalf("an invented run would be refused: %v", fs)
		}
		if ids[x.ID] {
			t.Fatalf("two runs are called %s", x.ID)
		}
		ids[x.ID] = true
		if fmt.Sprint(x) == fmt.Sprint(y) {
			same++
		}
		if fmt.Sprint(x) != fmt.Sprint(z) {
			differ++
		}
	}
	if same != f.Runs || differ < f.Runs*9/10 {
		t.Errorf("of %d runs %d are alike for one seed, %d differ for another", f.Runs, same, differ)
	}
	if got := a.last().Sub(firstDay); got != 59*24*time.Hour {
		t.Errorf("60 days last %s", got)
	}
}
