package compare

import (
	"fmt"
	"math"

	"evenpeel/recipes/fault"
)

// MaxSeries is the most points of one control chart.
const MaxSeries = 100_000

// Sample is one period of one branch: Count events in Size pieces (p chart) or units of area (u chart).
type Sample struct {
	Label       string
	Count, Size int64
	LeftOut     bool // drawn, but not used to find the centre and the limits: its cause is known and mended
}

// Reading is one measured value of one period, a yield for instance.
type Reading struct {
	Label string
	Value float64
}

// Point is one point of a control chart with the limits that hold for it.
type Point struct {
	Label                    string
	Value, Centre, Low, High float64
	Out                      bool // beyond a limit
}

// Chart is a control chart of one branch over time; limits lie three standard deviations from the centre.
type Chart struct {
	Centre float64
	Sigma  float64 // of the values (XmR, EWMA), or what the limits of each sample are multiplied by (1, or Laney's σz)
	Points []Point
}

// movingRange is d2 of two values, as the tables print it (not 2/√π): the mean moving range over it is σ.
const movingRange = 1.128

// limitSigmas is Shewhart's three.
const limitSigmas = 3

// PChart charts the proportion of reprints: p̄ ± 3√(p̄(1−p̄)/n), kept within 0 to 1. A period without pieces has no point.
// Fault kinds: Invalid, TooLarge.
func PChart(samples []Sample) (Chart, error) {
	s, centre, err := sampled(samples, true)
	if err != nil {
		return Chart{}, err
	}
	return s.chart(centre, 1, func(n float64) float64 { return math.Sqrt(centre * (1 - centre) / n) }, 1), nil
}

// UChart charts events per unit: ū ± 3√(ū/n), not below 0. With every Size 1 it is a c chart. A period of size 0 has no
// point. Fault kinds: Invalid, TooLarge.
func UChart(samples []Sample) (Chart, error) {
	s, centre, err := sampled(samples, false)
	if err != nil {
		return Chart{}, err
	}
	return s.chart(centre, 1, func(n float64) float64 { return math.Sqrt(centre / n) }, math.Inf(1)), nil
}

// LaneyP is the p chart for large samples whose proportion moves more than counting explains: its limits are multiplied
// by σz, the mean moving range of the standardised proportions over 1.128 (Laney 2002). The standard deviation of the
// scores, used by some, is another number. Fault kinds: Invalid, TooLarge.
func LaneyP(samples []Sample) (Chart, error) {
	s, centre, err := sampled(samples, true)
	if err != nil {
		return Chart{}, err
	}
	deviation := func(n float64) float64 { return math.Sqrt(centre * (1 - centre) / n) }
	var scores []float64
	for _, x := range s {
		if d := deviation(float64(x.Size)); !x.LeftOut && d > 0 {
			scores = append(scores, (float64(x.Count)/float64(x.Size)-centre)/d)
		}
	}
	sigma := 1.0
	if len(scores) > 1 {
		sigma = meanRange(scores) / movingRange
	}
	return s.chart(centre, sigma, deviation, 1), nil
}

// XmR charts single values: mean ± 3·MR̄/1.128, and the moving ranges with their upper limit 3.267·MR̄ (D4 of two values).
// Fault kinds: Invalid, TooLarge.
func XmR(readings []Reading) (values, ranges Chart, err error) {
	if err := readable(readings); err != nil {
		return Chart{}, Chart{}, err
	}
	const d4 = 3.267
	x := make([]float64, len(readings))
	for i, r := range readings {
		x[i] = r.Value
		values.Centre += r.Value / float64(len(readings))
	}
	ranges.Centre = meanRange(x)
	ranges.Sigma = (d4 - 1) * ranges.Centre / limitSigmas
	values.Sigma = ranges.Centre / movingRange
	for i, r := range readings {
		values.add(r.Label, r.Value, values.Centre, values.Centre-limitSigmas*values.Sigma, values.Centre+limitSigmas*values.Sigma)
		if i > 0 {
			ranges.add(r.Label, math.Abs(r.Value-x[i-1]), ranges.Centre, 0, d4*ranges.Centre)
		}
	}
	return values, ranges, nil
}

// Smoothing is how an EWMA is drawn.
type Smoothing struct {
	Lambda float64 // weight of the newest value, above 0, at most 1; 0.2 to 0.3 is usual
	Target float64 // centre, and where the average starts
	Sigma  float64 // of one value, above 0
	Widths float64 // limits, in standard deviations of the average; 3 is usual
	Steady bool    // the limits of a long series from the first point on; else the narrower early limits
}

// EWMA is the exponentially weighted moving average: z = λx + (1−λ)z, limits target ± L·σ·√(λ/(2−λ)), times
// √(1−(1−λ)^2t) unless Steady (NIST/SEMATECH e-Handbook 6.3.2.4). Fault kinds: Invalid, TooLarge.
func EWMA(readings []Reading, s Smoothing) (Chart, error) {
	var fs fault.Fields
	between(&fs, "lambda", s.Lambda, 1e-6, 1)
	between(&fs, "target", s.Target, -1e12, 1e12)
	between(&fs, "sigma", s.Sigma, 1e-12, 1e12)
	between(&fs, "widths", s.Widths, 0.1, 20)
	if err := fs.Fault(room, SeriesInvalid, "The chart was asked for with settings that make no sense. Mend these."); err != nil {
		return Chart{}, err
	}
	if err := readable(readings); err != nil {
		return Chart{}, err
	}
	chart := Chart{Centre: s.Target, Sigma: s.Sigma}
	average, left := s.Target, 1.0
	for _, r := range readings {
		average = s.Lambda*r.Value + (1-s.Lambda)*average
		left *= (1 - s.Lambda) * (1 - s.Lambda)
		half := s.Widths * s.Sigma * math.Sqrt(s.Lambda/(2-s.Lambda))
		if !s.Steady {
			half *= math.Sqrt(1 - left)
		}
		chart.add(r.Label, average, s.Target, s.Target-half, s.Target+half)
	}
	return chart, nil
}

func (c *Chart) add(label string, value, centre, low, high float64) {
	c.Points = append(c.Points, Point{label, value, centre, low, high, value < low || value > high})
}

// series are samples with a size.
type series []Sample

func (s series) chart(centre, sigma float64, deviation func(n float64) float64, most float64) Chart {
	c := Chart{Centre: centre, Sigma: sigma}
	for _, x := range s {
		half := limitSigmas * sigma * deviation(float64(x.Size))
		c.add(x.Label, float64(x.Count)/float64(x.Size), centre, math.Max(0, centre-half), math.Min(most, centre+half))
	}
	return c
}

// sampled checks the samples, drops those without size and finds the centre from those not left out.
func sampled(samples []Sample, proportion bool) (series, float64, error) {
	if err := few(len(samples)); err != nil {
		return nil, 0, err
	}
	var fs fault.Fields
	var kept series
	var count, size int64
	for i, x := range samples {
		if len(fs) >= maxFields {
			break
		}
		if x.Size < 0 || x.Size > MaxPieces {
			fs.Add(fmt.Sprintf("samples[%d].size", i), "is %d, must be 0 to %d", x.Size, MaxPieces)
		}
		if x.Count < 0 || x.Count > MaxPieces || (proportion || x.Size == 0) && x.Count > x.Size {
			fs.Add(fmt.Sprintf("samples[%d].count", i), "is %d of %d, which can not be", x.Count, x.Size)
		}
		if x.Size == 0 {
			continue
		}
		kept = append(kept, x)
		if !x.LeftOut {
			count, size = count+x.Count, size+x.Size
		}
	}
	if len(fs) == 0 && size == 0 {
		fs.Add("samples", "must hold at least one that counts")
	}
	if err := fs.Fault(room, SeriesInvalid, "These periods can not be charted. Mend or leave out the ones named."); err != nil {
		return nil, 0, err
	}
	return kept, float64(count) / float64(size), nil
}

func readable(readings []Reading) error {
	if err := few(len(readings)); err != nil {
		return err
	}
	var fs fault.Fields
	for i, r := range readings {
		if len(fs) < maxFields {
			between(&fs, fmt.Sprintf("readings[%d]", i), r.Value, -1e12, 1e12)
		}
	}
	if len(readings) == 0 {
		fs.Add("readings", "must hold at least one")
	}
	return fs.Fault(room, SeriesInvalid, "These readings can not be charted. Mend or leave out the ones named.")
}

func few(points int) error {
	if points > MaxSeries {
		return fault.New(fault.TooLarge, room, TooMany, "There are %d points; at most %d are charted at once. Choose a shorter span.", points, MaxSeries)
	}
	return nil
}

// meanRange is the mean of the moving ranges, 0 of fewer than two values.
func meanRange(values []float64) float64 {
	if len(values) < 2 {
		return 0
	}
	var sum float64
	for i := 1; i < len(values); i++ {
		sum += math.Abs(values[i] - values[i-1])
	}
	return sum / float64(len(values)-1)
}
