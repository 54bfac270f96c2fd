package storetest

import (
	"testing"
	"time"

	"evenpeel/branches/compare"
	"evenpeel/branches/runs"
)

// worksAreListed tests what comparison sees of single runs.
func worksAreListed(t *testing.T, s Stores) {
	at := func(id string, start time.Duration, change func(r *runs.Run)) runs.Run {
		r := run(id)
		r.Start, r.End = noon.Add(start), noon.Add(start+30*time.Minute)
		if change != nil {
			change(&r)
		}
		return r
	}
	first := at("w1", 0, func(r *runs.Run) { r.Film = "velour" })
	second := at("w2", 3*time.Hour, nil)
	other := at("w3", time.Hour, func(r *runs.Run) { r.Branch, r.Order, r.Reporter = "branches/other", "", "people/cy" })
	tomorrow := at("w4", 24*time.Hour, nil)
	corrected := at("w5", 3*time.Hour, func(r *runs.Run) {
		r.Corrects, r.Reprints, r.Received = "w2", r.Reprints[:1], noon.Add(48*time.Hour)
	})
	appended(t, s, 5, 0, first, second, other, tomorrow, corrected)
	list := func(branch string, span compare.Span) (ids []string) {
		for _, w := range got(s.Works(t.Context(), branch, span))(t) {
			ids = append(ids, w.ID)
		}
		return ids
	}
	same(t, list("", march), []string{"w1", "w5", "w4", "w3"})
	same(t, list("branches/other", march), []string{"w3"})
	then := march
	then.AsOf = noon.Add(30 * time.Hour)
	same(t, list("", then), []string{"w1", "w2", "w4", "w3"})
	every := march
	every.NthDay = 2 // the days of a sample alternate: it holds the first day's three runs or the next day's one
	if sampled := list("", every); len(sampled) != 1 && len(sampled) != 3 {
		t.Errorf("one day in two holds %v", sampled)
	}
	films := march
	films.Film = "glimmer"
	for _, w := range got(s.Works(t.Context(), harbour, films))(t) {
		if w.ID != "w5" {
			continue
		}
		// The velour run at noon was the reporter's first that day, though it is not asked for.
		want := compare.Work{
			Branch: harbour, ID: "w5", Order: second.Order, Film: "glimmer", Fabric: "cotton", Lot: "L1", Cutter: second.Cutter, Press: second.Press, Recipe: string(second.Recipe), Band: 1, Revision: 3,
			Start: second.Start, End: second.End, OnFor: 3 * time.Hour, Pieces: 12, Reprints: 2, Reasons: []compare.Reason{{Cause: "scorch", Count: 2}}, Drawn: 10_000, Decorated: 6000, Achievable: 9000,
			LayoutLoss: 1000, EdgeLoss: 900, TestCutLoss: 80, WeedingLoss: 70, ReprintLoss: 300, RollEndLoss: 6,
		}
		same(t, w, want)
		return
	}
	t.Error("the correction is not listed")
}
