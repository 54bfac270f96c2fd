package recipes

import (
	"slices"
	"time"

	"evenpeel/recipes/fault"
)

// A request carries an id that its sender made, so that one that got no answer can be sent again and is done once. The
// same id with something else in it is a slip that must not go unseen: whoever sent it would take the old for the new.

// reused is the fault of an id that was sent before with something else in it.
func reused(what string) error {
	return fault.New(fault.Invalid, "recipes", "REQUEST_ID_REUSED", "This request was sent before with something else in it, and %s was made of that. Look at it; what you want now is sent as a request of its own.", what)
}

// asks reports whether a plan is the one that a release or proposal was made of: what its sender chose, not what was
// filled in.
func (r Release) asks(same Release) bool {
	return slices.EqualFunc(r.Revisions, same.Revisions, func(a, b Released) bool { return a.Revision == b.Revision }) &&
		slices.Equal(r.Withdrawn, same.Withdrawn) && slices.Equal(r.Markets, same.Markets) && slices.Equal(r.Branches, same.Branches) &&
		r.Reason == same.Reason && r.Widens == same.Widens && r.Cancels == same.Cancels
}

// madeOf reports whether a release was made by that person of that plan.
func (r Release) madeOf(person string, plan Release) bool {
	at := plan.Effective.Truncate(time.Second)
	// A plan without an instant took effect when it was made.
	when := plan.Effective.IsZero() && !r.Effective.After(r.Made) || !plan.Effective.IsZero() && r.Effective.Equal(at)
	return r.Approver == person && when && plan.asks(r)
}

// startedOf reports whether a draft that stands was begun by the same request. What it began with is known as long as
// nobody saved it.
func (d Draft) startedOf(again Draft) bool {
	return d.Record == again.Record && d.BaseNumber == again.BaseNumber && d.Author == again.Author &&
		(d.Etag > again.Etag || d.Content.Digest() == again.Content.Digest())
}
