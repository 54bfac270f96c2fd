package main

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"

	"evenpeel/branches"
	accessv1 "evenpeel/proto/evenpeel/access/v1"
	recipesv1 "evenpeel/proto/evenpeel/recipes/v1"
	recordv1 "evenpeel/proto/evenpeel/record/v1"
	"evenpeel/recipes"
	"evenpeel/server/access"
	"evenpeel/server/sqlstore"
	"evenpeel/server/storetest/postgrestest"
)

// member is one server process of several.
type member struct {
	cmd    *exec.Cmd
	native string
	conn   *grpc.ClientConn
}

// fleet is some processes on one PostgreSQL and one Redis.
type fleet struct {
	t                      *testing.T
	program, store, folder string
	redisAddress           string
	redis                  *exec.Cmd
	editor, first, second  context.Context
	bench                  context.Context
	benches                []context.Context // further people of the lane: one may hold so many streams open
	ids                    atomic.Int64
}

const lane = "branches/lane"

func newFleet(t *testing.T) *fleet {
	program, err := exec.LookPath("redis-server")
	if err != nil {
		t.Skip("redis-server is not installed, so several servers are not tested here.")
	}
	f := &fleet{t: t, store: postgrestest.Start(t, nil)(t), folder: t.TempDir(), redisAddress: freeAddress(t)}
	f.program = filepath.Join(t.TempDir(), "evenpeel")
	if said, err := exec.Command("go", "build", "-o", f.program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	store, err := sqlstore.Open(t.Context(), f.store, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if err := store.PutBranch(t.Context(), branches.Branch{Name: lane, Title: "Lane", Market: "EU", TimeZone: "Europe/Vienna"}); err != nil {
		t.Fatal(err)
	}
	person := func(name, branch string, role access.Role) context.Context {
		token := base64.RawURLEncoding.EncodeToString(fmt.Appendf(nil, "%-32s", name))
		now := time.Now()
		err := errors.Join(store.AddPerson(t.Context(), access.Person{Name: "people/" + name, Email: name + "@several.example", Title: name, Roles: []access.Role{role}, Branch: branch}, false),
			store.AddSession(t.Context(), access.Session{Hash: sha256.Sum256([]byte(token)), Person: "people/" + name, Started: now, Seen: now, Ends: now.Add(time.Hour)}))
		if err != nil {
			t.Fatal(err)
		}
		return metadata.AppendToOutgoingContext(t.Context(), "authorization", "Bearer "+token)
	}
	f.editor, f.first, f.second = person("editor", "", access.OfficeEditor), person("first", "", access.OfficeApprover), person("second", "", access.OfficeApprover)
	f.bench = person("bench", lane, access.BranchOperator)
	for i := range 12 {
		f.benches = append(f.benches, person(fmt.Sprint("bench-", i), lane, access.BranchOperator))
	}
	f.startRedis(program)
	t.Cleanup(func() { f.stopRedis() })
	return f
}

func (f *fleet) startRedis(program string) {
	_, port, err := net.SplitHostPort(f.redisAddress)
	if err != nil {
		f.t.Fatal(err)
	}
	f.redis = exec.Command(program, "--port", port, "--bind", "127.0.0.1", "--save", "", "--dir", f.folder)
	if err := f.redis.Start(); err != nil {
		f.t.Fatal(err)
	}
}

func (f *fleet) stopRedis() {
	_ = f.redis.Process.Kill() // it may be gone already
	_ = f.redis.Wait()
}

// direct speaks with Redis as nobody should.
func (f *fleet) direct() *redis.Client {
	return redis.NewClient(&redis.Options{Addr: f.redisAddress, MaxRetries: 200, MinRetryBackoff: 10 * time.Millisecond, MaxRetryBackoff: 50 * time.Millisecond})
}

func (f *fleet) start() *member {
	f.t.Helper()
	m := &member{native: freeAddress(f.t)}
	m.cmd = exec.Command(f.program, "--data", f.folder, "--store", f.store, "--redis", f.redisAddress, "--grpc-address", m.native, "--web-address", freeAddress(f.t), "--log-format", "json", "--grace", "2s")
	m.cmd.Env = []string{"PATH=" + os.Getenv("PATH")}
	if err := m.cmd.Start(); err != nil {
		f.t.Fatal(err)
	}
	f.t.Cleanup(m.stop)
	var err error
	if m.conn, err = grpc.NewClient(m.native, grpc.WithTransportCredentials(insecure.NewCredentials())); err != nil {
		f.t.Fatal(err)
	}
	f.t.Cleanup(func() { m.conn.Close() })
	if _, err := accessv1.NewAccessServiceClient(m.conn).WhoAmI(f.bench, &accessv1.WhoAmIRequest{}, grpc.WaitForReady(true)); err != nil {
		f.t.Fatal("a server did not come up:", err)
	}
	return m
}

func (m *member) stop() {
	_ = m.cmd.Process.Signal(syscall.SIGTERM)
	_ = m.cmd.Wait() // a test that fails may have ended it
}

// asked drafts a note at one process and asks for a second look at another.
func (f *fleet) asked(at, then *member, record string) *recipesv1.Draft {
	f.t.Helper()
	content := &recordv1.Content{Content: &recordv1.Content_Note{Note: &recordv1.Note{Title: record, Market: "EU", Papers: []string{"A paper"}}}}
	made, err := recipesv1.NewDeskServiceClient(at.conn).CreateDraft(f.editor, &recipesv1.CreateDraftRequest{Record: record, RequestId: id(int(f.ids.Add(1))), Content: content})
	if err != nil {
		f.t.Fatal(err)
	}
	asked, err := recipesv1.NewDeskServiceClient(then.conn).AskSecondLook(f.editor, &recipesv1.AskSecondLookRequest{Name: made.GetDraft().GetName(), Etag: made.GetDraft().GetEtag()})
	if err != nil {
		f.t.Fatal(err)
	}
	return asked.GetDraft()
}

func (f *fleet) release(at *member, revision string) (int64, error) {
	request := &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{"EU"}, RequestId: id(int(f.ids.Add(1)))}
	for {
		made, err := recipesv1.NewDeskServiceClient(at.conn).CreateRelease(f.first, request)
		if reason(err) == "RELEASE_TAKEN" {
			continue // others were quicker several times in a row; asking again with the same id releases once
		}
		return made.GetRelease().GetNumber(), err
	}
}

// trueBytes finds a record or release in an answer whose bytes are not those of its digest.
func trueBytes(m *recipesv1.PullSheetResponse) error {
	check := func(name string, content, digest []byte) error {
		want, err := recipes.ParseDigest(digest)
		if err == nil {
			_, err = recipes.Unseal(content, want)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		return nil
	}
	var found []error
	for _, r := range m.GetRecords() {
		found = append(found, check(r.GetName(), r.GetContent(), r.GetSha256()))
	}
	for _, r := range m.GetReleases() {
		found = append(found, check(fmt.Sprint("release ", r.GetNumber()), r.GetContent(), r.GetSha256()))
	}
	return errors.Join(found...)
}

func (f *fleet) pull(at *member) (*recipesv1.PullSheetResponse, error) {
	m, err := recipesv1.NewCatalogServiceClient(at.conn).PullSheet(f.bench, &recipesv1.PullSheetRequest{Branch: lane})
	if err == nil {
		err = trueBytes(m)
	}
	return m, err
}

// holds pulls until the release is there; the test's own deadline bounds it.
func (f *fleet) holds(at *member, number int64) {
	f.t.Helper()
	for {
		m, err := f.pull(at)
		if err != nil {
			f.t.Fatal(err)
		}
		if m.GetNewestRelease() >= number {
			return
		}
	}
}

// watching says which releases a process tells a branch of.
func (f *fleet) watching(at *member) func() int64 {
	f.t.Helper()
	stream, err := recipesv1.NewCatalogServiceClient(at.conn).WatchReleases(f.bench, &recipesv1.WatchReleasesRequest{Branch: lane})
	if err != nil {
		f.t.Fatal(err)
	}
	return func() int64 {
		f.t.Helper()
		for {
			news, err := stream.Recv()
			if err != nil {
				f.t.Fatal(err)
			}
			if news.GetRelease() > 0 {
				return news.GetRelease()
			}
		}
	}
}
