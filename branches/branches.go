// Package branches is one workshop of the franchise and the register of all of them. What a branch has and does
// lives in the rooms below it.
//
// Room: branches
// Holds: Branch, Register
// May touch: recipes, recipes/fault
// Never: SQL, Redis, RPC, a clock
package branches

import (
	"context"
	"regexp"
	"strings"
	"time"

	"evenpeel/recipes"
	"evenpeel/recipes/fault"
)

// Branch is one workshop.
type Branch struct {
	Name     string // "branches/{id}"
	Title    string
	Place    string
	Market   recipes.Market
	TimeZone string // IANA
}

// Register keeps branches.
type Register interface {
	// Branch reads one. Fault NotFound/BRANCH_NOT_FOUND.
	Branch(ctx context.Context, name string) (Branch, error)
	// Branches lists all, by title.
	Branches(ctx context.Context) ([]Branch, error)
	// PutBranch adds or replaces one.
	PutBranch(ctx context.Context, b Branch) error
}

var name = regexp.MustCompile(`^branches/[a-z]([a-z0-9-]{0,61}[a-z0-9])?$`)

// Check finds what is wrong with a branch.
func (b Branch) Check() fault.Fields {
	var fs fault.Fields
	if !name.MatchString(b.Name) {
		fs.Add("name", "is %q; one looks like branches/harbour-street", b.Name)
	}
	if strings.TrimSpace(b.Title) == "" {
		fs.Add("title", "is empty")
	}
	if b.Market == "" {
		fs.Add("market", "is empty")
	}
	// "Local" is no IANA name: it would mean whatever zone the server stands in.
	if _, err := time.LoadLocation(b.TimeZone); err != nil || b.TimeZone == "" || b.TimeZone == "Local" {
		fs.Add("time_zone", "is %q, which is no IANA time zone", b.TimeZone)
	}
	return fs
}

// Of is the branch that owns a resource: "branches/a" for "branches/a/machines/x"; "" where there is none.
func Of(resource string) string {
	parts := strings.SplitN(resource, "/", 3)
	if len(parts) < 2 || parts[0] != "branches" || parts[1] == "" {
		return ""
	}
	return parts[0] + "/" + parts[1]
}

// NotFound is the fault for a branch that does not exist, or not for this person.
func NotFound(name string) error {
	return fault.New(fault.NotFound, "branches", "BRANCH_NOT_FOUND", "There is no branch %s, or it is not yours.", strings.TrimPrefix(name, "branches/"))
}
