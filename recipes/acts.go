package recipes

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"fmt"
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// MaxAhead bounds how far ahead a release may take effect.
const MaxAhead = 366 * 24 * time.Hour

// Release puts revisions in force, or takes records out of force, from an instant (zero: now). The same request again
// answers the first release. Faults: Invalid/RELEASE_INVALID with every field, Invalid/EFFECTIVE_IN_THE_PAST,
// NotFound/REVISION_NOT_FOUND, NotReady/KEY_RETIRED, MovedOn/RELEASE_TAKEN where another release was first three times,
// Invalid/REQUEST_ID_REUSED where the request made a release of another plan.
func (o Office) Release(ctx context.Context, person, request string, r Release) (SignedRelease, error) {
	again := func(made Release) bool { return made.madeOf(person, r) }
	return o.released(ctx, person, request, again, func(chain []SignedRelease) (Release, error) { return o.Planned(ctx, chain, r) }, nil)
}

// Planned is a release as it would be made now: checked, its digests filled in. Its faults are those of Release.
func (o Office) Planned(ctx context.Context, chain []SignedRelease, r Release) (Release, error) {
	now := o.Now().Truncate(time.Second)
	if r.Effective.IsZero() {
		r.Effective = now
	}
	r.Effective = r.Effective.Truncate(time.Second)
	if r.Effective.Before(now.Add(-time.Minute)) {
		return r, fault.New(fault.Invalid, "recipes", "EFFECTIVE_IN_THE_PAST", "A release can not take effect in the past. Choose now, or a later instant.")
	}
	r.Revisions = slices.Clone(r.Revisions) // digests are filled in below; the caller's list stays as it was
	var fs fault.Fields
	if r.Effective.After(now.Add(MaxAhead)) {
		fs.Add("effective_time", "is more than a year ahead")
	}
	if !r.Puts() {
		fs.Add("revisions", "is empty; choose what takes effect, or what goes out of force")
	}
	if len(r.Markets) == 0 {
		fs.Add("markets", "is empty; choose at least one")
	}
	if r.Cancels != 0 || len(r.NextKey) != 0 {
		fs.Add("revisions", "do not go together with cancelling or a new key; those are acts of their own")
	}
	records := map[RecordName]bool{}
	for i := range r.Revisions {
		record, number, err := r.Revisions[i].Revision.Parts()
		if err != nil {
			fs.Add(fmt.Sprintf("revisions[%d]", i), "%q is not the name of a revision", string(r.Revisions[i].Revision))
			continue
		}
		if records[record] {
			fs.Add(fmt.Sprintf("revisions[%d]", i), "%s is named twice; one release puts one revision of it in force", string(record))
		}
		records[record] = true
		row, err := o.Catalog.Revision(ctx, record, number)
		if err != nil {
			return r, err
		}
		r.Revisions[i].Digest = row.Digest
	}
	for i, record := range r.Withdrawn {
		if _, ok := record.Kind(); !ok {
			fs.Add(fmt.Sprintf("withdrawn[%d]", i), "%q is not the name of a record", string(record))
		}
		if records[record] {
			fs.Add(fmt.Sprintf("withdrawn[%d]", i), "%s is put in force by the same release", string(record))
		}
		records[record] = true
	}
	if r.Widens != 0 {
		fs = append(fs, widened(chain, r)...)
	}
	return r, fs.Fault("recipes", "RELEASE_INVALID", "This release can not be made yet.")
}

// widened checks that a release widens a trial: the same revisions, at more places.
func widened(chain []SignedRelease, r Release) (fs fault.Fields) {
	i := slices.IndexFunc(chain, func(s SignedRelease) bool { return s.Release.Number == r.Widens })
	if i < 0 {
		fs.Add("widens", "is %d, and there is no such release", r.Widens)
		return fs
	}
	trial := chain[i].Release
	if len(trial.Branches) == 0 {
		fs.Add("widens", "is %d, which was no trial: it named no branches", r.Widens)
	}
	for _, s := range chain {
		if s.Release.Cancels == r.Widens {
			fs.Add("widens", "is %d, which was cancelled", r.Widens)
		}
	}
	for j, rev := range r.Revisions {
		if !slices.ContainsFunc(trial.Revisions, func(t Released) bool { return t.Revision == rev.Revision }) {
			fs.Add(fmt.Sprintf("revisions[%d]", j), "%s was not part of release %d, which this one widens", string(rev.Revision), r.Widens)
		}
	}
	return fs
}

// Cancel undoes a release whose instant has not come, by a new release that says so. The same request again answers the
// first. Faults: NotFound/RELEASE_NOT_FOUND, NotReady/RELEASE_NOT_SCHEDULED, NotReady/RELEASE_CANCELLED, and those of
// Release.
func (o Office) Cancel(ctx context.Context, person, request string, number int64, reason string) (SignedRelease, error) {
	again := func(made Release) bool {
		return made.Approver == person && made.Cancels == number && made.Reason == reason
	}
	return o.released(ctx, person, request, again, func(chain []SignedRelease) (Release, error) {
		now := o.Now().Truncate(time.Second)
		i := slices.IndexFunc(chain, func(s SignedRelease) bool { return s.Release.Number == number })
		if i < 0 {
			return Release{}, ReleaseNotFound(number)
		}
		undone := chain[i].Release
		for _, s := range chain {
			if s.Release.Cancels == number {
				return Release{}, fault.New(fault.NotReady, "recipes", "RELEASE_CANCELLED", "Release %d was cancelled already, by release %d.", number, s.Release.Number)
			}
		}
		if !undone.Puts() || !undone.Effective.After(now) {
			return Release{}, fault.New(fault.NotReady, "recipes", "RELEASE_NOT_SCHEDULED", "Release %d has taken effect, so it can not be cancelled any more. Go back to what was in force before, or withdraw it.", number)
		}
		return Release{Cancels: number, Markets: undone.Markets, Branches: undone.Branches, Effective: now, Reason: reason}, nil
	}, nil)
}

// HandOver makes the release, signed by the key from, after which the key next signs. Faults: Invalid/KEY_INVALID, and
// those of Release.
func (o Office) HandOver(ctx context.Context, person, request string, from, next []byte, reason string) (SignedRelease, error) {
	again := func(made Release) bool { return bytes.Equal(made.FromKey, from) && bytes.Equal(made.NextKey, next) }
	return o.released(ctx, person, request, again, func([]SignedRelease) (Release, error) {
		if len(next) != ed25519.PublicKeySize || len(from) != ed25519.PublicKeySize || bytes.Equal(from, next) {
			return Release{}, fault.New(fault.Invalid, "recipes", "KEY_INVALID", "A key has %d bytes, and the next one differs from the one before.", ed25519.PublicKeySize)
		}
		return Release{FromKey: from, NextKey: next, Effective: o.Now().Truncate(time.Second), Reason: reason}, nil
	}, nil)
}

// ReleaseNotFound is the fault for a release that does not exist.
func ReleaseNotFound(number int64) error {
	return fault.New(fault.NotFound, "recipes", "RELEASE_NOT_FOUND", "There is no release %d. Look at the list of releases.", number)
}

// released makes the next release. plan is asked anew on every try, since another release may have changed what may be
// done. again reports whether a release is what this request asks for. keep stores it; nil is the desk's own way.
func (o Office) released(ctx context.Context, person, request string, again func(Release) bool, plan func([]SignedRelease) (Release, error), keep func(SignedRelease) error) (SignedRelease, error) {
	if keep == nil {
		keep = func(s SignedRelease) error { return o.Desk.KeepRelease(ctx, s, request) }
	}
	known := func() (SignedRelease, bool, error) {
		made, ok, err := o.madeBy(ctx, request)
		if err == nil && ok && !again(made.Release) {
			err = reused(fmt.Sprintf("release %d", made.Release.Number))
		}
		return made, ok, err
	}
	for range 3 {
		// Asked before anything is judged: a retry may come when the instant that it chose has passed.
		if made, ok, err := known(); ok || err != nil {
			return made, err
		}
		// The desk's own list: a cache in front of the catalog may not know yet of what another process released.
		chain, err := o.Desk.Releases(ctx, 0)
		if err != nil {
			return SignedRelease{}, err
		}
		r, err := plan(chain)
		if err != nil {
			// The same request, sent at the same moment, may have been what made this one impossible.
			if made, ok, again := known(); ok || again != nil {
				return made, again
			}
			return SignedRelease{}, err
		}
		signed, err := o.signed(chain, person, r)
		if err != nil {
			return SignedRelease{}, err
		}
		switch err := keep(signed); {
		case err == nil:
			if o.Released != nil {
				o.Released(signed.Release.Number)
			}
			return signed, nil
		case !isReason(err, "RELEASE_TAKEN"):
			return SignedRelease{}, err
		}
	}
	return SignedRelease{}, fault.New(fault.MovedOn, "recipes", "RELEASE_TAKEN", "Other releases were made at the same moment. Look at them, then release again.")
}

func isReason(err error, reason fault.Reason) bool {
	f, ok := fault.As(err)
	return ok && f.Reason == reason
}

// signed seals and signs a release as the next of the chain.
func (o Office) signed(chain []SignedRelease, person string, r Release) (SignedRelease, error) {
	r.Approver, r.Made, r.Number, r.Previous = person, o.Now().Truncate(time.Second), 1, Digest{}
	if len(chain) > 0 {
		before := chain[len(chain)-1]
		r.Number, r.Previous = before.Release.Number+1, before.Sealed.Digest()
	}
	sealed, err := o.Sealer.SealRelease(r)
	if err != nil {
		return SignedRelease{}, err
	}
	signature, key := o.Signer.Sign(sealed.Digest())
	if name := SigningKey(chain); name != "" && name != key {
		return SignedRelease{}, fault.New(fault.NotReady, "recipes", "KEY_RETIRED", "This server signs with the key %s, but the office's key is %s now, so branches would refuse the release. Put the right key file in place and start the server again.", key, name).With("key", name)
	}
	return SignedRelease{Release: r, Sealed: sealed, Signature: signature, Key: key}, nil
}

// madeBy finds the release that the request made; ok is false where it made none yet.
func (o Office) madeBy(ctx context.Context, request string) (made SignedRelease, ok bool, err error) {
	number, err := o.Desk.ReleaseOf(ctx, request)
	if err != nil || number == 0 {
		return made, false, err
	}
	from, err := o.Desk.Releases(ctx, number-1)
	if err != nil || len(from) == 0 {
		return made, true, err
	}
	return from[0], true, nil
}
