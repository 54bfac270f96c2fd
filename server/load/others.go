package load

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/backoff"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/status"
)

// others is one more branch, in a process of its own: what it waits for is the server, not the thousands of clients
// that a load plays.
type others struct{ *process }

// othersEvery is how often it pulls.
const othersEvery = 20 * time.Millisecond

// startOthers lets branch i pull again and again; roots is the file of the certificate to believe in, "" where there is
// none.
func (h *house) startOthers(ctx context.Context, roots string, i int) (*others, error) {
	p, err := h.run.start(ctx, "others", h.run.self, "load", "others", "--address", h.native, "--token", h.tokens[i], "--branch", branchName(i), "--roots", roots)
	return &others{p}, err
}

// end ends it and gives how long its pulls took that began after an instant.
func (o *others) end(after time.Time) (took measured, err error) {
	o.stop()
	said, err := os.Open(o.said)
	if err != nil {
		return nil, err
	}
	defer said.Close()
	lines := bufio.NewScanner(said)
	for lines.Scan() {
		var begun, ns int64
		if _, err := fmt.Sscan(lines.Text(), &begun, &ns); err != nil {
			return nil, fmt.Errorf("somebody else could not pull: %s", lines.Text())
		}
		if begun >= after.UnixNano() {
			took = append(took, time.Duration(ns))
		}
	}
	return took, lines.Err()
}

// beOthers pulls until ctx ends, and says of each pull when it began and how long it took, in nanoseconds. A pull that a
// restart cuts off is not said.
func beOthers(ctx context.Context, address, token, branch, roots string, out io.Writer) error {
	how, err := believing(roots)
	if err != nil {
		return err
	}
	conn, err := dial(address, append(how, grpc.WithConnectParams(grpc.ConnectParams{Backoff: backoff.Config{BaseDelay: othersEvery, Multiplier: 1, MaxDelay: othersEvery}, MinConnectTimeout: time.Second}))...)
	if err != nil {
		return err
	}
	defer conn.Close()
	tick := time.NewTicker(othersEvery)
	defer tick.Stop()
	request := field(nil, 1, []byte(branch))
	for ctx.Err() == nil {
		var sheet []byte
		begun := time.Now()
		err := conn.Invoke(as(ctx, token), pullSheet, &request, &sheet, grpc.WaitForReady(true))
		switch status.Code(err) {
		case codes.OK:
			if _, err := fmt.Fprintln(out, begun.UnixNano(), time.Since(begun).Nanoseconds()); err != nil {
				return err
			}
		case codes.Unavailable, codes.Canceled:
		default:
			return err
		}
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
	return nil
}

// believing speaks TLS with whoever has that certificate; "" is without.
func believing(roots string) ([]grpc.DialOption, error) {
	if roots == "" {
		return nil, nil
	}
	c, err := credentials.NewClientTLSFromFile(roots, "")
	return []grpc.DialOption{grpc.WithTransportCredentials(c)}, err
}
