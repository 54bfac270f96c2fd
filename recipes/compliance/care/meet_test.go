package care

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/units"
)

// states are the 14 published washes and hand wash at 30 °C, in the order of the table below.
var states = []string{"95 normal", "70 normal", "60 normal", "60 mild", "50 normal", "50 mild", "40 normal", "40 mild",
	"40 very_mild", "30 normal", "30 mild", "30 very_mild", "40 hand", "no_wash", "30 hand*"}

// source: shared reference compliance.md §4, care_wash_meet_table.csv (225 pairs): the set is the published wash
// symbols of ISO 3758 as read, with "50 normal" from memory. Row a, column b, letter = place in states.
var meetTable = []string{
	"abcdefghijklmno",
	"bbcdefghijklmno",
	"cccdefghijklmno",
	"ddddffhhikklmno",
	"eeefefghijklmno",
	"ffffffhhikklmno",
	"ggghghghijklmno",
	"hhhhhhhhikklmno",
	"iiiiiiiiilllmno",
	"jjjkjkjkljklono",
	"kkkkkkkklkklono",
	"llllllllllllono",
	"mmmmmmmmmooomno",
	"nnnnnnnnnnnnnnn",
	"ooooooooooooono",
}

// parsed reads the compact form of the reference: wash, bleach, tumble, natural, iron, dry, wet.
func parsed(t *testing.T, row [7]string) Label {
	t.Helper()
	l := Label{Bleach: Bleach(row[1]), Tumble: Tumble(row[2]), Iron: Iron(row[4]), Wet: Wet(row[6])}
	degrees, action, washed := strings.Cut(strings.TrimSuffix(row[0], "*"), " ")
	if !washed {
		l.Wash = NoWash
	} else {
		l.Wash = Action(action)
		for _, c := range []units.Celsius{95, 70, 60, 50, 40, 30} {
			if degreesOf(c) == degrees {
				l.WashMax = c
			}
		}
	}
	l.Flat, l.Drip, l.Shade = strings.Contains(row[3], "flat"), strings.Contains(row[3], "drip"), strings.Contains(row[3], "shade")
	solvent, act, cleaned := strings.Cut(row[5], " ")
	l.Dry = Solvent(solvent)
	if cleaned {
		l.DryAction = Action(act)
	}
	if fs := l.Check(); len(fs) > 0 {
		t.Fatalf("%v: %v", row, fs)
	}
	return l
}

func degreesOf(c units.Celsius) string { return string(rune('0'+c/10)) + string(rune('0'+c%10)) }

func compact(l Label) [7]string {
	return [7]string{washCode(l), string(l.Bleach), string(l.Tumble), naturalCode(l), string(l.Iron), dryCode(l), string(l.Wet)}
}

func washOnly(t *testing.T, wash string) Label {
	return parsed(t, [7]string{wash, "any", "normal", "line", "200", "P normal", "W"})
}

func TestMeet_everyPairOfWashes(t *testing.T) {
	for i, row := range meetTable {
		for j := range row {
			met, result := Meet(washOnly(t, states[i]), washOnly(t, states[j]))
			if got, want := washCode(met), states[row[j]-'a']; got != want || result.Blocks {
				t.Errorf("%s with %s: got %s, want %s", states[i], states[j], got, want)
			}
		}
	}
}

func TestMeet_published(t *testing.T) {
	const reference = "shared reference compliance.md §4, care_meet_cases.csv "
	for _, row := range []struct {
		garment, film, want [7]string
		blocks              bool
		beside              int
		source              string
	}{
		{[7]string{"60 normal", "any", "normal", "line", "200", "P normal", "W"}, [7]string{"40 mild", "no_bleach", "no_tumble", "line", "110", "no_dryclean", "W_mild"}, [7]string{"40 mild", "no_bleach", "no_tumble", "line", "110", "no_dryclean", "W_mild"}, false, 0, reference + "K01"},
		{[7]string{"30 very_mild", "oxygen_only", "no_tumble", "drip_flat_shade", "110", "F mild", "W_very_mild"}, [7]string{"60 mild", "no_bleach", "low", "line", "150", "no_dryclean", "W"}, [7]string{"30 very_mild", "no_bleach", "no_tumble", "drip_flat_shade", "110", "no_dryclean", "W_very_mild"}, false, 0, reference + "K02"},
		{[7]string{"50 normal", "any", "normal", "line", "150", "P normal", "W"}, [7]string{"60 mild", "any", "normal", "line", "200", "P normal", "W"}, [7]string{"50 mild", "any", "normal", "line", "150", "P normal", "W"}, false, 0, reference + "K04"},
		{[7]string{"70 normal", "any", "normal", "line", "200", "P normal", "W"}, [7]string{"60 mild", "any", "normal", "line", "200", "P normal", "W"}, [7]string{"60 mild", "any", "normal", "line", "200", "P normal", "W"}, false, 0, reference + "K05"},
		{[7]string{"40 hand", "any", "no_tumble", "line", "150", "no_dryclean", "W"}, [7]string{"30 normal", "any", "low", "line", "110", "no_dryclean", "W"}, [7]string{"30 hand*", "any", "no_tumble", "line", "110", "no_dryclean", "W"}, false, 1, reference + "K07"},
		{[7]string{"no_wash", "any", "no_tumble", "line", "150", "P normal", "no_wetclean"}, [7]string{"40 mild", "no_bleach", "no_tumble", "line", "110", "no_dryclean", "no_wetclean"}, [7]string{"no_wash", "no_bleach", "no_tumble", "line", "110", "no_dryclean", "no_wetclean"}, true, 0, reference + "K08; 16 CFR 423.6(b)"},
		{[7]string{"40 normal", "any", "low", "drip_line", "150", "P normal", "W"}, [7]string{"40 normal", "any", "low", "flat_shade", "150", "P normal", "W"}, [7]string{"40 normal", "any", "low", "drip_flat_shade", "150", "P normal", "W"}, false, 0, reference + "K10"},
		{[7]string{"95 normal", "any", "normal", "line", "200", "P normal", "W"}, [7]string{"95 normal", "any", "normal", "line", "200", "P normal", "W"}, [7]string{"95 normal", "any", "normal", "line", "200", "P normal", "W"}, false, 0, reference + "K11"},
	} {
		if row.source == "" {
			t.Fatal("a row without a source")
		}
		met, result := Meet(parsed(t, row.garment), parsed(t, row.film))
		if got := compact(met); got != row.want || result.Blocks != row.blocks || len(result.Beside) != row.beside {
			t.Errorf("%s: got %v %+v, want %v", row.source, got, result, row.want)
		}
	}
}

func anyLabel(t *rapid.T, name string) Label {
	l := Label{
		Wash:   rapid.SampledFrom(actions).Draw(t, name+" wash"),
		Bleach: rapid.SampledFrom(bleaches).Draw(t, name+" bleach"),
		Tumble: rapid.SampledFrom(tumbles).Draw(t, name+" tumble"),
		Flat:   rapid.Bool().Draw(t, name+" flat"), Drip: rapid.Bool().Draw(t, name+" drip"), Shade: rapid.Bool().Draw(t, name+" shade"),
		Iron: rapid.SampledFrom(irons).Draw(t, name+" iron"),
		Dry:  rapid.SampledFrom(solvents).Draw(t, name+" dry"),
		Wet:  rapid.SampledFrom(wets).Draw(t, name+" wet"),
	}
	l.WashMax = rapid.SampledFrom(washes[l.Wash]).Draw(t, name+" degrees")
	if l.Dry != NoDryClean {
		l.DryAction = rapid.SampledFrom(dryActions).Draw(t, name+" dry action")
	}
	return l
}

func TestMeet_laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := anyLabel(t, "a"), anyLabel(t, "b"), anyLabel(t, "c")
		meet := func(a, b Label) Label { met, _ := Meet(a, b); return met }
		if meet(a, a) != a {
			t.Fatal("not idempotent")
		}
		if meet(a, b) != meet(b, a) {
			t.Fatal("not commutative")
		}
		if meet(meet(a, b), c) != meet(a, meet(b, c)) {
			t.Fatal("not associative")
		}
		met := meet(a, b)
		if fs := met.Check(); len(fs) > 0 {
			t.Fatalf("the met label is no label: %v", fs)
		}
		if meet(met, a) != met || meet(met, b) != met {
			t.Fatalf("%v is milder than %v or %v", met, a, b)
		}
		_, result := Meet(a, b)
		if dead := met.Wash == NoWash && met.Dry == NoDryClean && met.Wet == NoWetClean; result.Blocks != dead || dead != (result.Reason != "") {
			t.Fatalf("dead end %v, result %+v", dead, result)
		}
	})
}

func FuzzMeet(f *testing.F) {
	f.Add("normal", int64(60), "any", "normal", "200", "P", "normal", "W")
	f.Add("hand", int64(30), "no_bleach", "low", "no_iron", "no_dryclean", "", "no_wetclean")
	f.Add("", int64(-1), "", "", "", "", "", "")
	f.Fuzz(func(t *testing.T, wash string, degrees int64, bleach, tumble, iron, dry, dryAction, wet string) {
		l := Label{WashMax: units.Celsius(degrees), Wash: Action(wash), Bleach: Bleach(bleach), Tumble: Tumble(tumble), Iron: Iron(iron), Dry: Solvent(dry), DryAction: Action(dryAction), Wet: Wet(wet)}
		met, result := Meet(l, l)
		if sound := len(l.Check()) == 0; sound != (met == l) && met != (Label{}) || !sound && !result.Blocks {
			t.Fatalf("label %+v, sound %v: met %+v, %+v", l, sound, met, result)
		}
		for _, p := range append(Words(met), Decorated(met)...) {
			if met != (Label{}) && (p.Words == "" || p.Code == "" || p.Source == "") {
				t.Fatalf("no words: %+v", p)
			}
		}
	})
}

func TestLabel_Check_namesEveryAxis(t *testing.T) {
	var got []string
	for _, f := range (Label{}).Check() {
		got = append(got, f.Path)
	}
	if want := []string{"wash", "bleach", "tumble", "iron", "dry", "dry_action", "wet"}; !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	for path, spoil := range map[string]func(*Label){
		"wash_max_celsius": func(l *Label) { l.WashMax = 95; l.Wash = Mild },
		"dry_action":       func(l *Label) { l.Dry = NoDryClean },
	} {
		l := washOnly(t, "40 normal")
		spoil(&l)
		if fs := l.Check(); len(fs) != 1 || fs[0].Path != path {
			t.Errorf("want one fault at %s, got %v", path, fs)
		}
	}
}

func TestWords(t *testing.T) {
	l := parsed(t, [7]string{"30 hand*", "oxygen_only", "no_tumble", "drip_flat_shade", "no_iron", "F mild", "W_very_mild"})
	var got []string
	for _, p := range append(Words(l), Decorated(l)...) {
		if p.Source == "" {
			t.Errorf("%q has no source", p.Words)
		}
		got = append(got, p.Words)
	}
	want := []string{"Hand wash, at most 30 °C", "Oxygen bleach only", "Do not tumble dry", "Dry flat, dripping wet, in the shade", "Do not iron", "Dry clean, hydrocarbons only, mild", "Professional wet clean, very mild", "Wash inside out", "Do not iron decal"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %q", got)
	}
}

func TestWaterTerm_andWashTest_published(t *testing.T) {
	for _, row := range []struct{ wash, term, procedure, source string }{
		{"95 normal", "", "9N", "ISO 6330:2012 type A (from memory); 16 CFR 423.1: hot ends at 145 °F"},
		{"70 normal", "", "7N", "ISO 6330:2012 type A (from memory)"},
		{"60 normal", "hot", "6N", "16 CFR 423.1: hot 112-145 °F; ISO 6330:2012 (from memory)"},
		{"60 mild", "hot", "6M", "ISO 6330:2012 (from memory)"},
		{"50 normal", "hot", "5N", "ISO 6330:2012 (from memory)"},
		{"50 mild", "hot", "5M", "ISO 6330:2012 (from memory)"},
		{"40 normal", "warm", "4N", "16 CFR 423.1: warm 87-111 °F; ISO 6330 (shared reference §4: 4N = 40 °C normal)"},
		{"40 mild", "warm", "4M", "ISO 6330 (shared reference §4)"},
		{"40 very_mild", "warm", "4G", "ISO 6330 (shared reference §4)"},
		{"40 hand", "warm", "4H", "ISO 6330 (shared reference §4)"},
		{"30 normal", "cold", "3N", "16 CFR 423.1: cold to 86 °F; ISO 6330:2012 (from memory)"},
		{"30 mild", "cold", "3M", "ISO 6330:2012 (from memory)"},
		{"30 very_mild", "cold", "3G", "ISO 6330:2012 (from memory)"},
		{"30 hand*", "cold", "", "ours: ISO 6330:2012 lists no hand wash at 30 °C"},
		{"no_wash", "", "", "ours"},
	} {
		if row.source == "" {
			t.Fatal("a row without a source")
		}
		l := washOnly(t, row.wash)
		procedure, ok := WashTest(l)
		if term := WaterTerm(l); term != row.term || procedure != row.procedure || ok != (row.procedure != "") {
			t.Errorf("%s: %q and %q, want %q and %q (%s)", row.wash, term, procedure, row.term, row.procedure, row.source)
		}
	}
}
