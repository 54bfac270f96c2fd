package layout

import (
	"math/bits"
	"slices"
)

const (
	maxThresholds = 200 // how many widths serve as threshold of a dual feasible function
	maxRounding   = 16  // largest k of the rounding functions
)

// lowestHeight is a height below which no packing of the kinds into the width exists. Heights are summed with widths
// replaced by a dual feasible function, which never lets widths that fit side by side exceed the strip (Fekete
// & Schepers 2001, Math. Program. 91:11-31; Martello, Monaci & Vigo 2003, INFORMS JoC 15(3):310-319): the
// identity gives the area bound, thresholds count what can not lie side by side, roundings count what lies in
// k at most. A kind that may turn counts with its cheaper way, so the bound holds with turning.
func lowestHeight(width int64, kinds []kind) int64 {
	best := int64(0)
	var thresholds []int64
	for _, k := range kinds {
		if k.count == 0 {
			continue
		}
		low := k.ways[0].h
		for _, b := range k.ways {
			low = min(low, b.h)
			if b.w <= width/2 {
				thresholds = append(thresholds, b.w)
			}
		}
		best = max(best, low)
	}
	slices.Sort(thresholds)
	thresholds = slices.Compact(thresholds)
	stride := len(thresholds)/maxThresholds + 1
	for i := 0; i < len(thresholds); i += stride {
		best = max(best, relaxed(kinds, width, threshold(width, thresholds[i])))
	}
	best = max(best, relaxed(kinds, width, func(w int64) int64 { return w }))
	best = max(best, relaxed(kinds, width, threshold(width, width/2)))
	for k := int64(1); k <= maxRounding; k++ {
		best = max(best, relaxed(kinds, width*k, rounding(width, k)))
	}
	return best
}

// threshold drops what is narrower than p and widens to the whole strip what p no longer fits beside.
func threshold(width, p int64) func(int64) int64 {
	return func(w int64) int64 {
		switch {
		case w > width-p:
			return width
		case w < p:
			return 0
		}
		return w
	}
}

// rounding is u⁽ᵏ⁾ in parts of width·k: whole (k+1)-ths of the strip stay, the rest is rounded down to k-ths.
func rounding(width, k int64) func(int64) int64 {
	return func(w int64) int64 {
		if w*(k+1)%width == 0 {
			return w * k
		}
		return w * (k + 1) / width * width
	}
}

// relaxed is the height of all kinds if only Σ height × measured width had to fit, rounded up.
func relaxed(kinds []kind, whole int64, measured func(int64) int64) int64 {
	var hi, lo uint64
	for _, k := range kinds {
		cheapest := uint64(1<<64 - 1)
		for _, b := range k.ways {
			over, area := bits.Mul64(uint64(b.h), uint64(measured(b.w)))
			if over == 0 {
				cheapest = min(cheapest, area)
			}
		}
		over, area := bits.Mul64(cheapest, uint64(k.count))
		var carry uint64
		lo, carry = bits.Add64(lo, area, 0)
		hi += over + carry
	}
	height, rest := bits.Div64(hi, lo, uint64(whole))
	if rest > 0 {
		height++
	}
	return int64(height)
}
