// Package config is what whoever runs the server may set: by flag, by environment, or left at a default that works
// on one machine. Nothing else in the process reads the environment.
//
// Room: config
// Holds: Config, Read, Check, Lines
// May touch: recipes/fault, github.com/alecthomas/kong
// Never: a secret in Lines or in a fault's words
package config

import (
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"evenpeel/recipes/fault"
)

const room = "config"

// ConfigInvalid is the reason of a Config that can not be run with.
const ConfigInvalid fault.Reason = "CONFIG_INVALID"

// Config is everything that may be set.
type Config struct {
	Data         string        `name:"data" env:"EVENPEEL_DATA_FOLDER" default:"./data" help:"Folder for everything that is kept: the built-in store, the office key."`
	Store        string        `name:"store" env:"EVENPEEL_STORE" help:"Address of the store: postgres://… or sqlite:PATH. Without it, a SQLite file in the data folder."`
	Redis        string        `name:"redis" env:"EVENPEEL_REDIS" help:"Address of Redis: host:port or redis://…. Without it there is no shared cache; nothing else changes."`
	GRPCAddress  string        `name:"grpc-address" env:"EVENPEEL_GRPC_ADDRESS" default:"127.0.0.1:9090" help:"Where native gRPC clients are heard."`
	WebAddress   string        `name:"web-address" env:"EVENPEEL_WEB_ADDRESS" default:"127.0.0.1:8080" help:"Where browsers are heard."`
	TLSCert      string        `name:"tls-cert" env:"EVENPEEL_TLS_CERT" help:"Certificate file for both addresses."`
	TLSKey       string        `name:"tls-key" env:"EVENPEEL_TLS_KEY" help:"Its key file."`
	BehindTLS    bool          `name:"behind-tls" env:"EVENPEEL_BEHIND_TLS" help:"A proxy in front speaks TLS with browsers: set Secure cookies and HSTS without a certificate here."`
	WithoutTLS   bool          `name:"without-tls" env:"EVENPEEL_WITHOUT_TLS" help:"Let other machines come without TLS. Passwords travel in the clear: for trials behind a closed door only."`
	Origins      []string      `name:"origin" env:"EVENPEEL_ORIGINS" sep:"," help:"Further origin that may call from a browser: https://host. Usually none."`
	Demo         bool          `name:"demo" env:"EVENPEEL_DEMO" help:"Fill an empty store with an invented franchise."`
	Reflection   bool          `name:"reflection" env:"EVENPEEL_REFLECTION" help:"Let signed-in people list the services by gRPC reflection."`
	Metrics      bool          `name:"metrics" env:"EVENPEEL_METRICS" help:"Serve /metrics on the web address."`
	LogFormat    string        `name:"log-format" env:"EVENPEEL_LOG_FORMAT" default:"auto" help:"auto, json or text; auto is text on a terminal."`
	DrainDelay   time.Duration `name:"drain-delay" env:"EVENPEEL_DRAIN_DELAY" default:"0s" help:"How long to go on serving after a stop was asked for, until nobody is sent here."`
	Grace        time.Duration `name:"grace" env:"EVENPEEL_GRACE" default:"20s" help:"How long running calls may take after that."`
	SessionIdle  time.Duration `name:"session-idle" env:"EVENPEEL_SESSION_IDLE" default:"12h" help:"A session unused this long has ended."`
	SessionLife  time.Duration `name:"session-life" env:"EVENPEEL_SESSION_LIFE" default:"168h" help:"A session ends at the latest after this."`
	CacheMemory  int64         `name:"cache-memory-mib" env:"EVENPEEL_CACHE_MEMORY_MIB" default:"64" help:"Memory for sealed records, in MiB."`
	PrintVersion bool          `name:"version" help:"Say which version this is, and stop."`
}

// Read reads flags, then the environment for what no flag sets. A flag that is unknown or malformed is an error with
// kong's words; done is true where help was asked for and written to out.
func Read(args []string, out io.Writer) (c Config, done bool, err error) {
	parser, err := kong.New(&c, kong.Name("evenpeel"), kong.Writers(out, out),
		kong.Description("Keeps a franchise of garment-decoration workshops pressing the same way."),
		kong.Exit(func(int) { done = true }))
	if err != nil {
		return c, false, fmt.Errorf("flags: %w", err)
	}
	_, err = parser.Parse(args)
	if done {
		return c, true, nil
	}
	return c, false, err
}

// Secure reports whether browsers come by TLS.
func (c Config) Secure() bool { return c.TLSCert != "" || c.BehindTLS }

// StoreAddress is Store, or the SQLite file in the data folder where nothing is set.
func (c Config) StoreAddress() string {
	if c.Store != "" {
		return c.Store
	}
	return "sqlite:" + filepath.Join(c.Data, "evenpeel.db")
}

// Check finds everything that is wrong. Fault Invalid/CONFIG_INVALID with one field for each, named as its flag.
func (c Config) Check() error {
	var fs fault.Fields
	if strings.TrimSpace(c.Data) == "" {
		fs.Add("--data", "is empty; name a folder")
	} else if facts, err := os.Stat(c.Data); err == nil && !facts.IsDir() {
		fs.Add("--data", "is a file; name a folder")
	}
	if scheme, rest, ok := strings.Cut(c.Store, ":"); c.Store != "" &&
		(!ok || rest == "" || scheme != "postgres" && scheme != "postgresql" && scheme != "sqlite") {
		fs.Add("--store", "is no address of a store; one looks like postgres://host/evenpeel or sqlite:data/evenpeel.db")
	}
	if c.Redis != "" && !strings.HasPrefix(c.Redis, "redis://") && !strings.HasPrefix(c.Redis, "rediss://") && !isAddress(c.Redis) {
		fs.Add("--redis", "is no address; one looks like 127.0.0.1:6379")
	}
	for _, at := range []struct{ flag, address string }{{"--grpc-address", c.GRPCAddress}, {"--web-address", c.WebAddress}} {
		switch {
		case !isAddress(at.address):
			fs.Add(at.flag, "is %q; one looks like 127.0.0.1:8080", at.address)
		case !isLoopback(at.address) && !c.Secure() && !c.WithoutTLS:
			fs.Add(at.flag, "is open to others, but passwords would travel in the clear; set --tls-cert and --tls-key, or --behind-tls")
		}
	}
	if c.GRPCAddress == c.WebAddress && !strings.HasSuffix(c.WebAddress, ":0") {
		fs.Add("--grpc-address", "is the same as --web-address; each needs its own port")
	}
	if (c.TLSCert == "") != (c.TLSKey == "") {
		fs.Add("--tls-cert", "and --tls-key go together; set both or neither")
	}
	for _, at := range []struct{ flag, file string }{{"--tls-cert", c.TLSCert}, {"--tls-key", c.TLSKey}} {
		if facts, err := os.Stat(at.file); at.file != "" && (err != nil || facts.IsDir()) {
			fs.Add(at.flag, "names a file that can not be read")
		}
	}
	for i, origin := range c.Origins {
		if !strings.HasPrefix(origin, "https://") && !strings.HasPrefix(origin, "http://localhost") || strings.Count(origin, "/") != 2 {
			fs.Add(fmt.Sprintf("--origin[%d]", i), "is no origin; one looks like https://desk.example")
		}
	}
	if c.LogFormat != "auto" && c.LogFormat != "json" && c.LogFormat != "text" {
		fs.Add("--log-format", "is %q; choose auto, json or text", c.LogFormat)
	}
	between(&fs, "--drain-delay", c.DrainDelay, 0, 10*time.Minute)
	between(&fs, "--grace", c.Grace, time.Second, 10*time.Minute)
	between(&fs, "--session-idle", c.SessionIdle, time.Minute, 30*24*time.Hour)
	between(&fs, "--session-life", c.SessionLife, time.Minute, 90*24*time.Hour)
	if c.SessionIdle > c.SessionLife {
		fs.Add("--session-idle", "is longer than --session-life; it would never count")
	}
	if c.CacheMemory < 1 || c.CacheMemory > 64<<10 {
		fs.Add("--cache-memory-mib", "is %d, from 1 to %d is allowed", c.CacheMemory, 64<<10)
	}
	return fs.Fault(room, ConfigInvalid, "The server can not start like this. See each setting named.")
}

func between(fs *fault.Fields, flag string, is, least, most time.Duration) {
	if is < least || is > most {
		fs.Add(flag, "is %s, from %s to %s is allowed", is, least, most)
	}
}

func isAddress(address string) bool {
	_, port, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	n, err := strconv.Atoi(port)
	return err == nil && n >= 0 && n <= 65535
}

// isLoopback reports whether only this machine can reach the address.
func isLoopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	return err == nil && (host == "localhost" || net.ParseIP(host).IsLoopback())
}

// Lines say what is set, for the log at the start. Addresses that may hold a password are said to be set or not.
func (c Config) Lines() []string {
	return []string{
		"data: " + c.Data,
		"store: " + setOr(c.Store, "built in"),
		"redis: " + setOr(c.Redis, "none"),
		"grpc-address: " + c.GRPCAddress,
		"web-address: " + c.WebAddress,
		"tls-cert: " + plainOr(c.TLSCert, "none"),
		"tls-key: " + setOr(c.TLSKey, "none"),
		"behind-tls: " + strconv.FormatBool(c.BehindTLS),
		"without-tls: " + strconv.FormatBool(c.WithoutTLS),
		"origin: " + plainOr(strings.Join(c.Origins, ", "), "none"),
		"demo: " + strconv.FormatBool(c.Demo),
		"reflection: " + strconv.FormatBool(c.Reflection),
		"metrics: " + strconv.FormatBool(c.Metrics),
		"log-format: " + c.LogFormat,
		"drain-delay: " + c.DrainDelay.String(),
		"grace: " + c.Grace.String(),
		"session-idle: " + c.SessionIdle.String(),
		"session-life: " + c.SessionLife.String(),
		"cache-memory-mib: " + strconv.FormatInt(c.CacheMemory, 10),
	}
}

func setOr(value, unset string) string {
	if value == "" {
		return unset
	}
	return "set"
}

func plainOr(value, unset string) string {
	if value == "" {
		return unset
	}
	return value
}
