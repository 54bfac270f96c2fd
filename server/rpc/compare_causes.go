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
)

const (
	causesMethod     = "Work held equal (film, fabric, difficulty) by a Poisson regression with a ridge penalty; whatever chance explains worst joins it, the rest is judged anew; exact Poisson p-values, adjusted after Benjamini and Hochberg over everything that was looked at."
	mostAssociations = 200
)

func (s *compareService) FindCauses(ctx context.Context, req *comparev1.FindCausesRequest) (*comparev1.FindCausesResponse, error) {
	a, err := s.asked(ctx, req.GetSpan(), req.GetAsOf())
	if err != nil {
		return nil, err
	}
	if req.GetBranch() != "" && a.title(req.GetBranch()) == "" {
		return nil, branches.NotFound(req.GetBranch())
	}
	answer := &comparev1.FindCausesResponse{Method: causesMethod, Caveat: caveat, AsOf: a.stamp(), FalseDiscovery: 0.05}
	works, err := s.sample(ctx, a, req.GetBranch(), answer)
	if err != nil {
		return nil, err
	}
	counts, err := s.causeCounts(ctx, a)
	if err != nil {
		return nil, err
	}
	if req.GetBranch() != "" {
		counts = slices.DeleteFunc(counts, func(c compare.Cause) bool { return c.Branch != req.GetBranch() })
	}
	if answer.Causes, err = causes(counts, func(compare.Cause) bool { return true }, 0, 0); err != nil {
		return nil, err
	}
	o := compare.AssociationOptions{Zones: a.zones(), Causes: []string{req.GetCause()}, FalseDiscovery: answer.FalseDiscovery}
	if req.GetCause() == "" {
		o.Causes = append(o.Causes, few(counts)...)
	}
	found, err := compare.Associate(works, o)
	if err != nil {
		return nil, err
	}
	answer.TestedCount = int32(found.Tested)
	names := titles{s: s, a: a, machines: map[string]string{}}
	for _, x := range found.List[:min(len(found.List), mostAssociations)] {
		answer.Associations = append(answer.Associations, names.association(ctx, x))
	}
	answer.Finding = causesFinding(answer, found)
	return answer, nil
}

// sample reads the runs of a branch, or of all; where there are too many to look at one by one, those of one day in so many.
func (s *compareService) sample(ctx context.Context, a asked, branch string, answer *comparev1.FindCausesResponse) ([]compare.Work, error) {
	reporting, err := s.h.Source.Reporting(ctx, a.span)
	if err != nil {
		return nil, err
	}
	var runs int64
	for _, r := range reporting {
		if branch == "" || r.Branch == branch {
			runs += r.Runs
		}
	}
	a.span.NthDay = compare.NthDayFor(runs)
	works, err := s.h.Source.Works(ctx, branch, a.span)
	if err != nil {
		return nil, err
	}
	works = slices.DeleteFunc(works, func(w compare.Work) bool { return !a.in[w.Branch] })
	answer.RunsCount = int64(len(works))
	if a.span.NthDay > 1 {
		answer.Method += fmt.Sprintf(" There are %d runs in these days; looked at were those of one day in %d.", runs, a.span.NthDay)
	}
	return works, nil
}

// few are the causes that together make up four fifths.
func few(counts []compare.Cause) (list []string) {
	shares, err := compare.Pareto(counts)
	if err != nil {
		return nil
	}
	for _, x := range shares {
		if x.Few {
			list = append(list, x.Cause)
		}
	}
	return list
}

// zones are the branches' clocks; one that can not be read is left to UTC.
func (a asked) zones() map[string]*time.Location {
	zones := make(map[string]*time.Location, len(a.branches))
	for _, b := range a.branches {
		if z, err := time.LoadLocation(b.TimeZone); err == nil {
			zones[b.Name] = z
		}
	}
	return zones
}

// titles finds names for people; machines are read where one is found.
type titles struct {
	s        *compareService
	a        asked
	machines map[string]string
}

func (t titles) of(ctx context.Context, resource string) string {
	if title := t.a.title(resource); title != "" {
		return title
	}
	if branch := branches.Of(resource); branch != "" && strings.Contains(resource, "/machines/") {
		title, ok := t.machines[resource]
		if !ok {
			if list, err := t.s.h.Workshop.Machines(ctx, branch); err == nil { // without its title a machine keeps its name
				for _, m := range list {
					t.machines[m.Name] = m.Title
				}
			}
			title = t.machines[resource]
			t.machines[resource] = title
		}
		if title == "" {
			return ""
		}
		return title + " of " + t.a.title(branch)
	}
	if record, number, ok := strings.Cut(resource, "/revisions/"); ok {
		return "revision " + number + " of " + strings.TrimPrefix(record, "recipes/")
	}
	if record, ok := strings.CutPrefix(resource, "recipes/"); ok {
		return "recipe " + record
	}
	return ""
}

func (t titles) association(ctx context.Context, x compare.Association) *comparev1.Association {
	title := func(resource string) string { return t.of(ctx, resource) }
	m := &comparev1.Association{
		Cause: x.Cause, Factor: string(x.Factor), Level: x.Level, Title: orItself(title(x.Level), x.Level), WithFactor: string(x.WithFactor), WithLevel: x.With, WithTitle: orItself(title(x.With), x.With),
		PiecesCount: x.Pieces, Count: x.Count, Rate: x.Rate, RateLow: x.Rate95.Low, RateHigh: x.Rate95.High, Expected: bounded(x.Expected),
		Ratio: x.Ratio, RatioLow: x.Ratio95.Low, RatioHigh: bounded(x.Ratio95.High), PAdjusted: x.BHAdjusted, Discovery: x.Discovery, Sentence: x.Sentence(title),
	}
	return m
}

func orItself(title, level string) string {
	if title == "" {
		return level
	}
	return title
}

// causesFinding tells what goes with more reprints, the work's own nature left out.
func causesFinding(answer *comparev1.FindCausesResponse, found compare.Associations) string {
	if answer.GetRunsCount() == 0 {
		return "Nothing was reported in these days"
	}
	var sentences []string
	more := 0
	seen := map[string]bool{}
	for i, x := range found.List {
		if !x.Discovery || x.OfWork() || x.Ratio < 1 || x.Cause == "" && len(found.List) > 0 && alsoByCause(found.List, x) || seen[string(x.Factor)+x.Level] {
			continue
		}
		seen[string(x.Factor)+x.Level] = true
		if len(sentences) == 2 {
			more++
			continue
		}
		if i < len(answer.GetAssociations()) {
			sentences = append(sentences, answer.GetAssociations()[i].GetSentence())
		}
	}
	if len(sentences) == 0 {
		return "Nothing that was recorded goes with more reprints than the work explains"
	}
	sentence := strings.Join(sentences, ". ")
	if more > 0 {
		sentence += fmt.Sprintf(". And %d more", more)
	}
	return sentence
}

// alsoByCause reports whether a finding over all causes is one of a cause too, which says more.
func alsoByCause(list []compare.Association, all compare.Association) bool {
	return slices.ContainsFunc(list, func(x compare.Association) bool {
		return x.Discovery && x.Cause != "" && x.Factor == all.Factor && x.Level == all.Level && x.WithFactor == all.WithFactor && x.With == all.With
	})
}
