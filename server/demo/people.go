package demo

import (
	"context"

	"evenpeel/server/access"
)

// cast is one of each role, and a second approver so that an approver may write too.
var cast = []struct {
	SignIn
	role   access.Role
	branch string
}{
	{SignIn{"editor@evenpeel.example", "quiet-paper-1", "Mira Oakhill", "writes recipes, price lists and notes at head office"}, access.OfficeEditor, ""},
	{SignIn{"approver@evenpeel.example", "second-look-1", "Tomas Reedman", "gives second looks and releases"}, access.OfficeApprover, ""},
	{SignIn{"approver2@evenpeel.example", "second-look-2", "Ines Farrow", "gives second looks and releases"}, access.OfficeApprover, ""},
	{SignIn{"operator.eu@evenpeel.example", "warm-platen-1", "Jonas Lindqvale", "works at the bench of Tanner Row (EU)"}, access.BranchOperator, Cold},
	{SignIn{"manager.eu@evenpeel.example", "tidy-bench-1", "Clara Monteverra", "runs Tanner Row (EU)"}, access.BranchManager, Cold},
	{SignIn{"operator.uk@evenpeel.example", "warm-platen-2", "Owen Thistlewick", "works at the bench of Cooper Yard (UK)"}, access.BranchOperator, Wasteful},
	{SignIn{"manager.uk@evenpeel.example", "tidy-bench-2", "Priya Saltmarsh", "runs Cooper Yard (UK)"}, access.BranchManager, Wasteful},
	{SignIn{"franchise@evenpeel.example", "fair-view-24", "Ruth Ambergate", "looks after all branches and compares them"}, access.FranchiseManager, ""},
	{SignIn{"auditor@evenpeel.example", "read-only-99", "Emil Graywater", "reads everything, changes nothing"}, access.Auditor, ""},
}

// SignIns are the ways into the demo, to be printed at every start.
func SignIns() []SignIn {
	list := make([]SignIn, len(cast))
	for i, p := range cast {
		list[i] = p.SignIn
	}
	return list
}

func (l *loading) people(ctx context.Context, guard *access.Guard) error {
	l.bench = map[string]string{}
	into := []*string{&l.editor, &l.approver, &l.second}
	for i, p := range cast {
		added, err := guard.AddPerson(ctx, access.Person{Email: p.Email, Title: p.Title, Roles: []access.Role{p.role}, Branch: p.branch}, p.Password)
		if err != nil {
			return err
		}
		if i < len(into) {
			*into[i] = added.Name
		}
		if p.role == access.BranchOperator {
			l.bench[p.branch] = added.Name
		}
	}
	return nil
}
