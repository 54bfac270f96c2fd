package demo

import (
	"context"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/recipes"
	"evenpeel/recipes/units"
)

// house is a branch with what the demo knows of it.
type house struct {
	branches.Branch
	runs     int // a month
	presses  int
	machines []machines.Machine
}

// Weak is the branch whose small cutter can not press its blade hard enough for the thickest film: the card of
// recipes/ridge-cotton and recipes/ridge-blend is refused there.
const Weak = "branches/lantern-steps"

const (
	eu recipes.Market = "EU"
	uk recipes.Market = "UK"
)

func houses() []house {
	list := []house{
		{Branch: branches.Branch{Name: "branches/harbour-street", Title: "Harbour Street", Place: "Larkhaven", Market: eu, TimeZone: "Europe/Lisbon"}, runs: 96, presses: 2},
		{Branch: branches.Branch{Name: Cold, Title: "Tanner Row", Place: "Veldringen", Market: eu, TimeZone: "Europe/Berlin"}, runs: 74, presses: 1},
		{Branch: branches.Branch{Name: "branches/mill-lane", Title: "Mill Lane", Place: "Brunnhaal", Market: eu, TimeZone: "Europe/Amsterdam"}, runs: 58, presses: 1},
		{Branch: branches.Branch{Name: "branches/well-court", Title: "Well Court", Place: "Quillane", Market: eu, TimeZone: "Europe/Dublin"}, runs: 44, presses: 1},
		{Branch: branches.Branch{Name: "branches/linden-square", Title: "Linden Square", Place: "Tessermond", Market: eu, TimeZone: "Europe/Vienna"}, runs: 120, presses: 2},
		{Branch: branches.Branch{Name: Weak, Title: "Lantern Steps", Place: "Castrelle", Market: eu, TimeZone: "Europe/Paris"}, runs: 24, presses: 1},
		{Branch: branches.Branch{Name: "branches/olive-terrace", Title: "Olive Terrace", Place: "Monteliva", Market: eu, TimeZone: "Europe/Madrid"}, runs: 82, presses: 2},
		{Branch: branches.Branch{Name: "branches/ferry-landing", Title: "Ferry Landing", Place: "Rivaspina", Market: eu, TimeZone: "Europe/Rome"}, runs: 66, presses: 1},
		{Branch: branches.Branch{Name: "branches/bell-tower", Title: "Bell Tower", Place: "Hradovar", Market: eu, TimeZone: "Europe/Prague"}, runs: 38, presses: 1},
		{Branch: branches.Branch{Name: "branches/north-quay", Title: "North Quay", Place: "Vintersunda", Market: eu, TimeZone: "Europe/Stockholm"}, runs: 52, presses: 1},
		{Branch: branches.Branch{Name: "branches/canal-bend", Title: "Canal Bend", Place: "Kaldemoor", Market: eu, TimeZone: "Europe/Brussels"}, runs: 88, presses: 2},
		{Branch: branches.Branch{Name: "branches/old-customs", Title: "Old Customs House", Place: "Pellanova", Market: eu, TimeZone: "Europe/Athens"}, runs: 30, presses: 1},
		{Branch: branches.Branch{Name: "branches/amber-gate", Title: "Amber Gate", Place: "Ambervitz", Market: eu, TimeZone: "Europe/Warsaw"}, runs: 108, presses: 2},
		{Branch: branches.Branch{Name: "branches/pine-yard", Title: "Pine Yard", Place: "Suvirannala", Market: eu, TimeZone: "Europe/Helsinki"}, runs: 20, presses: 1},
		{Branch: branches.Branch{Name: Wasteful, Title: "Cooper Yard", Place: "Marshwick Hythe", Market: uk, TimeZone: "Europe/London"}, runs: 78, presses: 1},
		{Branch: branches.Branch{Name: "branches/chapel-walk", Title: "Chapel Walk", Place: "Eldercombe Vale", Market: uk, TimeZone: "Europe/London"}, runs: 112, presses: 2},
		{Branch: branches.Branch{Name: "branches/station-arches", Title: "Station Arches", Place: "Thrushfold", Market: uk, TimeZone: "Europe/London"}, runs: 92, presses: 2},
		{Branch: branches.Branch{Name: "branches/market-cross", Title: "Market Cross", Place: "Copperdene", Market: uk, TimeZone: "Europe/London"}, runs: 62, presses: 1},
		{Branch: branches.Branch{Name: "branches/weavers-fold", Title: "Weavers Fold", Place: "Wexbourne St Ann", Market: uk, TimeZone: "Europe/London"}, runs: 48, presses: 1},
		{Branch: branches.Branch{Name: "branches/dyehouse", Title: "The Dyehouse", Place: "Nether Quarrel", Market: uk, TimeZone: "Europe/London"}, runs: 70, presses: 1},
		{Branch: branches.Branch{Name: "branches/topfold-yard", Title: "Topfold Yard", Place: "Ashmoor Cross", Market: uk, TimeZone: "Europe/London"}, runs: 34, presses: 1},
		{Branch: branches.Branch{Name: "branches/rope-walk", Title: "Rope Walk", Place: "Saltharrow", Market: uk, TimeZone: "Europe/London"}, runs: 56, presses: 1},
		{Branch: branches.Branch{Name: "branches/gorse-hill", Title: "Gorse Hill", Place: "Gorsebury Down", Market: uk, TimeZone: "Europe/London"}, runs: 26, presses: 1},
		{Branch: branches.Branch{Name: "branches/toll-bridge", Title: "Toll Bridge", Place: "Tollerwick", Market: uk, TimeZone: "Europe/London"}, runs: 84, presses: 2},
	}
	for i := range list {
		list[i].machines = append(list[i].machines, list[i].cutter(i))
		for p := range list[i].presses {
			list[i].machines = append(list[i].machines, list[i].press(i, p))
		}
	}
	return list
}

// cutter invents the i-th branch's cutter: force dials differ in the force of their steps.
func (h house) cutter(i int) machines.Machine {
	perStep := machines.Milli([]int64{8, 10, 12, 15}[i%4]) // gf in a step
	last := machines.Milli(48)
	if h.Name == Weak {
		perStep, last = 8, 35 // 8 + 8·35 = 288 gf at the very most
	}
	title := []string{"Bench cutter", "Floor cutter", "Wide cutter"}[i%3]
	force := machines.Dial{Quantity: machines.Force, Scale: "step", Step: 1000, Low: 1000, High: last * 1000}
	for _, at := range []machines.Milli{1, last / 2, last} { // a little weak in the middle, as springs are
		sag := machines.Milli(0)
		if at == last/2 {
			sag = 3000
		}
		force.Points = append(force.Points, machines.Point{Dial: at * 1000, True: (8+perStep*at)*1000 - sag})
	}
	speedStep := machines.Milli([]int64{1000, 5000}[i%2]) // cm/s
	return machines.Machine{
		Name: h.Name + "/machines/cutter", Kind: machines.Cutter, Title: title, Etag: 1,
		Dials: []machines.Dial{force, {
			Quantity: machines.Speed, Scale: "cm/s", Step: speedStep, Low: speedStep, High: 80_000,
			Points: []machines.Point{{Dial: 5_000, True: 50_000}, {Dial: 80_000, True: 800_000}},
		}},
		Width: []units.Millimetres{610, 760, 1370}[i%3], EdgeMargin: units.Millimetres(8 + 2*(i%3)), Lead: 15, Tail: units.Millimetres(20 + 5*(i%4)), LongestCut: 10_000,
		BladeOffset: 250, Overcut: 500, Acceleration: int64(2000 + 500*(i%5)), Travel: 600, UnitsPerM: 40_000, LongNumbers: i%3 > 0,
	}
}

// press invents the i-th branch's p-th press. Its temperature dial is at most 1 °C off, but for Cold's.
func (h house) press(i, p int) machines.Machine {
	off := machines.Milli((i*5+p*3)%5-2) * 500 // −1.0 to +1.0 °C
	if h.Name == Cold {
		off = -9000
	}
	heat := machines.Dial{Quantity: machines.Temperature, Scale: "°C", Step: 1000, Low: 80_000, High: 220_000}
	for _, at := range []machines.Milli{100_000, 150_000, 200_000} {
		heat.Points = append(heat.Points, machines.Point{Dial: at, True: at + off})
	}
	m := machines.Machine{
		Name: h.Name + "/machines/press-" + string(rune('1'+p)), Kind: machines.Press, Title: []string{"Front press", "Back press"}[p], Etag: 1,
		Dials:       []machines.Dial{heat, {Quantity: machines.Time, Scale: "s", Step: machines.Milli([]int64{1000, 500}[i%2]), High: 99_000}},
		PlatenWidth: []units.Millimetres{380, 400, 500}[i%3], PlatenDepth: []units.Millimetres{380, 500, 600}[i%3], Count: int64(1 + (i+p)%2),
	}
	if i%3 != 1 { // the others set pressure by a wheel, by feel
		perBar := machines.Milli([]int64{9, 10, 11}[i%3]) // kPa on the work for each bar in the cylinder
		m.Dials = append(m.Dials, machines.Dial{
			Quantity: machines.Pressure, Scale: "bar", Step: 100, Low: 1000, High: 6000,
			Points: []machines.Point{{Dial: 1000, True: perBar*1000 - 1000}, {Dial: 6000, True: perBar*6000 - 2000}},
		})
	}
	return m
}

func (l *loading) branches(ctx context.Context) error {
	for i, h := range l.houses {
		if err := h.Check().Fault("demo", "DEMO_INVALID", "A branch of the demo is not sound."); err != nil {
			return err
		}
		if err := l.store.PutBranch(ctx, h.Branch); err != nil {
			return err
		}
		for _, m := range h.machines {
			days := 20 + 11*i%150
			if h.Name == Cold && m.Kind == machines.Press {
				days = 3
			}
			m.CalibratedOn = l.day.AddDate(0, 0, -days).Format(time.DateOnly)
			if err := m.Check().Fault("demo", "DEMO_INVALID", "A machine of the demo is not sound."); err != nil {
				return err
			}
			if err := l.store.PutMachine(ctx, m); err != nil {
				return err
			}
		}
	}
	return nil
}
