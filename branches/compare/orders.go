package compare

import (
	"slices"

	"evenpeel/recipes/units"
)

// FilmOf is where one branch's film went, with limits from its own orders.
type FilmOf struct {
	Orders                       int // with film drawn; a run without an order is one by itself
	Drawn, Decorated, Achievable units.SquareMillimetres
	Yield95                      Interval // of decorated ÷ drawn
	OfAchievable95               Interval // of achievable ÷ drawn
	Steps95                      []Interval
}

// fewOrders is the least number of orders that limits are found from. Common practice, no source.
const fewOrders = 10

// order is the film of one order: drawn, decorated, achievable and the losses, in the order of Waterfall's steps.
type order struct {
	key                                          string
	drawn, decorated, achievable, drawnKnown     units.SquareMillimetres
	layout, edge, test, weeding, reprint, rollUp units.SquareMillimetres
}

// FilmOfOrders finds limits of one branch's yield, of its share of what was achievable for those very orders, and of every
// step of its waterfall as a share of the film drawn (in the order of Waterfall, "drawn" itself included), by drawing its
// orders anew (bias-corrected and accelerated bootstrap, seeded). With fewer than 10 orders there are none: every interval is
// empty. Fault kinds: Invalid, TooLarge.
func FilmOfOrders(works []Work, o Options) (FilmOf, error) {
	o, err := o.filled()
	if err != nil {
		return FilmOf{}, err
	}
	var f FilmOf
	orders := ordered(works)
	for _, x := range orders {
		f.Drawn += x.drawn
		f.Decorated += x.decorated
		f.Achievable += x.achievable
	}
	f.Orders = len(orders)
	f.Steps95 = make([]Interval, waterSteps)
	if len(orders) < fewOrders {
		return f, nil
	}
	branch := ""
	if len(works) > 0 {
		branch = works[0].Branch
	}
	limits := resampling{len(orders), 2 + waterSteps, func(times, into []float64) { shares(orders, times, into) }}.
		limits(o.Replicates, diceFor(o.Seed, branch), Level95)
	f.Yield95, f.OfAchievable95 = limits[0], limits[1]
	copy(f.Steps95, limits[2:])
	return f, nil
}

// waterSteps is how many steps a waterfall has.
const waterSteps = 9

// shares works the shares out for orders drawn so many times each.
func shares(orders []order, times, into []float64) {
	var drawn, decorated, achievable, known float64
	var losses [6]float64
	for i := range orders {
		x, n := &orders[i], times[i]
		if n == 0 {
			continue
		}
		drawn += n * float64(x.drawn)
		decorated += n * float64(x.decorated)
		achievable += n * float64(x.achievable)
		known += n * float64(x.drawnKnown)
		for k, a := range [6]units.SquareMillimetres{x.layout, x.edge, x.test, x.weeding, x.reprint, x.rollUp} {
			losses[k] += n * float64(a)
		}
	}
	if drawn == 0 {
		clear(into)
		return
	}
	into[0], into[1], into[2], into[10] = decorated/drawn, 0, 1, decorated/drawn
	if known > 0 {
		into[1] = achievable / known
	}
	left := drawn - decorated
	for k, a := range losses {
		into[3+k] = a / drawn
		left -= a
	}
	into[9] = left / drawn
}

// ordered adds runs up by order, in order of name, those without film left out.
func ordered(works []Work) []order {
	sums := map[string]*order{}
	for i := range works {
		w := &works[i]
		key := w.Order
		if key == "" {
			key = w.Branch + "/runs/" + w.ID
		}
		x := at(sums, key)
		x.key = key
		x.drawn += w.Drawn
		x.decorated += w.Decorated
		if w.Achievable > 0 && w.Drawn > 0 {
			x.achievable += w.Achievable
			x.drawnKnown += w.Drawn
		}
		x.layout += w.LayoutLoss
		x.edge += w.EdgeLoss
		x.test += w.TestCutLoss
		x.weeding += w.WeedingLoss
		x.reprint += w.ReprintLoss
		x.rollUp += w.RollEndLoss
	}
	return slices.DeleteFunc(inTime(sums), func(x order) bool { return x.drawn == 0 })
}
