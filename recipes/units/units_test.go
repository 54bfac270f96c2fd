package units

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

func TestMulDiv_published(t *testing.T) {
	for _, row := range []struct {
		name    string
		a, b, c int64
		want    int64
		source  string
	}{
		{"half cent goes up", 5, 1, 10, 1, "Regulation (EC) 1103/97 art. 5: exact half is rounded up"},
		{"negative half goes away from zero", -15, 1, 10, -2, "shared reference physics G: negative halves, away -1 -2 -3"},
		{"three lines of 0.99 at 20 % by line", 99, 200_000, 1_000_000, 20, "shared reference physics E: 3 × 0.99 at 20 % is 0.60 by line"},
		{"three lines of 0.99 at 20 % on the total", 297, 200_000, 1_000_000, 59, "shared reference physics E: 0.59 on the total"},
		{"saturates", math.MaxInt64, 4, 2, math.MaxInt64, "ours: a price must not wrap round"},
	} {
		if got := MulDiv(row.a, row.b, row.c); got != row.want {
			t.Errorf("%s: got %d, want %d (%s)", row.name, got, row.want, row.source)
		}
	}
}

// Go's math/big is the reference library here.
func TestMulDiv_agreesWithExactArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Int64().Draw(t, "a"), rapid.Int64Range(-1e9, 1e9).Draw(t, "b")
		c := rapid.Int64Range(1, 1e9).Draw(t, "c")
		product := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
		sign := int64(product.Sign())
		product.Abs(product).Mul(product, big.NewInt(2)).Add(product, big.NewInt(c)).Div(product, big.NewInt(2*c)).Mul(product, big.NewInt(sign))
		want := product
		if !want.IsInt64() {
			return
		}
		if got := MulDiv(a, b, c); got != want.Int64() {
			t.Fatalf("MulDiv(%d, %d, %d) = %d, want %s", a, b, c, got, want)
		}
	})
}

func TestMinorDigits(t *testing.T) {
	// Source: ISO 4217 list one; repeated in shared reference physics G ("EUR JPY KWD: 2 0 3").
	for c, want := range map[Currency]int{"EUR": 2, "JPY": 0, "KWD": 3} {
		if got, ok := MinorDigits(c); !ok || got != want {
			t.Errorf("MinorDigits(%s) = %d, %v; want %d", c, got, ok, want)
		}
	}
	if _, ok := MinorDigits("XXQ"); ok {
		t.Error("a currency that does not exist was accepted")
	}
}

func TestMoney_String(t *testing.T) {
	for want, m := range map[string]Money{"EUR 12.05": {1205, "EUR"}, "JPY 3": {3, "JPY"}, "GBP -0.09": {-9, "GBP"}, "XXQ 4 minor": {4, "XXQ"}} {
		if got := m.String(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestWindow(t *testing.T) {
	w := Around(Celsius(150), 5, 5)
	if !w.Holds(145) || !w.Holds(155) || w.Holds(144) || w.Holds(156) || !w.Ordered() {
		t.Errorf("window %v does not hold its own ends, or holds more", w)
	}
}
