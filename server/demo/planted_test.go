package demo

import (
	"testing"
	"time"

	"evenpeel/branches/compare"
)

func cells(t *testing.T, from, to time.Time) []compare.Cell {
	t.Helper()
	return got(demo(t).store.Cells(t.Context(), compare.Span{From: from.Format(time.DateOnly), To: to.Format(time.DateOnly)}))(t)
}

func wholeYear(t *testing.T) []compare.Cell {
	t.Helper()
	return cells(t, now.AddDate(0, 0, -yearDays), now.AddDate(0, 0, -1))
}

func TestCold_isFound(t *testing.T) {
	v, err := compare.FairReprints(wholeYear(t), compare.Options{})
	if err != nil {
		t.Fatal(err)
	}
	others := 0
	for _, s := range v.Standings {
		flagged := s.Mark == compare.High998 || s.Mark == compare.Low998
		switch {
		case s.Branch == Cold:
			if s.Mark != compare.High998 || s.Ratio < 1.6 || s.Ratio > 2.4 {
				t.Errorf("%s is %v at a ratio of %.2f", s.Branch, s.Mark, s.Ratio)
			}
			t.Logf("%s: ratio %.2f, %.2f to %.2f", s.Branch, s.Ratio, s.Ratio95.Low, s.Ratio95.High)
		case flagged:
			others++
			t.Logf("%s is %v at %.2f", s.Branch, s.Mark, s.Ratio)
		}
	}
	if others > 1 {
		t.Errorf("%d other branches are marked at 99.8 %%", others)
	}
	t.Logf("%s %d pieces, rate %.4f", v.Finding, v.Pieces, v.Rate)

	// Edges lift, and nothing else rises.
	span := compare.Span{From: now.AddDate(0, 0, -yearDays).Format(time.DateOnly), To: now.AddDate(0, 0, -1).Format(time.DateOnly)}
	var lifted, all, liftedElsewhere, allElsewhere int64
	for _, c := range got(demo(t).store.CauseCounts(t.Context(), span))(t) {
		a, b := &liftedElsewhere, &allElsewhere
		if c.Branch == Cold {
			a, b = &lifted, &all
		}
		*b += c.Count
		if c.Cause == "edge-lift" {
			*a += c.Count
		}
	}
	here, there := float64(lifted)/float64(all), float64(liftedElsewhere)/float64(allElsewhere)
	if here < 0.5 || there > 0.4 {
		t.Errorf("edge-lift is %.2f of its reprints, %.2f elsewhere", here, there)
	}
	t.Logf("edge-lift %.2f here, %.2f elsewhere", here, there)
}

func TestShort_isFound(t *testing.T) {
	var of [4]compare.Tally
	for _, c := range wholeYear(t) {
		if c.Film == "glimmer" && c.Fabric == "polyester" {
			of[c.Revision].Pieces += c.Pieces
			of[c.Revision].Reprints += c.Reprints
		}
	}
	none := compare.Tally{}
	worse := got(compare.BeforeAfter(of[1], of[2], none, none))(t)
	better := got(compare.BeforeAfter(of[2], of[3], none, none))(t)
	if worse.Verdict != compare.More || better.Verdict != compare.Fewer {
		t.Errorf("revision 2: %+v, revision 3: %+v", worse, better)
	}
	t.Logf("rates %.4f, %.4f, %.4f of %d, %d, %d pieces", of[1].Rate(), of[2].Rate(), of[3].Rate(), of[1].Pieces, of[2].Pieces, of[3].Pieces)
}

func TestWasteful_isFound(t *testing.T) {
	by := map[string][]compare.Cell{}
	for _, c := range wholeYear(t) {
		by[c.Branch] = append(by[c.Branch], c)
	}
	worst, share := "", 0.0
	next := 0.0
	for branch, cs := range by {
		steps := got(compare.Waterfall(cs))(t)
		drawn, ends := steps[0].Area, steps[6].Area
		if steps[6].Step != "roll ends" {
			t.Fatalf("step 6 is %q", steps[6].Step)
		}
		switch s := float64(ends) / float64(drawn); {
		case s > share:
			worst, share, next = branch, s, share
		case s > next:
			next = s
		}
	}
	if worst != Wasteful || share < 0.05 || share > 0.07 || next > 0.02 {
		t.Errorf("most at roll ends is %s with %.4f, the next has %.4f", worst, share, next)
	}
	t.Logf("%s %.4f, next %.4f", worst, share, next)
	for _, l := range got(compare.Waterfall(wholeYear(t)))(t) {
		t.Logf("%-14s %d mm²", l.Step, l.Area)
	}
}

// Who looks for causes over the whole year finds the cold press, the short dwell and the brittle lot, and nothing else.
func TestCauses_areFoundAndNothingElse(t *testing.T) {
	span := compare.Span{From: now.AddDate(0, 0, -yearDays).Format(time.DateOnly), To: now.AddDate(0, 0, -1).Format(time.DateOnly)}
	works := got(demo(t).store.Works(t.Context(), "", span))(t)
	found := got(compare.Associate(works, compare.AssociationOptions{Causes: []string{"", "edge-lift", "weeding-tear", "misplaced", "wrinkle"}}))(t)
	cold, short, brittle := false, false, false
	for _, x := range found.List {
		if !x.Discovery || x.OfWork() {
			continue
		}
		switch {
		case x.Level == Cold && x.Ratio95.Low > 1.5:
			cold = true
		case x.Level == string(Short.Revision(2)) && x.Ratio95.Low > 1.5:
			short = true
		case x.Level == "dewfall "+Brittle && x.Ratio95.Low > 1.2:
			brittle = true
		default:
			t.Errorf("not planted: %s, p %.3g", x.Sentence(nil), x.BHAdjusted)
		}
	}
	if !cold || !short || !brittle {
		t.Errorf("cold %v, short %v, brittle %v", cold, short, brittle)
	}
	t.Logf("%d looked at, dispersion %.3f", found.Tested, found.Phi)
}

// Late reports and corrections are seen as such, and nobody is late or corrected who was not planned to be.
func TestReporting_showsLateAndCorrected(t *testing.T) {
	span := compare.Span{From: now.AddDate(0, 0, -yearDays).Format(time.DateOnly), To: now.AddDate(0, 0, -1).Format(time.DateOnly)}
	for _, r := range got(demo(t).store.Reporting(t.Context(), span))(t) {
		// A correction that came more than a day after the work is a late report too.
		late := r.Branch == Tardy && r.Late > r.Runs*9/10 || r.Branch == Mending && r.Late <= corrections || r.Late == 0
		if !late || (r.Corrected == corrections) != (r.Branch == Mending) || r.Branch != Mending && r.Corrected > 0 {
			t.Errorf("%+v", r)
		}
	}
}

// A sample of days holds whole days, and together the samples hold every run once.
func TestWorks_ofOneDayInThree(t *testing.T) {
	span := compare.Span{From: now.AddDate(0, 0, -yearDays).Format(time.DateOnly), To: now.AddDate(0, 0, -1).Format(time.DateOnly)}
	all := got(demo(t).store.Works(t.Context(), Cold, span))(t)
	span.NthDay = 3
	some := got(demo(t).store.Works(t.Context(), Cold, span))(t)
	days, reasons := map[string]int{}, 0
	for _, w := range all {
		if w.End.Unix()/86400%3 == 0 {
			days[w.End.Format(time.DateOnly)]++
			reasons += len(w.Reasons)
		}
	}
	for _, w := range some {
		days[w.End.Format(time.DateOnly)]--
		reasons -= len(w.Reasons)
	}
	for day, left := range days {
		if left != 0 {
			t.Errorf("%s: %d runs too few", day, left)
		}
	}
	if reasons != 0 || len(some) == 0 || len(some) > len(all)/2 {
		t.Errorf("%d of %d runs, %d reasons too few", len(some), len(all), reasons)
	}
}
