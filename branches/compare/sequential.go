package compare

import (
	"math"

	"evenpeel/recipes/fault"
)

// SequentialTest is Wald's test of a rate against another, piece by piece.
type SequentialTest struct {
	P0, P1       float64 // the rate of no change, and the one worth finding; both between 0 and 1
	Upper, Lower float64 // beyond Upper P1 is taken, below Lower P0; log likelihood ratios
}

// NewSequentialTest has Wald's bounds ln((1−β)/α) and ln(β/(1−α)) (Wald 1947, Sequential Analysis, section 3.3), which are
// a little wide: the true error rates are at most about alpha and beta. Fault kind: Invalid.
func NewSequentialTest(p0, p1, alpha, beta float64) (SequentialTest, error) {
	var fs fault.Fields
	between(&fs, "p0", p0, 1e-9, 1-1e-9)
	between(&fs, "p1", p1, 1e-9, 1-1e-9)
	between(&fs, "alpha", alpha, 1e-6, 0.5)
	between(&fs, "beta", beta, 1e-6, 0.5)
	if p0 == p1 {
		fs.Add("p1", "is the rate of no change; nothing can be found between equal rates")
	}
	if err := fs.Fault(room, OptionsInvalid, "The test can not be made like this. Mend these."); err != nil {
		return SequentialTest{}, err
	}
	return SequentialTest{p0, p1, math.Log((1 - beta) / alpha), math.Log(beta / (1 - alpha))}, nil
}

// Evidence is the log likelihood ratio of so many pieces.
func (s SequentialTest) Evidence(t Tally) float64 {
	return float64(t.Reprints)*math.Log(s.P1/s.P0) + float64(t.Pieces-t.Reprints)*math.Log((1-s.P1)/(1-s.P0))
}

// Lines are the numbers of reprints at which the test ends after so many pieces: below the first or above the second for
// P1 > P0, the other way round for P1 < P0. They are parallel lines with the slope between P0 and P1.
func (s SequentialTest) Lines(pieces int64) (lower, upper float64) {
	odds := math.Log(s.P1 * (1 - s.P0) / (s.P0 * (1 - s.P1)))
	along := float64(pieces) * math.Log((1-s.P0)/(1-s.P1))
	return (s.Lower + along) / odds, (s.Upper + along) / odds
}

// PiecesForDifference is how many pieces each of two groups needs, so that a two-sided test at the level finds p2 instead of
// p1 with the given power (Fleiss 1981, section 3.2, without continuity correction; the formula of R's power.prop.test). It is
// not a whole number: round it up. Equal rates, or ones outside 0 to 1, need infinitely many.
func PiecesForDifference(p1, p2, level, power float64) float64 {
	if p1 == p2 || !(math.Min(p1, p2) >= 0) || !(math.Max(p1, p2) <= 1) {
		return math.Inf(1)
	}
	mean := (p1 + p2) / 2
	root := Z(level)*math.Sqrt(2*mean*(1-mean)) + scoreOf(1-power)*math.Sqrt(p1*(1-p1)+p2*(1-p2))
	return root * root / ((p1 - p2) * (p1 - p2))
}
