package units

import (
	"fmt"
	"math"
	"math/bits"
)

// Currency is an ISO 4217 alphabetic code, upper case.
type Currency string

// Money is an amount in the currency's minor unit (cents, pence). The zero value is no money in no currency.
type Money struct {
	Minor    int64
	Currency Currency
}

// minorDigits are the decimals of the currencies that our markets use (ISO 4217 list one, 2026-01-01).
var minorDigits = map[Currency]int{"EUR": 2, "GBP": 2, "USD": 2, "CAD": 2, "AUD": 2, "JPY": 0, "CHF": 2, "CZK": 2, "HUF": 2, "PLN": 2, "SEK": 2, "DKK": 2, "NOK": 2, "KWD": 3}

// MinorDigits is the number of decimals of a currency; ok is false for a currency that the table lacks.
func MinorDigits(c Currency) (digits int, ok bool) { digits, ok = minorDigits[c]; return }

// Plus adds two amounts of one currency; an amount without a currency takes the other's.
// It panics on two currencies: that is a fault of the program, never of its input.
func (m Money) Plus(n Money) Money {
	switch {
	case m.Currency == "":
		m.Currency = n.Currency
	case n.Currency != "" && n.Currency != m.Currency:
		panic("units: adding " + string(n.Currency) + " to " + string(m.Currency))
	}
	m.Minor += n.Minor
	return m
}

// MulDiv is round-half-away-from-zero(a·b/c) with a 128-bit product, so that prices never pass through a float.
// Half away from zero is what tax and tills expect (see shared reference physics E; Regulation (EC) 1103/97 art. 5
// rounds exact halves up). It panics for c ≤ 0 and saturates where the quotient does not fit.
func MulDiv(a, b, c int64) int64 {
	if c <= 0 {
		panic("units: MulDiv by a divisor that is not positive")
	}
	negative := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	lo, carry := bits.Add64(lo, uint64(c)/2, 0)
	hi += carry
	if hi >= uint64(c) {
		return saturated(negative)
	}
	q, _ := bits.Div64(hi, lo, uint64(c))
	if q > math.MaxInt64 {
		return saturated(negative)
	}
	if negative {
		return -int64(q)
	}
	return int64(q)
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return uint64(-(v + 1)) + 1
	}
	return uint64(v)
}

func saturated(negative bool) int64 {
	if negative {
		return math.MinInt64
	}
	return math.MaxInt64
}

// Of is the part of m that rate stands for: 20 % of m for a rate of 200 000.
func (rate PartsPerMillion) Of(m Money) Money {
	return Money{MulDiv(m.Minor, int64(rate), 1_000_000), m.Currency}
}

// String shows the amount with its minor unit for logs: "EUR 12.50". Screens format for the person instead.
func (m Money) String() string {
	digits, ok := minorDigits[m.Currency]
	if !ok {
		return fmt.Sprintf("%s %d minor", m.Currency, m.Minor)
	}
	scale := int64(math.Pow10(digits))
	if digits == 0 {
		return fmt.Sprintf("%s %d", m.Currency, m.Minor)
	}
	sign, minor := "", m.Minor
	if minor < 0 {
		sign, minor = "-", -minor
	}
	return fmt.Sprintf("%s %s%d.%0*d", m.Currency, sign, minor/scale, digits, minor%scale)
}
