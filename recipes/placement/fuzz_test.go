package placement

import (
	"encoding/json"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// A table that head office edited, sound or not, never panics; what Check lets through lands with its box as asked.
func FuzzTable(f *testing.F) {
	body, err := json.Marshal(one())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(body, "shirt", "S", "front", int64(200), int64(100))
	f.Add([]byte(`{"garments":[{"kind":"a","sizes":[{"name":"S"}]}],"places":[{"name":"p","garments":["a"]}]}`), "a", "S", "p", int64(1), int64(1))
	f.Fuzz(func(t *testing.T, body []byte, kind, size, place string, width, height int64) {
		var table Table
		if json.Unmarshal(body, &table) != nil {
			return
		}
		sound := table.Check()
		l, err := table.Landed(kind, size, place, units.Millimetres(width), units.Millimetres(height))
		if _, ok := fault.As(err); err != nil && !ok {
			t.Fatalf("not a fault: %v", err)
		}
		if err == nil && (l.Design.Width != units.Millimetres(width) || l.Design.Height != units.Millimetres(height)) {
			t.Fatalf("the design changed: %+v", l.Design)
		}
		grown, err := table.Graded(kind, place, size, units.Millimetres(width), nil)
		if _, ok := fault.As(err); err != nil && !ok {
			t.Fatalf("not a fault: %v", err)
		}
		for _, g := range grown {
			if len(sound) == 0 && g.Width <= 0 {
				t.Fatalf("size %s is %d mm", g.Size, g.Width)
			}
		}
		for _, g := range table.Garments {
			if _, err := g.Outline(size, Front); err != nil {
				if _, ok := fault.As(err); !ok {
					t.Fatalf("not a fault: %v", err)
				}
			}
		}
	})
}
