package main

import (
	"context"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/backoff"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	accessv1 "evenpeel/proto/evenpeel/access/v1"
	"evenpeel/server/demo"
)

// beTheProgram makes this test binary the program: a test that kills a server needs one in a process of its own.
const beTheProgram = "BE_THE_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(beTheProgram) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

// child is the program in a process of its own, on the same folder and addresses each time it starts.
type child struct {
	native, web, folder string
	args                []string
	out                 *words
	conn                *grpc.ClientConn
	process             *exec.Cmd
}

func newChild(t testing.TB, folder string, args ...string) *child {
	t.Helper()
	c := &child{native: freeAddress(t), web: freeAddress(t), folder: folder, args: args, out: &words{}}
	quick := grpc.ConnectParams{Backoff: backoff.Config{BaseDelay: 20 * time.Millisecond, Multiplier: 1.2, MaxDelay: 200 * time.Millisecond}, MinConnectTimeout: time.Second}
	conn, err := grpc.NewClient(c.native, grpc.WithTransportCredentials(insecure.NewCredentials()), grpc.WithConnectParams(quick))
	if err != nil {
		t.Fatal(err)
	}
	c.conn = conn
	t.Cleanup(func() { conn.Close(); c.kill() })
	return c
}

// start starts the program and waits until it answers.
func (c *child) start(t testing.TB) {
	t.Helper()
	c.process = exec.Command(os.Args[0], append([]string{"--data", c.folder, "--grpc-address", c.native, "--web-address", c.web, "--log-format", "json", "--grace", "5s"}, c.args...)...)
	c.process.Env = append(os.Environ(), beTheProgram+"=1")
	c.process.Stdout, c.process.Stderr = c.out, c.out
	if err := c.process.Start(); err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithTimeout(t.Context(), 5*time.Minute)
	defer end()
	for {
		_, err := accessv1.NewAccessServiceClient(c.conn).WhoAmI(ctx, &accessv1.WhoAmIRequest{}, grpc.WaitForReady(true))
		switch status.Code(err) {
		case codes.Unauthenticated:
			return
		case codes.Unavailable: // it went out over the connection of the one that was killed before
			if ctx.Err() == nil {
				continue
			}
		}
		t.Fatalf("the server did not come up: %v\n%s", err, c.out)
	}
}

// kill gives it no chance to tidy up.
func (c *child) kill() {
	if c.process != nil {
		_ = c.process.Process.Signal(syscall.SIGKILL)
		_ = c.process.Wait()
		c.process = nil
	}
}

// as signs somebody of the demo in. Sessions outlive the server, so this is done once.
func (c *child) as(t testing.TB, email string) context.Context {
	t.Helper()
	for _, s := range demo.SignIns() {
		if s.Email == email {
			answer, err := accessv1.NewAccessServiceClient(c.conn).SignIn(t.Context(), &accessv1.SignInRequest{Email: email, Password: s.Password})
			if err != nil {
				t.Fatal(email, err)
			}
			return metadata.AppendToOutgoingContext(t.Context(), "authorization", "Bearer "+answer.GetToken())
		}
	}
	t.Fatal("the demo has nobody called", email)
	return nil
}
