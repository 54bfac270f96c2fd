package load

import (
	"bufio"
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
)

const createRelease = "/evenpeel.recipes.v1.DeskService/CreateRelease"

// timing is how long calls took in the server itself. What a client here sees besides is its own queue: it shares two
// processors with thousands of watchers.
type timing struct {
	seconds float64
	calls   float64
}

func (t timing) mean() float64 { return t.seconds / max(t.calls, 1) }

// took reads it from the server's metrics.
func (h *house) took(ctx context.Context, method string) (t timing, err error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+h.web+"/metrics", nil)
	if err != nil {
		return t, err
	}
	answer, err := http.DefaultClient.Do(req)
	if err != nil {
		return t, err
	}
	defer answer.Body.Close()
	lines := bufio.NewScanner(answer.Body)
	for lines.Scan() {
		for name, into := range map[string]*float64{"sum": &t.seconds, "count": &t.calls} {
			rest, ok := strings.CutPrefix(lines.Text(), fmt.Sprintf("rpc_call_duration_seconds_%s{method=%q} ", name, method))
			if !ok {
				continue
			}
			if *into, err = strconv.ParseFloat(rest, 64); err != nil {
				return t, err
			}
		}
	}
	return t, lines.Err()
}
