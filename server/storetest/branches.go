package storetest

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/branches/orders"
	"evenpeel/branches/stock"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

const harbour = "branches/harbour"

func press(id string) machines.Machine {
	return machines.Machine{
		Name: harbour + "/machines/" + id, Kind: machines.Press, Title: "Press " + id, Width: 1, EdgeMargin: 2, Lead: 3, Tail: 4, LongestCut: 5,
		BladeOffset: 6, Acceleration: 7, Travel: 8, UnitsPerM: 9, PlatenWidth: 400, PlatenDepth: 500, Count: 2, CalibratedOn: "2026-02-01", Etag: 1,
		Dials: []machines.Dial{
			{Quantity: machines.Temperature, Scale: "°C", Step: 1000, Low: 1, High: 220_000, Points: []machines.Point{{Dial: 1, True: 2}, {Dial: 3, True: 4}}},
			{Quantity: machines.Time, Scale: "s", Step: 500, High: 60_000},
		},
	}
}

func roll(id string, length units.Millimetres) (stock.Roll, stock.Movement) {
	r := stock.Roll{Name: harbour + "/rolls/" + id, Film: "glimmer", Colour: "gold", Lot: "L1", Width: 500, Length: length, Remnant: true, Place: "shelf 2", Received: noon}
	return r, stock.Movement{ID: "receive-" + id, Roll: r.Name, Change: r.Length, Why: "receive", Person: "people/ada", Made: noon}
}

var branchPromises = []promise{
	{"a branch is added and replaced", func(t *testing.T, s Stores) {
		b := branches.Branch{Name: harbour, Title: "Harbour", Place: "Pier 3", Market: "EU", TimeZone: "Europe/Lisbon"}
		_, err := s.Branch(t.Context(), harbour)
		refused(t, err, fault.NotFound, "BRANCH_NOT_FOUND")
		must(t, s.PutBranch(t.Context(), b))
		b.Title = "Quay"
		must(t, s.PutBranch(t.Context(), b))
		same(t, got(s.Branch(t.Context(), harbour))(t), b)
		a := branches.Branch{Name: "branches/zoo", Title: "Ark", Place: "Gate", Market: "UK", TimeZone: "Europe/London"}
		must(t, s.PutBranch(t.Context(), a))
		same(t, got(s.Branches(t.Context()))(t), []branches.Branch{a, b})
	}},
	{"a machine comes back as it was put, and moves on by its etag", func(t *testing.T, s Stores) {
		m, other := press("p2"), press("p1")
		must(t, s.PutMachine(t.Context(), m))
		must(t, s.PutMachine(t.Context(), other))
		same(t, got(s.Machines(t.Context(), harbour))(t), []machines.Machine{other, m})
		same(t, len(got(s.Machines(t.Context(), "branches/none"))(t)), 0)
		refused(t, s.PutMachine(t.Context(), m), fault.MovedOn, "MACHINE_MOVED_ON")
		m.Etag, m.Title, m.Dials = 2, "Moved", m.Dials[:1]
		must(t, s.PutMachine(t.Context(), m))
		refused(t, s.PutMachine(t.Context(), m), fault.MovedOn, "MACHINE_MOVED_ON")
		same(t, got(s.Machines(t.Context(), harbour))(t)[1], m)
		m.Name, m.Etag = harbour+"/machines/none", 5
		refused(t, s.PutMachine(t.Context(), m), fault.MovedOn, "MACHINE_MOVED_ON")
	}},
	{"a roll's length is the sum of its movements", func(t *testing.T, s Stores) {
		r, first := roll("r1", 1000)
		_, err := s.Roll(t.Context(), r.Name)
		refused(t, err, fault.NotFound, "ROLL_NOT_FOUND")
		must(t, s.AddRoll(t.Context(), r, first))
		same(t, got(s.Roll(t.Context(), r.Name))(t), r)
		m := stock.Movement{ID: "m1", Roll: r.Name, Change: -300, Why: "draw", Person: "people/bo", Made: noon}
		must(t, s.Move(t.Context(), m))
		must(t, s.Move(t.Context(), m)) // sent twice, stored once
		must(t, s.AddRoll(t.Context(), r, first))
		r.Length = 700
		same(t, got(s.Roll(t.Context(), r.Name))(t), r)
		m.ID, m.Change = "m2", -701
		refused(t, s.Move(t.Context(), m), fault.NotReady, "ROLL_TOO_SHORT")
		m.Change = -700
		must(t, s.Move(t.Context(), m))
		r.Length = 0
		same(t, got(s.Rolls(t.Context(), harbour))(t), []stock.Roll{r})
		m.ID, m.Roll = "m3", harbour+"/rolls/none"
		refused(t, s.Move(t.Context(), m), fault.NotFound, "ROLL_NOT_FOUND")
	}},
	{"rolls are listed by film, colour and age", func(t *testing.T, s Stores) {
		for i, film := range []string{"velour", "glimmer", "glimmer", "glimmer"} {
			r, first := roll(fmt.Sprint("r", i), 10)
			r.Film = film
			r.Colour = []string{"red", "red", "gold", "gold"}[i]
			r.Received = noon.Add(-time.Duration(i) * time.Hour)
			must(t, s.AddRoll(t.Context(), r, first))
		}
		var names []string
		for _, r := range got(s.Rolls(t.Context(), harbour))(t) {
			names = append(names, r.Name[len(harbour+"/rolls/"):])
		}
		same(t, names, []string{"r3", "r2", "r1", "r0"})
	}},
	{"a roll never has less than nothing, however many draw at once", func(t *testing.T, s Stores) {
		r, first := roll("r1", 1000)
		must(t, s.AddRoll(t.Context(), r, first))
		var drawn atomic.Int64
		atOnce(8, func(i int) {
			switch err := s.Move(t.Context(), stock.Movement{ID: fmt.Sprint("m", i), Roll: r.Name, Change: -300, Why: "draw", Made: noon}); {
			case err == nil:
				drawn.Add(1)
			case !fault.Is(err, fault.NotReady):
				t.Error(err)
			}
		})
		same(t, drawn.Load(), int64(3))
		same(t, int64(got(s.Roll(t.Context(), r.Name))(t).Length), int64(100))
	}},
	{"drawings are kept once, for one branch", func(t *testing.T, s Stores) {
		d := orders.KeptDrawing{Branch: harbour, Name: "drawings/abc", Title: "Heron", Outlines: []byte{0, 1, 255}}
		must(t, s.PutDrawing(t.Context(), d))
		again := d
		again.Title = "Other"
		must(t, s.PutDrawing(t.Context(), again))
		same(t, got(s.Drawing(t.Context(), harbour, d.Name))(t), d)
		_, err := s.Drawing(t.Context(), "branches/other", d.Name)
		refused(t, err, fault.NotFound, "DRAWING_NOT_FOUND")
	}},
	{"orders are kept once and listed newest first", func(t *testing.T, s Stores) {
		var all []orders.KeptOrder
		for i := range 3 {
			o := orders.KeptOrder{Name: fmt.Sprint(harbour, "/orders/o", i), Branch: harbour, Title: fmt.Sprint("Team ", i), Created: noon.Add(time.Duration(i) * time.Minute), Body: []byte{byte(i)}}
			same(t, got(s.AddOrder(t.Context(), o))(t), o)
			all = append([]orders.KeptOrder{o}, all...)
		}
		again := all[0]
		again.Body = []byte("other")
		same(t, got(s.AddOrder(t.Context(), again))(t), all[0])
		same(t, got(s.Order(t.Context(), all[1].Name))(t), all[1])
		same(t, got(s.Orders(t.Context(), harbour, 2))(t), all[:2])
		same(t, len(got(s.Orders(t.Context(), "branches/other", 2))(t)), 0)
		_, err := s.Order(t.Context(), harbour+"/orders/none")
		refused(t, err, fault.NotFound, "ORDER_NOT_FOUND")
	}},
}
