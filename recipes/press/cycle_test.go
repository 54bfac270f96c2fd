package press

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestTimeline_peelDecidesTheOrder(t *testing.T) {
	hot := Cycle{Load: 10, PrePress: 3, Place: 8, Dwell: 15, Peel: Hot, PeelTime: 5, SecondPress: 5, TakeOff: 4}
	cold := hot
	cold.Peel, cold.PeelWait = Cold, 60
	for _, r := range []struct {
		name  string
		cycle Cycle
		want  []string
		total units.Seconds
	}{
		{"hot", hot, []string{"load", "pre-press", "place film", "press", "peel", "second press", "take off"}, 50},
		{"cold", cold, []string{"load", "pre-press", "place film", "press", "take off", "cool", "peel", "load again", "second press", "take off"}, 124},
		{"least", Cycle{Dwell: 1, Peel: Warm}, []string{"press"}, 1},
	} {
		var got []string
		for _, s := range r.cycle.Timeline() {
			got = append(got, s.Name)
			if s.HeatOn && (s.Hands || !s.OnPress) {
				t.Errorf("%s: heat with hands between the plates, or with no press: %+v", r.name, s)
			}
		}
		if !reflect.DeepEqual(got, r.want) || r.cycle.Seconds() != r.total {
			t.Errorf("%s: got %v in %d s, want %v in %d s", r.name, got, r.cycle.Seconds(), r.want, r.total)
		}
	}
}

func TestSchedule_smallCasesByHand(t *testing.T) {
	hot := Cycle{Load: 10, Place: 5, Dwell: 15, Peel: Hot, PeelTime: 5, TakeOff: 5}                 // hands 25, press 40
	cold := Cycle{Load: 10, Place: 5, Dwell: 20, Peel: Cold, PeelWait: 30, PeelTime: 5, TakeOff: 5} // press 40, hands 25
	slow := Cycle{Load: 20, Dwell: 10, Peel: Hot, TakeOff: 10}                                      // hands 30, heat 10
	again := Cycle{Load: 5, Dwell: 10, Peel: Warm, PeelWait: 10, PeelTime: 5, SecondPress: 10, TakeOff: 5}
	for _, r := range []struct {
		name               string
		cycle              Cycle
		presses, operators int
		perHour            int64
		bound              string
		garments           int
		time               units.Seconds
		source             string
	}{
		{"one press, one pair of hands", hot, 1, 1, 90, "press", 10, 400, "by hand: 3600/40; 10 × 40 s"},
		{"two presses never wait for two operators", hot, 2, 2, 180, "press", 10, 200, "by hand: each its own press, 5 × 40 s"},
		{"many presses, hands are the limit", slow, 6, 1, 120, "hands", 4, 120, "by hand: 3600/30; hands 4 × 30 s and never idle"},
		{"cold peel fits into the next dwell", cold, 1, 1, 90, "press", 1, 75, "by hand: press 40 s each; the one garment 40 + 30 + 5 s"},
		{"cold peel of two garments", cold, 1, 1, 90, "press", 2, 115, "by hand: second leaves the press at 80 s, waits 30, peel 5"},
		{"no garments", hot, 3, 1, 112, "", 0, 0, "by hand: nothing to do"},
		{"second press needs the press again", again, 1, 1, 90, "press", 1, 55, "by hand: press 20 + 20 s; alone 20 + 10 + 5 + 20 s"},
	} {
		if r.source == "" {
			t.Errorf("%s: has no source", r.name)
		}
		time, err := TimeFor(r.cycle, r.garments, r.presses, r.operators)
		if err != nil || time != r.time {
			t.Errorf("%s: got %d s, %v; want %d s (%s)", r.name, time, err, r.time, r.source)
		}
		if r.bound == "" {
			continue
		}
		out, err := Hourly(r.cycle, r.presses, r.operators)
		if err != nil || out.GarmentsPerHour != r.perHour || out.Bound != r.bound {
			t.Errorf("%s: got %+v, %v; want %d an hour bound by %s (%s)", r.name, out, err, r.perHour, r.bound, r.source)
		}
	}
}

func TestHourly_tellsOfOverstay(t *testing.T) {
	// By hand, two presses and one pair of hands: A heats 40–50 s, B is loaded 40–80, A is taken off 80–85, B heats
	// 80–90 and waits while C is loaded 85–125: 35 s.
	c := Cycle{Load: 40, Dwell: 10, Peel: Hot, TakeOff: 5}
	one, err := Hourly(c, 1, 1)
	if err != nil || one.Overstay != 0 {
		t.Errorf("one press: got %+v, %v", one, err)
	}
	if two, err := Hourly(c, 2, 1); err != nil || two.Overstay != 35 {
		t.Errorf("two presses: got %+v, %v; want an overstay of 35 s", two, err)
	}
}

func anyCycle(t *rapid.T) Cycle {
	s := func(name string, least int64) units.Seconds {
		return units.Seconds(rapid.Int64Range(least, 40).Draw(t, name))
	}
	return Cycle{s("load", 0), s("pre-press", 0), s("place", 0), s("dwell", 1), rapid.SampledFrom([]Peel{Hot, Warm, Cold}).Draw(t, "peel"),
		s("wait", 0), s("peel time", 0), s("second", 0), s("take off", 0)}
}

func TestSchedule_boundsAndDeterminism(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := anyCycle(t)
		presses, operators := rapid.IntRange(1, 5).Draw(t, "presses"), rapid.IntRange(1, 3).Draw(t, "operators")
		n := rapid.IntRange(1, 60).Draw(t, "garments")
		got, err := TimeFor(c, n, presses, operators)
		if err != nil {
			t.Fatal(err)
		}
		if again, _ := TimeFor(c, n, presses, operators); again != got {
			t.Fatalf("same input, %d s and %d s", got, again)
		}
		var hands, onPress units.Seconds
		for _, s := range c.Timeline() {
			if s.Hands {
				hands += s.Seconds
			}
			if s.OnPress {
				onPress += s.Seconds
			}
		}
		count := units.Seconds(n)
		if got < c.Seconds() || got > count*c.Seconds() || got*units.Seconds(operators) < count*hands || got*units.Seconds(presses) < count*onPress {
			t.Fatalf("%+v: %d garments in %d s; one takes %d s, hands %d, press %d", c, n, got, c.Seconds(), hands, onPress)
		}
		if one, _ := TimeFor(c, 1, presses, operators); one != c.Seconds() {
			t.Fatalf("%+v: one garment takes %d s, its steps %d s", c, one, c.Seconds())
		}
		out, err := Hourly(c, presses, operators)
		if err != nil {
			t.Fatal(err)
		}
		perHour := units.Seconds(out.GarmentsPerHour)
		// A warm start may leave a few garments under way, so the rate may be off by a hundredth.
		if 100*perHour*hands > 101*3600*units.Seconds(operators) || 100*perHour*onPress > 101*3600*units.Seconds(presses) || out.Overstay < 0 {
			t.Fatalf("%+v with %d presses and %d operators: %+v is more than hands (%d s) or presses (%d s) allow", c, presses, operators, out, hands, onPress)
		}
	})
}

func TestSchedule_refusals(t *testing.T) {
	good := Cycle{Dwell: 10, Peel: Hot}
	if _, err := TimeFor(good, MaxGarments+1, 1, 1); !fault.Is(err, fault.TooLarge) {
		t.Errorf("too many garments: got %v", err)
	}
	if _, err := Hourly(good, MaxPresses+1, 1); !fault.Is(err, fault.TooLarge) {
		t.Errorf("too many presses: got %v", err)
	}
	_, err := Hourly(Cycle{Load: -1, PrePress: MaxStepSeconds + 1, Peel: "tepid"}, 0, 0)
	if f, ok := fault.As(err); !ok || f.Kind != fault.Invalid || len(f.Fields) != 6 {
		t.Errorf("got %v, want load, pre_press, dwell, peel, presses and operators", err)
	}
	if err := (Cycle{Dwell: 10}).Check(); !fault.Is(err, fault.Invalid) {
		t.Errorf("no peel: got %v", err)
	}
	if err := good.Check(); err != nil {
		t.Errorf("got %v", err)
	}
}

func FuzzTimeFor(f *testing.F) {
	f.Add(int64(10), int64(3), int64(5), int64(15), "cold", int64(60), int64(5), int64(5), int64(5), 20, 2, 1)
	f.Fuzz(func(t *testing.T, load, pre, place, dwell int64, peel string, wait, peelTime, second, off int64, garments, presses, operators int) {
		c := Cycle{units.Seconds(load), units.Seconds(pre), units.Seconds(place), units.Seconds(dwell), Peel(peel), units.Seconds(wait), units.Seconds(peelTime), units.Seconds(second), units.Seconds(off)}
		got, err := TimeFor(c, garments, presses, operators)
		if err != nil {
			if _, ok := fault.As(err); !ok {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		if garments > 0 && got < c.Seconds() {
			t.Fatalf("%+v: %d garments in %d s", c, garments, got)
		}
	})
}

func BenchmarkHourly_threePresses(b *testing.B) {
	c := Cycle{Load: 10, PrePress: 3, Place: 8, Dwell: 15, Peel: Cold, PeelWait: 60, PeelTime: 5, SecondPress: 5, TakeOff: 4}
	for b.Loop() {
		if _, err := Hourly(c, 3, 1); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTimeFor_10000Garments(b *testing.B) {
	c := Cycle{Load: 10, PrePress: 3, Place: 8, Dwell: 15, Peel: Cold, PeelWait: 60, PeelTime: 5, SecondPress: 5, TakeOff: 4}
	for b.Loop() {
		if _, err := TimeFor(c, MaxGarments, 3, 1); err != nil {
			b.Fatal(err)
		}
	}
}
