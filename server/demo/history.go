package demo

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/sealed"
	"evenpeel/recipes/units"
)

// desk walks through the past: the office's own rules apply at every step, at the instant the walk has reached.
type desk struct {
	l      *loading
	at     time.Time
	office recipes.Office
	count  map[recipes.RecordName]int64
}

// history writes revisions and releases from 13 months ago to a week ahead.
func (l *loading) history(ctx context.Context) error {
	l.approved = map[recipes.RevisionName]recipes.Recipe{}
	d := &desk{l: l, count: map[recipes.RecordName]int64{}}
	d.office = recipes.Office{Catalog: l.store, Desk: l.store, Sealer: sealed.Codec{}, Signer: l.signer, Now: func() time.Time { return d.at }}
	for _, chapter := range []func(context.Context) error{d.opening, d.tuning, d.glitter, d.newFilm, d.recent, d.overdue, d.open} {
		if err := chapter(ctx); err != nil {
			return err
		}
	}
	return l.reaches(ctx)
}

// opening: everything that the franchise began with.
func (d *desk) opening(ctx context.Context) error {
	d.at = d.l.before(historyMonths, 2)
	var first []recipes.RevisionName
	for _, s := range films() {
		if s.late {
			continue
		}
		for _, fabric := range s.fabrics {
			if err := d.approve(ctx, &first, recordOf(s.Code, fabric), s.recipe(fabric), "First approved recipe."); err != nil {
				return err
			}
		}
	}
	certificates := d.l.certificates()
	for _, id := range slices.Sorted(maps.Keys(certificates)) {
		if err := d.approve(ctx, &first, recipes.RecordName("certificates/"+id), certificates[id], "As the supplier sent it."); err != nil {
			return err
		}
	}
	d.at = d.l.before(historyMonths, 0)
	if err := d.release(ctx, first, nil, "The franchise opens: recipes and film documents.", eu, uk); err != nil {
		return err
	}
	return d.papers(ctx, 0, false, "The franchise opens: prices and notes.")
}

// papers releases each market's own price list and note.
func (d *desk) papers(ctx context.Context, dearer int64, second bool, reason string) error {
	var forEU, forUK []recipes.RevisionName
	for _, a := range []struct {
		into    *[]recipes.RevisionName
		record  recipes.RecordName
		content recipes.Content
	}{
		{&forEU, "prices/eu", list("Prices EU", "EU", "EUR", 210_000, dearer)}, {&forEU, "notes/child-eu", childNote("EU", second)},
		{&forUK, "prices/uk", list("Prices UK", "UK", "GBP", 200_000, dearer)}, {&forUK, "notes/child-uk", childNote("UK", second)},
	} {
		if err := d.approve(ctx, a.into, a.record, a.content, reason); err != nil {
			return err
		}
	}
	if err := d.release(ctx, forEU, nil, reason, eu); err != nil {
		return err
	}
	return d.release(ctx, forUK, nil, reason, uk)
}

// tuning: small corrections that change no rate.
func (d *desk) tuning(ctx context.Context) error {
	d.at = d.l.before(11, 0)
	var revised []recipes.RevisionName
	for _, s := range films() {
		if s.Code != "plainfold" && s.Code != "paddle" {
			continue
		}
		for _, fabric := range s.fabrics {
			r := s.recipe(fabric)
			r.Gap, r.WeedBorder = 3, 2
			if err := d.approve(ctx, &revised, recordOf(s.Code, fabric), r, "Closer on the roll: trial cuts weeded well."); err != nil {
				return err
			}
		}
	}
	return d.release(ctx, revised, nil, "Plainfold and Paddle lie closer on the roll.", eu, uk)
}

// glitter: the revision that was wrong, the new prices in between, and the one that mended it.
func (d *desk) glitter(ctx context.Context) error {
	var wrong, right []recipes.RevisionName
	r := filmOf("glimmer").recipe("polyester")
	r.Dwell = units.Around[units.Seconds](6, 1, 1)
	d.at = d.l.before(ShortMonths, 0)
	if err := d.approve(ctx, &wrong, Short, r, "Shorter dwell against dye moving into the film."); err != nil {
		return err
	}
	if err := d.release(ctx, wrong, nil, "Glimmer on polyester: 6 s instead of 12 s.", eu, uk); err != nil {
		return err
	}
	d.at = d.l.before(6, 0)
	if err := d.papers(ctx, 4, true, "Prices of the new season; note on babies' garments."); err != nil {
		return err
	}
	r.Dwell = units.Around[units.Seconds](13, 2, 2)
	d.at = d.l.before(MendedMonths, 0)
	if err := d.approve(ctx, &right, Short, r, "Edges lifted with 6 s at every branch; longer again."); err != nil {
		return err
	}
	return d.release(ctx, right, nil, "Glimmer on polyester: 13 s, replaces revision 2.", eu, uk)
}

func (d *desk) newFilm(ctx context.Context) error {
	d.at = d.l.before(3, 0)
	s := filmOf("nightmoss")
	var added []recipes.RevisionName
	for _, fabric := range s.fabrics {
		if err := d.approve(ctx, &added, recordOf(s.Code, fabric), s.recipe(fabric), "New film."); err != nil {
			return err
		}
	}
	return d.release(ctx, added, nil, "Nightmoss is new.", eu, uk)
}

// recent: a trial at three branches, its widening that was called off, and a release that is still to come.
func (d *desk) recent(ctx context.Context) error {
	var trial, coming []recipes.RevisionName
	d.at = d.l.before(0, 20)
	r := filmOf("sieve").recipe("stretch")
	r.Pressure = units.Around[units.Kilopascals](28, 8, 8)
	if err := d.approve(ctx, &trial, recordOf("sieve", "stretch"), r, "A little more pressure; three branches try it first."); err != nil {
		return err
	}
	if err := d.release(ctx, trial, []string{"branches/chapel-walk", "branches/harbour-street", "branches/linden-square"}, "Trial: Sieve mesh on stretch at 28 kPa.", eu, uk); err != nil {
		return err
	}
	d.at = d.l.before(0, 6)
	wide := recipes.Release{Revisions: d.l.released[len(d.l.released)-1].Revisions, Markets: []recipes.Market{eu, uk}, Widens: int64(len(d.l.released)), Effective: d.l.day.AddDate(0, 0, -3).Add(6 * time.Hour), Reason: "The trial went well: Sieve mesh on stretch at 28 kPa everywhere."}
	if err := d.kept(d.office.Release(ctx, d.l.approver, "demo-widen", wide)); err != nil {
		return err
	}
	d.at = d.l.before(0, 5)
	if err := d.kept(d.office.Cancel(ctx, d.l.second, "demo-cancel", int64(len(d.l.released)), "One of the three branches asks for a week more.")); err != nil {
		return err
	}
	d.at = d.l.before(0, 2)
	r = filmOf("feather").recipe("cotton")
	r.Advice = append(r.Advice, "Let the platen recover between pieces: thin film shows every dip.")
	if err := d.approve(ctx, &coming, recordOf("feather", "cotton"), r, "One more line of advice."); err != nil {
		return err
	}
	return d.releaseAt(ctx, coming, nil, d.l.day.AddDate(0, 0, 7).Add(6*time.Hour), "Feather thin on cotton: advice added.", eu, uk)
}

// open leaves one draft waiting for a second look and one being written.
func (d *desk) open(ctx context.Context) error {
	d.at = d.l.before(0, 1)
	r := filmOf("ridge").recipe("cotton")
	r.Dwell = units.Around[units.Seconds](20, 2, 3)
	asked, err := d.start(ctx, recordOf("ridge", "cotton"), r, "Raised edges hold better with 20 s.")
	if err != nil {
		return err
	}
	// What speaks for it: a trial, washed by a procedure of ISO 6330.
	with, err := sealed.Codec{}.WithTrials(asked.Content, []recipes.Trial{
		{Garments: 24, Wash: "4N", Dry: "F", Cycles: 25, Outcome: "held", Tester: d.l.editor, Day: d.l.day.AddDate(0, 0, -9).Format(time.DateOnly), Words: "No edge lifted; the ribs stayed sharp."},
		{Garments: 12, Wash: "6N", Dry: "A", Cycles: 10, Outcome: "held", Tester: d.l.editor, Day: d.l.day.AddDate(0, 0, -4).Format(time.DateOnly)},
	})
	if err != nil {
		return err
	}
	if asked, err = d.office.Save(ctx, d.l.editor, asked.ID, asked.Etag, with, ""); err != nil {
		return err
	}
	if _, err = d.office.Ask(ctx, d.l.editor, asked.ID, asked.Etag); err != nil {
		return err
	}
	r = filmOf("lamplight").recipe("nylon")
	r.Advice = append(r.Advice, "Rain jackets: press the lining away from the platen's edge.")
	_, err = d.start(ctx, recordOf("lamplight", "nylon"), r, "Advice for rain jackets.")
	return err
}

func filmOf(code string) stuff {
	all := films()
	return all[slices.IndexFunc(all, func(s stuff) bool { return s.Code == code })]
}

// start opens a draft and says why.
func (d *desk) start(ctx context.Context, record recipes.RecordName, content recipes.Content, reason string) (recipes.Draft, error) {
	bytes, err := sealed.Codec{}.Content(content)
	if err != nil {
		return recipes.Draft{}, err
	}
	kind, _ := record.Kind()
	id := fmt.Sprintf("demo-%s-%s-%d", kind, string(record)[len(kind)+1:], d.count[record]+1)
	draft, err := d.office.Start(ctx, d.l.editor, id, record, d.count[record], bytes)
	if err != nil {
		return draft, err
	}
	return d.office.Save(ctx, d.l.editor, draft.ID, draft.Etag, bytes, reason)
}

// approve takes a record from draft to revision: the editor writes, an approver looks.
func (d *desk) approve(ctx context.Context, into *[]recipes.RevisionName, record recipes.RecordName, content recipes.Content, reason string) error {
	draft, err := d.start(ctx, record, content, reason)
	if err != nil {
		return err
	}
	if draft, err = d.office.Ask(ctx, d.l.editor, draft.ID, draft.Etag); err != nil {
		return err
	}
	approver := d.l.approver
	if d.count[record]%2 == 1 {
		approver = d.l.second
	}
	row, err := d.office.Approve(ctx, approver, draft.ID, draft.Content.Digest())
	if err != nil {
		return err
	}
	d.count[record] = row.Number
	if r, ok := content.(recipes.Recipe); ok {
		d.l.approved[row.Name()] = r
	}
	*into = append(*into, row.Name())
	return nil
}

func (d *desk) release(ctx context.Context, revisions []recipes.RevisionName, branches []string, reason string, markets ...recipes.Market) error {
	return d.releaseAt(ctx, revisions, branches, d.at, reason, markets...)
}

func (d *desk) releaseAt(ctx context.Context, revisions []recipes.RevisionName, branches []string, effective time.Time, reason string, markets ...recipes.Market) error {
	r := recipes.Release{Markets: markets, Branches: branches, Effective: effective, Reason: reason}
	for _, revision := range revisions {
		r.Revisions = append(r.Revisions, recipes.Released{Revision: revision})
	}
	return d.kept(d.office.Release(ctx, d.l.approver, fmt.Sprintf("demo-release-%d", len(d.l.released)+1), r))
}

// kept remembers what was released.
func (d *desk) kept(signed recipes.SignedRelease, err error) error {
	if err == nil {
		d.l.released = append(d.l.released, signed.Release)
	}
	return err
}

// overdue leaves a proposal whose instant has passed while nobody answered: it asks.
func (d *desk) overdue(ctx context.Context) error {
	d.at = d.l.before(0, 4)
	mended := Short.Revision(3)
	_, err := d.office.Propose(ctx, d.l.editor, "demo-proposal", recipes.Release{
		Revisions: []recipes.Released{{Revision: mended}}, Markets: []recipes.Market{uk}, Branches: []string{"branches/chapel-walk"}, Effective: d.l.day.AddDate(0, 0, -1).Add(6 * time.Hour),
		Reason: "Chapel Walk pulled late; release the mended dwell there again, to be sure.",
	})
	return err
}

// reaches: every branch has pulled the newest release, but for one that is behind and one that was never heard of.
func (l *loading) reaches(ctx context.Context) error {
	newest := int64(len(l.released))
	for i, h := range l.houses {
		r := recipes.Reach{Branch: h.Name, Held: newest, Pulled: l.day.Add(time.Duration(i) * time.Minute)}
		switch h.Name {
		case "branches/gorse-hill":
			continue
		case "branches/old-customs":
			r.Held, r.Pulled = newest-2, l.before(0, 24)
		}
		if err := l.store.NoteReach(ctx, r); err != nil {
			return err
		}
	}
	return nil
}
