package demo

import (
	"fmt"
	"slices"
	"time"

	"evenpeel/branches/runs"
)

// received is when a run's report came in: minutes after its end, or days after it at the branch that is always late, but
// never after the demo was loaded.
func (w *worker) received(end time.Time, count int) time.Time {
	at := end.Add(5 * time.Minute)
	if w.Name == Tardy {
		at = end.Add(time.Duration(30+count%60) * time.Hour)
	}
	if at.After(w.day) {
		return w.day
	}
	return at
}

// corrections is how many of its runs the mending branch corrected.
const corrections = 4

// corrected adds to a branch's runs what was sent later in their place: one more piece made again than was first reported. The
// runs corrected are among the last 40 with reprints.
func (w *worker) corrected(done []runs.Run) []runs.Run {
	if w.Name != Mending {
		return done
	}
	left := corrections
	for i := len(done) - 40; i < len(done) && left > 0; i++ {
		if i < 0 || len(done[i].Reprints) == 0 {
			continue
		}
		c := done[i]
		c.ID, c.Corrects = fmt.Sprintf("demo-correction-%d", left), c.ID
		c.Reprints = slices.Clone(c.Reprints)
		c.Reprints[0].Count++
		c.Received = w.day.Add(-time.Duration(left) * time.Hour)
		done = append(done, c)
		left--
	}
	return done
}
