package access

// Scope says how far a rule reaches.
type Scope int

const (
	// SignedIn lets everyone with one of the rule's roles call.
	SignedIn Scope = iota
	// Anyone needs no session.
	Anyone
	// Own lets branch roles call for their own branch only; the rule's other roles call for every branch.
	Own
)

// Rule says who may call one method.
type Rule struct {
	Method string // "/evenpeel.orders.v1.OrdersService/GetOrder"
	Scope  Scope
	Roles  []Role // nobody else; unused for Anyone
	// Branch is the path of the field that names the branch, or a resource that begins with it. For branch roles it
	// must be there and their own.
	Branch string
	// Also are further fields that may name something of a branch: where they do, it must be their own too.
	Also []string
}

var (
	everyone  = Roles
	office    = []Role{OfficeEditor, OfficeApprover}
	approver  = []Role{OfficeApprover}
	desk      = []Role{OfficeEditor, OfficeApprover, Auditor}
	franchise = []Role{OfficeEditor, OfficeApprover, FranchiseManager, Auditor}
	bench     = []Role{BranchOperator, BranchManager}
	reading   = []Role{BranchOperator, BranchManager, FranchiseManager, Auditor} // of a branch, by those who look after it

	// ofOrder are the fields of an order, and of layouts handed in with it, that may name something of a branch.
	ofOrder = []string{"order.name", "order.cutter", "order.press", "keep.cuts.roll"}
)

// Table is who may call what. A method that is not here may be called by nobody.
var Table = []Rule{
	{Method: "/evenpeel.access.v1.AccessService/SignIn", Scope: Anyone},
	{Method: "/evenpeel.access.v1.AccessService/SignOut", Roles: everyone},
	{Method: "/evenpeel.access.v1.AccessService/WhoAmI", Roles: everyone},
	{Method: "/evenpeel.access.v1.AccessService/CreateFirstPerson", Scope: Anyone},
	{Method: "/evenpeel.access.v1.AccessService/ListPeople", Roles: []Role{OfficeApprover, Auditor}},
	{Method: "/evenpeel.access.v1.AccessService/CreatePerson", Roles: approver},
	{Method: "/evenpeel.access.v1.AccessService/EndSessions", Roles: approver},

	{Method: "/evenpeel.recipes.v1.DeskService/ListDrafts", Roles: desk},
	{Method: "/evenpeel.recipes.v1.DeskService/GetDraft", Roles: desk},
	{Method: "/evenpeel.recipes.v1.DeskService/CreateDraft", Roles: office},
	{Method: "/evenpeel.recipes.v1.DeskService/UpdateDraft", Roles: office},
	{Method: "/evenpeel.recipes.v1.DeskService/AskSecondLook", Roles: office},
	{Method: "/evenpeel.recipes.v1.DeskService/ApproveDraft", Roles: approver}, // never the author: the desk checks
	{Method: "/evenpeel.recipes.v1.DeskService/RefuseDraft", Roles: approver},
	{Method: "/evenpeel.recipes.v1.DeskService/DiscardDraft", Roles: office},
	{Method: "/evenpeel.recipes.v1.DeskService/CreateRelease", Roles: approver},

	{Method: "/evenpeel.recipes.v1.CatalogService/ListRecords", Roles: everyone}, // a branch sees what is in force for it
	{Method: "/evenpeel.recipes.v1.CatalogService/ListRevisions", Roles: everyone},
	{Method: "/evenpeel.recipes.v1.CatalogService/GetRevision", Roles: everyone},
	{Method: "/evenpeel.recipes.v1.CatalogService/ListReleases", Roles: everyone},
	{Method: "/evenpeel.recipes.v1.CatalogService/PullSheet", Scope: Own, Roles: everyone, Branch: "branch"},
	{Method: "/evenpeel.recipes.v1.CatalogService/WatchReleases", Scope: Own, Roles: everyone, Branch: "branch"},
	{Method: "/evenpeel.recipes.v1.CatalogService/ListReach", Scope: Own, Roles: everyone, Branch: "branch"},
	{Method: "/evenpeel.recipes.v1.CatalogService/NoteOpened", Scope: Own, Roles: bench, Branch: "branch"},
	{Method: "/evenpeel.recipes.v1.CatalogService/DiffRevisions", Roles: everyone},

	{Method: "/evenpeel.recipes.v1.ReleaseService/PreviewRelease", Roles: desk},
	{Method: "/evenpeel.recipes.v1.ReleaseService/GetRelease", Roles: everyone},
	{Method: "/evenpeel.recipes.v1.ReleaseService/CancelRelease", Roles: approver},
	{Method: "/evenpeel.recipes.v1.ReleaseService/ListProposals", Roles: desk},
	{Method: "/evenpeel.recipes.v1.ReleaseService/ProposeRelease", Roles: office},
	{Method: "/evenpeel.recipes.v1.ReleaseService/ApproveRelease", Roles: approver}, // never the proposer: the office checks
	{Method: "/evenpeel.recipes.v1.ReleaseService/RefuseRelease", Roles: office},    // an editor their own only

	{Method: "/evenpeel.recipes.v1.PastService/GetPast", Scope: Own, Roles: everyone, Branch: "branch"},
	{Method: "/evenpeel.recipes.v1.PastService/ListAudit", Roles: []Role{OfficeApprover, Auditor}},
	{Method: "/evenpeel.recipes.v1.PastService/VerifyAudit", Roles: []Role{OfficeApprover, Auditor}},

	{Method: "/evenpeel.branches.v1.BranchesService/ListBranches", Roles: everyone}, // a branch sees its own
	{Method: "/evenpeel.branches.v1.BranchesService/SaveBranch", Roles: approver},
	{Method: "/evenpeel.branches.v1.BranchesService/ListMachines", Scope: Own, Roles: everyone, Branch: "branch"},
	{Method: "/evenpeel.branches.v1.BranchesService/SaveMachine", Scope: Own,
		Roles: []Role{BranchManager, OfficeApprover}, Branch: "machine.name"},
	{Method: "/evenpeel.branches.v1.BranchesService/ListCards", Scope: Own, Roles: everyone, Branch: "branch"},

	{Method: "/evenpeel.branches.v1.StockService/ListRolls", Scope: Own, Roles: reading, Branch: "branch"},
	{Method: "/evenpeel.branches.v1.StockService/ReceiveRoll", Scope: Own, Roles: bench, Branch: "branch", Also: []string{"roll.name"}},
	{Method: "/evenpeel.branches.v1.StockService/MoveRoll", Scope: Own, Roles: bench, Branch: "roll"},
	{Method: "/evenpeel.branches.v1.StockService/CountRoll", Scope: Own, Roles: bench, Branch: "roll"},
	{Method: "/evenpeel.branches.v1.StockService/CutRemnant", Scope: Own, Roles: bench, Branch: "roll"},
	{Method: "/evenpeel.branches.v1.StockService/ListMovements", Scope: Own, Roles: reading, Branch: "of"},
	{Method: "/evenpeel.branches.v1.StockService/EstimateLength", Scope: Own, Roles: bench, Branch: "branch", Also: []string{"roll"}},

	{Method: "/evenpeel.branches.v1.RunsService/ReportRuns", Scope: Own, Roles: bench, Branch: "runs.branch",
		Also: []string{"runs.order", "runs.cutter", "runs.press"}},
	{Method: "/evenpeel.branches.v1.RunsService/ListRuns", Scope: Own, Roles: reading, Branch: "branch"},
	{Method: "/evenpeel.branches.v1.RunsService/CorrectRun", Scope: Own, Roles: []Role{BranchManager}, Branch: "run.branch",
		Also: []string{"run.order", "run.cutter", "run.press"}},

	{Method: "/evenpeel.orders.v1.OrdersService/ReadDrawing", Scope: Own, Roles: bench, Branch: "branch"},
	{Method: "/evenpeel.orders.v1.OrdersService/PlanOrder", Scope: Own, Roles: bench, Branch: "branch", Also: ofOrder},
	{Method: "/evenpeel.orders.v1.OrdersService/ImprovePlan", Scope: Own, Roles: bench, Branch: "branch", Also: ofOrder},
	{Method: "/evenpeel.orders.v1.OrdersService/CreateOrder", Scope: Own, Roles: bench, Branch: "branch", Also: ofOrder},
	{Method: "/evenpeel.orders.v1.OrdersService/GetOrder", Scope: Own, Roles: reading, Branch: "name"},
	{Method: "/evenpeel.orders.v1.OrdersService/ListOrders", Scope: Own, Roles: reading, Branch: "branch"},
	{Method: "/evenpeel.orders.v1.OrdersService/GetCutFile", Scope: Own, Roles: bench, Branch: "order"},
	{Method: "/evenpeel.orders.v1.OrdersService/ListPlacements", Scope: Own, Roles: bench, Branch: "branch"},
	{Method: "/evenpeel.orders.v1.OrdersService/LandDesign", Scope: Own, Roles: bench, Branch: "branch"},
	{Method: "/evenpeel.orders.v1.OrdersService/GradeDesign", Scope: Own, Roles: bench, Branch: "branch"},

	{Method: "/evenpeel.prices.v1.PricesService/Quote", Roles: everyone},
	{Method: "/evenpeel.compliance.v1.ComplianceService/Judge", Roles: everyone}, // a branch in its own market: the handler checks

	{Method: "/evenpeel.compare.v1.CompareService/CompareBranches", // the handler hides names from a branch manager
		Roles: []Role{OfficeEditor, OfficeApprover, BranchManager, FranchiseManager, Auditor}},
	{Method: "/evenpeel.compare.v1.CompareService/GetBranchReport", Scope: Own,
		Roles: []Role{OfficeEditor, OfficeApprover, BranchManager, FranchiseManager, Auditor}, Branch: "branch"},
	{Method: "/evenpeel.compare.v1.CompareService/CompareRevisions", Roles: franchise},
	{Method: "/evenpeel.compare.v1.CompareService/GetFilmReport", // as CompareBranches
		Roles: []Role{OfficeEditor, OfficeApprover, BranchManager, FranchiseManager, Auditor}},
	{Method: "/evenpeel.compare.v1.CompareService/GetChart", Scope: Own,
		Roles: []Role{OfficeEditor, OfficeApprover, BranchManager, FranchiseManager, Auditor}, Branch: "branch"},
	{Method: "/evenpeel.compare.v1.CompareService/ListCharts", Roles: franchise},
	{Method: "/evenpeel.compare.v1.CompareService/FindCauses", Roles: franchise},
	{Method: "/evenpeel.compare.v1.CompareService/WatchTrial", Roles: franchise},
	{Method: "/evenpeel.compare.v1.CompareService/ListEvidence", Roles: franchise},
	{Method: "/evenpeel.compare.v1.CompareService/CompareCosts", Roles: franchise},
	{Method: "/evenpeel.compare.v1.CompareService/ListMethods",
		Roles: []Role{OfficeEditor, OfficeApprover, BranchManager, FranchiseManager, Auditor}},

	// Probes carry no session. Watching and reflection are for people; reflection is there by flag only.
	{Method: "/grpc.health.v1.Health/Check", Scope: Anyone},
	{Method: "/grpc.health.v1.Health/Watch", Roles: everyone},
	{Method: "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo", Roles: everyone},
}

var byMethod = func() map[string]*Rule {
	m := make(map[string]*Rule, len(Table))
	for i := range Table {
		m[Table[i].Method] = &Table[i]
	}
	return m
}()
