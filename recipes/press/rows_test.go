package press

import (
	"math"
	"testing"
)

// row is one published or recorded number; every row names its source.
type row struct {
	name             string
	got, want, limit float64
	source           string
}

func checkRows(t *testing.T, rows []row) {
	t.Helper()
	if len(rows) == 0 {
		t.Fatal("no rows")
	}
	for _, r := range rows {
		if r.source == "" {
			t.Errorf("%s: has no source", r.name)
		}
		if !(math.Abs(r.got-r.want) <= r.limit) {
			t.Errorf("%s: got %.6g, want %.6g ± %.2g (%s)", r.name, r.got, r.want, r.limit, r.source)
		}
	}
}

// slabOf cuts a uniform body at the depths given, so that a face lies at each.
func slabOf(k, rho, cp, start float64, depths ...float64) []Layer {
	var layers []Layer
	above := 0.0
	for _, d := range depths {
		layers = append(layers, Layer{Name: "slab", ThicknessUM: (d - above) * 1e6, K: k, Rho: rho, Cp: cp, Start: start})
		above = d
	}
	return layers
}

// lastFaces marches and returns the faces at the end.
func lastFaces(t *testing.T, s Stack, seconds float64, r Resolution) []Faces {
	t.Helper()
	c := course(t, s, seconds, seconds, r)
	return c.Moments[len(c.Moments)-1].Faces
}

func course(t *testing.T, s Stack, seconds, every float64, r Resolution) Course {
	t.Helper()
	c, err := s.March(seconds, every, r)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
