package placement

import (
	"encoding/json"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestUsual_isSoundAndMarked(t *testing.T) {
	u := Usual()
	if err := u.Check(); err != nil {
		t.Fatal(err)
	}
	marked := func(source string) bool { return strings.Contains(source, "no source") }
	for _, g := range u.Garments {
		if !marked(g.Source) {
			t.Errorf("%s is not marked as common practice", g.Kind)
		}
	}
	for _, p := range u.Places {
		if !marked(p.Source) {
			t.Errorf("%s is not marked as common practice", p.Name)
		}
		// a design of the usual width, two thirds as tall, lies without a warning on every size it is meant for
		for _, kind := range p.Garments {
			g, _ := u.garment(kind)
			for _, s := range g.Sizes {
				b := p.band(p.faceWidth(s))
				l, err := u.Landed(kind, s.Name, p.Name, b.Usual, min(b.Usual*2/3, b.Tallest))
				if err != nil || len(l.Warnings) > 0 {
					t.Errorf("%s on %s %s: %+v %v", p.Name, kind, s.Name, l.Warnings, err)
				}
			}
		}
	}
	body, err := json.Marshal(u)
	var back Table
	if err != nil || json.Unmarshal(body, &back) != nil || !reflect.DeepEqual(back, u) {
		t.Error("the table does not come back from JSON")
	}
}

func TestUsual_girths(t *testing.T) {
	u := Usual()
	for _, row := range []struct {
		kind, size string
		width      units.Millimetres
		source     string
	}{
		{"t-shirt", "M", 520, "EN 13402-3, from memory: M is a chest of 94–102 cm; (980 + 60)/2"},
		{"t-shirt", "XXL", 647, "EN 13402-3, from memory: XXL is a chest of 118–129 cm; (1235 + 60)/2"},
		{"childs-t-shirt", "128", 365, "EN 13402-3, from memory: height 128 cm, chest 66 cm; (660 + 70)/2"},
	} {
		if row.source == "" {
			t.Error("this row has no source")
		}
		g, _ := u.garment(row.kind)
		if s, err := g.size(row.size); err != nil || s.Width != row.width {
			t.Errorf("%s %s is %d mm wide, want %d (%s)", row.kind, row.size, s.Width, row.width, row.source)
		}
	}
}

func one() Table {
	return Table{Source: "test", Garments: []Garment{
		{Kind: "shirt", Title: "shirt", Source: "test", Sizes: []Size{
			{Name: "S", Width: 400, Length: 600, AcrossChest: 320, Armhole: 200, FrontNeck: 80, BackNeck: 20, NeckHalf: 90, SleeveWidth: 150, SleeveLength: 200, PocketUpToHem: 150},
			{Name: "L", Width: 500, Length: 700, Armhole: 220, FrontNeck: 90, BackNeck: 20}}},
	}, Places: []Place{
		{Name: "front", Title: "front", Face: Front, Landmark: Collar, Offset: 70, Clear: 30, Garments: []string{"shirt"}, Source: "test", Bands: []Band{{450, 100, 200, 300, 350}, {600, 150, 250, 320, 400}}},
		{Name: "left", Title: "left", Face: Front, Landmark: Shoulder, Offset: 150, Across: 90, Clear: 10, Garments: []string{"shirt"}, Source: "test", Bands: []Band{{600, 50, 80, 120, 200}}},
		{Name: "rear", Title: "rear", Face: Back, Landmark: Hem, Offset: 50, Across: 90, Clear: 10, Garments: []string{"shirt"}, Source: "test", Bands: []Band{{600, 50, 80, 120, 200}}},
		{Name: "arm", Title: "arm", Face: LeftSleeve, Landmark: Hem, Offset: 30, Clear: 10, Garments: []string{"shirt"}, Source: "test", Bands: []Band{{600, 20, 50, 100, 100}}},
	}}
}

// By hand from the measures of the table above.
func TestLanded(t *testing.T) {
	for _, row := range []struct {
		size, place   string
		width, height units.Millimetres
		want          Box
		warnings      string
	}{
		{"S", "front", 200, 200, Box{100, 150, 200, 200}, ""},
		{"S", "left", 80, 60, Box{250, 150, 80, 60}, ""},                       // 200 + 90 − 40
		{"S", "rear", 80, 60, Box{70, 490, 80, 60}, ""},                        // seen from behind, on the left; 600 − 50 − 60
		{"S", "arm", 50, 40, Box{50, 130, 50, 40}, ""},                         // 200 − 30 − 40
		{"S", "front", 310, 200, Box{45, 150, 310, 200}, "TOO_WIDE NEAR_SEAM"}, // armholes leave 40 mm on each side: 5 mm clear
		{"S", "front", 330, 200, Box{35, 150, 330, 200}, "TOO_WIDE OFF_GARMENT"},
		{"S", "front", 90, 340, Box{155, 150, 90, 340}, "TOO_NARROW ON_POCKET"}, // 490 is past 600 − 150
		{"S", "front", 200, 445, Box{100, 150, 200, 445}, "TOO_TALL NEAR_SEAM ON_POCKET"},
		{"L", "front", 320, 300, Box{90, 160, 320, 300}, ""},
	} {
		l, err := one().Landed("shirt", row.size, row.place, row.width, row.height)
		var kinds []string
		for _, w := range l.Warnings {
			kinds = append(kinds, string(w.Kind))
			if !strings.Contains(w.Words, ". ") {
				t.Errorf("%q does not say what to do", w.Words)
			}
		}
		if err != nil || l.Design != row.want || strings.Join(kinds, " ") != row.warnings {
			t.Errorf("%s %s %d × %d: %+v %v %v, want %+v %s", row.size, row.place, row.width, row.height, l.Design, kinds, err, row.want, row.warnings)
		}
	}
	for _, row := range []struct {
		kind, size, place string
		width             units.Millimetres
		want              fault.Reason
	}{
		{"hat", "S", "front", 10, NoSuchGarment},
		{"shirt", "XS", "front", 10, NoSuchSize},
		{"shirt", "S", "brim", 10, NoSuchPlace},
		{"shirt", "L", "arm", 10, PlaceNotForIt},
		{"shirt", "S", "front", 0, DesignInvalid},
	} {
		_, err := one().Landed(row.kind, row.size, row.place, row.width, 10)
		if f, ok := fault.As(err); !ok || f.Reason != row.want || !strings.Contains(f.Words, ". ") {
			t.Errorf("%+v: %v", row, err)
		}
	}
}

func TestGraded(t *testing.T) {
	got, err := Usual().Graded("t-shirt", "full-front", "M", 280, nil)
	want := []SizeWidth{{"XS", 235, false}, {"S", 260, false}, {"M", 280, false}, {"L", 300, false}, {"XL", 325, false}, {"XXL", 350, false}, {"3XL", 360, true}}
	if err != nil || !reflect.DeepEqual(got, want) { // 280 · 440/520 = 236.9 → 235; 280 · 705/520 = 379.6, held at 360
		t.Errorf("got %+v %v, want %+v", got, err, want)
	}
	if got, err := one().Graded("shirt", "front", "S", 257, []string{"L", "S"}); err != nil || !reflect.DeepEqual(got, []SizeWidth{{"L", 320, false}, {"S", 257, false}}) { // 257 · 5/4 = 321.25
		t.Errorf("got %+v %v", got, err)
	}
	for name, call := range map[string]func() error{
		"unusual": func() error { _, err := one().Graded("shirt", "front", "S", 350, nil); return err },
		"twice":   func() error { _, err := one().Graded("shirt", "front", "S", 200, []string{"L", "L"}); return err },
	} {
		if f, ok := fault.As(call()); !ok || f.Reason != SizesDoNotGrade {
			t.Errorf("%s: %v", name, call())
		}
	}
}

func TestCheck_namesEveryFault(t *testing.T) {
	bad := Table{
		Garments: []Garment{{Kind: "A", Sizes: []Size{{Name: "", Width: -1, SleeveWidth: 5}, {Name: "M", Width: 10, Length: 5, Armhole: 9, FrontNeck: 1, AcrossChest: 11}, {Name: "M", Width: 4, Length: 9, Armhole: 1, FrontNeck: 1}}}, {Kind: "A"}},
		Places:   []Place{{Face: "top", Landmark: "moon", Offset: -1, Garments: []string{"b"}, Bands: []Band{{UpTo: 9, Least: 5, Usual: 4, Most: 3}, {UpTo: 9, Least: 1, Usual: 2, Most: 3, Tallest: 1}}}, {Face: LeftSleeve, Landmark: Collar}},
	}
	all := ""
	for _, field := range bad.Check() {
		all += field.Path + "\n"
	}
	for _, path := range []string{"source", "garments[0].kind", "garments[0].title", "garments[0].source", "garments[0].sizes[0].name", "garments[0].sizes[0].width_mm", "garments[0].sizes[0].sleeve_width_mm",
		"garments[0].sizes[1].across_chest_mm", "garments[0].sizes[1].length_mm", "garments[0].sizes[2].name", "garments[0].sizes[2].width_mm", "garments[1].kind", "garments[1].sizes",
		"places[0].name", "places[0].face", "places[0].landmark", "places[0].offset_mm", "places[0].garments[0]", "places[0].bands[0].usual_mm", "places[0].bands[0].tallest_mm", "places[0].bands[1].up_to_mm",
		"places[1].name", "places[1].landmark", "places[1].garments", "places[1].bands"} {
		if !strings.Contains(all, path+"\n") {
			t.Errorf("%s is not named", path)
		}
	}
}

func TestOutline_ofEveryGarment(t *testing.T) {
	for _, g := range Usual().Garments {
		for _, s := range g.Sizes {
			for _, face := range []Face{Front, Back, LeftSleeve} {
				path, err := g.Outline(s.Name, face)
				if err != nil || !strings.HasPrefix(path, "M") || strings.Contains(path, "%") || strings.Trim(path, "MLHVQZ0123456789- ") != "" {
					t.Errorf("%s %s %s: %q %v", g.Kind, s.Name, face, path, err)
				}
			}
		}
	}
	if _, err := (Garment{}).Outline("M", Front); err == nil {
		t.Error("a size of no garment was drawn")
	}
}

// Every number of the outline lies within the box given with it.
func TestOutlined_boxHoldsTheOutline(t *testing.T) {
	number := regexp.MustCompile(`[MLQHV]|-?\d+`)
	for _, g := range Usual().Garments {
		for _, s := range g.Sizes {
			for _, face := range []Face{Front, Back, LeftSleeve} {
				if face == LeftSleeve && s.SleeveWidth == 0 {
					continue
				}
				path, box, err := Usual().Outlined(g.Kind, s.Name, face)
				if err != nil {
					t.Fatal(err)
				}
				command, nth, left := "", 0, false
				for _, word := range number.FindAllString(path, -1) {
					v, err := strconv.Atoi(word)
					if err != nil {
						command, nth = word, 0
						continue
					}
					across := command == "H" || command != "V" && nth%2 == 0
					nth++
					at := units.Millimetres(v)
					if across && (at < box.X || at > box.right()) || !across && (at < box.Y || at > box.bottom()) {
						t.Errorf("%s %s %s: %s%d lies outside %+v", g.Kind, s.Name, face, command, at, box)
					}
					left = left || across && at == box.X
				}
				if !left {
					t.Errorf("%s %s %s: nothing reaches the left side of %+v", g.Kind, s.Name, face, box)
				}
			}
		}
	}
	if _, _, err := Usual().Outlined("hat", "M", Front); err == nil {
		t.Error("a hat was drawn")
	}
}
