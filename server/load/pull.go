package load

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"
)

const (
	pullSheet     = "/evenpeel.recipes.v1.CatalogService/PullSheet"
	watchReleases = "/evenpeel.recipes.v1.CatalogService/WatchReleases"
)

// connections is over how many connections unary calls go.
const connections = 4

// call does one call for the worker and gives how many bytes it was answered with.
type call func(ctx context.Context, worker int) (int, error)

// row is one case of a load, with what it cost so far.
type row struct {
	name  string
	of    *process
	do    call
	calls int64
	bytes int64
	cpu   time.Duration
	wall  time.Duration
	took  measured
}

func (r *row) perCall() float64 { return float64(r.cpu.Microseconds()) / float64(max(r.calls, 1)) }

func (r *row) perSecond() float64 { return float64(r.calls) / r.wall.Seconds() }

// spend lets workers call for a while.
func (r *row) spend(ctx context.Context, workers int, long time.Duration) error {
	before, err := r.of.cpu()
	if err != nil {
		return err
	}
	begun := time.Now()
	var all sync.WaitGroup
	var calls, size atomic.Int64
	took := make([]measured, workers)
	failed := make([]error, workers)
	for w := range workers {
		all.Go(func() {
			for time.Since(begun) < long {
				at := time.Now()
				n, err := r.do(ctx, w)
				if err != nil {
					failed[w] = err
					return
				}
				calls.Add(1)
				size.Add(int64(n))
				took[w] = append(took[w], time.Since(at))
			}
		})
	}
	all.Wait()
	after, err := r.of.cpu()
	if err := errors.Join(append(failed, err)...); err != nil {
		return fmt.Errorf("%s: %w", r.name, err)
	}
	r.wall += time.Since(begun)
	r.cpu += after - before
	r.calls += calls.Load()
	r.bytes += size.Load()
	for _, m := range took {
		r.took = append(r.took, m...)
	}
	return nil
}

// native calls a method with the same bytes again and again.
func native(conns []*grpc.ClientConn, method string, request []byte, token string) call {
	return func(ctx context.Context, worker int) (int, error) {
		if token != "" {
			ctx = as(ctx, token)
		}
		var answer []byte
		err := conns[worker%len(conns)].Invoke(ctx, method, &request, &answer)
		return len(answer), err
	}
}

// browser does the same by grpc-web.
func browser(client *http.Client, address, method string, request []byte, token string) call {
	frame := append(binary.BigEndian.AppendUint32([]byte{0}, uint32(len(request))), request...)
	return func(ctx context.Context, _ int) (int, error) {
		req, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+address+method, bytes.NewReader(frame))
		if err != nil {
			return 0, err
		}
		req.Header.Set("Content-Type", "application/grpc-web+proto")
		req.Header.Set("X-Grpc-Web", "1")
		if token != "" {
			req.Header.Set("Authorization", "Bearer "+token)
		}
		answer, err := client.Do(req)
		if err != nil {
			return 0, err
		}
		defer answer.Body.Close()
		n, err := io.Copy(io.Discard, answer.Body)
		if said := answer.Header.Get("Grpc-Message"); err == nil && (answer.StatusCode != http.StatusOK || said != "") {
			err = fmt.Errorf("%s: %s", answer.Status, said)
		}
		return int(n), err
	}
}

func dialAll(address string, n int) (conns []*grpc.ClientConn, err error) {
	for range n {
		conn, err := dial(address)
		if err != nil {
			return conns, err
		}
		conns = append(conns, conn)
	}
	return conns, nil
}

func closeAll(conns []*grpc.ClientConn) {
	for _, c := range conns {
		_ = c.Close() // nothing is under way any more
	}
}

// pulls measures pulls of 8 KiB, of 200 KiB, of a change in the latter, and of nothing new.
func (r *run) pulls(ctx context.Context, long time.Duration, rounds, workers int) error {
	markets := []string{"EU", "US"}
	h, err := r.house(ctx, 2, func(i int) string { return markets[i] })
	if err != nil {
		return err
	}
	ours, err := dialAll(h.native, connections)
	defer closeAll(ours)
	if err != nil {
		return err
	}
	for _, p := range []struct {
		record, market        string
		films, breaks, change int
	}{{"prices/small", "EU", 60, 15, 0}, {"prices/large", "US", 500, 46, 0}, {"prices/large", "US", 500, 46, 5}} {
		if _, err := h.priced(ctx, ours[0], p.record, p.market, p.films, p.breaks, int64(p.change)); err != nil {
			return err
		}
	}
	request := func(branch int, held uint64, patches uint64) []byte {
		return number(number(field(nil, 1, []byte(branchName(branch))), 2, held), 3, patches)
	}
	sized := func(req []byte, branch int) (n int, newest uint64, err error) {
		var answer []byte
		err = ours[0].Invoke(as(ctx, h.tokens[branch]), pullSheet, &req, &answer)
		return len(answer), firstNumber(answer, 1), err
	}
	small, newest, err := sized(request(0, 0, 0), 0)
	if err != nil {
		return err
	}
	none, _, err := sized(request(0, newest, 0), 0)
	if err != nil {
		return err
	}
	large, newestLarge, err := sized(request(1, 0, 0), 1)
	if err != nil {
		return err
	}
	delta, _, err := sized(request(1, newestLarge-1, 1), 1)
	if err != nil {
		return err
	}

	bareAddress, err := freeAddress()
	if err != nil {
		return err
	}
	bareWeb, err := freeAddress()
	if err != nil {
		return err
	}
	bare, err := r.start(ctx, "bare", r.self, "load", "bare", "--address", bareAddress, "--web", bareWeb)
	if err != nil {
		return err
	}
	if err := r.listening(ctx, bare, bareWeb); err != nil {
		return err
	}
	plain, err := dialAll(bareAddress, connections)
	defer closeAll(plain)
	if err != nil {
		return err
	}
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: workers, DisableCompression: true}}
	defer client.CloseIdleConnections()
	asked := func(n int) []byte { return number(nil, 1, uint64(n)) }
	rows := map[string]*row{}
	var order []*row
	add := func(name string, of *process, do call) {
		rows[name] = &row{name: name, of: of, do: do}
		order = append(order, rows[name])
	}
	add("bare, 16 bytes", bare, native(plain, bareGet, asked(16), ""))
	add("nothing new", h.process, native(ours, pullSheet, request(0, newest, 0), h.tokens[0]))
	add("bare, small", bare, native(plain, bareGet, asked(small), ""))
	add("small sheet", h.process, native(ours, pullSheet, request(0, 0, 0), h.tokens[0]))
	add("bare, large", bare, native(plain, bareGet, asked(large), ""))
	add("large sheet", h.process, native(ours, pullSheet, request(1, 0, 0), h.tokens[1]))
	add("change in it", h.process, native(ours, pullSheet, request(1, newestLarge-1, 1), h.tokens[1]))
	add("bare, small, grpc-web", bare, browser(client, bareWeb, bareGet, asked(small), ""))
	add("small sheet, grpc-web", h.process, browser(client, h.web, pullSheet, request(0, 0, 0), h.tokens[0]))
	etcd, etcdAddress, err := r.etcd(ctx)
	if err != nil {
		return err
	}
	if etcd != nil {
		there, err := dialAll(etcdAddress, connections)
		defer closeAll(there)
		if err != nil {
			return err
		}
		put, answer := etcdPutRequest("sheet", make([]byte, small)), []byte(nil)
		if err := there[0].Invoke(ctx, etcdPut, &put, &answer, grpc.WaitForReady(true)); err != nil {
			return fmt.Errorf("etcd: %w", err)
		}
		add("etcd range, small", etcd, native(there, etcdRange, etcdRangeRequest("sheet"), ""))
	} else {
		fmt.Fprintln(r.out, "etcd is not installed here, so it is left out.")
	}
	for round := range rounds + 1 {
		for _, row := range order {
			share := long
			if round == 0 {
				share = long / 4
			}
			if err := row.spend(ctx, workers, share); err != nil {
				return err
			}
			if round == 0 { // warm now; what that cost does not count
				*row = *rows[row.name].fresh()
			}
		}
	}

	fmt.Fprintf(r.out, "%d calls at once over %d connections, %d rounds of %s each; the processor time is the server's alone\n\n", workers, connections, rounds, long)
	fmt.Fprintf(r.out, "%-24s %9s %10s %12s %9s %9s\n", "", "bytes", "calls/s", "µs CPU/call", "p50", "p99")
	for _, row := range order {
		fmt.Fprintf(r.out, "%-24s %9d %10.0f %12.1f %9s %9s\n", row.name, row.bytes/max(row.calls, 1), row.perSecond(), row.perCall(), row.took.at(.5).Round(10*time.Microsecond), row.took.at(.99).Round(10*time.Microsecond))
	}
	fmt.Fprintln(r.out)
	ratio := func(words string, is, bound float64, atMost bool) {
		good := is <= bound
		sign := "at most"
		if !atMost {
			good, sign = is >= bound, "at least"
		}
		fmt.Fprintf(r.out, "%-66s %6.3f  (%s %g) %s\n", words, is, sign, bound, map[bool]string{true: "yes", false: "NO"}[good])
	}
	fmt.Fprintf(r.out, "A sheet of %d bytes, one of %d, %d bytes where nothing is new.\n", small, large, none)
	ratio("small sheet, CPU of the bare read", rows["small sheet"].perCall()/rows["bare, small"].perCall(), 1.3, true)
	if e := rows["etcd range, small"]; e != nil {
		ratio("etcd's CPU for the same bytes, times ours", e.perCall()/rows["small sheet"].perCall(), 1.6, false)
	}
	ratio("nothing new, CPU of a bare read of 16 bytes", rows["nothing new"].perCall()/rows["bare, 16 bytes"].perCall(), 1.4, true)
	ratio("large sheet, bytes a second of the bare read", (float64(rows["large sheet"].bytes)/rows["large sheet"].wall.Seconds())/(float64(rows["bare, large"].bytes)/rows["bare, large"].wall.Seconds()), 0.8, false)
	ratio("large sheet, CPU of the bare read", rows["large sheet"].perCall()/rows["bare, large"].perCall(), 1.25, true)
	ratio("one of 500 lines changed, bytes of the whole", float64(delta)/float64(large), 0.05, true)
	ratio("grpc-web, CPU of the bare service behind the same wrapper", rows["small sheet, grpc-web"].perCall()/rows["bare, small, grpc-web"].perCall(), 1.2, true)
	return nil
}

func (r *row) fresh() *row { return &row{name: r.name, of: r.of, do: r.do} }
