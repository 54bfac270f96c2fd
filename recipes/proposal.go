package recipes

import (
	"context"
	"slices"
	"strings"
	"time"

	"evenpeel/recipes/fault"
)

// ProposalState is where a proposal stands.
type ProposalState string

const (
	ProposalAsked    ProposalState = "asked"
	ProposalApproved ProposalState = "approved"
	ProposalRefused  ProposalState = "refused"
)

// Proposal is a release that waits for a second person. It never takes effect by itself, however late the answer.
type Proposal struct {
	ID       string  // "proposals/{id}" without the prefix
	Content  Sealed  // the plan's bytes: a release without number, approver and time
	Plan     Release // opened from Content
	State    ProposalState
	Etag     int64 // rises with every change
	Proposer string
	Proposed time.Time
	Refusal  string
	Release  int64 // made of it; 0 is none
}

// Overdue reports whether its instant has passed while nobody answered.
func (p Proposal) Overdue(now time.Time) bool {
	return p.State == ProposalAsked && !p.Plan.Effective.IsZero() && p.Plan.Effective.Before(now)
}

// request is what the release made of a proposal is known by.
func (p Proposal) request() string { return "proposals/" + p.ID }

// Propose plans a release for a second person. id is the client's, so that asking twice proposes once; an instant that
// is not set is that of the approval. Faults: Invalid/REQUEST_ID_REUSED, and those of Release.
func (o Office) Propose(ctx context.Context, person, id string, plan Release) (Proposal, error) {
	asked := plan
	same := func(stored Proposal, err error) (Proposal, error) {
		if err == nil && !(stored.Proposer == person && asked.asks(stored.Plan) && stored.Plan.Effective.Equal(asked.Effective.Truncate(time.Second))) {
			return Proposal{}, reused("a proposal")
		}
		return stored, err
	}
	if stored, err := o.Desk.Proposal(ctx, id); err == nil || !fault.Is(err, fault.NotFound) {
		return same(stored, err)
	}
	chain, err := o.Desk.Releases(ctx, 0)
	if err != nil {
		return Proposal{}, err
	}
	open := plan.Effective.IsZero()
	if plan, err = o.Planned(ctx, chain, plan); err != nil {
		return Proposal{}, err
	}
	if open {
		plan.Effective = time.Time{}
	}
	plan.Proposer = person
	sealed, err := o.Sealer.SealRelease(plan)
	if err != nil {
		return Proposal{}, err
	}
	return same(o.Desk.AddProposal(ctx, Proposal{ID: id, Content: sealed, Plan: plan, State: ProposalAsked, Etag: 1, Proposer: person, Proposed: o.Now().Truncate(time.Second)}))
}

// ApproveProposal makes a release of exactly what was proposed and seen. Where the instant proposed has passed, another
// one has to be chosen. Faults: NotFound/PROPOSAL_NOT_FOUND, NotReady/PROPOSAL_CLOSED, NotAllowed/OWN_PROPOSAL,
// MovedOn/CHANGED_SINCE_SEEN, NotReady/RELEASE_OVERDUE, and those of Release.
func (o Office) ApproveProposal(ctx context.Context, person, id string, seen Digest, effective time.Time) (SignedRelease, error) {
	p, err := o.Desk.Proposal(ctx, id)
	if err != nil {
		return SignedRelease{}, err
	}
	if p.State == ProposalApproved { // asked again by the one who approved it
		if made, ok, err := o.madeBy(ctx, p.request()); err != nil || ok && made.Release.Approver == person {
			return made, err
		}
	}
	switch {
	case p.State != ProposalAsked:
		return SignedRelease{}, proposalClosed(p)
	case p.Proposer == person:
		return SignedRelease{}, fault.New(fault.NotAllowed, "recipes", "OWN_PROPOSAL", "You proposed this release, so somebody else has to approve it.")
	case p.Content.Digest() != seen:
		return SignedRelease{}, fault.New(fault.MovedOn, "recipes", "CHANGED_SINCE_SEEN", "This is not the proposal that you looked at. Look at it again before you approve.")
	case p.Overdue(o.Now()) && effective.IsZero():
		return SignedRelease{}, fault.New(fault.NotReady, "recipes", "RELEASE_OVERDUE", "Its instant, %s, passed while nobody approved it, and nothing took effect. Choose another instant, or refuse it.", p.Plan.Effective.UTC().Format("2006-01-02 15:04 UTC"))
	}
	plan := p.Plan
	if !effective.IsZero() {
		plan.Effective = effective
	}
	p.State, p.Etag = ProposalApproved, p.Etag+1
	byMe := func(r Release) bool { return r.Approver == person }
	return o.released(ctx, person, p.request(), byMe, func(chain []SignedRelease) (Release, error) { return o.Planned(ctx, chain, plan) }, func(s SignedRelease) error {
		p.Release = s.Release.Number
		return o.Desk.KeepProposed(ctx, p, s, p.request())
	})
}

// RefuseProposal closes a proposal; whoever may not approve closes only their own. Faults: NotFound/PROPOSAL_NOT_FOUND,
// NotReady/PROPOSAL_CLOSED, NotAllowed/NOT_YOUR_PROPOSAL.
func (o Office) RefuseProposal(ctx context.Context, person, id string, mayApprove bool, reason string) (Proposal, error) {
	p, err := o.Desk.Proposal(ctx, id)
	if err != nil {
		return p, err
	}
	switch {
	case p.State != ProposalAsked:
		return p, proposalClosed(p)
	case !mayApprove && p.Proposer != person:
		return p, fault.New(fault.NotAllowed, "recipes", "NOT_YOUR_PROPOSAL", "Somebody else proposed this release; an approver can refuse it.")
	}
	p.State, p.Etag, p.Refusal = ProposalRefused, p.Etag+1, person+": "+reason
	return p, o.Desk.PutProposal(ctx, p)
}

func proposalClosed(p Proposal) error {
	return fault.New(fault.NotReady, "recipes", "PROPOSAL_CLOSED", "This proposal was answered already (%s).", p.State)
}

// SortProposals puts open ones first, the soonest instant first, and then the closed ones, newest last.
func SortProposals(list []Proposal) {
	slices.SortFunc(list, func(a, b Proposal) int {
		if open := a.State == ProposalAsked; open != (b.State == ProposalAsked) {
			if open {
				return -1
			}
			return 1
		}
		when := func(p Proposal) time.Time {
			if p.State == ProposalAsked && !p.Plan.Effective.IsZero() {
				return p.Plan.Effective
			}
			return p.Proposed
		}
		if c := when(a).Compare(when(b)); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
}
