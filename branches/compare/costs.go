package compare

import (
	"math"
	"slices"
)

// Price is what film and a reprint's work cost a branch, in the smallest unit of its own currency.
type Price struct {
	FilmPerSquareMetre float64
	PerReprint         float64 // labour of one reprint; film is counted by area
}

// Amount is money with its 95 % limits, in the smallest unit of a currency; limits that are both 0 are not known.
type Amount struct {
	Value    float64
	Limits95 Interval
}

// Cost is what losses cost one branch, in its own currency.
type Cost struct {
	Branch         string
	Standing       Standing // of its reprints
	Reprints       Amount   // film and labour of all reprints; limits those of counting them (Garwood)
	ReprintsBeyond Amount   // beyond what the branch's work explains
	FilmLoss       Amount   // film drawn beyond what plans needed, reprints left out; limits from the branch's months
	FilmBeyond     Amount   // beyond what all branches together lose on as much film
	LossArea       float64  // mm² of FilmLoss
	Priced         float64  // share of the film drawn whose price was known
}

// squareMetre in mm².
const squareMetre = 1e6

// spent is one branch's film of one period: the loss and what it is a loss of, in money.
type spent struct{ loss, drawn float64 }

// Costs adds up what reprints and avoidable film loss cost each branch, from two sums of the same runs: the mix, from which comes
// what the work explains, and cells by month and film, which have a price each. price says what a cell's film and work cost; cells
// without a price, or without a known plan, are left out of the money and show in Priced. Branches may have different
// currencies: nothing here adds two branches' money. Fault kinds: Invalid, TooLarge.
func Costs(m Mix, cells []Cell, price func(Cell) (Price, bool), o Options) ([]Cost, error) {
	v, err := FairReprintsOf(m, o)
	if err != nil {
		return nil, err
	}
	if err := check(cells); err != nil {
		return nil, err
	}
	type sum struct {
		reprints, perReprint, counted float64
		lossArea, drawn, priced       float64
		periods                       map[string]*spent
	}
	by := map[string]*sum{}
	var lostAll, drawnAll float64 // mm²
	for _, i := range inOrder(cells) {
		c := &cells[i]
		s := at(by, c.Branch)
		if s.periods == nil {
			s.periods = map[string]*spent{}
		}
		s.drawn += float64(c.Drawn)
		// Of the film of reprints it is not known which orders it was for: it is taken to be spread as all film is.
		loss := float64(c.DrawnKnown-c.Achievable) - float64(c.ReprintLoss)*part(c.DrawnKnown, c.Drawn)
		known := c.DrawnKnown > 0
		if known {
			lostAll += loss
			drawnAll += float64(c.DrawnKnown)
		}
		p, ok := price(*c)
		if !ok {
			continue
		}
		s.priced += float64(c.Drawn)
		s.reprints += float64(c.ReprintLoss)/squareMetre*p.FilmPerSquareMetre + float64(c.Reprints)*p.PerReprint
		s.counted += float64(c.Reprints)
		s.perReprint += p.PerReprint * float64(c.Pieces)
		if known {
			s.lossArea += loss
			x := at(s.periods, c.Period)
			x.loss += loss / squareMetre * p.FilmPerSquareMetre
			x.drawn += float64(c.DrawnKnown) / squareMetre * p.FilmPerSquareMetre
		}
	}
	share := 0.0
	if drawnAll > 0 {
		share = lostAll / drawnAll
	}
	var list []Cost
	for _, x := range v.Standings {
		c := Cost{Branch: x.Branch, Standing: x}
		if s := by[x.Branch]; s != nil && s.priced > 0 {
			c.LossArea, c.Priced = s.lossArea, s.priced/s.drawn
			each := s.perReprint / math.Max(1, float64(x.Pieces)) // where nothing was made again, labour alone is known
			if s.counted > 0 {
				each = s.reprints / s.counted
			}
			limits := Garwood(int64(s.counted), Level95)
			c.Reprints = Amount{s.reprints, Interval{limits.Low * each, limits.High * each}}
			expected := x.Expected
			if x.Reprints > 0 {
				expected *= s.counted / float64(x.Reprints) // of the part that has a price
			}
			c.ReprintsBeyond = Amount{(s.counted - expected) * each, Interval{(limits.Low - expected) * each, (limits.High - expected) * each}}
			c.FilmLoss, c.FilmBeyond = filmCosts(inTime(s.periods), share)
		}
		list = append(list, c)
	}
	return list, nil
}

// filmCosts are the loss itself, and beyond the share of the film drawn that everybody loses.
func filmCosts(periods []spent, share float64) (loss, beyond Amount) {
	var pairs []pair
	var drawn float64
	for _, p := range periods {
		if p.drawn > 0 {
			pairs = append(pairs, pair{p.loss, p.drawn})
			loss.Value += p.loss
			drawn += p.drawn
		}
	}
	beyond.Value = loss.Value - share*drawn
	if len(pairs) < 2 {
		return loss, beyond
	}
	r, x := ratio(pairs)
	half := tScore(len(pairs), Level95) * ratioError(pairs, r, x) * drawn
	loss.Limits95 = Interval{loss.Value - half, loss.Value + half}
	beyond.Limits95 = Interval{beyond.Value - half, beyond.Value + half}
	return loss, beyond
}

// inOrder are the places of the cells in an order that does not hang on the one they came in, so that sums of floats do not.
func inOrder(cells []Cell) []int {
	order := make([]int, len(cells))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return compareCells(&cells[i], &cells[j]) })
	return order
}
