package load

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/encoding/protowire"
)

// together is how many watchers share a connection where each has none of its own: our server lets a hundred in.
const together = 90

// pause lets what is left of one release come to an end before the next, as it does between real ones.
const pause = 300 * time.Millisecond

func shared(count int) int { return (count + together - 1) / together }

// atOnce is how many streams are opened at the same time.
const atOnce = 64

// told is one side of the comparison: a service with watchers, and what telling them cost.
type told struct {
	name    string
	of      *process
	address string
	open    func(ctx context.Context, conn *grpc.ClientConn, i int) (grpc.ClientStream, error)
	news    func(message []byte) bool // whether a message is a delivery
	publish func(ctx context.Context) error

	arrived atomic.Int64
	done    chan struct{}
	alone   measured // publish calls with nobody watching
	calls   measured // publish calls with all of them
	last    measured // from the beginning of the call until the last watcher knew
	cpu     time.Duration
	memory  int64 // of one watcher
}

// watch opens all watchers; each reads until ctx ends.
func (t *told) watch(ctx context.Context, count int, own bool) ([]*grpc.ClientConn, error) {
	before, err := t.of.memory()
	if err != nil {
		return nil, err
	}
	n := shared(count)
	if own {
		n = count
	}
	conns, err := dialAll(t.address, n)
	if err != nil {
		return conns, err
	}
	places := make(chan struct{}, atOnce)
	var all sync.WaitGroup
	failed := make([]error, count)
	for i := range count {
		places <- struct{}{}
		all.Go(func() {
			defer func() { <-places }()
			s, err := t.open(ctx, conns[i%n], i)
			if err == nil {
				var first []byte // each service says at once that it listens
				err = s.RecvMsg(&first)
			}
			if failed[i] = err; err != nil {
				return
			}
			go t.read(s, int64(count))
		})
	}
	all.Wait()
	if err := errors.Join(failed...); err != nil {
		return conns, err
	}
	after, err := t.of.memory()
	t.memory = (after - before) / int64(count)
	return conns, err
}

func (t *told) read(s grpc.ClientStream, count int64) {
	var message []byte
	for s.RecvMsg(&message) == nil {
		if t.news(message) && t.arrived.Add(1) == count {
			close(t.done)
		}
	}
}

// tell publishes once and waits until everybody knows.
func (t *told) tell(ctx context.Context) error {
	t.arrived.Store(0)
	t.done = make(chan struct{})
	before, err := t.of.cpu()
	if err != nil {
		return err
	}
	begun := time.Now()
	if err := t.publish(ctx); err != nil {
		return err
	}
	t.calls = append(t.calls, time.Since(begun))
	select {
	case <-t.done:
	case <-time.After(time.Minute):
		return fmt.Errorf("%s: only %d watchers were told within a minute", t.name, t.arrived.Load())
	}
	t.last = append(t.last, time.Since(begun))
	after, err := t.of.cpu()
	t.cpu += after - before
	return err
}

// watches compares the cost of telling many watchers.
func (r *run) watches(ctx context.Context, count, releases int, own, withEtcd bool) error {
	ctx, end := context.WithCancel(ctx)
	defer end()
	h, err := r.house(ctx, count, func(int) string { return "EU" }, "--metrics")
	if err != nil {
		return err
	}
	office, err := dial(h.native)
	if err != nil {
		return err
	}
	defer office.Close()
	revision, err := h.priced(ctx, office, "prices/eu", "EU", 20, 3, 0)
	if err != nil {
		return err
	}
	newest := int64(1)
	sides := []*told{{
		name: "evenpeel", of: h.process, address: h.native,
		open: func(ctx context.Context, conn *grpc.ClientConn, i int) (grpc.ClientStream, error) {
			return stream(as(ctx, h.tokens[i]), conn, watchReleases, false, number(field(nil, 1, []byte(branchName(i))), 2, uint64(newest)))
		},
		news: func(m []byte) bool { return firstNumber(m, 1) > 0 },
		publish: func(ctx context.Context) (err error) {
			newest, err = h.release(ctx, office, revision, "EU")
			return err
		},
	}}
	if withEtcd {
		p, address, err := r.etcd(ctx)
		if err != nil {
			return err
		}
		if p != nil {
			conn, err := dial(address)
			if err != nil {
				return err
			}
			defer conn.Close()
			put := etcdPutRequest("release", make([]byte, 64))
			sides = append(sides, &told{
				name: "etcd", of: p, address: address,
				open: func(ctx context.Context, conn *grpc.ClientConn, _ int) (grpc.ClientStream, error) {
					return stream(ctx, conn, etcdWatch, true, etcdWatchRequest("release"))
				},
				news: hasEvents,
				publish: func(ctx context.Context) error {
					var answer []byte
					return conn.Invoke(ctx, etcdPut, &put, &answer, grpc.WaitForReady(true))
				},
			})
		} else {
			fmt.Fprintln(r.out, "etcd is not installed here, so it is left out.")
		}
	}
	for _, t := range sides {
		for range 2 * releases {
			begun := time.Now()
			if err := t.publish(ctx); err != nil {
				return err
			}
			t.alone = append(t.alone, time.Since(begun))
		}
		begun := time.Now()
		conns, err := t.watch(ctx, count, own)
		defer closeAll(conns)
		if err != nil {
			return err
		}
		fmt.Fprintf(r.out, "%s: %d watchers after %s\n", t.name, count, time.Since(begun).Round(time.Millisecond))
	}
	quiet, err := h.took(ctx, createRelease)
	if err != nil {
		return err
	}
	for range releases { // in turns, so that whatever else goes on here meets both
		for _, t := range sides {
			time.Sleep(pause)
			if err := t.tell(ctx); err != nil {
				return err
			}
		}
	}
	words := fmt.Sprintf("%d connections", shared(count))
	if own {
		words = "a connection each"
	}
	fmt.Fprintf(r.out, "\n%d watchers over %s, told of %d releases\n\n%-10s %14s %16s %12s %12s %14s %14s\n", count, words, releases, "", "µs/delivery", "memory/watcher", "last p50", "last p99", "publish, none", "publish, all")
	per := map[string]float64{}
	for _, t := range sides {
		per[t.name] = float64(t.cpu.Microseconds()) / float64(count*releases)
		fmt.Fprintf(r.out, "%-10s %14.2f %13.1f KiB %12s %12s %14s %14s\n", t.name, per[t.name], float64(t.memory)/1024, t.last.at(.5).Round(10*time.Microsecond), t.last.at(.99).Round(10*time.Microsecond), t.alone.at(.5).Round(10*time.Microsecond), t.calls.at(.5).Round(10*time.Microsecond))
	}
	all, err := h.took(ctx, createRelease)
	if err != nil {
		return err
	}
	ours := sides[0]
	alone, watched := quiet.mean(), (timing{all.seconds - quiet.seconds, all.calls - quiet.calls}).mean()
	fmt.Fprintf(r.out, "\npublish with all watching, of that with none, p50 as its caller sees it: %.2f (at most 1.2)\n", float64(ours.calls.at(.5))/float64(ours.alone.at(.5)))
	fmt.Fprintf(r.out, "mean in the server alone: %.2f ms with none, %.2f ms with all\n", 1000*alone, 1000*watched)
	if len(sides) > 1 {
		fmt.Fprintf(r.out, "CPU of a delivery, of etcd's: %.2f (at most 0.5)\ntime to the last, of etcd's: %.2f (at most 0.6)\n", per["evenpeel"]/per["etcd"], float64(ours.last.at(.5))/float64(sides[1].last.at(.5)))
	}
	return nil
}

// hasEvents tells an etcd WatchResponse with events (field 11) from the one that says a watch was made.
func hasEvents(m []byte) bool {
	return slices.Contains(fields(m), 11)
}

func fields(m []byte) (list []protowire.Number) {
	for len(m) > 0 {
		n, kind, size := protowire.ConsumeTag(m)
		if size < 0 {
			return list
		}
		list = append(list, n)
		m = m[size:]
		if size = protowire.ConsumeFieldValue(n, kind, m); size < 0 {
			return list
		}
		m = m[size:]
	}
	return list
}
