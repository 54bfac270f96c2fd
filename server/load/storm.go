package load

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/backoff"
	"google.golang.org/grpc/credentials"

	"evenpeel/server/client"
)

// storm restarts a server under its watchers. While it is down there is a new release; a branch is current again once
// it has heard of it and pulled it.
func (r *run) storm(ctx context.Context, count int, secure bool, seed int64) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	var more []string
	var how []grpc.DialOption
	if secure {
		cert, key, roots, err := certificate(r.folder)
		if err != nil {
			return err
		}
		more = []string{"--tls-cert", cert, "--tls-key", key}
		how = []grpc.DialOption{grpc.WithTransportCredentials(credentials.NewClientTLSFromCert(roots, ""))}
	}
	h, err := r.house(ctx, count+1, func(int) string { return "EU" }, more...)
	if err != nil {
		return err
	}
	office, err := dial(h.native, how...)
	if err != nil {
		return err
	}
	defer office.Close()
	revision, err := h.priced(ctx, office, "prices/eu", "EU", 60, 15, 0)
	if err != nil {
		return err
	}
	var current, reconnects atomic.Int64
	var wanted atomic.Int64
	wanted.Store(1)
	reached := make(chan struct{}, 1)
	branch := func(i int) {
		wait := client.Backoff{Rand: rand.New(rand.NewPCG(uint64(seed), uint64(i)))}
		var known int64
		for ctx.Err() == nil {
			// Its own connection, dialled anew by its own waits and not by the library's.
			conn, err := dial(h.native, append(how, grpc.WithConnectParams(grpc.ConnectParams{Backoff: backoff.Config{BaseDelay: time.Hour, MaxDelay: time.Hour}, MinConnectTimeout: 20 * time.Second}))...)
			if err == nil {
				err = h.follow(ctx, conn, i, &known, func() {
					wait.Well()
					if known >= wanted.Load() && current.Add(1) == int64(count) {
						reached <- struct{}{}
					}
				})
				_ = conn.Close() // its error says no more than the stream's
			}
			reconnects.Add(1)
			select {
			case <-ctx.Done():
			case <-time.After(wait.Next()):
			}
		}
	}
	begun := time.Now()
	for i := range count {
		go branch(i)
		if i%atOnce == 0 {
			time.Sleep(5 * time.Millisecond) // the first coming is not what is measured
		}
	}
	await := func(words string) error {
		select {
		case <-reached:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(2 * time.Minute):
			return fmt.Errorf("%s: only %d of %d are current after two minutes", words, current.Load(), count)
		}
	}
	if err := await("at first"); err != nil {
		return err
	}
	memory, err := h.memory()
	if err != nil {
		return err
	}
	fmt.Fprintf(r.out, "%d branches with a connection each are current after %s; the server has %d MiB\n", count, time.Since(begun).Round(time.Millisecond), memory>>20)

	reconnects.Store(0)
	current.Store(0)
	wanted.Store(2)
	h.stop()
	if err := h.open(ctx); err != nil {
		return err
	}
	begun = time.Now()
	others := make(chan measured, 1)
	go func() { others <- h.others(ctx, how, count) }()
	if _, err := h.release(ctx, office, revision, "EU"); err != nil {
		return err
	}
	if err := await("after the restart"); err != nil {
		return err
	}
	took := time.Since(begun)
	cpu, err := h.cpu()
	if err != nil {
		return err
	}
	end()
	pulls := <-others
	fmt.Fprintf(r.out, "after the restart all were current again within %s (at most 15 s), %d connections were made; %.0f µs of the server's CPU a branch\n", took.Round(time.Millisecond), reconnects.Load(), float64(cpu.Microseconds())/float64(count))
	fmt.Fprintf(r.out, "meanwhile somebody else pulled %d times: p50 %s, p99 %s (at most 100 ms)\n", len(pulls), pulls.at(.5).Round(100*time.Microsecond), pulls.at(.99).Round(100*time.Microsecond))
	return nil
}

// follow watches and pulls until the stream ends.
func (h *house) follow(ctx context.Context, conn *grpc.ClientConn, i int, known *int64, heard func()) error {
	ctx, end := context.WithCancel(as(ctx, h.tokens[i]))
	defer end()
	s, err := stream(ctx, conn, watchReleases, false, number(field(nil, 1, []byte(branchName(i))), 2, uint64(*known)))
	if err != nil {
		return err
	}
	for {
		var message, sheet []byte
		if err := s.RecvMsg(&message); err != nil {
			return err
		}
		if int64(firstNumber(message, 1)) <= *known {
			continue
		}
		request := number(number(field(nil, 1, []byte(branchName(i))), 2, uint64(*known)), 3, 1)
		if err := conn.Invoke(ctx, pullSheet, &request, &sheet); err != nil {
			return err
		}
		*known = int64(firstNumber(sheet, 1))
		heard()
	}
}

// others pulls every 20 ms as one more branch, until ctx ends.
func (h *house) others(ctx context.Context, how []grpc.DialOption, i int) (took measured) {
	conn, err := dial(h.native, how...)
	if err != nil {
		return nil
	}
	defer conn.Close()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	request := field(nil, 1, []byte(branchName(i)))
	for ctx.Err() == nil {
		var sheet []byte
		begun := time.Now()
		if err := conn.Invoke(as(ctx, h.tokens[i]), pullSheet, &request, &sheet, grpc.WaitForReady(true)); err == nil {
			took = append(took, time.Since(begun))
		} else if errors.Is(err, context.Canceled) {
			break
		}
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
	return took
}
