package rediscache_test

import (
	"context"
	"database/sql"
	"encoding/hex"
	"net/url"
	"path/filepath"
	"testing"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	_ "modernc.org/sqlite"

	"evenpeel/recipes"
	"evenpeel/server/rediscache"
	"evenpeel/server/sqlstore"
	"evenpeel/server/storetest"
)

// house is a store whose catalog stands behind the cache, wired as the server wires it: what it releases, it announces.
type house struct {
	*sqlstore.Store
	cache *rediscache.Catalog
	path  string
}

func (h house) Sealed(ctx context.Context, d recipes.Digest) (recipes.Sealed, error) {
	return h.cache.Sealed(ctx, d)
}

func (h house) Revision(ctx context.Context, r recipes.RecordName, n int64) (recipes.RevisionRow, error) {
	return h.cache.Revision(ctx, r, n)
}

func (h house) Revisions(ctx context.Context, r recipes.RecordName) ([]recipes.RevisionRow, error) {
	return h.cache.Revisions(ctx, r)
}

func (h house) Records(ctx context.Context, k recipes.Kind) ([]recipes.RevisionRow, error) {
	return h.cache.Records(ctx, k)
}

func (h house) Releases(ctx context.Context, above int64) ([]recipes.SignedRelease, error) {
	return h.cache.Releases(ctx, above)
}

func (h house) NewestRelease(ctx context.Context) (int64, error) { return h.cache.NewestRelease(ctx) }

func (h house) KeepRelease(ctx context.Context, r recipes.SignedRelease, request string) error {
	err := h.Store.KeepRelease(ctx, r, request)
	if err == nil {
		h.cache.Announce(ctx, r.Release.Number)
	}
	return err
}

func (h house) Poison(t *testing.T, digest recipes.Digest, content []byte) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+(&url.URL{Path: h.path}).EscapedPath())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, q := range []string{"DROP TRIGGER recipes_sealed_no_UPDATE",
		"UPDATE recipes_sealed SET content = x'" + hex.EncodeToString(content) + "' WHERE digest = x'" + digest.String() + "'"} {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
}

func TestContract(t *testing.T) {
	for name, start := range map[string]func(testing.TB) string{
		"no redis": nil, "real redis": realRedis, "dead redis": deadRedis,
		"mini redis": func(t testing.TB) string { return "redis://" + miniredis.RunT(t).Addr() },
	} {
		t.Run(name, func(t *testing.T) {
			var client *redis.Client
			if start != nil {
				client = connect(t, start(t))
			}
			storetest.Recipes(t, func(t *testing.T) storetest.Stores {
				if client != nil && name != "dead redis" {
					empty(t, client) // each promise starts with nothing
				}
				path := filepath.Join(t.TempDir(), "house.db")
				s, err := sqlstore.Open(t.Context(), "sqlite:"+path, nil)
				if err != nil {
					t.Fatal(err)
				}
				t.Cleanup(func() { s.Close() })
				return house{s, rediscache.NewCatalog(s, rediscache.Options{Redis: client}), path}
			})
		})
	}
}

// empty removes everything, with more patience than the cache has: a server on a busy machine may take its time.
func empty(t *testing.T, client *redis.Client) {
	t.Helper()
	o := *client.Options()
	patient := redis.NewClient(&redis.Options{Network: o.Network, Addr: o.Addr, MaxRetries: 5})
	defer patient.Close()
	if err := patient.FlushAll(t.Context()).Err(); err != nil {
		t.Fatal(err)
	}
}
