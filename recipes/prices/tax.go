package prices

import (
	"math/bits"
	"slices"

	"evenpeel/recipes/units"
)

// taxed fills net, tax and gross from the sum of the lines, and each line's part of the tax.
// No EU rule fixes the level or the method of rounding (CJEU C-484/06 Ahold, C-302/07 Wetherspoon), so both are
// settings of the list. From gross prices the tax is taken by difference, so that net + tax is the price asked.
func (b *bill) taxed(q *Quote, sum int64) {
	var tax int64
	if b.list.TaxPerLine {
		for i := range q.Lines {
			part := b.taxOf(q.Lines[i].Amount.Minor)
			q.Lines[i].Tax = b.money(part)
			tax += part
		}
	} else {
		tax = b.taxOf(sum)
		weights := make([]int64, len(q.Lines))
		for i, line := range q.Lines {
			weights[i] = line.Amount.Minor
		}
		for i, part := range Shares(tax, weights) {
			q.Lines[i].Tax = b.money(part)
		}
	}
	net := sum
	if b.list.TaxIncluded {
		net = sum - tax
	}
	q.Net, q.Tax, q.Gross = b.money(net), b.money(tax), b.money(net+tax)
}

// taxOf is the tax in a gross amount or on a net one.
func (b *bill) taxOf(amount int64) int64 {
	if b.list.TaxIncluded {
		return amount - units.MulDiv(amount, whole, whole+int64(b.list.Tax))
	}
	return units.MulDiv(amount, int64(b.list.Tax), whole)
}

// Shares splits total, at least 0, in proportion to weights, at least 0, so that the parts add up to total: each
// part is rounded down and the largest remainders get one more (ties: the earlier part). Without any weight above
// 0 the first part takes all. Nothing is split over no parts.
func Shares(total int64, weights []int64) []int64 {
	parts := make([]int64, len(weights))
	var all uint64
	for _, w := range weights {
		all += uint64(max(0, w))
	}
	if len(parts) == 0 || total <= 0 {
		return parts
	}
	if all == 0 {
		parts[0] = total
		return parts
	}
	left := total
	remainders := make([]uint64, len(weights))
	order := make([]int, len(weights))
	for i, w := range weights {
		hi, lo := bits.Mul64(uint64(total), uint64(max(0, w)))
		quotient, remainder := bits.Div64(hi, lo, all) // hi < all, as w ≤ all and total < 2^64
		parts[i], remainders[i], order[i] = int64(quotient), remainder, i
		left -= parts[i]
	}
	slices.SortStableFunc(order, func(a, c int) int {
		switch {
		case remainders[a] > remainders[c]:
			return -1
		case remainders[a] < remainders[c]:
			return 1
		}
		return 0
	})
	for _, i := range order[:left] { // fewer are left than there are parts
		parts[i]++
	}
	return parts
}
