package stock

import (
	"fmt"
	"math"
	"strings"

	"evenpeel/recipes/units"
)

// Pace is how fast one film in one colour goes, and how long what is left of it lasts.
type Pace struct {
	Film, Colour            string
	Left, Used              units.Millimetres // Used in the last PaceDays
	Known                   bool              // on at least leastDays days something was drawn; otherwise the rest is 0
	Days, DaysLow, DaysHigh int64             // what is left lasts; low and high in one case of twenty each
	Low                     bool              // Left is no more than Reorder
	Reorder                 units.Millimetres // order when no more than this is left
	Words                   string
}

const (
	// PaceDays are looked back at: four weeks, so that every day of the week counts alike.
	PaceDays = 28
	// leadDays are taken for a delivery. Common practice, no source.
	leadDays = 7
	// leastDays with draws are needed before a pace is said. Ours.
	leastDays = 4
	// longestDays are the most that are said: beyond it, four weeks tell nothing. Ours.
	longestDays = 365
	// oneInTwenty is the normal quantile of 0.95 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1).
	oneInTwenty = 1.645
)

// Paced works the pace of every film and colour on the shelf out from what was drawn on the PaceDays days that end with
// today (days since 1970-01-01). Demand on different days is taken as independent, so that over n days it has n times
// the mean and √n times the spread of one (Heizer and Render, Operations Management, "Probabilistic models and safety
// stock"). The order is that of the rolls.
func Paced(rolls []Roll, uses []Use, today int64) []Pace {
	var paces []Pace
	at := map[string]int{}
	daily := map[int]*[PaceDays]float64{}
	for _, r := range rolls {
		key := kindOf(r.Film, r.Colour)
		i, known := at[key]
		if !known {
			i = len(paces)
			at[key], daily[i] = i, &[PaceDays]float64{}
			paces = append(paces, Pace{Film: r.Film, Colour: r.Colour})
		}
		paces[i].Left += r.Length
	}
	for _, u := range uses {
		ago := today - u.Day
		if i, ok := at[kindOf(u.Film, u.Colour)]; ok && ago >= 0 && ago < PaceDays {
			daily[i][ago] += float64(u.Length)
			paces[i].Used += u.Length
		}
	}
	for i := range paces {
		paces[i].reckon(daily[i])
	}
	return paces
}

func kindOf(film, colour string) string { return film + "\x00" + strings.ToLower(colour) }

// reckon fills in what the days tell.
func (p *Pace) reckon(daily *[PaceDays]float64) {
	drawn := 0
	for _, d := range daily {
		if d > 0 {
			drawn++
		}
	}
	mean, spread := spreadOf(daily[:])
	if drawn < leastDays || mean <= 0 {
		p.Words = fmt.Sprintf("%s m left; drawn on %d of the last %d days, too few to say how long it lasts", Metres(p.Left), drawn, PaceDays)
		return
	}
	p.Known = true
	left := float64(p.Left)
	days := func(side float64) int64 { return int64(math.Min(longestDays, lasting(left, mean, side*spread)+1e-9)) }
	p.Days, p.DaysLow, p.DaysHigh = days(0), days(oneInTwenty), days(-oneInTwenty)
	p.Reorder = units.Millimetres(math.Ceil(reorder(mean, spread, leadDays, oneInTwenty)))
	p.Low = p.Left <= p.Reorder
	p.Words = fmt.Sprintf("%s m left, %s m drawn in %d days: lasts about %d days, likely %d to %d", Metres(p.Left), Metres(p.Used), PaceDays, p.Days, p.DaysLow, p.DaysHigh)
	if p.Low {
		p.Words += fmt.Sprintf(". Order now: with a delivery in %d days, order once no more than %s m are left", leadDays, Metres(p.Reorder))
	}
}

// spreadOf is the mean and the sample standard deviation.
func spreadOf(xs []float64) (mean, spread float64) {
	for _, x := range xs {
		mean += x
	}
	mean /= float64(len(xs))
	for _, x := range xs {
		spread += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(spread / float64(len(xs)-1))
}

// reorder is the stock at which to order so that it lasts until the delivery with the chance that z stands for.
func reorder(mean, spread, lead, z float64) float64 { return mean*lead + z*spread*math.Sqrt(lead) }

// lasting solves mean·n + margin·√n = left for n: the days that left lasts where the demand runs margin above
// (or, below 0, under) its mean.
func lasting(left, mean, margin float64) float64 {
	root := (-margin + math.Sqrt(margin*margin+4*mean*left)) / (2 * mean)
	return root * root
}
