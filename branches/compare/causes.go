package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"evenpeel/recipes/fault"
)

// Cause is one roll-up row of why pieces were made again.
type Cause struct {
	Branch, Film, Fabric, Cause string
	Count                       int64 // pieces, 0 to MaxPieces
}

// Share is one cause's part of all reprints.
type Share struct {
	Cause             string
	Count, Cumulative int64
	Percent           float64 // of all
	CumulativePercent float64
	Few               bool // one of the fewest causes that together reach 80 %, the one that reaches it included
}

const fewPercent = 80

// Pareto adds the causes up over branches, films and fabrics, largest first, equal ones by name. Fault kinds: Invalid,
// TooLarge.
func Pareto(causes []Cause) ([]Share, error) {
	if len(causes) > MaxCauses {
		return nil, fault.New(fault.TooLarge, room, TooMany, "There are %d rows of causes; at most %d are added up at once. Choose a shorter span.", len(causes), MaxCauses)
	}
	var fs fault.Fields
	counts := map[string]int64{}
	var all int64
	for i, c := range causes {
		if !name(c.Cause) && len(fs) < maxFields {
			fs.Add(fmt.Sprintf("causes[%d].cause", i), "must have 1 to %d bytes", MaxName)
		}
		if (c.Count < 0 || c.Count > MaxPieces) && len(fs) < maxFields {
			fs.Add(fmt.Sprintf("causes[%d].count", i), "is %d, must be 0 to %d", c.Count, MaxPieces)
		}
		counts[c.Cause] += c.Count
		all += c.Count
	}
	if err := fs.Fault(room, CausesInvalid, "Some causes can not be a roll-up of runs. Rebuild the roll-ups from the runs."); err != nil {
		return nil, err
	}
	shares := make([]Share, 0, len(counts))
	for cause, count := range counts {
		if count > 0 {
			shares = append(shares, Share{Cause: cause, Count: count})
		}
	}
	slices.SortFunc(shares, func(a, b Share) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), strings.Compare(a.Cause, b.Cause))
	})
	var sum int64
	for i := range shares {
		s := &shares[i]
		s.Few = sum*100 < all*fewPercent // whole numbers: exactly 80 % must not hang on rounding
		sum += s.Count
		s.Cumulative, s.Percent, s.CumulativePercent = sum, 100*float64(s.Count)/float64(all), 100*float64(sum)/float64(all)
	}
	return shares, nil
}
