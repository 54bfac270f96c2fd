// Package postgrestest starts a private PostgreSQL for tests, in a folder of its own, on a socket of its own, as a
// person without rights. It never uses a server that runs already.
//
// Room: postgrestest
// Holds: Start, Begin, Server
// May touch: nothing
// Never: a server that it did not start
package postgrestest

import (
	"bytes"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
)

// Start starts a server for as long as the test runs, and answers with a maker of databases: each call gives the address
// of a new one. setUp, which may be nil, is called once with the address of the database that all others are copies of,
// which saves setting each of them up; it must close what it opens. The test is skipped, with the reason, where
// PostgreSQL's programs are not installed.
func Start(t testing.TB, setUp func(address string)) func(t testing.TB) string {
	t.Helper()
	return Begin(t, setUp).Database
}

// Server is one that a test may stop and start again.
type Server struct {
	control func(t testing.TB, act ...string)
	fresh   func(t testing.TB, name, like string) string
	like    string
	count   int
}

// Database makes a new database and gives its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	s.count++
	return s.fresh(t, "house"+strconv.Itoa(s.count), s.like)
}

// Stop stops the server at once, without a word to those who are connected, as a crash would.
func (s *Server) Stop(t testing.TB) { t.Helper(); s.control(t, "-m", "immediate", "stop") }

// Again starts the server that Stop stopped, on what it kept.
func (s *Server) Again(t testing.TB) { t.Helper(); s.control(t, "start") }

// Begin is Start for a test that stops the server.
func Begin(t testing.TB, setUp func(address string)) *Server {
	t.Helper()
	initdb, pgctl, psql := program("initdb"), program("pg_ctl"), program("psql")
	if initdb == "" || pgctl == "" || psql == "" {
		t.Skip("PostgreSQL is not installed (initdb, pg_ctl, psql on PATH or in /usr/lib/postgresql/*/bin), so this store is not tested here.")
	}
	// Not t.TempDir: a socket's path has to be short, and the server's person has to be able to walk there.
	folder, err := os.MkdirTemp("/tmp", "pg")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	as := &syscall.SysProcAttr{}
	if os.Getuid() == 0 { // PostgreSQL refuses root
		as.Credential = somebody(t)
		if err := os.Chown(folder, int(as.Credential.Uid), int(as.Credential.Gid)); err != nil {
			t.Fatal(err)
		}
	}
	run := func(t testing.TB, name string, args ...string) {
		t.Helper()
		c := exec.Command(name, args...)
		c.Dir, c.SysProcAttr = folder, as
		c.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + folder, "LC_ALL=C.UTF-8"}
		// A file, not a pipe: the server would keep a pipe open, and waiting for its end would last for ever.
		out, err := os.CreateTemp("", "pg")
		if err != nil {
			t.Fatal(err)
		}
		defer os.Remove(out.Name())
		defer out.Close()
		c.Stdout, c.Stderr = out, out
		if err := c.Run(); err != nil {
			said, _ := os.ReadFile(out.Name())
			t.Fatalf("%s: %v\n%s", filepath.Base(name), err, bytes.TrimSpace(said))
		}
	}
	data := filepath.Join(folder, "data")
	run(t, initdb, "-D", data, "-A", "trust", "-U", "evenpeel", "-E", "UTF8", "--no-sync", "--locale=C.UTF-8")
	// No port, only the socket. fsync stays off: these tests are about answers, not about power cuts.
	control := func(t testing.TB, act ...string) {
		t.Helper()
		run(t, pgctl, append([]string{"-D", data, "-w", "-l", filepath.Join(folder, "log"), "-o", "-c listen_addresses='' -k " + folder + " -c fsync=off -c max_connections=60"}, act...)...)
	}
	control(t, "start")
	t.Cleanup(func() { control(t, "-m", "immediate", "stop") })
	fresh := func(t testing.TB, name, like string) string {
		t.Helper()
		run(t, psql, "-X", "-q", "-h", folder, "-U", "evenpeel", "-d", "postgres", "-c", "CREATE DATABASE "+name+" TEMPLATE "+like)
		return "postgres://evenpeel@/" + name + "?sslmode=disable&host=" + url.QueryEscape(folder)
	}
	s := &Server{control: control, fresh: fresh, like: "template0"}
	if setUp != nil {
		setUp(fresh(t, "pattern", s.like))
		s.like = "pattern"
	}
	return s
}

// program finds one of PostgreSQL's programs.
func program(name string) string {
	if path, err := exec.LookPath(name); err == nil {
		return path
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if err != nil || len(found) == 0 {
		return ""
	}
	return found[len(found)-1]
}

// somebody is a person without rights.
func somebody(t testing.TB) *syscall.Credential {
	t.Helper()
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err1 == nil && err2 == nil {
			return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		}
	}
	t.Skip("There is neither a person postgres nor nobody, and PostgreSQL refuses root, so this store is not tested here.")
	return nil
}
