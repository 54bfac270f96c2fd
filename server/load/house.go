package load

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"path/filepath"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"

	"evenpeel/branches"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
	"evenpeel/server/sqlstore"
)

// house is a server of ours with a franchise laid into its store: so many branches, each with somebody who is signed in
// there, and two people of head office.
type house struct {
	*process
	run          *run
	native, web  string
	more         []string
	head, second string   // tokens of the editor and the approver
	tokens       []string // by branch
	requests     int
}

func branchName(i int) string { return fmt.Sprintf("branches/load-%d", i) }

// house makes and starts one. Branch i is in the market marketOf(i).
func (r *run) house(ctx context.Context, count int, marketOf func(int) string, more ...string) (*house, error) {
	h := &house{run: r, more: more}
	data := filepath.Join(r.folder, "data")
	store, err := sqlstore.Open(ctx, "sqlite:"+filepath.Join(data, "evenpeel.db"), nil)
	if err != nil {
		return nil, err
	}
	person := func(name, branch string, roles ...access.Role) (string, error) {
		now := time.Now()
		raw := make([]byte, 32)
		if _, err := rand.Read(raw); err != nil {
			return "", err
		}
		token := base64.RawURLEncoding.EncodeToString(raw)
		if err := store.AddPerson(ctx, access.Person{Name: "people/" + name, Email: name + "@load.example", Title: name, Roles: roles, Branch: branch}, false); err != nil {
			return "", err
		}
		return token, store.AddSession(ctx, access.Session{Hash: sha256.Sum256([]byte(token)), Person: "people/" + name, Started: now, Seen: now, Ends: now.Add(access.DefaultLife)})
	}
	err = func() error {
		var err error
		if h.head, err = person("editor", "", access.OfficeEditor); err != nil {
			return err
		}
		if h.second, err = person("approver", "", access.OfficeApprover); err != nil {
			return err
		}
		h.tokens = make([]string, count)
		for i := range count {
			b := branches.Branch{Name: branchName(i), Title: fmt.Sprint("Branch ", i), Market: recipes.Market(marketOf(i)), TimeZone: "Europe/Vienna"}
			if err := store.PutBranch(ctx, b); err != nil {
				return err
			}
			if h.tokens[i], err = person(fmt.Sprint("operator-", i), b.Name, access.BranchOperator); err != nil {
				return err
			}
		}
		return nil
	}()
	if closed := store.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return nil, fmt.Errorf("laying the franchise in: %w", err)
	}
	if h.native, err = freeAddress(); err != nil {
		return nil, err
	}
	if h.web, err = freeAddress(); err != nil {
		return nil, err
	}
	return h, h.open(ctx)
}

// open starts the server, at first or again.
func (h *house) open(ctx context.Context) error {
	var err error
	args := append([]string{"--data", filepath.Join(h.run.folder, "data"), "--grpc-address", h.native, "--web-address", h.web, "--log-format", "json"}, h.more...)
	if h.process, err = h.run.start(ctx, "evenpeel", h.run.self, args...); err != nil {
		return err
	}
	return h.run.listening(ctx, h.process, h.native)
}

func as(ctx context.Context, token string) context.Context {
	return metadata.AppendToOutgoingContext(ctx, "authorization", "Bearer "+token)
}

// request makes an id for one act.
func (h *house) request() string {
	h.requests++
	return fmt.Sprintf("00000000-0000-4000-8000-%012d", h.requests)
}

// priced drafts, approves and releases a price list of so many lines for a market, and gives its revision.
func (h *house) priced(ctx context.Context, conn *grpc.ClientConn, record, market string, films, breaks int, change int64) (string, error) {
	list := &recordv1.PriceList{Title: "Load", Market: market, CurrencyCode: "EUR", TaxName: "VAT", RoundToMinor: 1}
	for i := range films {
		f := &recordv1.FilmPrice{Film: fmt.Sprintf("film-%03d", i)}
		for b := range breaks {
			f.Breaks = append(f.Breaks, &recordv1.PriceBreak{FromMm: int64(b) * 1000, PerMetreMinor: int64(9000 - 11*b + i)})
		}
		list.FilmPrices = append(list.FilmPrices, f)
	}
	list.FilmPrices[films/2].Breaks[0].PerMetreMinor += change
	desk := recipesv1.NewDeskServiceClient(conn)
	made, err := desk.CreateDraft(as(ctx, h.head), &recipesv1.CreateDraftRequest{Record: record, RequestId: h.request(), Content: &recordv1.Content{Content: &recordv1.Content_PriceList{PriceList: list}}})
	if err != nil {
		return "", err
	}
	asked, err := desk.AskSecondLook(as(ctx, h.head), &recipesv1.AskSecondLookRequest{Name: made.GetDraft().GetName(), Etag: made.GetDraft().GetEtag()})
	if err != nil {
		return "", err
	}
	approved, err := desk.ApproveDraft(as(ctx, h.second), &recipesv1.ApproveDraftRequest{Name: made.GetDraft().GetName(), SeenSha256: asked.GetDraft().GetContentSha256()})
	if err != nil {
		return "", err
	}
	_, err = h.release(ctx, conn, approved.GetRevision().GetName(), market)
	return approved.GetRevision().GetName(), err
}

// release puts a revision in force now, and gives the release's number.
func (h *house) release(ctx context.Context, conn *grpc.ClientConn, revision, market string) (int64, error) {
	made, err := recipesv1.NewDeskServiceClient(conn).CreateRelease(as(ctx, h.second), &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{market}, RequestId: h.request()})
	return made.GetRelease().GetNumber(), err
}
