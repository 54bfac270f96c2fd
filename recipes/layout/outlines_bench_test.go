package layout

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"evenpeel/recipes/units"
)

// outlineSet is a published irregular strip-packing problem, with the mean density in per cent that Gardeyn, Vanden
// Berghe & Wauters 2025 (arXiv 2509.13329) report after 20 minutes on 3 threads; 0 where they give none. Data
// from their repository and ESICUP, see the README beside it.
type outlineSet struct {
	name    string
	file    string // if not the name
	average float64
	turns   Turns
}

var outlineSets = []outlineSet{
	{"albano", "", 89.47, Half}, {"dagli", "", 89.26, Half}, {"fu", "", 92.23, Quarter}, {"jakobs1", "", 89.08, Quarter},
	{"jakobs2", "", 84.76, Quarter}, {"mao", "", 86.14, Quarter}, {"marques", "", 90.93, Quarter}, {"shapes0", "shapes1", 68.59, None},
	{"shapes1", "", 75.68, Half}, {"shapes2", "", 84.67, Half}, {"shirts", "", 89.66, Half}, {"swim", "", 78.26, Half},
	{"trousers", "", 91.73, Half}, {"dighe1", "", 0, None}, {"dighe2", "", 0, None}, {"holes_synth", "", 0, Quarter},
	{"gardeyn0", "", 0, Quarter}, {"gardeyn1", "", 0, Quarter}, {"gardeyn2", "", 0, Quarter}, {"gardeyn3", "", 0, Quarter},
	{"gardeyn4", "", 0, Quarter}, {"gardeyn5", "", 0, Quarter},
}

// order reads the set in place; the test is skipped where the data is absent. A set runs along X, a roll along Y, so
// the axes change places.
func (o outlineSet) order(t testing.TB) (Roll, []Piece) {
	root := os.Getenv("EVENPEEL_DATA")
	if root == "" {
		root = "../../../shared/reference/data"
	}
	file := o.file
	if file == "" {
		file = o.name
	}
	raw, err := os.ReadFile(filepath.Join(root, "packing", "irregular", file+".json"))
	if err != nil {
		t.Skipf("published set not here, set EVENPEEL_DATA to read it: %v", err)
	}
	type ring [][2]float64
	var in struct {
		Width float64 `json:"strip_height"`
		Items []struct {
			Demand int
			Shape  struct {
				Type string
				Data json.RawMessage
			}
		}
	}
	if err := json.Unmarshal(raw, &in); err != nil {
		t.Fatal(err)
	}
	scale := math.Pow(10, math.Floor(math.Log10(2e6/in.Width))) // exact for decimal data, and a roll of 0.2 … 2 m
	um := func(v float64) units.Micrometres { return units.Micrometres(math.Round(v * scale)) }
	var ps []Piece
	for k, item := range in.Items {
		var rings []ring
		if item.Shape.Type == "polygon" {
			var holed struct {
				Outer ring
				Inner []ring
			}
			err = json.Unmarshal(item.Shape.Data, &holed)
			rings = append(append(rings, holed.Outer), holed.Inner...)
		} else {
			var one ring
			err = json.Unmarshal(item.Shape.Data, &one)
			rings = append(rings, one)
		}
		if err != nil {
			t.Fatal(err)
		}
		p := Piece{Key: fmt.Sprint(k), Copies: item.Demand, Turns: o.turns}
		for _, r := range rings {
			if r[0] == r[len(r)-1] {
				r = r[1:]
			}
			var out Ring
			for _, q := range r {
				out = append(out, Point{um(q[1]), um(q[0])})
			}
			p.Outline = append(p.Outline, out)
		}
		low, high := extentOf(p.Outline)
		for _, r := range p.Outline {
			for i := range r {
				r[i] = Point{r[i].X - low.X, r[i].Y - low.Y}
			}
		}
		p.Width, p.Height = high.X-low.X, high.Y-low.Y
		ps = append(ps, p)
	}
	return Roll{Width: um(in.Width)}, ps
}

// density is 100 × area of all outlines ÷ (roll width × length).
func density(r Roll, ps []Piece, l Layout) float64 {
	area := 0.0
	for _, p := range ps {
		a, _ := outlineArea(p)
		area += a * float64(p.Copies)
	}
	return 100 * area / float64(r.Width) / float64(l.Length)
}

// processor is the time this process has spent on processors, in seconds: the machine may be shared.
func processor() float64 {
	var use syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &use) != nil {
		return 0
	}
	return float64(use.Utime.Nano()+use.Stime.Nano()) / 1e9
}

// spent runs Improve for about so many processor seconds on each of two cores: how many evaluations that makes is
// found by a short run first.
func spent(b *testing.B, r Roll, ps []Piece, from Layout, seed uint64, seconds float64) (Layout, float64) {
	run := func(evaluations int, limit float64) (Layout, float64) {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		begin := processor()
		go func() {
			for ctx.Err() == nil {
				if processor()-begin > limit {
					cancel()
				}
				time.Sleep(50 * time.Millisecond)
			}
		}()
		l, err := Improve(ctx, r, ps, from, Effort{Seed: seed, Evaluations: evaluations}, nil)
		if err != nil {
			b.Fatal(err)
		}
		return l, processor() - begin
	}
	short := min(2, seconds/5)
	l, took := run(MaxMoves, 2*short)
	rate := float64(l.Evaluations) / took
	l, took = run(min(MaxMoves, int(rate*2*seconds)), 2*seconds*1.02)
	return l, float64(l.Evaluations) / took
}

// BenchmarkOutlines measures the outline search on published sets: EVENPEEL_LAYOUT_SECONDS processor seconds (2
// unless set) on each of two cores.
func BenchmarkOutlines(b *testing.B) {
	seconds := 2.0
	if v, err := strconv.ParseFloat(os.Getenv("EVENPEEL_LAYOUT_SECONDS"), 64); err == nil {
		seconds = v
	}
	for _, set := range outlineSets {
		b.Run(set.name, func(b *testing.B) {
			r, ps := set.order(b)
			from, err := Pack(context.Background(), r, ps, Effort{Seed: 1, Moves: 2_000})
			if err != nil {
				b.Fatal(err)
			}
			var l Layout
			var rate float64
			for i := range b.N {
				l, rate = spent(b, r, ps, from, uint64(i+1), seconds)
			}
			b.ReportMetric(density(r, ps, from), "%boxes")
			b.ReportMetric(density(r, ps, l), "%density")
			if set.average > 0 {
				b.ReportMetric(100*density(r, ps, l)/set.average, "%of-20min")
			}
			b.ReportMetric(rate/1e6, "Mevaluations/s")
		})
	}
}

// BenchmarkOutlines_mixedOrder is an invented order: 12 designs of detailed outline in 3 sizes, 200 copies, on a 50 cm
// roll. It reports what the boxes take, what true outlines save after EVENPEEL_LAYOUT_SECONDS (5 unless set), and how
// long the first answer takes.
func BenchmarkOutlines_mixedOrder(b *testing.B) {
	seconds := 5.0
	if v, err := strconv.ParseFloat(os.Getenv("EVENPEEL_LAYOUT_SECONDS"), 64); err == nil {
		seconds = v
	}
	r, ps := designs(200)
	for range b.N {
		begin := processor()
		from, err := Pack(context.Background(), r, ps, Effort{Seed: 1, Moves: 500})
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric((processor()-begin)*1000, "ms-boxes")
		l, rate := spent(b, r, ps, from, 1, seconds)
		b.ReportMetric(float64(from.Length)/1000, "mm-boxes")
		b.ReportMetric(float64(l.Length)/1000, "mm-outlines")
		b.ReportMetric(100*float64(from.Length-l.Length)/float64(from.Length), "%saved")
		b.ReportMetric(rate/1e6, "Mevaluations/s")
	}
}

// designs is that order: stars, rings and rounded shapes with some hundred points each.
func designs(copies int) (Roll, []Piece) {
	r := Roll{Width: 500_000, EdgeMargin: 12_000, Lead: 30_000, Tail: 20_000, Gap: 2_000, WeedBorder: 2_000}
	var ps []Piece
	for d := range 12 {
		for size := range 3 {
			radius := (20 + 7*float64(d%6)) * (0.8 + 0.2*float64(size)) * 1000
			lobes, depth := float64(2+d%5), 0.15+0.05*float64(d%4)
			var ring Ring
			for i := range 240 {
				a := 2 * math.Pi * float64(i) / 240
				rho := radius * (1 - depth + depth*math.Cos(lobes*a))
				ring = append(ring, Point{units.Micrometres(radius + rho*math.Cos(a)), units.Micrometres(radius + rho*math.Sin(a)*(0.5+0.1*float64(d%5)))})
			}
			rings := []Ring{ring}
			low, high := extentOf(rings)
			for i := range ring {
				ring[i] = Point{ring[i].X - low.X, ring[i].Y - low.Y}
			}
			n := copies/36 + 1
			if 3*d+size >= copies%36 {
				n--
			}
			ps = append(ps, Piece{Key: fmt.Sprintf("%d/%d", d, size), Width: high.X - low.X, Height: high.Y - low.Y, Copies: n, Turns: Quarter, Outline: rings, Group: fmt.Sprint(size)})
		}
	}
	return r, ps
}
