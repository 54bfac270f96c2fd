package sqlstore

import (
	"context"
	"encoding/json"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

const proposalColumns = `id, content, digest, plan, state, etag, proposer, proposed_us, refusal, release`

const (
	proposalByID    = `SELECT ` + proposalColumns + ` FROM recipes_proposal WHERE id = $1`
	proposalsOpen   = `SELECT ` + proposalColumns + ` FROM recipes_proposal WHERE state = 'asked'`
	proposalsAll    = `SELECT ` + proposalColumns + ` FROM recipes_proposal`
	proposalAdd     = `INSERT INTO recipes_proposal (` + proposalColumns + `) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`
	proposalReplace = `UPDATE recipes_proposal SET state = $2, refusal = $4, release = $5, etag = $3 WHERE id = $1 AND etag = $3 - 1`
)

func scanProposal(row scanner) (recipes.Proposal, error) {
	var p recipes.Proposal
	var content, digest []byte
	var plan string
	var proposed int64
	if err := row.Scan(&p.ID, &content, &digest, &plan, &p.State, &p.Etag, &p.Proposer, &proposed, &p.Refusal, &p.Release); err != nil {
		return p, err
	}
	p.Proposed = instant(proposed)
	if err := json.Unmarshal([]byte(plan), &p.Plan); err != nil {
		return p, err
	}
	want, err := digestOf(digest)
	if err != nil {
		return p, err
	}
	p.Content, err = recipes.Unseal(content, want)
	return p, err
}

// AddProposal stores a new proposal; the same id again answers the stored one.
func (s *Store) AddProposal(ctx context.Context, p recipes.Proposal) (stored recipes.Proposal, err error) {
	plan, err := json.Marshal(p.Plan)
	if err != nil {
		return stored, s.fault(err)
	}
	digest := p.Content.Digest()
	err = s.inWrite(ctx, func(t *writing) error {
		if err := t.lock(ctx, "recipes_proposal"); err != nil {
			return err
		}
		var err error
		if stored, err = scanProposal(t.QueryRowContext(ctx, proposalByID, p.ID)); !none(err) {
			return err
		}
		if _, err := t.ExecContext(ctx, proposalAdd, p.ID, p.Content.Content(), digest[:], string(plan), p.State, p.Etag, p.Proposer, micros(p.Proposed), p.Refusal, p.Release); err != nil {
			return err
		}
		stored, err = scanProposal(t.QueryRowContext(ctx, proposalByID, p.ID))
		return err
	})
	return stored, err
}

// Proposal reads one. Fault NotFound/PROPOSAL_NOT_FOUND.
func (s *Store) Proposal(ctx context.Context, id string) (recipes.Proposal, error) {
	p, err := scanProposal(s.read.QueryRowContext(ctx, proposalByID, id))
	if none(err) {
		return p, fault.New(fault.NotFound, "recipes", "PROPOSAL_NOT_FOUND", "There is no such proposal. Look at the list of proposals.")
	}
	return p, s.fault(err)
}

// Proposals lists the open ones, or all, as SortProposals orders them.
func (s *Store) Proposals(ctx context.Context, closed bool) ([]recipes.Proposal, error) {
	query := proposalsOpen
	if closed {
		query = proposalsAll
	}
	list, err := all(ctx, s.read, scanProposal, query)
	recipes.SortProposals(list)
	return list, s.fault(err)
}

// PutProposal replaces one that stands at the etag before. Fault NotReady/PROPOSAL_CLOSED.
func (s *Store) PutProposal(ctx context.Context, p recipes.Proposal) error {
	return s.inWrite(ctx, func(t *writing) error { return replaceProposal(ctx, t, p) })
}

func replaceProposal(ctx context.Context, t *writing, p recipes.Proposal) error {
	n, err := t.change(ctx, proposalReplace, p.ID, p.State, p.Etag, p.Refusal, p.Release)
	if err == nil && n == 0 {
		return fault.New(fault.NotReady, "recipes", "PROPOSAL_CLOSED", "Somebody answered this proposal a moment ago. Look at it again.")
	}
	return err
}

// KeepProposed keeps a release as KeepRelease does and closes the proposal it was made of, all or nothing. Faults
// MovedOn/RELEASE_TAKEN, NotReady/PROPOSAL_CLOSED.
func (s *Store) KeepProposed(ctx context.Context, p recipes.Proposal, r recipes.SignedRelease, request string) error {
	row, err := releaseRow(r, request)
	if err != nil {
		return s.fault(err)
	}
	return s.inWrite(ctx, func(t *writing) error {
		if err := replaceProposal(ctx, t, p); err != nil {
			return err
		}
		return addRelease(ctx, t, r, row)
	})
}
