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
	"sync"
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
	made, err := recipesv1.NewDeskServiceClient(at.conn).CreateRelease(f.first, &recipesv1.CreateReleaseRequest{Revisions: []string{revision}, Markets: []string{"EU"}, RequestId: id(int(f.ids.Add(1)))})
	return made.GetRelease().GetNumber(), err
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

// TestSeveralServers starts three processes on one PostgreSQL and one Redis: they behave as one.
func TestSeveralServers(t *testing.T) {
	f := newFleet(t)
	a, b, c := f.start(), f.start(), f.start()

	t.Run("of two approvals at once in two processes one wins", func(t *testing.T) {
		for n := range 6 {
			d := f.asked(a, c, fmt.Sprintf("notes/at-once-%d", n))
			var won atomic.Int64
			var both sync.WaitGroup
			for _, try := range []struct {
				by context.Context
				at *member
			}{{f.first, a}, {f.second, b}} {
				both.Go(func() {
					_, err := recipesv1.NewDeskServiceClient(try.at.conn).ApproveDraft(try.by, &recipesv1.ApproveDraftRequest{Name: d.GetName(), SeenSha256: d.GetContentSha256()})
					if err == nil {
						won.Add(1)
					} else if why := reason(err); why != "NOT_ASKED" && why != "DRAFT_MOVED_ON" && why != "DRAFT_CLOSED" {
						t.Errorf("the other is told %q: %v", why, err)
					}
				})
			}
			both.Wait()
			if won.Load() != 1 {
				t.Errorf("%d approvals won", won.Load())
			}
		}
	})
	note := "notes/at-once-0/revisions/1"
	heard := f.watching(c)
	newest := int64(0)

	t.Run("releases made at once in three processes are numbered without a gap", func(t *testing.T) {
		const each = 4
		var all sync.WaitGroup
		var mu sync.Mutex
		seen := map[int64]bool{}
		for _, at := range []*member{a, b, c} {
			all.Go(func() {
				for range each {
					n, err := f.release(at, note)
					if err != nil {
						t.Error(err)
						return
					}
					mu.Lock()
					seen[n] = true
					mu.Unlock()
				}
			})
		}
		all.Wait()
		for newest = 0; seen[newest+1]; newest++ {
		}
		if len(seen) != 3*each || newest != 3*each {
			t.Fatalf("the numbers are %v", seen)
		}
		for want := int64(1); want <= newest; want++ {
			if n := heard(); n != want {
				t.Fatalf("told of release %d, want %d", n, want)
			}
		}
	})

	t.Run("a release made at one is pulled from the others", func(t *testing.T) {
		var err error
		if newest, err = f.release(a, note); err != nil {
			t.Fatal(err)
		}
		f.holds(a, newest)
		f.holds(b, newest)
		if n := heard(); n != newest {
			t.Fatalf("told of %d, want %d", n, newest)
		}
		f.holds(c, newest)
	})

	t.Run("a message lost with Redis loses no release", func(t *testing.T) {
		f.stopRedis()
		var err error
		if newest, err = f.release(b, note); err != nil {
			t.Fatal(err)
		}
		if n := heard(); n != newest {
			t.Fatalf("told of %d, want %d", n, newest)
		}
		f.holds(a, newest)
	})

	t.Run("Redis gone, flushed, and full of wrong bytes: no wrong byte, no failed pull", func(t *testing.T) {
		ctx, end := context.WithCancel(t.Context())
		var pulls atomic.Int64
		pulled, gone := make(chan struct{}), make(chan struct{})
		var all sync.WaitGroup
		for _, at := range []*member{a, b, c} {
			for range 2 {
				all.Go(func() {
					for ctx.Err() == nil {
						if _, err := f.pull(at); err != nil {
							t.Errorf("after %d pulls: %v", pulls.Load(), err)
							return
						}
						pulls.Add(1)
						select {
						case pulled <- struct{}{}:
						default:
						}
					}
				})
			}
		}
		go func() { all.Wait(); close(gone) }()
		under := func(more int) { // a fault counts only under load
			for range more {
				select {
				case <-pulled:
				case <-gone:
					return
				}
			}
		}
		under(100) // Redis is gone
		f.startRedis("redis-server")
		direct := f.direct()
		defer direct.Close()
		under(100)
		// A process that starts now has nothing in memory: it fills Redis, and the next one reads from there.
		fresh := f.start()
		f.holds(fresh, newest)
		keys, err := direct.Keys(t.Context(), "recipes:sealed:*").Result()
		if err != nil || len(keys) == 0 {
			t.Error("there was nothing in Redis to poison:", err)
		}
		for _, key := range keys {
			if err := direct.Set(t.Context(), key, "not what was approved", 0).Err(); err != nil {
				t.Fatal(err)
			}
		}
		if err := direct.Publish(t.Context(), "recipes:released", "999999").Err(); err != nil {
			t.Fatal(err)
		}
		another := f.start()
		f.holds(another, newest)
		under(100)
		if err := direct.FlushAll(t.Context()).Err(); err != nil {
			t.Fatal(err)
		}
		under(100)
		f.stopRedis()
		under(100)
		if newest, err = f.release(c, note); err != nil {
			t.Fatal(err)
		}
		for _, at := range []*member{a, b, c, fresh, another} {
			f.holds(at, newest)
		}
		end()
		<-gone
	})

	t.Run("the check itself sees a wrong byte", func(t *testing.T) {
		m, err := f.pull(a)
		if err != nil {
			t.Fatal(err)
		}
		m.Records[0].Content[3] ^= 1
		if trueBytes(m) == nil {
			t.Error("a changed byte went unseen")
		}
	})

	t.Run("who signs out at one is out at the others", func(t *testing.T) {
		if _, err := accessv1.NewAccessServiceClient(a.conn).SignOut(f.bench, &accessv1.SignOutRequest{}); err != nil {
			t.Fatal(err)
		}
		for _, at := range []*member{a, b, c} {
			for {
				if _, err := f.pull(at); reason(err) == "SESSION_ENDED" {
					break
				} else if err != nil {
					t.Fatal(err)
				}
			}
		}
	})
}
