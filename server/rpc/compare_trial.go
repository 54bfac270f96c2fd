package rpc

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenpeel/branches/compare"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const trialMethod = "Trial branches count as released, whether or not each run used the revision. Daily: Wald's sequential test for a rise against the year before. At planned looks: the trial branches' rate against that of all others with the same film and fabric over the same days, bounds after Lan and DeMets that spend little at first. The net difference is a difference in differences with the year before."

// trial is what is tried, where and when.
type trial struct {
	revision recipes.RevisionName
	branches []string
	from, to string // days
}

// tried finds the trial that was asked for. Faults NotFound/RELEASE_NOT_FOUND, Invalid/NOT_A_TRIAL.
func (s *compareService) tried(ctx context.Context, req *comparev1.WatchTrialRequest, asOf time.Time) (trial, error) {
	releases, err := s.h.releases(ctx)
	if err != nil {
		return trial{}, err
	}
	t := trial{revision: recipes.RevisionName(req.GetRevision()), branches: req.GetBranches(), to: asOf.Format(time.DateOnly)}
	if req.GetRelease() == 0 && t.revision == "" {
		return t, fault.New(fault.Invalid, "compare", "NOT_A_TRIAL", "Name a release that went to a few branches, or a revision and the branches that try it.")
	}
	var start *recipes.Release
	for i, r := range releases {
		if req.GetRelease() > 0 && r.Number == req.GetRelease() || req.GetRelease() == 0 && released(r, t.revision) && start == nil {
			start = &releases[i]
		}
	}
	if start == nil {
		return t, fault.New(fault.NotFound, "compare", "RELEASE_NOT_FOUND", "No such release was made. Look up its number under Past.")
	}
	if t.revision == "" {
		i := slices.IndexFunc(start.Revisions, func(r recipes.Released) bool { return strings.HasPrefix(string(r.Revision), "recipes/") })
		if i < 0 {
			return t, fault.New(fault.Invalid, "compare", "NOT_A_TRIAL", "Release %d changed no recipe, so there is nothing that runs could show.", start.Number)
		}
		t.revision = start.Revisions[i].Revision
	}
	if len(t.branches) == 0 {
		t.branches = start.Branches
	}
	if len(t.branches) == 0 {
		return t, fault.New(fault.Invalid, "compare", "NOT_A_TRIAL", "Release %d went to every branch, so nobody is left to set it against. Compare revisions before and after instead.", start.Number)
	}
	t.from = start.Effective.UTC().Format(time.DateOnly)
	record, _, err := t.revision.Parts()
	if err != nil {
		return t, err
	}
	for _, r := range releases { // the next release of the recipe ends the trial
		if r.Effective.After(start.Effective) && names(r, string(record)) {
			t.to = min(t.to, r.Effective.UTC().AddDate(0, 0, -1).Format(time.DateOnly))
		}
	}
	return t, nil
}

func released(r recipes.Release, revision recipes.RevisionName) bool {
	return slices.ContainsFunc(r.Revisions, func(x recipes.Released) bool { return x.Revision == revision })
}

func (s *compareService) WatchTrial(ctx context.Context, req *comparev1.WatchTrialRequest) (*comparev1.WatchTrialResponse, error) {
	a, err := s.asked(ctx, &comparev1.Span{}, req.GetAsOf())
	if err != nil {
		return nil, err
	}
	t, err := s.tried(ctx, req, a.asOf)
	if err != nil {
		return nil, err
	}
	record, _, err := t.revision.Parts()
	if err != nil {
		return nil, err
	}
	recipe, err := s.recipe(ctx, record)
	if err != nil {
		return nil, err
	}
	start, err := time.Parse(time.DateOnly, t.from)
	if err != nil {
		return nil, fault.New(fault.Broken, "compare", "DAY_UNREADABLE", "The first day of this trial can not be read.").Because(err)
	}
	a.span.Film, a.span.Fabric = recipe.Film.Code, string(recipe.Fabric)
	a.span.From, a.span.To = start.AddDate(-1, 0, 0).Format(time.DateOnly), max(t.to, t.from)
	days, err := s.h.Source.AllDays(ctx, a.span)
	if err != nil {
		return nil, err
	}
	trialDays, before, controlBefore := splitTrial(days, t)
	if before.Pieces+controlBefore.Pieces == 0 {
		return nil, fault.New(fault.NotReady, "compare", "NO_BASELINE", "Nobody pressed %s on %s in the year before the trial, so there is no rate to set it against.", a.span.Film, a.span.Fabric)
	}
	all := compare.Tally{Pieces: before.Pieces + controlBefore.Pieces, Reprints: before.Reprints + controlBefore.Reprints}
	// Half a reprint keeps a year without any from meaning that there can be none.
	baseline := min((float64(all.Reprints)+0.5)/(float64(all.Pieces)+1), 0.5)
	w, err := compare.Watch(trialDays, compare.TrialRule{Baseline: baseline, Ratio: req.GetRatio(), Looks: int(req.GetLooksCount())})
	if err != nil {
		return nil, err
	}
	var since, controlSince compare.Tally
	for _, d := range trialDays {
		since = compare.Tally{Pieces: since.Pieces + d.Trial.Pieces, Reprints: since.Reprints + d.Trial.Reprints}
		controlSince = compare.Tally{Pieces: controlSince.Pieces + d.Control.Pieces, Reprints: controlSince.Reprints + d.Control.Reprints}
	}
	change, err := compare.BeforeAfter(before, since, controlBefore, controlSince)
	if err != nil {
		return nil, err
	}
	answer := &comparev1.WatchTrialResponse{
		Rule: ruleWords(w), Verdict: string(w.Verdict), Revision: string(t.revision), FirstDay: t.from, Baseline: baseline, PlannedCount: w.Planned, NeededCount: w.Needed,
		Upper: w.Upper, Lower: w.Lower, Before: tallyMessage(before), Since: tallyMessage(since), ControlBefore: tallyMessage(controlBefore), ControlSince: tallyMessage(controlSince),
		Net: change.Net, NetLow: change.Net95.Low, NetHigh: change.Net95.High, Method: trialMethod, AsOf: a.stamp(), Finding: trialFinding(w, since),
	}
	for _, x := range w.Steps {
		answer.Steps = append(answer.Steps, &comparev1.TrialStep{Day: x.Day, PiecesCount: x.Trial.Pieces, ReprintsCount: x.Trial.Reprints, Better: x.Better, Worse: x.Worse})
	}
	for _, x := range w.Looks {
		answer.Looks = append(answer.Looks, &comparev1.TrialLook{Information: x.Information, Bound: x.Bound, Day: x.Day, Score: x.Score, Crossed: x.Crossed})
	}
	return answer, nil
}

// splitTrial tells the trial's days from the year before, and its branches from the others.
func splitTrial(days []compare.BranchDay, t trial) (trialDays []compare.TrialDay, before, controlBefore compare.Tally) {
	by := map[string]*compare.TrialDay{}
	for _, d := range days {
		own := slices.Contains(t.branches, d.Branch)
		into := &controlBefore
		switch {
		case d.Day >= t.from:
			x := by[d.Day]
			if x == nil {
				x = &compare.TrialDay{Day: d.Day}
				by[d.Day] = x
			}
			if into = &x.Control; own {
				into = &x.Trial
			}
		case own:
			into = &before
		}
		into.Pieces += d.Pieces
		into.Reprints += d.Reprints
	}
	for _, x := range by {
		trialDays = append(trialDays, *x)
	}
	slices.SortFunc(trialDays, func(x, y compare.TrialDay) int { return strings.Compare(x.Day, y.Day) })
	return trialDays, before, controlBefore
}

func tallyMessage(t compare.Tally) *comparev1.TrialTally {
	limits := compare.Wilson(float64(t.Reprints), float64(t.Pieces), compare.Level95)
	return &comparev1.TrialTally{PiecesCount: t.Pieces, ReprintsCount: t.Reprints, Rate: t.Rate(), RateLow: limits.Low, RateHigh: limits.High}
}

func ruleWords(w compare.Trial) string {
	return fmt.Sprintf("Worth finding: %.1f %% reprints instead of %.1f %%. Planned: %d pieces in the trial branches, looked at %d times. It ends as better, or worse, at a look where the difference from the other branches lies beyond that look's bound; as worse on any day on which the sequential test for %.1f times the rate crosses %.2f; and without a difference of this size after the last look. All looks together raise a false alarm in %.0f of 100 trials, the daily test in %.1f more at the very most.",
		100*w.Rule.Baseline*w.Rule.Ratio, 100*w.Rule.Baseline, w.Planned, len(w.Looks), 1/w.Rule.Ratio, w.Upper, 100*w.Rule.Alpha, 50*w.Rule.Alpha)
}

func trialFinding(w compare.Trial, since compare.Tally) string {
	switch w.Verdict {
	case compare.Better:
		return fmt.Sprintf("The trial ended on %s: fewer reprints than at the other branches", w.Ended)
	case compare.Worse:
		return fmt.Sprintf("The trial ended on %s: more reprints; go back to the revision before", w.Ended)
	case compare.NoDifference:
		return fmt.Sprintf("The trial ended on %s: no difference of the size it looked for", w.Ended)
	}
	if since.Pieces == 0 {
		return fmt.Sprintf("Nothing was pressed in this trial yet: about %d pieces are needed", w.Needed)
	}
	return fmt.Sprintf("Can not tell yet: about %d more pieces are needed in the trial branches", w.Needed)
}
