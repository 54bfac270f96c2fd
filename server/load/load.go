// Package load puts a server of its own under load and says what it costs, beside references that do the same job in
// the same run on the same machine: a bare gRPC service, and etcd where it is installed. Each runs in a process of its
// own, so that its processor time can be told apart. Read the ratios, not the times.
//
// Room: load
// Holds: Run, the loads
// May touch: proto, server/access, server/client, server/sqlstore, branches, branches/compare, branches/runs, recipes, recipes/units, github.com/alecthomas/kong, github.com/improbable-eng/grpc-web, github.com/jackc/pgx/v5, google.golang.org/grpc, google.golang.org/protobuf, modernc.org/sqlite
// Never: a server or a store that it did not start
package load

import (
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/alecthomas/kong"
)

// loads are what can be asked.
type loads struct {
	Pull struct {
		Seconds float64 `help:"How long each case runs in each round." default:"1.5"`
		Rounds  int     `help:"How often all cases take turns." default:"3"`
		Workers int     `help:"Calls under way at once." default:"64"`
	} `cmd:"" help:"Pull sheets, beside a bare read of as many bytes and etcd's."`
	Watch struct {
		Streams  int  `help:"Watchers." default:"10000"`
		Releases int  `help:"Releases they are told of." default:"10"`
		Own      bool `help:"A connection for each watcher, not one for ninety."`
		Alone    bool `help:"Leave etcd out."`
	} `cmd:"" help:"Tell many watchers of releases, beside etcd."`
	Storm struct {
		Streams int   `help:"Watchers, each with a connection." default:"10000"`
		TLS     bool  `help:"Speak TLS."`
		Seed    int64 `help:"Seed of the waits before coming back." default:"1"`
	} `cmd:"" help:"Restart the server under its watchers, and see how soon all are current again."`
	Upload struct {
		Branches int `help:"Branches that report." default:"8"`
		Batches  int `help:"Reports of each." default:"40"`
		Runs     int `help:"Runs in a report." default:"100"`
	} `cmd:"" help:"Report runs."`
	Bare struct {
		Address string `required:""`
		Web     string `required:""`
	} `cmd:"" hidden:"" help:"Be the bare service."`
}

// Run does one load and writes what it found to out. self is the program's own file, which is started again for every
// process that is measured.
func Run(ctx context.Context, args []string, out io.Writer, self string) error {
	var l loads
	stopped := false
	parser, err := kong.New(&l, kong.Name("evenpeel load"), kong.Writers(out, out), kong.Exit(func(int) { stopped = true }))
	if err != nil {
		return fmt.Errorf("loads: %w", err)
	}
	parsed, err := parser.Parse(args)
	if stopped || err != nil {
		return err
	}
	name := parsed.Selected().Name
	if name == "bare" {
		return serveBare(ctx, l.Bare.Address, l.Bare.Web)
	}
	folder, err := os.MkdirTemp("", "evenpeel-load")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	r := &run{self: self, folder: folder, out: out}
	defer r.stopAll()
	switch name {
	case "pull":
		return r.pulls(ctx, time.Duration(l.Pull.Seconds*float64(time.Second)), l.Pull.Rounds, l.Pull.Workers)
	case "watch":
		return r.watches(ctx, l.Watch.Streams, l.Watch.Releases, l.Watch.Own, !l.Watch.Alone)
	case "storm":
		return r.storm(ctx, l.Storm.Streams, l.Storm.TLS, l.Storm.Seed)
	}
	return r.upload(ctx, l.Upload.Branches, l.Upload.Batches, l.Upload.Runs)
}
