package access

import (
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	_ "evenpeel/proto/evenpeel/access/v1"
	_ "evenpeel/proto/evenpeel/branches/v1"
	_ "evenpeel/proto/evenpeel/compare/v1"
	_ "evenpeel/proto/evenpeel/compliance/v1"
	_ "evenpeel/proto/evenpeel/orders/v1"
	_ "evenpeel/proto/evenpeel/prices/v1"
	_ "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes/fault"
)

// One letter a role in the expected table below.
var letters = map[Role]string{
	OfficeEditor: "E", OfficeApprover: "A", BranchOperator: "O", BranchManager: "M", FranchiseManager: "F", Auditor: "U",
}

// expected is typed from the comments in the proto files, not from Table. Each request is in text form with BR where
// the branch stands. own: who may call for their own branch; other: who may call for another branch ("=" is the
// same); "*" is everybody, signed in or not.
var expected = []struct{ method, request, own, other string }{
	{"evenpeel.access.v1.AccessService/SignIn", "", "*", "="},
	{"evenpeel.access.v1.AccessService/SignOut", "", "EAOMFU", "="},
	{"evenpeel.access.v1.AccessService/WhoAmI", "", "EAOMFU", "="},
	{"evenpeel.access.v1.AccessService/CreateFirstPerson", "", "*", "="},
	{"evenpeel.access.v1.AccessService/ListPeople", "", "AU", "="},
	{"evenpeel.access.v1.AccessService/CreatePerson", "", "A", "="},
	{"evenpeel.access.v1.AccessService/EndSessions", "", "A", "="},

	{"evenpeel.recipes.v1.DeskService/ListDrafts", "", "EAU", "="},
	{"evenpeel.recipes.v1.DeskService/GetDraft", "", "EAU", "="},
	{"evenpeel.recipes.v1.DeskService/CreateDraft", "", "EA", "="},
	{"evenpeel.recipes.v1.DeskService/UpdateDraft", "", "EA", "="},
	{"evenpeel.recipes.v1.DeskService/AskSecondLook", "", "EA", "="},
	{"evenpeel.recipes.v1.DeskService/ApproveDraft", "", "A", "="},
	{"evenpeel.recipes.v1.DeskService/RefuseDraft", "", "A", "="},
	{"evenpeel.recipes.v1.DeskService/DiscardDraft", "", "EA", "="},
	{"evenpeel.recipes.v1.DeskService/CreateRelease", `branches: "BR"`, "A", "="},

	{"evenpeel.recipes.v1.CatalogService/ListRecords", "", "EAOMFU", "="},
	{"evenpeel.recipes.v1.CatalogService/ListRevisions", "", "EAOMFU", "="},
	{"evenpeel.recipes.v1.CatalogService/GetRevision", "", "EAOMFU", "="},
	{"evenpeel.recipes.v1.CatalogService/ListReleases", "", "EAOMFU", "="},
	{"evenpeel.recipes.v1.CatalogService/PullSheet", `branch: "BR"`, "EAOMFU", "EAFU"},
	{"evenpeel.recipes.v1.CatalogService/WatchReleases", `branch: "BR"`, "EAOMFU", "EAFU"},
	{"evenpeel.recipes.v1.CatalogService/ListReach", `branch: "BR"`, "EAOMFU", "EAFU"},
	{"evenpeel.recipes.v1.CatalogService/NoteOpened", `branch: "BR"`, "OM", ""},
	{"evenpeel.recipes.v1.CatalogService/DiffRevisions", "", "EAOMFU", "="},

	{"evenpeel.recipes.v1.ReleaseService/PreviewRelease", "", "EAU", "="},
	{"evenpeel.recipes.v1.ReleaseService/GetRelease", "", "EAOMFU", "="},
	{"evenpeel.recipes.v1.ReleaseService/CancelRelease", "", "A", "="},
	{"evenpeel.recipes.v1.ReleaseService/ListProposals", "", "EAU", "="},
	{"evenpeel.recipes.v1.ReleaseService/ProposeRelease", "", "EA", "="},
	{"evenpeel.recipes.v1.ReleaseService/ApproveRelease", "", "A", "="},
	{"evenpeel.recipes.v1.ReleaseService/RefuseRelease", "", "EA", "="},
	{"evenpeel.recipes.v1.PastService/GetPast", `branch: "BR"`, "EAOMFU", "EAFU"},
	{"evenpeel.recipes.v1.PastService/ListAudit", "", "AU", "="},
	{"evenpeel.recipes.v1.PastService/VerifyAudit", "", "AU", "="},

	{"evenpeel.branches.v1.BranchesService/ListBranches", "", "EAOMFU", "="},
	{"evenpeel.branches.v1.BranchesService/SaveBranch", `branch { name: "BR" }`, "A", "="},
	{"evenpeel.branches.v1.BranchesService/ListMachines", `branch: "BR"`, "EAOMFU", "EAFU"},
	{"evenpeel.branches.v1.BranchesService/SaveMachine", `machine { name: "BR/machines/x" }`, "AM", "A"},
	{"evenpeel.branches.v1.BranchesService/ListCards", `branch: "BR"`, "EAOMFU", "EAFU"},
	{"evenpeel.branches.v1.StockService/ListRolls", `branch: "BR"`, "OMFU", "FU"},
	{"evenpeel.branches.v1.StockService/ReceiveRoll", `branch: "BR"`, "OM", ""},
	{"evenpeel.branches.v1.StockService/ReceiveRoll", `branch: "branches/own" roll { name: "BR/rolls/x" }`, "OM", ""},
	{"evenpeel.branches.v1.StockService/MoveRoll", `roll: "BR/rolls/x"`, "OM", ""},
	{"evenpeel.branches.v1.StockService/CountRoll", `roll: "BR/rolls/x"`, "OM", ""},
	{"evenpeel.branches.v1.StockService/CutRemnant", `roll: "BR/rolls/x"`, "OM", ""},
	{"evenpeel.branches.v1.StockService/ListMovements", `of: "BR/rolls/x"`, "OMFU", "FU"},
	{"evenpeel.branches.v1.StockService/ListMovements", `of: "BR"`, "OMFU", "FU"},
	{"evenpeel.branches.v1.StockService/EstimateLength", `branch: "BR"`, "OM", ""},
	{"evenpeel.branches.v1.StockService/EstimateLength", `branch: "branches/own" roll: "BR/rolls/x"`, "OM", ""},
	{"evenpeel.branches.v1.RunsService/ReportRuns", `runs { branch: "BR" }`, "OM", ""},
	{"evenpeel.branches.v1.RunsService/ReportRuns", `runs { branch: "branches/own" } runs { branch: "BR" }`, "OM", ""},
	{"evenpeel.branches.v1.RunsService/ReportRuns", `runs { branch: "branches/own" order: "BR/orders/x" }`, "OM", ""},
	{"evenpeel.branches.v1.RunsService/ReportRuns", `runs { branch: "branches/own" cutter: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.branches.v1.RunsService/ReportRuns", `runs { branch: "branches/own" press: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.branches.v1.RunsService/ListRuns", `branch: "BR"`, "OMFU", "FU"},
	{"evenpeel.branches.v1.RunsService/CorrectRun", `run { branch: "BR" }`, "M", ""},
	{"evenpeel.branches.v1.RunsService/CorrectRun", `run { branch: "branches/own" order: "BR/orders/x" }`, "M", ""},
	{"evenpeel.branches.v1.RunsService/CorrectRun", `run { branch: "branches/own" cutter: "BR/machines/x" }`, "M", ""},
	{"evenpeel.branches.v1.RunsService/CorrectRun", `run { branch: "branches/own" press: "BR/machines/x" }`, "M", ""},

	{"evenpeel.orders.v1.OrdersService/ReadDrawing", `branch: "BR"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/PlanOrder", `branch: "BR"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/PlanOrder", `branch: "branches/own" order { name: "BR/orders/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/PlanOrder", `branch: "branches/own" order { cutter: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/PlanOrder", `branch: "branches/own" order { press: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/CreateOrder", `branch: "BR"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/CreateOrder", `branch: "branches/own" order { name: "BR/orders/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/CreateOrder", `branch: "branches/own" order { cutter: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/CreateOrder", `branch: "branches/own" order { press: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/PlanOrder", `branch: "branches/own" keep { cuts { roll: "BR/rolls/x" } }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/CreateOrder", `branch: "branches/own" keep { cuts { roll: "BR/rolls/x" } }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/ImprovePlan", `branch: "BR"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/ImprovePlan", `branch: "branches/own" order { name: "BR/orders/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/ImprovePlan", `branch: "branches/own" order { cutter: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/ImprovePlan", `branch: "branches/own" order { press: "BR/machines/x" }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/ImprovePlan", `branch: "branches/own" keep { cuts { roll: "BR/rolls/x" } }`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/GetOrder", `name: "BR/orders/x"`, "OMFU", "FU"},
	{"evenpeel.orders.v1.OrdersService/ListOrders", `branch: "BR"`, "OMFU", "FU"},
	{"evenpeel.orders.v1.OrdersService/GetCutFile", `order: "BR/orders/x"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/ListPlacements", `branch: "BR"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/LandDesign", `branch: "BR"`, "OM", ""},
	{"evenpeel.orders.v1.OrdersService/GradeDesign", `branch: "BR"`, "OM", ""},

	{"evenpeel.prices.v1.PricesService/Quote", "", "EAOMFU", "="},
	{"evenpeel.compliance.v1.ComplianceService/Judge", "", "EAOMFU", "="},
	{"evenpeel.compare.v1.CompareService/CompareBranches", "", "EAMFU", "="},
	{"evenpeel.compare.v1.CompareService/GetBranchReport", `branch: "BR"`, "EAMFU", "EAFU"},
	{"evenpeel.compare.v1.CompareService/CompareRevisions", "", "EAFU", "="},
	{"evenpeel.compare.v1.CompareService/GetFilmReport", "", "EAMFU", "="},
	{"evenpeel.compare.v1.CompareService/GetChart", `branch: "BR"`, "EAMFU", "EAFU"},
	{"evenpeel.compare.v1.CompareService/ListCharts", "", "EAFU", "="},
	{"evenpeel.compare.v1.CompareService/FindCauses", "", "EAFU", "="},
	{"evenpeel.compare.v1.CompareService/WatchTrial", "", "EAFU", "="},
	{"evenpeel.compare.v1.CompareService/ListEvidence", "", "EAFU", "="},
	{"evenpeel.compare.v1.CompareService/CompareCosts", "", "EAFU", "="},
	{"evenpeel.compare.v1.CompareService/ListMethods", "", "EAMFU", "="},
}

// methods are all methods of all of our services, as the generated code knows them.
func methods() map[string]protoreflect.MethodDescriptor {
	all := map[string]protoreflect.MethodDescriptor{}
	protoregistry.GlobalFiles.RangeFiles(func(file protoreflect.FileDescriptor) bool {
		if !strings.HasPrefix(string(file.Package()), "evenpeel.") {
			return true
		}
		for i := range file.Services().Len() {
			service := file.Services().Get(i)
			for j := range service.Methods().Len() {
				method := service.Methods().Get(j)
				all[string(service.FullName())+"/"+string(method.Name())] = method
			}
		}
		return true
	})
	return all
}

func request(t *testing.T, method protoreflect.MethodDescriptor, text string) proto.Message {
	t.Helper()
	kind, err := protoregistry.GlobalTypes.FindMessageByName(method.Input().FullName())
	if err != nil {
		t.Fatal(err)
	}
	m := kind.New().Interface()
	if err := prototext.Unmarshal([]byte(text), m); err != nil {
		t.Fatalf("%s: %v", method.FullName(), err)
	}
	return m
}

func person(role Role) Person {
	p := Person{Name: "people/x", Roles: []Role{role}}
	if role.OfBranch() {
		p.Branch = "branches/own"
	}
	return p
}

func TestAllowed_fullMatrix(t *testing.T) {
	all := methods()
	tested := map[string]bool{}
	for _, row := range expected {
		tested[row.method] = true
		method, ok := all[row.method]
		if !ok {
			t.Errorf("%s is expected, but no proto has it", row.method)
			continue
		}
		full := "/" + row.method
		for _, branch := range []string{"branches/own", "branches/own-two", "branches/ow", "branches/other"} {
			req := request(t, method, strings.ReplaceAll(row.request, "BR", branch))
			may := row.own
			if branch != "branches/own" && row.other != "=" {
				may = row.other
			}
			if err := Allowed(Person{}, full, req); (err == nil) != (may == "*") {
				t.Errorf("%s by nobody: got %v", row.method, err)
			} else if err != nil {
				wantReason(t, err, fault.NotSignedIn, SessionEnded)
			}
			for _, role := range Roles {
				err := Allowed(person(role), full, req)
				want := may == "*" || strings.Contains(may, letters[role])
				if (err == nil) != want {
					t.Errorf("%s by %s for %s: got %v, want allowed = %t", row.method, role, branch, err, want)
					continue
				}
				if err == nil {
					continue
				}
				reason := NotYourRole
				if strings.Contains(row.own, letters[role]) {
					reason = NotYourBranch
				}
				wantReason(t, err, fault.NotAllowed, reason)
				if may == "*" {
					continue
				}
				barred := person(role)
				barred.Barred = true
				if Allowed(barred, full, req) == nil {
					t.Errorf("%s by a barred %s is allowed", row.method, role)
				}
			}
		}
	}
	for name := range all {
		if !tested[name] {
			t.Errorf("%s is in the proto, but not in the expected table", name)
		}
	}
	for _, rule := range Table {
		if name := rule.Method[1:]; strings.HasPrefix(name, "evenpeel.") && !tested[name] {
			t.Errorf("the Table lets in %s, which nobody expects", name)
		}
	}
}

// A request that leaves the branch away must not slip through for people of a branch.
func TestAllowed_refusesARequestWithoutItsBranch(t *testing.T) {
	all := methods()
	for _, rule := range Table {
		if rule.Scope != Own {
			continue
		}
		for _, role := range []Role{BranchOperator, BranchManager} {
			if !slices.Contains(rule.Roles, role) {
				continue
			}
			wantReason(t, Allowed(person(role), rule.Method, request(t, all[rule.Method[1:]], "")), fault.NotAllowed, NotYourBranch)
			wantReason(t, Allowed(person(role), rule.Method, nil), fault.NotAllowed, NotYourBranch)
			lost := person(role)
			lost.Branch = ""
			wantReason(t, Allowed(lost, rule.Method, request(t, all[rule.Method[1:]], "")), fault.NotAllowed, NotYourBranch)
		}
	}
}

// Every field whose name says that it holds something of a branch is checked for people of a branch: a field added
// later fails here until the Table knows it.
func TestTable_knowsEveryFieldThatNamesABranch(t *testing.T) {
	owned := []string{"branch", "machine", "cutter", "press", "roll", "order"}
	for name, method := range methods() {
		rule := byMethod["/"+name]
		if rule == nil || !slices.ContainsFunc(rule.Roles, Role.OfBranch) {
			continue
		}
		var walk func(m protoreflect.MessageDescriptor, path string, depth int)
		walk = func(m protoreflect.MessageDescriptor, path string, depth int) {
			for i := range m.Fields().Len() {
				f := m.Fields().Get(i)
				at := path + string(f.Name())
				if f.Message() != nil && depth < 3 {
					walk(f.Message(), at+".", depth+1)
				}
				if f.Kind() == protoreflect.StringKind && slices.Contains(owned, string(f.Name())) &&
					rule.Branch != at && !slices.Contains(rule.Also, at) {
					t.Errorf("%s: nobody checks whose %s is", name, at)
				}
			}
		}
		walk(method.Input(), "", 0)
		for _, path := range append([]string{rule.Branch}, rule.Also...) {
			if rule.Scope == Own && !pathExists(method.Input(), path) {
				t.Errorf("%s has no field %q", name, path)
			}
		}
	}
}

func pathExists(m protoreflect.MessageDescriptor, path string) bool {
	steps := strings.Split(path, ".")
	for i, step := range steps {
		f := m.Fields().ByName(protoreflect.Name(step))
		if f == nil {
			return false
		}
		if i == len(steps)-1 {
			return f.Kind() == protoreflect.StringKind && !f.IsList()
		}
		if m = f.Message(); m == nil {
			return false
		}
	}
	return false
}

func TestAllowed_deniesWhatItDoesNotKnow(t *testing.T) {
	for _, method := range []string{
		"", "/", "evenpeel.orders.v1.OrdersService/GetOrder", // GO-2026-4762: a path without its leading slash
		"//evenpeel.orders.v1.OrdersService/GetOrder", "/evenpeel.orders.v1.OrdersService/getorder",
		"/evenpeel.orders.v1.OrdersService/GetOrder/", "/evenpeel.orders.v1.OrdersService/Nothing", "/*",
		"evenpeel.access.v1.AccessService/SignIn", "/grpc.channelz.v1.Channelz/GetServers", "/grpc.health.v1.Health/List",
	} {
		if NeedsNobody(method) {
			t.Errorf("%q needs nobody", method)
		}
		if err := Allowed(Person{}, method, nil); err == nil {
			t.Errorf("%q is allowed to nobody", method)
		}
		for _, role := range Roles {
			wantReason(t, Allowed(person(role), method, nil), fault.NotAllowed, NotYourRole)
			wantReason(t, MayCall(person(role), method), fault.NotAllowed, NotYourRole)
		}
	}
}

func BenchmarkAllowed(b *testing.B) {
	method := "/evenpeel.orders.v1.OrdersService/GetOrder"
	kind, err := protoregistry.GlobalTypes.FindMessageByName("evenpeel.orders.v1.GetOrderRequest")
	if err != nil {
		b.Fatal(err)
	}
	req := kind.New().Interface()
	if err := prototext.Unmarshal([]byte(`name: "branches/own/orders/x"`), req); err != nil {
		b.Fatal(err)
	}
	p := person(BranchOperator)
	for b.Loop() {
		if err := Allowed(p, method, req); err != nil {
			b.Fatal(err)
		}
	}
}
