package config

import (
	"bytes"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"evenpeel/recipes/fault"
)

func read(t *testing.T, args ...string) Config {
	t.Helper()
	c, done, err := Read(args, &bytes.Buffer{})
	if err != nil || done {
		t.Fatalf("%v: %v, %t", args, err, done)
	}
	return c
}

func TestRead_defaultsRunOnOneMachine(t *testing.T) {
	c := read(t)
	if err := c.Check(); err != nil {
		t.Error(err)
	}
	want := Config{
		Data: "./data", GRPCAddress: "127.0.0.1:9090", WebAddress: "127.0.0.1:8080", LogFormat: "auto", Grace: 20 * time.Second,
		SessionIdle: 12 * time.Hour, SessionLife: 7 * 24 * time.Hour, CacheMemory: 64,
	}
	if !reflect.DeepEqual(c, want) {
		t.Errorf("got %+v", c)
	}
	if c.StoreAddress() != "sqlite:data/evenpeel.db" || c.Secure() {
		t.Errorf("got %q", c.StoreAddress())
	}
}

func TestRead_flagBeforeEnvironmentBeforeDefault(t *testing.T) {
	t.Setenv("EVENPEEL_WEB_ADDRESS", "127.0.0.1:1")
	t.Setenv("EVENPEEL_GRPC_ADDRESS", "127.0.0.1:2")
	t.Setenv("EVENPEEL_ORIGINS", "https://a.example,https://b.example")
	c := read(t, "--web-address=127.0.0.1:3", "--store", "postgres://x", "--metrics")
	if c.WebAddress != "127.0.0.1:3" || c.GRPCAddress != "127.0.0.1:2" || len(c.Origins) != 2 || c.StoreAddress() != "postgres://x" || !c.Metrics {
		t.Errorf("got %+v", c)
	}
	if _, _, err := Read([]string{"--nothing"}, &bytes.Buffer{}); err == nil {
		t.Error("an unknown flag was taken")
	}
	if _, _, err := Read([]string{"--grace=soon"}, &bytes.Buffer{}); err == nil {
		t.Error("a malformed duration was taken")
	}
	var out bytes.Buffer
	if _, done, err := Read([]string{"--help"}, &out); !done || err != nil || !strings.Contains(out.String(), "EVENPEEL_STORE") {
		t.Errorf("got %t, %v, %q", done, err, out.String())
	}
}

func TestCheck_saysEverythingAtOnce(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name  string
		args  []string
		paths string
	}{
		{"fine with TLS", []string{"--tls-cert", file, "--tls-key", file, "--web-address=0.0.0.0:443", "--grpc-address=:9090"}, ""},
		{"fine behind TLS", []string{"--behind-tls", "--web-address=0.0.0.0:443"}, ""},
		{"fine by own wish", []string{"--without-tls", "--web-address=:80", "--grpc-address=:90"}, ""},
		{"fine on IPv6", []string{"--web-address=[::1]:80", "--redis=redis://:pw@host:1/0", "--store=sqlite:x.db"}, ""},
		{"fine ports of the system's choice", []string{"--web-address=127.0.0.1:0", "--grpc-address=127.0.0.1:0"}, ""},
		{"in the clear", []string{"--web-address=0.0.0.0:80", "--grpc-address=:9090"}, "--grpc-address --web-address"},
		{"half of TLS", []string{"--tls-cert", file}, "--tls-cert"},
		{"no such file", []string{"--tls-cert", file + "x", "--tls-key", filepath.Dir(file)}, "--tls-cert --tls-key"},
		{"same port", []string{"--web-address=127.0.0.1:9090"}, "--grpc-address"},
		{"many", []string{"--data=" + file, "--store=mysql://x", "--redis=x", "--web-address=x", "--origin=https://a/b", "--log-format=xml",
			"--drain-delay=-1s", "--grace=1h", "--session-idle=1s", "--session-life=9000h", "--cache-memory-mib=0"},
			"--data --store --redis --web-address --origin[0] --log-format --drain-delay --grace --session-idle --session-life --cache-memory-mib"},
		{"idle longer than life", []string{"--session-idle=3h", "--session-life=2h"}, "--session-idle"},
	} {
		err := read(t, row.args...).Check()
		var paths []string
		if f, ok := fault.As(err); ok {
			if f.Kind != fault.Invalid || f.Reason != ConfigInvalid {
				t.Errorf("%s: got %v", row.name, f)
			}
			for _, field := range f.Fields {
				paths = append(paths, field.Path)
			}
		}
		if got := strings.Join(paths, " "); got != row.paths {
			t.Errorf("%s: got %q, want %q (%v)", row.name, got, row.paths, err)
		}
	}
}

func TestLines_keepSecrets(t *testing.T) {
	c := read(t, "--store=postgres://u:hush@h/d", "--redis=redis://:hush@h:1", "--tls-key=/run/hush", "--demo")
	lines := strings.Join(c.Lines(), "\n")
	if strings.Contains(lines, "hush") {
		t.Errorf("got %s", lines)
	}
	for _, want := range []string{"store: set", "redis: set", "tls-key: set", "demo: true", "grace: 20s"} {
		if !strings.Contains(lines, want) {
			t.Errorf("%q is missing in %s", want, lines)
		}
	}
	if f := c.Check(); strings.Contains(f.Error(), "hush") {
		t.Errorf("got %v", f)
	}
	if got, want := len(c.Lines()), reflect.TypeFor[Config]().NumField()-1; got != want {
		t.Errorf("%d lines for %d settings: each has one, but for --version", got, want)
	}
}
