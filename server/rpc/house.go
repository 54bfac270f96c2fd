package rpc

import (
	"context"
	"strconv"
	"sync/atomic"
	"time"

	"go.uber.org/zap"
	"google.golang.org/grpc"

	"evenpeel/branches"
	"evenpeel/branches/compare"
	"evenpeel/branches/machines"
	"evenpeel/branches/orders"
	"evenpeel/branches/runs"
	"evenpeel/branches/stock"
	accessv1 "evenpeel/proto/evenpeel/access/v1"
	branchesv1 "evenpeel/proto/evenpeel/branches/v1"
	comparev1 "evenpeel/proto/evenpeel/compare/v1"
	compliancev1 "evenpeel/proto/evenpeel/compliance/v1"
	ordersv1 "evenpeel/proto/evenpeel/orders/v1"
	pricesv1 "evenpeel/proto/evenpeel/prices/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
)

// House is everything that the services answer from. main puts it together; a service takes what it needs.
type House struct {
	Office    recipes.Office
	Reaches   recipes.Reaches
	Register  branches.Register
	Workshop  machines.Workshop
	Shelf     stock.Shelf
	Ledger    runs.Ledger
	Planner   orders.Planner
	Opener    *orders.Opener
	Heat      *machines.Heat
	Source    compare.Source
	Guard     *access.Guard
	Audit     access.Audited
	Hub       *Hub
	OfficeKey []byte // Ed25519 public key that signs now
	// Vouch signs a text with it: statements of freshness. Nil vouches for nothing.
	Vouch   func(text []byte) (signature []byte, key string)
	Secure  bool // cookies carry the Secure mark
	Version string
	Now     func() time.Time
	Log     *zap.Logger

	fresh   fresh
	holding atomic.Bool // whether there is a table to answer pulls from
}

// Register registers every service.
func Register(h *House) func(*grpc.Server) {
	return func(s *grpc.Server) {
		accessv1.RegisterAccessServiceServer(s, &accessService{h: h})
		recipesv1.RegisterDeskServiceServer(s, &deskService{h: h})
		recipesv1.RegisterReleaseServiceServer(s, &releaseService{h: h})
		recipesv1.RegisterPastServiceServer(s, &pastService{h: h})
		recipesv1.RegisterCatalogServiceServer(s, &catalogService{h: h})
		pricesv1.RegisterPricesServiceServer(s, &pricesService{})
		compliancev1.RegisterComplianceServiceServer(s, &complianceService{h: h})
		branchesv1.RegisterBranchesServiceServer(s, &branchesService{h: h})
		branchesv1.RegisterStockServiceServer(s, &stockService{h: h})
		branchesv1.RegisterRunsServiceServer(s, &runsService{h: h})
		ordersv1.RegisterOrdersServiceServer(s, &ordersService{h: h, searching: newSearching()})
		comparev1.RegisterCompareServiceServer(s, &compareService{h: h})
	}
}

// person is who asks; the interceptors let nobody through to a handler that needs one.
func person(ctx context.Context) string {
	p, _ := access.PersonFrom(ctx)
	return p.Name
}

// audit notes an act that was done. The act stands whether or not the note could be taken, so a failure is logged.
func (h *House) audit(ctx context.Context, act, object string) {
	if err := h.Audit.AppendAudit(context.WithoutCancel(ctx), access.AuditEntry{Time: h.Now(), Person: person(ctx), Act: act, Object: object}); err != nil {
		h.Log.Error("an act was not noted in the audit chain", zap.String("act", act), zap.String("object", object), zap.Error(err))
	}
}

// releases are the plain releases, in rising order.
func (h *House) releases(ctx context.Context) ([]recipes.Release, error) {
	signed, err := h.Office.Catalog.Releases(ctx, 0)
	if err != nil {
		return nil, err
	}
	list := make([]recipes.Release, len(signed))
	for i, s := range signed {
		list[i] = s.Release
	}
	return list, nil
}

// inForce opens what is in force for a branch at an instant.
func (h *House) inForce(ctx context.Context, branch string, at time.Time) (branches.Branch, orders.InForce, error) {
	b, err := h.Register.Branch(ctx, branch)
	if err != nil {
		return b, orders.InForce{}, err
	}
	releases, err := h.releases(ctx)
	if err != nil {
		return b, orders.InForce{}, err
	}
	current, _ := recipes.SheetAt(releases, b.Name, b.Market, at)
	in, err := h.Opener.Opened(ctx, current)
	return b, in, err
}

func etagOf(n int64) string { return strconv.FormatInt(n, 10) }

// parseEtag reads an etag; one that is none of ours matches nothing.
func parseEtag(s string) int64 {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return -1
	}
	return n
}
