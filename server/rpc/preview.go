package rpc

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

// silentAfter is how long without a pull makes a branch silent. Common practice, no source: a workshop opens daily.
const silentAfter = 24 * time.Hour

func (s *releaseService) PreviewRelease(ctx context.Context, req *recipesv1.PreviewReleaseRequest) (*recipesv1.PreviewReleaseResponse, error) {
	chain, err := s.h.Office.Desk.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	releases := make([]recipes.Release, len(chain))
	for i, r := range chain {
		releases[i] = r.Release
	}
	all, err := s.h.Register.Branches(ctx)
	if err != nil {
		return nil, err
	}
	answer := &recipesv1.PreviewReleaseResponse{}
	plan, err := s.h.planOf(ctx, req.GetPlan())
	if err != nil {
		return nil, err
	}
	if number := req.GetGoBackOf(); number > 0 {
		if plan, err = s.backOf(ctx, releases, number, plan, answer); err != nil {
			return nil, err
		}
	}
	open := plan.Effective.IsZero()
	if plan, err = s.h.Office.Planned(ctx, chain, plan); err != nil {
		return nil, err
	}
	p := &previewing{h: s.h, releases: releases, plan: plan, answer: answer, workshop: workshop{of: s.h.Workshop, known: map[string][]machines.Machine{}}}
	for _, b := range all {
		if plan.Reaches(b.Name, b.Market) {
			p.scope = append(p.scope, b)
		}
	}
	if err := p.changes(ctx); err != nil {
		return nil, err
	}
	if err := p.silent(ctx); err != nil {
		return nil, err
	}
	now := s.h.Now()
	answer.BranchesCount = int64(len(p.scope))
	answer.Instants = localInstants(p.scope, now, plan.Effective)
	p.others(now)
	p.cautions()
	if open {
		plan.Effective = time.Time{}
	}
	answer.Plan = plannedMessage(plan)
	return answer, nil
}

// backOf fills a plan with what stood before a release.
func (s *releaseService) backOf(ctx context.Context, releases []recipes.Release, number int64, asked recipes.Release, answer *recipesv1.PreviewReleaseResponse) (recipes.Release, error) {
	places, err := s.h.places(ctx)
	if err != nil {
		return recipes.Release{}, err
	}
	plan, mixed, err := recipes.GoneBack(releases, number, places, s.h.Now())
	if err != nil {
		return plan, err
	}
	for _, record := range mixed {
		answer.Cautions = append(answer.Cautions, fmt.Sprintf("Before release %d, branches differed in %s; what stood at most of them is planned here.", number, record))
	}
	plan.Effective, plan.Reason = asked.Effective, asked.Reason
	return plan, nil
}

// previewing is one preview under way.
type previewing struct {
	h        *House
	releases []recipes.Release
	plan     recipes.Release
	scope    []branches.Branch
	answer   *recipesv1.PreviewReleaseResponse
	workshop workshop
}

// stretch is what one record changes from and to at some branches.
type stretch struct {
	record        recipes.RecordName
	before, after recipes.Released
}

// changes compares the sheets of every branch in the scope at the instant, with and without the plan.
func (p *previewing) changes(ctx context.Context) error {
	planned := p.plan
	planned.Number = int64(len(p.releases)) + 1
	with := append(slices.Clone(p.releases), planned)
	at := map[stretch][]string{}
	for _, b := range p.scope {
		before, _ := recipes.SheetAt(p.releases, b.Name, b.Market, planned.Effective)
		after, _ := recipes.SheetAt(with, b.Name, b.Market, planned.Effective)
		changed := false
		for _, record := range recordsOf(planned) {
			was, _ := before.Entry(record)
			is, _ := after.Entry(record)
			s := stretch{record, was.Released, is.Released}
			at[s] = append(at[s], b.Name)
			changed = changed || was.Released != is.Released
		}
		if changed {
			p.answer.ChangedBranchesCount++
		}
	}
	for s, names := range at {
		m, err := p.change(ctx, s, names)
		if err != nil {
			return err
		}
		p.answer.Changes = append(p.answer.Changes, m)
	}
	slices.SortFunc(p.answer.Changes, func(a, b *recipesv1.PreviewChange) int {
		return cmp.Or(cmp.Compare(a.GetRecord(), b.GetRecord()), cmp.Compare(b.GetBranchesCount(), a.GetBranchesCount()), cmp.Compare(a.GetBefore(), b.GetBefore()))
	})
	return nil
}

// recordsOf are all that a plan says something about.
func recordsOf(r recipes.Release) []recipes.RecordName {
	out := slices.Clone(r.Withdrawn)
	for _, rev := range r.Revisions {
		if record, _, err := rev.Revision.Parts(); err == nil {
			out = append(out, record)
		}
	}
	return out
}

func (p *previewing) change(ctx context.Context, s stretch, names []string) (*recipesv1.PreviewChange, error) {
	m := &recipesv1.PreviewChange{Record: string(s.record), Before: string(s.before.Revision), After: string(s.after.Revision), BranchesCount: int64(len(names))}
	before, err := p.opened(ctx, s.before)
	if err != nil {
		return nil, err
	}
	after, err := p.opened(ctx, s.after)
	if err != nil {
		return nil, err
	}
	m.Title = recipes.TitleOf(after)
	if after == nil {
		m.Title = recipes.TitleOf(before)
	}
	if before != nil && after != nil {
		if m.Differences, err = differencesMessage(before, after); err != nil {
			return nil, err
		}
	}
	m.Consequences, err = p.workshop.consequences(ctx, names, before, after)
	return m, err
}

// opened is nil where there is no revision.
func (p *previewing) opened(ctx context.Context, r recipes.Released) (recipes.Content, error) {
	if r.Revision == "" {
		return nil, nil
	}
	return p.h.Opener.Content(ctx, r.Digest)
}

// silent names the branches in the scope that were not heard from lately.
func (p *previewing) silent(ctx context.Context) error {
	known, err := p.h.Reaches.Reaches(ctx)
	if err != nil {
		return err
	}
	heard := map[string]time.Time{}
	for _, r := range known {
		heard[r.Branch] = r.Pulled
	}
	for _, b := range p.scope {
		if p.h.Now().Sub(heard[b.Name]) > silentAfter {
			p.answer.SilentBranches = append(p.answer.SilentBranches, b.Name)
		}
	}
	return nil
}

// others are scheduled releases that say something about the same records at some of the same places.
func (p *previewing) others(now time.Time) {
	cancelled := recipes.CancelledBy(p.releases)
	mine := recordsOf(p.plan)
	for _, r := range p.releases {
		if !r.Effective.After(now) || cancelled[r.Number] > 0 {
			continue
		}
		meets := slices.ContainsFunc(p.scope, func(b branches.Branch) bool { return r.Reaches(b.Name, b.Market) })
		if meets && slices.ContainsFunc(recordsOf(r), func(record recipes.RecordName) bool { return slices.Contains(mine, record) }) {
			p.answer.OtherScheduled = append(p.answer.OtherScheduled, r.Number)
		}
	}
}

// cautions are what a person should not overlook.
func (p *previewing) cautions() {
	a := p.answer
	add := func(words string, args ...any) { a.Cautions = append(a.Cautions, fmt.Sprintf(words, args...)) }
	if a.ChangedBranchesCount == 0 {
		add("Nothing would change: all of it is in force already, or no branch is in the scope.")
	}
	lost := map[string]bool{}
	asked := map[string]bool{}
	for _, c := range a.Changes {
		for _, r := range c.GetConsequences().GetRefusals() {
			lost[r.GetMachine()] = true
		}
		if kind, _ := recipes.RecordName(c.GetRecord()).Kind(); kind == recipes.KindRecipe && c.GetAfter() != "" {
			for _, b := range p.scope {
				for _, m := range p.workshop.known[b.Name] {
					asked[m.Name] = true
				}
			}
		}
	}
	if len(lost) > 0 {
		add("%d of %d machines can not hold one of the recipes; their cards will be refused.", len(lost), len(asked))
	}
	if n := len(a.GetSilentBranches()); n > 0 {
		add("%d of %d branches were not heard from in the last day, so this may reach them late.", n, len(p.scope))
	}
	for _, i := range a.GetInstants() {
		if i.GetClocksChange() {
			add("Clocks change in %s before this takes effect; look at the local time.", i.GetZone())
		}
	}
	if len(a.GetOtherScheduled()) > 0 {
		var numbers []string
		for _, n := range a.GetOtherScheduled() {
			numbers = append(numbers, etagOf(n))
		}
		add("Release %s is scheduled for some of the same records at some of the same places.", strings.Join(numbers, ", "))
	}
}

// DiffRevisions sets two revisions of one record side by side.
func (s *catalogService) DiffRevisions(ctx context.Context, req *recipesv1.DiffRevisionsRequest) (*recipesv1.DiffRevisionsResponse, error) {
	var sides [2]recipes.Content
	for i, number := range []int64{req.GetFromNumber(), req.GetToNumber()} {
		row, err := s.h.Office.Catalog.Revision(ctx, recipes.RecordName(req.GetRecord()), number)
		if err != nil {
			return nil, err
		}
		if sides[i], err = s.h.Opener.Content(ctx, row.Digest); err != nil {
			return nil, err
		}
	}
	differences, err := differencesMessage(sides[0], sides[1])
	if err != nil {
		return nil, err
	}
	names, err := s.seen(ctx)
	if err != nil {
		return nil, err
	}
	w := workshop{of: s.h.Workshop, known: map[string][]machines.Machine{}}
	follows, err := w.consequences(ctx, names, sides[0], sides[1])
	return &recipesv1.DiffRevisionsResponse{Differences: differences, Consequences: follows}, err
}

// seen are the branches that the person may see: their own, or all.
func (s *catalogService) seen(ctx context.Context) ([]string, error) {
	if own := ofBranch(ctx); own != "" {
		return []string{own}, nil
	}
	all, err := s.h.Register.Branches(ctx)
	names := make([]string, len(all))
	for i, b := range all {
		names[i] = b.Name
	}
	return names, err
}

// inFuture is the fault of asking for the past of an instant that has not come.
func inFuture() error {
	return fault.New(fault.Invalid, "recipes", "INSTANT_IN_THE_FUTURE", "That instant has not come yet. Ask for now, or earlier.")
}
