package orders

import (
	"context"
	"sync"

	"evenpeel/recipes"
	"evenpeel/recipes/compliance"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/placement"
	"evenpeel/recipes/prices"
)

// InForce is a settings sheet with its records opened.
type InForce struct {
	Sheet        recipes.Sheet
	Recipes      map[recipes.RecordName]Approved
	List         prices.List
	ListRevision recipes.RevisionName // empty where no price list is in force
	Notes        []compliance.Note
	NoteNames    []recipes.RevisionName
	Certificates []compliance.Certificate
	Places       placement.Table // Usual where head office has put none in force
}

// Approved is a recipe in force.
type Approved struct {
	Entry  recipes.SheetEntry
	Recipe recipes.Recipe
}

// Opener opens the records of sheets. A sealed record never changes, so each is opened once and remembered.
type Opener struct {
	Catalog recipes.Catalog
	Sealer  recipes.Sealer

	mu   sync.Mutex
	open map[recipes.Digest]recipes.Content
}

// Opened opens every record of the sheet. Faults are those of Catalog.Sealed and Sealer.OpenRevision.
func (o *Opener) Opened(ctx context.Context, s recipes.Sheet) (InForce, error) {
	in := InForce{Sheet: s, Recipes: map[recipes.RecordName]Approved{}, Places: placement.Usual()}
	for _, e := range s.Entries {
		content, err := o.Content(ctx, e.Digest)
		if err != nil {
			return in, err
		}
		record, _, err := e.Revision.Parts()
		if err != nil {
			return in, err
		}
		switch c := content.(type) {
		case recipes.Recipe:
			in.Recipes[record] = Approved{e, c}
		case prices.List:
			in.List, in.ListRevision = c, e.Revision
		case compliance.Note:
			in.Notes = append(in.Notes, c)
			in.NoteNames = append(in.NoteNames, e.Revision)
		case compliance.Certificate:
			in.Certificates = append(in.Certificates, c)
		case placement.Table:
			in.Places = c
		}
	}
	return in, nil
}

// maxOpen bounds the memory of opened records: some kilobytes each.
const maxOpen = 5000

// Content opens one record by the digest of its revision. Faults are those of Catalog.Sealed and Sealer.OpenRevision.
func (o *Opener) Content(ctx context.Context, d recipes.Digest) (recipes.Content, error) {
	o.mu.Lock()
	content, ok := o.open[d]
	o.mu.Unlock()
	if ok {
		return content, nil
	}
	sealed, err := o.Catalog.Sealed(ctx, d)
	if err != nil {
		return nil, err
	}
	rev, err := o.Sealer.OpenRevision(sealed)
	if err != nil {
		return nil, err
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.open == nil || len(o.open) >= maxOpen {
		o.open = map[recipes.Digest]recipes.Content{}
	}
	o.open[d] = rev.Content
	return rev.Content, nil
}

// recipe finds a recipe in force. Fault NotReady/RECIPE_NOT_IN_FORCE, with what there is for that film.
func (in InForce) recipe(name recipes.RecordName) (Approved, error) {
	a, ok := in.Recipes[name]
	if !ok {
		return a, fault.New(fault.NotReady, room, "RECIPE_NOT_IN_FORCE", "%s is not approved for this branch, so it can not be planned. Choose another film or fabric, or ask head office.", string(name))
	}
	return a, nil
}
