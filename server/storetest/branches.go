package storetest

import (
	"fmt"
	"math/rand/v2"
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
		BladeOffset: 6, Acceleration: 7, Travel: 8, UnitsPerM: 9, LongNumbers: true, Overcut: 10, PlatenWidth: 400, PlatenDepth: 500, Count: 2, CalibratedOn: "2026-02-01", Etag: 1,
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
	{"a count stores the difference, and a count that agrees too", func(t *testing.T, s Stores) {
		r, first := roll("r1", 1000)
		must(t, s.AddRoll(t.Context(), r, first))
		count := func(id string, measured units.Millimetres) stock.Movement {
			return got(s.Count(t.Context(), stock.Movement{ID: id, Roll: r.Name, Counted: measured, Person: "people/bo", Made: noon.Add(time.Hour)}))(t)
		}
		want := stock.Movement{ID: "c1", Roll: r.Name, Change: -40, Why: "count", Person: "people/bo", Made: noon.Add(time.Hour), Counted: 960, Left: 960}
		same(t, count("c1", 960), want)
		same(t, count("c1", 960), want) // sent twice, stored once
		same(t, count("c2", 960).Change, units.Millimetres(0))
		same(t, count("c3", 0).Left, units.Millimetres(0))
		same(t, count("c4", 300).Change, units.Millimetres(300))
		r.Length = 300
		same(t, got(s.Roll(t.Context(), r.Name))(t), r)
		_, err := s.Count(t.Context(), stock.Movement{ID: "c5", Roll: harbour + "/rolls/none", Made: noon})
		refused(t, err, fault.NotFound, "ROLL_NOT_FOUND")
	}},
	{"an id with something else in it is refused and changes nothing", func(t *testing.T, s Stores) {
		r, first := roll("r1", 1000)
		must(t, s.AddRoll(t.Context(), r, first))
		draw := stock.Movement{ID: "m1", Roll: r.Name, Change: -300, Why: "draw", Person: "people/bo", Made: noon}
		must(t, s.Move(t.Context(), draw))
		count := stock.Movement{ID: "c1", Roll: r.Name, Counted: 690, Person: "people/bo", Made: noon}
		got(s.Count(t.Context(), count))(t)
		piece := stock.Piece{ID: "p1", Roll: r.Name, Remnant: harbour + "/rolls/p1", Length: 90, Width: 300, Place: "drawer", Person: "people/bo", Made: noon}
		must(t, s.Cut(t.Context(), piece))
		must(t, s.Move(t.Context(), stock.Movement{ID: "m2", Roll: r.Name, Change: -100, Why: "draw", Made: noon})) // the account moves on
		before, list := got(s.Rolls(t.Context(), harbour))(t), got(s.Movements(t.Context(), harbour, time.Time{}, "", 100))(t)
		later := noon.Add(time.Hour)
		other, longer := r, first
		other.Colour = "red"
		longer.ID = draw.ID
		for name, act := range map[string]func() error{
			"a roll of another colour":    func() error { return s.AddRoll(t.Context(), other, first) },
			"a roll under a draw's id":    func() error { return s.AddRoll(t.Context(), r, longer) },
			"a draw of another length":    func() error { m := draw; m.Change--; return s.Move(t.Context(), m) },
			"waste instead of a draw":     func() error { m := draw; m.Why = "waste"; return s.Move(t.Context(), m) },
			"a draw from another roll":    func() error { m := draw; m.Roll = piece.Remnant; return s.Move(t.Context(), m) },
			"a draw under a count's id":   func() error { m := draw; m.ID = count.ID; return s.Move(t.Context(), m) },
			"another measure":             func() error { m := count; m.Counted--; _, err := s.Count(t.Context(), m); return err },
			"a count under a draw's id":   func() error { m := count; m.ID = draw.ID; _, err := s.Count(t.Context(), m); return err },
			"a longer piece":              func() error { p := piece; p.Length++; return s.Cut(t.Context(), p) },
			"a wider piece":               func() error { p := piece; p.Width++; return s.Cut(t.Context(), p) },
			"a piece in another place":    func() error { p := piece; p.Place = "shelf"; return s.Cut(t.Context(), p) },
			"a piece under a draw's id":   func() error { p := piece; p.ID = draw.ID; return s.Cut(t.Context(), p) },
			"a piece off another's piece": func() error { p := piece; p.Roll = piece.Remnant; return s.Cut(t.Context(), p) },
		} {
			t.Run(name, func(t *testing.T) { refused(t, act(), fault.Invalid, "MOVEMENT_ID_REUSED") })
		}
		draw.Made, draw.Person, count.Made, piece.Made, r.Received = later, "people/cy", later, later, later // the same, from another hand
		must(t, s.AddRoll(t.Context(), r, first))
		must(t, s.Move(t.Context(), draw))
		got(s.Count(t.Context(), count))(t)
		must(t, s.Cut(t.Context(), piece))
		same(t, got(s.Rolls(t.Context(), harbour))(t), before)
		same(t, got(s.Movements(t.Context(), harbour, time.Time{}, "", 100))(t), list)
	}},
	{"a remnant is cut off a roll whole or not at all", func(t *testing.T, s Stores) {
		r, first := roll("r1", 1000)
		r.Remnant = false
		must(t, s.AddRoll(t.Context(), r, first))
		p := stock.Piece{ID: "p1", Roll: r.Name, Remnant: harbour + "/rolls/p1", Length: 400, Width: 300, Place: "drawer", Person: "people/bo", Made: noon.Add(time.Hour)}
		must(t, s.Cut(t.Context(), p))
		must(t, s.Cut(t.Context(), p)) // sent twice, stored once
		want := r
		want.Name, want.CutFrom, want.Remnant, want.Width, want.Length, want.Place = p.Remnant, r.Name, true, 300, 400, "drawer"
		same(t, got(s.Roll(t.Context(), p.Remnant))(t), want)
		r.Length = 600
		same(t, got(s.Roll(t.Context(), r.Name))(t), r)
		for change, reason := range map[*stock.Piece]fault.Reason{
			{ID: "p2", Roll: r.Name, Remnant: harbour + "/rolls/p2", Length: 601}:                "ROLL_TOO_SHORT",
			{ID: "p2", Roll: r.Name, Remnant: harbour + "/rolls/p2", Length: 6, Width: 501}:      "REMNANT_INVALID",
			{ID: "p2", Roll: r.Name, Remnant: p.Remnant, Length: 6}:                              "ROLL_TAKEN",
			{ID: "p2", Roll: harbour + "/rolls/none", Remnant: harbour + "/rolls/p2", Length: 6}: "ROLL_NOT_FOUND",
		} {
			change.Made = noon
			f, _ := fault.As(s.Cut(t.Context(), *change))
			if f == nil || f.Reason != reason {
				t.Fatalf("got %v, want %s", f, reason)
			}
		}
		same(t, got(s.Roll(t.Context(), r.Name))(t), r) // the refused left nothing behind
		same(t, len(got(s.Movements(t.Context(), harbour, time.Time{}, "", 10))(t)), 3)
		whole := stock.Piece{ID: "p3", Roll: r.Name, Remnant: harbour + "/rolls/p3", Length: 600, Made: noon}
		must(t, s.Cut(t.Context(), whole))
		same(t, got(s.Roll(t.Context(), whole.Remnant))(t).Width, r.Width)
	}},
	{"movements are listed newest first with what was left after each", func(t *testing.T, s Stores) {
		for _, id := range []string{"r1", "r2"} {
			r, first := roll(id, 1000)
			must(t, s.AddRoll(t.Context(), r, first))
			// The clock of the second draw runs behind that of the first; it is listed after it all the same.
			for i, at := range []time.Time{noon.Add(2 * time.Hour), noon.Add(time.Hour)} {
				must(t, s.Move(t.Context(), stock.Movement{ID: fmt.Sprint(id, "-", i), Roll: r.Name, Change: -100, Why: "draw", Made: at}))
			}
		}
		left := func(list []stock.Movement) (out []string) {
			for _, m := range list {
				out = append(out, fmt.Sprint(m.ID, " ", m.Left))
			}
			return out
		}
		same(t, left(got(s.Movements(t.Context(), harbour+"/rolls/r1", time.Time{}, "", 10))(t)), []string{"r1-1 800", "r1-0 900", "receive-r1 1000"})
		every := got(s.Movements(t.Context(), harbour, time.Time{}, "", 10))(t)
		same(t, left(every), []string{"r2-1 800", "r1-1 800", "r2-0 900", "r1-0 900", "receive-r2 1000", "receive-r1 1000"})
		var paged []stock.Movement
		var at time.Time
		for id := ""; len(paged) < len(every); {
			page := got(s.Movements(t.Context(), harbour, at, id, 2))(t)
			if len(page) != 2 {
				t.Fatalf("a page holds %d", len(page))
			}
			paged = append(paged, page...)
			at, id = page[1].Made, page[1].ID
		}
		same(t, paged, every)
		same(t, len(got(s.Movements(t.Context(), "branches/other", time.Time{}, "", 10))(t)), 0)
	}},
	{"draws are summed by film, colour and day", func(t *testing.T, s Stores) {
		for _, id := range []string{"r1", "r2"} {
			r, first := roll(id, 1000)
			first.Made = noon.AddDate(0, 0, -9)
			must(t, s.AddRoll(t.Context(), r, first))
		}
		for i, m := range []stock.Movement{
			{Roll: "r1", Change: -300, Why: "draw", Made: noon.AddDate(0, 0, -8)}, {Roll: "r1", Change: -100, Why: "draw", Made: noon}, {Roll: "r2", Change: -50, Why: "waste", Made: noon},
			{Roll: "r2", Change: 20, Why: "return", Made: noon}, {Roll: "r2", Change: -7, Why: "count", Made: noon}, {Roll: "r1", Change: -30, Why: "draw", Made: noon.AddDate(0, 0, 1)},
		} {
			m.ID, m.Roll = fmt.Sprint("m", i), harbour+"/rolls/"+m.Roll
			must(t, s.Move(t.Context(), m))
		}
		day := noon.Unix() / 86400
		same(t, got(s.Uses(t.Context(), harbour, noon.AddDate(0, 0, -3)))(t), []stock.Use{
			{Film: "glimmer", Colour: "gold", Day: day, Length: 130}, {Film: "glimmer", Colour: "gold", Day: day + 1, Length: 30}})
		same(t, len(got(s.Uses(t.Context(), "branches/other", time.Unix(0, 0)))(t)), 0)
	}},
	{"whatever happens, a roll's length is the sum of its movements", func(t *testing.T, s Stores) {
		rnd := rand.New(rand.NewPCG(4, 4))
		account := map[string]units.Millimetres{}
		var names []string
		for i := range 60 {
			id := fmt.Sprint("x", i)
			if len(names) == 0 || rnd.IntN(9) == 0 {
				r, first := roll(id, units.Millimetres(1+rnd.IntN(900)))
				must(t, s.AddRoll(t.Context(), r, first))
				account[r.Name], names = r.Length, append(names, r.Name)
				continue
			}
			name, length := names[rnd.IntN(len(names))], units.Millimetres(1+rnd.IntN(400))
			switch rnd.IntN(3) {
			case 0:
				if err := s.Move(t.Context(), stock.Movement{ID: id, Roll: name, Change: -length, Why: "draw", Made: noon}); err == nil {
					account[name] -= length
				} else if length <= account[name] {
					t.Fatal(err)
				}
			case 1:
				got(s.Count(t.Context(), stock.Movement{ID: id, Roll: name, Counted: length, Made: noon}))(t)
				account[name] = length
			case 2:
				piece := harbour + "/rolls/" + id
				if err := s.Cut(t.Context(), stock.Piece{ID: id, Roll: name, Remnant: piece, Length: length, Made: noon}); err == nil {
					account[name] -= length
					account[piece], names = length, append(names, piece)
				} else if length <= account[name] {
					t.Fatal(err)
				}
			}
		}
		sums := map[string]units.Millimetres{}
		for _, m := range got(s.Movements(t.Context(), harbour, time.Time{}, "", 1000))(t) {
			sums[m.Roll] += m.Change
			if m.Left < 0 {
				t.Fatalf("%s left %d", m.ID, m.Left)
			}
		}
		same(t, sums, account)
		for _, r := range got(s.Rolls(t.Context(), harbour))(t) {
			same(t, r.Length, account[r.Name])
		}
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
