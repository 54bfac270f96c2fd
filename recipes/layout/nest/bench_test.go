package nest

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"
)

type set struct {
	Width float64 `json:"strip_height"`
	Items []struct {
		Demand int
		Angles []float64 `json:"allowed_orientations"`
		Shape  struct {
			Type string
			Data json.RawMessage
		}
	}
}

func readSet(t testing.TB, name string) (Problem, float64) {
	root := os.Getenv("EVENPEEL_DATA")
	if root == "" {
		root = "/work/shared/reference/data"
	}
	file := name
	if name == "shapes0" {
		file = "shapes1"
	}
	raw, err := os.ReadFile(filepath.Join(root, "packing", "irregular", file+".json"))
	if err != nil {
		t.Skip(err)
	}
	var in set
	if err := json.Unmarshal(raw, &in); err != nil {
		t.Fatal(err)
	}
	scale := math.Pow(10, math.Floor(math.Log10(2e6/in.Width)))
	p := Problem{Width: math.Round(in.Width * scale)}
	area := 0.0
	for k, it := range in.Items {
		var rings [][][2]float64
		if it.Shape.Type == "simple_polygon" {
			var r [][2]float64
			json.Unmarshal(it.Shape.Data, &r)
			rings = append(rings, r)
		} else {
			var pg struct {
				Outer [][2]float64
				Inner [][][2]float64
			}
			json.Unmarshal(it.Shape.Data, &pg)
			rings = append(append(rings, pg.Outer), pg.Inner...)
		}
		d := Design{}
		for _, a := range it.Angles {
			d.Angles = append(d.Angles, int32(a*1000))
		}
		if name == "shapes0" {
			d.Angles = []int32{0}
		}
		for _, r := range rings {
			var ring []Point
			for _, q := range r {
				ring = append(ring, Point{math.Round(q[1] * scale), math.Round(q[0] * scale)}) // a set runs along X, a roll along Y
			}
			d.Rings = append(d.Rings, ring)
		}
		for i, r := range oriented(d.Rings) {
			_ = i
			area += signedArea(r) * float64(it.Demand)
		}
		p.Designs = append(p.Designs, d)
		for range it.Demand {
			p.Pieces = append(p.Pieces, k)
		}
	}
	return p, area
}

// piled stacks all pieces one over the other.
func piled(p Problem) ([]Spot, float64) {
	s := newStrip(p)
	y := 0.0
	var out []Spot
	for _, d := range s.pieces {
		sh := d.shapes[0]
		out = append(out, Spot{0, y, sh.angle})
		y += sh.h + s.distance
	}
	return out, y
}

func cpu() float64 {
	var r syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	return float64(r.Utime.Sec+r.Stime.Sec) + float64(r.Utime.Usec+r.Stime.Usec)/1e6
}

// spend runs for CPU seconds per search: the evaluations are worked out from a short run.
func spend(p Problem, seed uint64, seconds float64, spots []Spot, length float64) (best, rate, used float64) {
	probe := func(evals int, limit float64) (float64, int, float64) {
		ctx, cancel := context.WithCancel(context.Background())
		from := cpu()
		var done atomic.Bool
		go func() {
			for !done.Load() && cpu()-from < limit {
				time.Sleep(100 * time.Millisecond)
			}
			cancel()
		}()
		b := length
		n := Run(ctx, p, seed, spots, length, evals, func(_ []Spot, l float64) bool { b = l; return true })
		done.Store(true)
		return b, n, cpu() - from
	}
	cal := min(2, seconds/5)
	_, n, c := probe(1<<40, 2*cal)
	rate = float64(n) / c
	best, n, c = probe(int(rate*2*seconds), 2*seconds*1.02)
	return best, float64(n) / c, c / 2
}

func TestTrial(t *testing.T) {
	names := os.Getenv("SETS")
	if names == "" {
		t.Skip("SETS")
	}
	seconds, _ := strconv.ParseFloat(os.Getenv("SECS"), 64)
	avg := map[string]float64{"albano": 89.47, "dagli": 89.26, "fu": 92.23, "jakobs1": 89.08, "jakobs2": 84.76, "mao": 86.14, "marques": 90.93, "shapes0": 68.59, "shapes1": 75.68, "shapes2": 84.67, "shirts": 89.66, "swim": 78.26, "trousers": 91.73}
	if names == "all" {
		names = "albano,dagli,fu,jakobs1,jakobs2,mao,shapes0,shapes1,shapes2,shirts,swim,trousers,dighe1,dighe2"
	}
	sum, count := 0.0, 0
	for _, name := range strings.Split(names, ",") {
		p, area := readSet(t, name)
		spots, length := piled(p)
		seed := uint64(1)
		if v := os.Getenv("SEED"); v != "" {
			x, _ := strconv.Atoi(v)
			seed = uint64(x)
		}
		best, rate, used := spend(p, seed, seconds, spots, length)
		d := 100 * area / best / p.Width
		fmt.Printf("%-9s n=%d %.2f %%  %.2f %% of avg  %.2f M/s cpu %.1f\n", name, len(p.Pieces), d, 100*d/max(avg[name], 1), rate/1e6, used)
		if avg[name] > 0 {
			sum += 100 * d / avg[name]
			count++
		}
	}
	if count > 0 {
		fmt.Printf("mean %.2f\n", sum/float64(count))
	}
}
