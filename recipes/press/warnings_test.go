package press

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func keys(ws []Warning) (out []string) {
	for _, w := range ws {
		out = append(out, w.Key)
	}
	return out
}

func TestWarnings_nameWhatIsWrong(t *testing.T) {
	t.Parallel()
	for _, r := range []struct {
		name   string
		change func(*Situation)
		want   string
		source string
	}{
		{"dry jersey on a cold pad", func(s *Situation) {}, "COLD_PAD", "shared reference physics A.6, point 4"},
		{"thin nylon on a cold pad", func(s *Situation) { s.Fabric, s.Weight = Nylon, 80 }, "THIN_ON_COLD_PAD", "shared reference physics A.6, point 3"},
		{"nylon under a hot platen", func(s *Situation) { s.Fabric, s.Platen = Nylon, 200 }, "FACE_OVER_LIMIT", "limit table, nylon 160 °C"},
		{"bare cotton pre-pressed", func(s *Situation) { s.PrePress, s.Platen = 5, 155 }, "FACE_NEAR_LIMIT", "limit table, cotton 150 °C; prepress table 142 °C at 150 °C with a band of +6"},
		{"damp cotton", func(s *Situation) { s.Regain = 85_000 }, "DAMP", "interlining maker's advice: regain at most 6 % before pressing"},
		{"three seconds", func(s *Situation) { s.Dwell = 3 }, "STILL_CLIMBING", "shared reference physics A.6: 103 to 117 °C from 2 to 3 s"},
		{"adhesive far hotter", func(s *Situation) { s.AdhesiveFrom, s.AdhesiveTo = 150, 165 }, "BOND_LINE_BELOW_RANGE", "136 °C with a band of +6"},
		{"adhesive a little hotter", func(s *Situation) { s.AdhesiveFrom, s.AdhesiveTo = 140, 165 }, "BOND_LINE_MAYBE_BELOW_RANGE", "136 °C with a band of +6"},
		{"adhesive a little cooler", func(s *Situation) { s.AdhesiveFrom, s.AdhesiveTo = 110, 130 }, "BOND_LINE_MAYBE_ABOVE_RANGE", "136 °C with a band of −9"},
		{"adhesive far cooler", func(s *Situation) { s.AdhesiveFrom, s.AdhesiveTo = 90, 110 }, "BOND_LINE_ABOVE_RANGE", "136 °C with a band of −9"},
		{"hot polyester", func(s *Situation) { s.Fabric, s.Platen = Polyester, 170 }, "DYE_MAY_MOVE", "ISO 105-P01:1993, lowest test temperature 150 °C (from memory)"},
	} {
		if r.source == "" {
			t.Errorf("%s: has no source", r.name)
		}
		s := jerseyPress()
		r.change(&s)
		got := Warnings(s, bondLine(t, s))
		if !slices.Contains(keys(got), r.want) {
			t.Errorf("%s: got %v, want %s among them (%s)", r.name, keys(got), r.want, r.source)
		}
		if !slices.IsSortedFunc(got, func(a, b Warning) int { return int(a.Level - b.Level) }) {
			t.Errorf("%s: not ranked: %v", r.name, got)
		}
	}
}

func TestWarnings_areSilentWhereAllIsWell(t *testing.T) {
	s := jerseyPress()
	s.Pad, s.Platen, s.AdhesiveFrom, s.AdhesiveTo = 45, 145, 115, 140
	if got := Warnings(s, bondLine(t, s)); len(got) != 0 {
		t.Errorf("got %v", got)
	}
}

func TestWarnings_claimNothing(t *testing.T) {
	t.Parallel()
	claim := regexp.MustCompile(`(?i)\b(bonded|cured|strong|safe|complies|compliant|guarantee\w*)\b`)
	var words []string
	for _, platen := range []units.Celsius{90, 150, 230} {
		for _, l := range Limits() {
			s := jerseyPress()
			s.Platen, s.Fabric, s.Regain, s.AdhesiveFrom, s.AdhesiveTo = platen, l.Family, 200_000, 120, 130
			s.Dwell = 5
			for _, w := range Warnings(s, bondLine(t, s)) {
				words = append(words, w.Words)
			}
		}
	}
	for _, c := range Cautions() {
		words = append(words, c.Words)
	}
	for _, w := range append(words, Caveat) {
		if claim.MatchString(w) {
			t.Errorf("claims too much: %s", w)
		}
	}
}

func TestLimits_everyFamilyHasOneWithItsSource(t *testing.T) {
	for family := range cloths {
		l, ok := LimitOf(family)
		if !ok || l.Source == "" || l.Why == "" || !slices.Contains([]Mark{Read, Memory, Assumed}, l.Mark) || l.Ceiling < 100 {
			t.Errorf("%s: got %+v", family, l)
		}
		if r := StandardRegain(family); r <= 0 || r > 100_000 {
			t.Errorf("%s: regain %d", family, r)
		}
	}
	if len(Limits()) != len(cloths) {
		t.Errorf("%d limits for %d families", len(Limits()), len(cloths))
	}
	if _, ok := LimitOf("tin"); ok || StandardRegain("tin") != 0 {
		t.Error("a family that does not exist has a limit or a regain")
	}
}

func TestAssumptions_everyOneHasItsSource(t *testing.T) {
	for _, a := range bondLine(t, jerseyPress()).Assumptions {
		if a.Key == "" || a.Words == "" || a.Source == "" || a.Mark == "" {
			t.Errorf("got %+v", a)
		}
	}
}

func TestCautions_coverTheDangersAndDefer(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Cautions() {
		if seen[c.Key] || c.Words == "" || c.Where == "" {
			t.Errorf("got %+v", c)
		}
		seen[c.Key] = true
	}
	for _, key := range []string{"MANUAL_FIRST", "HOT_PLATEN", "PINCH", "FUMES", "STEAM", "HOT_PEEL"} {
		if !seen[key] {
			t.Errorf("%s is missing", key)
		}
	}
	if first := Cautions()[0].Words; !strings.Contains(first, "manual") || !strings.Contains(first, "law") {
		t.Errorf("the first caution must defer to the manual and the law: %s", first)
	}
}

// Reasons are append-only: programs branch on them.
func TestReasons_areAppendOnly(t *testing.T) {
	golden, err := os.ReadFile("testdata/reasons.txt")
	if err != nil {
		t.Fatal(err)
	}
	var got strings.Builder
	for _, r := range Reasons() {
		got.WriteString(string(r) + "\n")
	}
	if got.String() != string(golden) {
		t.Errorf("got\n%s, want\n%s", got.String(), golden)
	}
	for _, r := range []fault.Reason{SituationInvalid, StackInvalid, PressureInvalid, CycleInvalid, PressTooLarge, HeatDidNotSettle} {
		if !slices.Contains(Reasons(), r) {
			t.Errorf("%s is not in the list", r)
		}
	}
}
