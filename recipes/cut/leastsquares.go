package cut

import (
	"fmt"
	"math"
)

func path(i int, field string) string { return fmt.Sprintf("observations[%d].%s", i, field) }

// leastSquares gives x that makes the sum of squares of rows·x − wanted least, by Householder's QR. ok is false where
// the columns do not determine x.
func leastSquares(rows [][]float64, wanted []float64) (x []float64, ok bool) {
	if len(rows) == 0 || len(rows) < len(rows[0]) {
		return nil, false
	}
	n, m := len(rows[0]), len(rows)
	a := make([][]float64, m) // the last column is wanted
	for i, r := range rows {
		a[i] = append(append(make([]float64, 0, n+1), r...), wanted[i])
	}
	for k := range n {
		norm := 0.0
		for i := k; i < m; i++ {
			norm = math.Hypot(norm, a[i][k])
		}
		if norm == 0 {
			return nil, false
		}
		if a[k][k] > 0 {
			norm = -norm
		}
		v := make([]float64, m)
		for i := k; i < m; i++ {
			v[i] = a[i][k]
		}
		v[k] -= norm
		scale := 0.0
		for i := k; i < m; i++ {
			scale += v[i] * v[i]
		}
		for j := k; j <= n; j++ {
			dot := 0.0
			for i := k; i < m; i++ {
				dot += v[i] * a[i][j]
			}
			for i := k; i < m; i++ {
				a[i][j] -= 2 * dot / scale * v[i]
			}
		}
	}
	x = make([]float64, n)
	for k := n - 1; k >= 0; k-- {
		if math.Abs(a[k][k]) <= 1e-13*math.Abs(a[0][0]) {
			return nil, false
		}
		sum := a[k][n]
		for j := k + 1; j < n; j++ {
			sum -= a[k][j] * x[j]
		}
		x[k] = sum / a[k][k]
	}
	return x, true
}

// nonNegative is leastSquares with no part of x below 0. With as few columns as here every choice of parts held at 0 is
// tried; the best that fits is the answer (Lawson and Hanson 1974, chapter 23, states the problem).
func nonNegative(rows [][]float64, wanted []float64) []float64 {
	n := len(rows[0])
	best, least := make([]float64, n), squares(rows, wanted, make([]float64, n))
	for choice := 1; choice < 1<<n; choice++ {
		var free []int
		for k := range n {
			if choice>>k&1 == 1 {
				free = append(free, k)
			}
		}
		some := make([][]float64, len(rows))
		for i, r := range rows {
			for _, k := range free {
				some[i] = append(some[i], r[k])
			}
		}
		x, ok := leastSquares(some, wanted)
		if !ok {
			continue
		}
		full := make([]float64, n)
		for i, k := range free {
			ok = ok && x[i] >= 0
			full[k] = x[i]
		}
		if sum := squares(rows, wanted, full); ok && sum < least {
			best, least = full, sum
		}
	}
	return best
}

func squares(rows [][]float64, wanted, x []float64) float64 {
	sum := 0.0
	for i, r := range rows {
		miss := -wanted[i]
		for k, v := range r {
			miss += v * x[k]
		}
		sum += miss * miss
	}
	return sum
}
