package compare

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenpeel/recipes/fault"

	"gonum.org/v1/gonum/stat/distuv"
)

func TestBeforeAfter_agreesWithNewcombe(t *testing.T) {
	for _, row := range []struct {
		before, after Tally
		low, high     float64
		verdict       Verdict
		source        string
	}{
		{Tally{80, 48}, Tally{70, 56}, .0524, .3339, More, newcombeB},
		{Tally{70, 56}, Tally{80, 48}, -.3339, -.0524, Fewer, newcombeB + ", the other way round"},
		{Tally{29, 0}, Tally{56, 5}, -.0381, .1926, NotTold, newcombeB},
	} {
		sourced(t, row.source)
		d, err := BeforeAfter(row.before, row.after, Tally{}, Tally{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "low", d.Net95.Low, row.low, 5e-5)
		near(t, "high", d.Net95.High, row.high, 5e-5)
		if d.Verdict != row.verdict || d.Controlled || d.Net95 != d.Change95 {
			t.Errorf("got %+v", d)
		}
	}
}

func TestBeforeAfter_takesAwayWhatHappenedEverywhere(t *testing.T) {
	alone, _ := BeforeAfter(Tally{10000, 500}, Tally{10000, 350}, Tally{}, Tally{})
	same, err := BeforeAfter(Tally{10000, 500}, Tally{10000, 350}, Tally{40000, 2000}, Tally{40000, 1400})
	if err != nil || alone.Verdict != Fewer || same.Verdict != NotTold || same.Net != 0 || !same.Controlled {
		t.Errorf("alone %+v\nwith the same fall elsewhere %+v %v", alone, same, err)
	}
	still, _ := BeforeAfter(Tally{10000, 500}, Tally{10000, 350}, Tally{40000, 2000}, Tally{40000, 2010})
	if still.Verdict != Fewer || still.Net >= still.Change {
		t.Errorf("with none elsewhere %+v", still)
	}
	empty, _ := BeforeAfter(Tally{}, Tally{10, 1}, Tally{}, Tally{})
	half, _ := BeforeAfter(Tally{10000, 500}, Tally{10000, 1}, Tally{100, 3}, Tally{})
	if empty.Verdict != NotTold || half.Verdict != NotTold {
		t.Errorf("an empty side must tell nothing: %+v %+v", empty, half)
	}
	_, err = BeforeAfter(Tally{1, 2}, Tally{-1, 0}, Tally{}, Tally{})
	if f, ok := fault.As(err); !ok || len(f.Fields) != 3 {
		t.Errorf("got %v", err)
	}
}

func TestBeforeAfter_netIntervalCoversWhatItPromises(t *testing.T) {
	dice := rand.New(rand.NewPCG(6, 6))
	drawn := func(n int64, p float64) Tally {
		return Tally{n, int64(distuv.Binomial{N: float64(n), P: p, Src: dice}.Rand())}
	}
	const tries = 2000
	covered := 0.0
	for range tries {
		d, err := BeforeAfter(drawn(900, .06), drawn(700, .03), drawn(2500, .05), drawn(2600, .04))
		if err != nil {
			t.Fatal(err)
		}
		if d.Net95.Holds(-.02) {
			covered++
		}
	}
	near(t, "coverage", covered/tries, .95, .02)
}

func TestTallyOf_keepsWhatIsAsked(t *testing.T) {
	cells := []Cell{{Revision: 3, Pieces: 10, Reprints: 1}, {Revision: 4, Pieces: 20, Reprints: 2}, {Revision: 4, Pieces: 5}}
	if got := TallyOf(cells, func(c Cell) bool { return c.Revision == 4 }); got != (Tally{25, 2}) {
		t.Errorf("got %+v", got)
	}
}

// Net intervals hold the true difference in differences 95 times in a hundred, over seeded branches.
func TestBeforeAfter_coverage(t *testing.T) {
	dice := rand.New(rand.NewPCG(17, 873))
	const samples = 4000
	held := 0
	of := func(n int64, rate float64) Tally {
		tally := Tally{Pieces: n}
		for range n {
			if dice.Float64() < rate {
				tally.Reprints++
			}
		}
		return tally
	}
	for range samples {
		d, err := BeforeAfter(of(300, 0.05), of(260, 0.03), of(900, 0.04), of(800, 0.05))
		if err != nil {
			t.Fatal(err)
		}
		if d.Net95.Holds(0.03 - 0.05 - (0.05 - 0.04)) {
			held++
		}
	}
	// Newcombe's intervals are a little wide for small rates: at least nominal, at most 97 %.
	if share := float64(held) / samples; share < 0.95-3*math.Sqrt(0.05*0.95/samples) || share > 0.97 {
		t.Errorf("coverage %.4f", share)
	}
}
