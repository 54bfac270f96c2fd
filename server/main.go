// Command server is the whole of Evenpeel in one process: the store, the cache, the native and the browser's door, and
// the page. With a first word (pull, watch, report, compare …) it is a client of such a server instead, or does one of head
// office's commands with the store at hand (export, import, verify, audit, key), or with load measures servers that it starts
// itself.
//
// Room: server
// Holds: the wiring, in the order in which things start
// May touch: recipes, recipes/archive, recipes/fault, recipes/sealed, branches/machines, branches/orders, server/access, server/client, server/config, server/demo, server/gateway, server/load, server/rediscache, server/rpc, server/sqlstore, web, github.com/prometheus/client_golang, github.com/redis/go-redis/v9, go.uber.org/zap, google.golang.org/grpc
// Never: a rule of the business
package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"os/signal"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/redis/go-redis/v9"
	"github.com/redis/go-redis/v9/logging"
	"go.uber.org/zap"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"

	"evenpeel/branches/machines"
	"evenpeel/branches/orders"
	"evenpeel/recipes"
	"evenpeel/recipes/sealed"
	"evenpeel/server/access"
	"evenpeel/server/client"
	"evenpeel/server/config"
	"evenpeel/server/demo"
	"evenpeel/server/gateway"
	"evenpeel/server/load"
	"evenpeel/server/rediscache"
	"evenpeel/server/rpc"
	"evenpeel/server/sqlstore"
	"evenpeel/web"
)

// version is set by the build: -ldflags "-X main.version=…".
var version = "unreleased"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "evenpeel:", err)
		os.Exit(1)
	}
}

// run is the program, so that a test can start the whole of it. It returns when ctx ends and everything has stopped.
func run(ctx context.Context, args []string, out io.Writer) error {
	if len(args) > 0 && client.Knows(args[0]) {
		return client.Run(ctx, args, out)
	}
	if len(args) > 0 && config.IsOffice(args[0]) {
		return office(ctx, args, out)
	}
	if len(args) > 1 && args[0] == "load" && args[1] == "runs" {
		return load.Runs(ctx, args[2:], out)
	}
	if len(args) > 0 && args[0] == "load" {
		self, err := os.Executable()
		if err != nil {
			return fmt.Errorf("finding this program: %w", err)
		}
		return load.Run(ctx, args[1:], out, self)
	}
	c, done, err := config.Read(args, out)
	if err != nil || done {
		return err
	}
	if c.PrintVersion {
		_, err := fmt.Fprintln(out, version)
		return err
	}
	if err := c.Check(); err != nil {
		return err
	}
	log, err := logger(c.LogFormat)
	if err != nil {
		return fmt.Errorf("making the log: %w", err)
	}
	defer func() { _ = log.Sync() }() // a terminal can not be synced, and says so
	return serve(ctx, c, log, out)
}

func serve(ctx context.Context, c config.Config, log *zap.Logger, out io.Writer) error {
	// Never written to, so it takes address space and no memory. It counts as live for the collector, which then runs
	// every 32 MiB and more of garbage rather than every few: with a small heap that was a fifth of a pull's cost.
	ballast := make([]byte, 32<<20)
	defer runtime.KeepAlive(ballast)
	for _, line := range c.Lines() {
		log.Info("set", zap.String("setting", line))
	}
	if err := os.MkdirAll(c.Data, 0o700); err != nil {
		return fmt.Errorf("making the data folder: %w", err)
	}
	store, err := sqlstore.Open(ctx, c.StoreAddress(), log)
	if err != nil {
		return fmt.Errorf("opening the store: %w", err)
	}
	defer store.Close()
	key, _, err := keyOf(ctx, c.Data, store)
	if err != nil {
		return fmt.Errorf("opening the office key: %w", err)
	}
	far, err := redisClient(c.Redis)
	if err != nil {
		return fmt.Errorf("reading the address of Redis: %w", err)
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	cache := rediscache.NewCatalog(store, rediscache.Options{Redis: far, MemoryBytes: c.CacheMemory << 20, Log: log, Registry: registry})
	guard := access.NewGuard(access.Parts{Directory: store, Now: time.Now, Rand: rand.Reader, Idle: c.SessionIdle, Life: c.SessionLife})
	if err := furnish(ctx, c, store, guard, key, out); err != nil {
		return fmt.Errorf("loading the demo franchise: %w", err)
	}

	reaches := rpc.NewReachBook(store, log)
	hub, heat := rpc.NewHub(cache, log), &machines.Heat{}
	house := &rpc.House{
		Office: recipes.Office{Catalog: cache, Desk: store, Sealer: sealed.Codec{}, Signer: key, Now: time.Now, Released: func(n int64) {
			cache.Announce(ctx, n)
			hub.Tell()
		}},
		Reaches: reaches, Register: store, Workshop: store, Shelf: store, Ledger: store, Source: store, Guard: guard, Audit: store, Hub: hub, Heat: heat,
		Planner: orders.Planner{Book: store, Workshop: store, Shelf: store, Heat: heat, Seen: &orders.Inspections{}}, Opener: &orders.Opener{Catalog: cache, Sealer: sealed.Codec{}},
		OfficeKey: key.Public(), Vouch: key.Vouch, Secure: c.Secure(), Version: version, Now: time.Now, Log: log,
	}
	stopping, endStreams := context.WithCancel(context.Background())
	defer endStreams()
	go func() {
		if err := store.Warm(stopping); err != nil && stopping.Err() == nil {
			log.Warn("the roll-up is not in memory yet; the first view will take it in", zap.Error(err))
		}
	}()
	go hub.Run(stopping)
	go refresh(stopping, guard, log)
	go func() { // releases made by other processes
		for range cache.Subscribe(stopping) {
			hub.Tell()
		}
	}()

	native, err := nativeCredentials(c)
	if err != nil {
		return fmt.Errorf("reading the certificate: %w", err)
	}
	health := rpc.NewHealth()
	server := rpc.NewServer(rpc.Options{Log: log, Guard: guard, Secure: c.Secure(), TLS: native, Reflection: c.Reflection, Registry: registry, Health: health, Stopping: stopping}, rpc.Register(house))
	var metrics prometheus.Gatherer
	if c.Metrics {
		metrics = registry
	}
	checks := []gateway.Check{{Name: "store", Needed: true, GoesOn: func() bool { return house.Holding() && guard.Holding() }, Ask: store.Ping}}
	if far != nil {
		checks = append(checks, gateway.Check{Name: "redis", Ask: func(ctx context.Context) error { return far.Ping(ctx).Err() }})
	}
	door, err := gateway.New(gateway.Options{RPC: server, Page: page(), Log: log, Secure: c.Secure(), Origins: c.Origins, Checks: checks, Metrics: metrics, Version: version})
	if err != nil {
		return fmt.Errorf("opening the browser's door: %w", err)
	}
	err = listen(ctx, c, log, out, server, gateway.NewHTTPServer(door, log), health, func() { hub.Close(); endStreams() })
	return errors.Join(err, reaches.Flush(context.WithoutCancel(ctx)))
}

// refreshEvery is how often sessions in use are read anew, all at once: how soon a sign-out in another process counts.
const refreshEvery = 1500 * time.Millisecond

// longestRefresh is how long a store may keep silent before it counts as away.
const longestRefresh = 3 * time.Second

func refresh(ctx context.Context, guard *access.Guard, log *zap.Logger) {
	tick := time.NewTicker(refreshEvery)
	defer tick.Stop()
	for well := true; ; {
		asking, stop := context.WithTimeout(ctx, longestRefresh)
		err := guard.Refresh(asking)
		stop()
		if err != nil && well && ctx.Err() == nil {
			log.Warn("sessions can not be read anew; pulls and watches go on for whoever is known, everything else looks for itself", zap.Error(err))
		}
		well = err == nil
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// listen serves both doors until ctx ends or one of them fails, then stops in order.
func listen(ctx context.Context, c config.Config, log *zap.Logger, out io.Writer, server *grpc.Server, webServer *http.Server, health *rpc.Health, streams func()) error {
	nativeDoor, err := net.Listen("tcp", c.GRPCAddress)
	if err != nil {
		return fmt.Errorf("listening for native clients: %w", err)
	}
	webDoor, err := net.Listen("tcp", c.WebAddress)
	if err != nil {
		nativeDoor.Close()
		return fmt.Errorf("listening for browsers: %w", err)
	}
	failed := make(chan error, 2)
	var serving sync.WaitGroup
	serving.Go(func() {
		if err := server.Serve(nativeDoor); err != nil && !errors.Is(err, grpc.ErrServerStopped) {
			failed <- fmt.Errorf("serving native clients: %w", err)
		}
	})
	serving.Go(func() {
		if err := gateway.Serve(webServer, webDoor, c.TLSCert, c.TLSKey); err != nil {
			failed <- fmt.Errorf("serving browsers: %w", err)
		}
	})
	fmt.Fprintf(out, "\nEvenpeel is open at %s://%s (native gRPC at %s). Stop it with Ctrl-C.\n", scheme(c), webDoor.Addr(), nativeDoor.Addr())
	var why error
	select {
	case <-ctx.Done():
	case why = <-failed:
	}
	gateway.Stop{Log: log, Down: health.Down, Drain: c.DrainDelay, Streams: streams, Web: webServer, RPC: server, Grace: c.Grace}.Run(context.Background())
	serving.Wait()
	return why
}

// furnish fills an empty store with the demo franchise where asked, and otherwise prints the one-time link with which
// the first person of head office is made.
func furnish(ctx context.Context, c config.Config, store *sqlstore.Store, guard *access.Guard, key *officeKey, out io.Writer) error {
	half, err := demo.Half(ctx, store)
	switch {
	case err != nil:
		return err
	case half:
		return demo.HalfLoaded()
	}
	people, err := store.People(ctx)
	if err != nil {
		return err
	}
	if len(people) > 0 {
		if c.Demo {
			printSignIns(out, demo.SignIns())
		}
		return nil
	}
	if c.Demo {
		fmt.Fprintln(out, "Loading the demo franchise: 24 branches and a year of runs. This takes some seconds, once.")
		signIns, err := demo.Load(ctx, store, guard, key, time.Now())
		if err != nil {
			return err
		}
		printSignIns(out, signIns)
		return nil
	}
	word, err := guard.FirstWord(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\nNobody is here yet. Make the first person of head office at %s://%s/first-person#%s (once, until the next start).\n", scheme(c), c.WebAddress, word)
	return nil
}

// scheme is how a browser on this machine speaks with the web address.
func scheme(c config.Config) string {
	if c.TLSCert != "" {
		return "https"
	}
	return "http"
}

func printSignIns(out io.Writer, signIns []demo.SignIn) {
	fmt.Fprintln(out, "\nDemo sign-ins (an invented franchise; never use these passwords for anything else):")
	for _, s := range signIns {
		fmt.Fprintf(out, "  %-34s %-22s %s: %s\n", s.Email, s.Password, s.Title, s.Does)
	}
}

// page is the one built into the binary, or else the folder that `make page` fills.
func page() fs.FS {
	if built := web.Page(); built != nil {
		return built
	}
	return os.DirFS("web/dist")
}

// redisClient is nil where no address is set.
func redisClient(address string) (*redis.Client, error) {
	if address == "" {
		return nil, nil
	}
	if !strings.Contains(address, "://") {
		address = "redis://" + address
	}
	redis.SetLogger(&logging.VoidLogger{}) // the library would write to standard error by itself; our own log tells the same
	return rediscache.Connect(address)
}

func nativeCredentials(c config.Config) (credentials.TransportCredentials, error) {
	if c.TLSCert == "" {
		return nil, nil
	}
	pair, err := tls.LoadX509KeyPair(c.TLSCert, c.TLSKey)
	if err != nil {
		return nil, err
	}
	return credentials.NewTLS(&tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}), nil
}

func logger(format string) (*zap.Logger, error) {
	if format == "auto" {
		format = "json"
		if facts, err := os.Stderr.Stat(); err == nil && facts.Mode()&os.ModeCharDevice != 0 {
			format = "text"
		}
	}
	settings := zap.NewProductionConfig()
	if format == "text" {
		settings = zap.NewDevelopmentConfig()
		settings.Level = zap.NewAtomicLevelAt(zap.InfoLevel)
		settings.DisableStacktrace = true
	}
	return settings.Build()
}
