package nest

import (
	"context"
	"math/rand/v2"
	"testing"
)

// A search that breaks off breaks its caller, who can recover, and not the process.
func TestRun_panicsWhereItsCallerCanRecover(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	p := Problem{Width: 100_000, Distance: 1_000, Designs: []*Design{NewDesign(Drawing{Rings: blob(rng, 20_000, 9), Angles: []int32{0}}, false)}, Pieces: []int{0, 0, 0}, Fixed: make([]bool, 3)}
	defer func() {
		if recover() == nil {
			t.Error("nothing broke: two of three pieces have no place")
		}
	}()
	Run(context.Background(), p, 1, make([]Spot, 1), 60_000, 2*soloBelow, func([]Spot, float64) bool { return true })
}
