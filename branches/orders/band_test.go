package orders

import "testing"

func TestBand(t *testing.T) {
	const source = "common practice, no source"
	for _, row := range []struct {
		pieces, layers int
		thin           bool
		want           int
	}{{1, 0, false, 0}, {10, 1, false, 0}, {11, 1, false, 1}, {40, 0, false, 1}, {41, 0, false, 2}, {1, 2, false, 1}, {1, 3, false, 2}, {1, 0, true, 2}} {
		if got := band(row.pieces, row.layers, row.thin); got != row.want {
			t.Errorf("%+v: band %d (%s)", row, got, source)
		}
	}
}

// Lines of one drawing in register at one place are layers; by themselves, or elsewhere, they are not.
func TestLayersOf(t *testing.T) {
	front := func(drawing string, registered bool) Line {
		return Line{Drawing: drawing, Placement: "front", Registered: registered}
	}
	got := layersOf([]Line{front("drawings/a", true), front("drawings/a", true), front("drawings/a", false), front("drawings/b", true), {Drawing: "drawings/a", Placement: "back", Registered: true}})
	for key, want := range map[layered]int{{"drawings/a", "front"}: 2, {"drawings/b", "front"}: 1, {"drawings/a", "back"}: 1, {"drawings/c", "front"}: 0} {
		if got[key] != want {
			t.Errorf("%v: %d layers, want %d", key, got[key], want)
		}
	}
}
