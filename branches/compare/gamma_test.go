package compare

import (
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// The quick way and the library agree, from one event to millions and far out in both tails.
func TestGammaQuantile_asTheLibrary(t *testing.T) {
	sourced(t, "gonum.org/v1/gonum/mathext GammaIncRegInv and GammaIncRegCompInv (after Cephes)")
	for _, shape := range []float64{0.3, 1, 1.5, 2, 7, 30.25, 400, 12_345.5, 3e6} {
		for _, tail := range []float64{0.5, 0.05, 0.025, 0.001, 1e-6, 1e-12} {
			alike(t, "below", gammaQuantile(shape, tail, false), mathext.GammaIncRegInv(shape, tail), 1e-11)
			alike(t, "above", gammaQuantile(shape, tail, true), mathext.GammaIncRegCompInv(shape, tail), 1e-11)
		}
	}
}

func BenchmarkGarwood(b *testing.B) {
	for b.Loop() {
		Garwood(437, Level95)
	}
}
