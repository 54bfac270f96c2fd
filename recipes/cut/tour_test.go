package cut

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// berlin52 of TSPLIB 95 (Reinelt 1991, EUC_2D): its places and its optimal tour, 7542 in whole units an edge and
// 7544.3659 in real ones.
var (
	berlin52 = []Point{{565, 575}, {25, 185}, {345, 750}, {945, 685}, {845, 655}, {880, 660}, {25, 230}, {525, 1000}, {580, 1175}, {650, 1130}, {1605, 620}, {1220, 580}, {1465, 200},
		{1530, 5}, {845, 680}, {725, 370}, {145, 665}, {415, 635}, {510, 875}, {560, 365}, {300, 465}, {520, 585}, {480, 415}, {835, 625}, {975, 580}, {1215, 245}, {1320, 315}, {1250, 400},
		{660, 180}, {410, 250}, {420, 555}, {575, 665}, {1150, 1160}, {700, 580}, {685, 595}, {685, 610}, {770, 610}, {795, 645}, {720, 635}, {760, 650}, {475, 960}, {95, 260}, {875, 920},
		{700, 500}, {555, 815}, {830, 485}, {1170, 65}, {830, 610}, {605, 625}, {595, 360}, {1340, 725}, {1740, 245}}
	berlinOptimum = []int{1, 49, 32, 45, 19, 41, 8, 9, 10, 43, 33, 51, 11, 52, 14, 13, 47, 26, 27, 28, 12, 25, 4, 6, 15, 5, 24, 48, 38, 37, 40, 39, 36, 35, 34, 44, 46, 16, 29, 50, 20, 23, 30, 2, 7, 42, 21, 17, 3, 18, 31, 22}
)

func TestTour_berlin52(t *testing.T) {
	whole, real := 0.0, 0.0
	longest := 0.0
	for i, a := range berlinOptimum {
		d := berlin52[a-1].to(berlin52[berlinOptimum[(i+1)%52]-1])
		whole, real = whole+math.Floor(d+0.5), real+d
		if a == 1 || berlinOptimum[(i+1)%52] == 1 {
			longest = max(longest, d)
		}
	}
	// source: TSPLIB 95, berlin52.opt.tour: 7542
	if whole != 7542 || !near(real, 7544.3659, 1e-4) {
		t.Fatalf("the published tour is %g, %g long: the table is mistyped", whole, real)
	}
	closed := newTour(berlin52, false)
	closed.search()
	if got := closed.length(); got > 1.01*real || got < real-1e-6 {
		t.Errorf("the closed tour is %g, the optimum %g", got, real)
	}
	// An open way from the first place need not be longer than the optimal tour less its longer edge there.
	way, at := 0.0, berlin52[0]
	for _, i := range shortWay(berlin52[1:], berlin52[0]) {
		way += at.to(berlin52[i+1])
		at = berlin52[i+1]
	}
	if way > 1.01*(real-longest) {
		t.Errorf("the open way is %g, the optimal tour less an edge %g", way, real-longest)
	}
}

// What the search believes it gained is what it gained, and no place is lost.
func TestShortWay_keepsEveryPlaceAndItsCount(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	for _, n := range []int{0, 1, 2, 3, 4, 5, 7, 8, 12, 50, 333, neighbourLimit + 300} {
		points := make([]Point, n)
		for i := range points {
			points[i] = Point{math.Round(r.Float64() * 40), math.Round(r.Float64() * 30)} // many at one place
		}
		from := Point{3, 4}
		sequence := shortWay(points, from)
		seen := slices.Clone(sequence)
		slices.Sort(seen)
		for i, k := range seen {
			if i != k || len(seen) != n {
				t.Fatalf("n %d: places are lost: %v", n, sequence)
			}
		}
		way := func(list []int) float64 {
			sum, at := 0.0, from
			for _, i := range list {
				sum += at.to(points[i])
				at = points[i]
			}
			return sum
		}
		if got, before := way(sequence), way(nearestFirst(points, from)); got > before+1e-6 {
			t.Errorf("n %d: the way is %g, %g before the search", n, got, before)
		}
		if again := shortWay(points, from); !slices.Equal(again, sequence) {
			t.Errorf("n %d: the same places gave two ways", n)
		}
		if n < 5 {
			continue
		}
		u := newTour(append([]Point{from}, points...), true)
		for i, a := range u.order {
			u.at[a] = int32(i)
		}
		before := u.length()
		u.wake(u.order...)
		gain := u.settle()
		if after := u.length(); !near(before-after, gain, 1e-3) {
			t.Fatalf("n %d: %g shorter, %g counted", n, before-after, gain)
		}
	}
}

// The reference is the expected length of the shortest tour through many places scattered evenly: 0.7124·√(n·A)
// (Johnson, McGeoch and Rothberg 1996; Beardwood, Halton and Hammersley 1959), an open way being a little shorter.
func TestShortWay_nearTheExpectedOptimum(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	const n, side = 1000, 1000.0
	points := make([]Point, n)
	for i := range points {
		points[i] = Point{r.Float64() * side, r.Float64() * side}
	}
	way, at := 0.0, Point{}
	for _, i := range shortWay(points, at) {
		way += at.to(points[i])
		at = points[i]
	}
	expected := 0.7124 * math.Sqrt(n*side*side)
	if way > 1.10*expected {
		t.Errorf("the way is %g, the expected optimum %g: %.1f %% over", way, expected, 100*(way/expected-1))
	}
}
