package rpc

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/recipes"
)

// mostMarks bounds what one axis can show.
const mostMarks = 200

// chartMarks are what happened in the span: releases (of one recipe, or all), and for a branch the days on which its machines
// were last calibrated and on which a film's lot changed. What was released after the instant asked for is left out. works are the branch's runs, where they are few enough to look at.
func (s *compareService) chartMarks(ctx context.Context, a asked, b *branches.Branch, record string, works []compare.Work) ([]*comparev1.ChartMark, error) {
	releases, err := s.h.releases(ctx)
	if err != nil {
		return nil, err
	}
	var list []*comparev1.ChartMark
	within := func(day string) bool { return day >= a.span.From && day <= a.span.To }
	for _, r := range releases {
		day := r.Effective.UTC().Format(time.DateOnly)
		if !within(day) || r.Effective.After(a.asOf) || r.Made.After(a.asOf) || b != nil && !r.Reaches(b.Name, b.Market) || !names(r, record) {
			continue
		}
		list = append(list, &comparev1.ChartMark{Day: day, Kind: "release", Words: fmt.Sprintf("Release %d: %s", r.Number, r.Reason), Release: r.Number})
	}
	if b != nil {
		machines, err := s.h.Workshop.Machines(ctx, b.Name)
		if err != nil {
			return nil, err
		}
		for _, m := range machines {
			if within(m.CalibratedOn) && m.CalibratedOn <= a.asOf.Format(time.DateOnly) {
				list = append(list, &comparev1.ChartMark{Day: m.CalibratedOn, Kind: "calibration", Words: m.Title + " calibrated", Subject: m.Name})
			}
		}
		list = append(list, lotMarks(works)...)
	}
	slices.SortStableFunc(list, func(x, y *comparev1.ChartMark) int { return strings.Compare(x.GetDay(), y.GetDay()) })
	return list[:min(len(list), mostMarks)], nil
}

// names reports whether a release changed a record; every one where none is named.
func names(r recipes.Release, record string) bool {
	return record == "" || slices.ContainsFunc(r.Revisions, func(x recipes.Released) bool {
		of, _, err := x.Revision.Parts()
		return err == nil && string(of) == record
	})
}

// lotMarks are the first runs with a new lot of a film; works come in order of time.
func lotMarks(works []compare.Work) (list []*comparev1.ChartMark) {
	last := map[string]map[string]bool{} // film → lots seen
	for _, w := range works {
		if w.Lot == "" {
			continue
		}
		seen := last[w.Film]
		if seen == nil { // the first lot in the span changed nothing that is known
			last[w.Film] = map[string]bool{w.Lot: true}
			continue
		}
		if !seen[w.Lot] {
			seen[w.Lot] = true
			list = append(list, &comparev1.ChartMark{Day: w.End.UTC().Format(time.DateOnly), Kind: "lot", Words: "New lot of " + w.Film + ": " + w.Lot, Subject: w.Film})
		}
	}
	return list
}
