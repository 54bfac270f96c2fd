package orders

import (
	"bytes"
	"context"
	"encoding/xml"
	"image/png"
	"io"
	"math"
	"os"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/branches/stock"
	"evenpeel/recipes"
	"evenpeel/recipes/compliance/care"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/layout"
	"evenpeel/recipes/prices"
	"evenpeel/recipes/units"
)

// bench is the small by-hand store of these tests.
type bench struct {
	drawings map[string]KeptDrawing
	orders   map[string]KeptOrder
	machines []machines.Machine
	rolls    []stock.Roll
}

func (b *bench) PutDrawing(_ context.Context, d KeptDrawing) error {
	b.drawings[d.Branch+d.Name] = d
	return nil
}
func (b *bench) Drawing(_ context.Context, branch, name string) (KeptDrawing, error) {
	d, ok := b.drawings[branch+name]
	if !ok {
		return d, fault.New(fault.NotFound, room, "DRAWING_NOT_FOUND", "gone")
	}
	return d, nil
}
func (b *bench) AddOrder(_ context.Context, o KeptOrder) (KeptOrder, error) {
	if kept, ok := b.orders[o.Name]; ok {
		return kept, nil
	}
	b.orders[o.Name] = o
	return o, nil
}
func (b *bench) Order(_ context.Context, name string) (KeptOrder, error) {
	o, ok := b.orders[name]
	if !ok {
		return o, fault.New(fault.NotFound, room, "ORDER_NOT_FOUND", "gone")
	}
	return o, nil
}
func (b *bench) Orders(context.Context, string, int) ([]KeptOrder, error) { return nil, nil }
func (b *bench) Machines(context.Context, string) ([]machines.Machine, error) {
	return b.machines, nil
}
func (b *bench) PutMachine(context.Context, machines.Machine) error        { return nil }
func (b *bench) Rolls(context.Context, string) ([]stock.Roll, error)       { return b.rolls, nil }
func (b *bench) Roll(context.Context, string) (stock.Roll, error)          { return stock.Roll{}, nil }
func (b *bench) AddRoll(context.Context, stock.Roll, stock.Movement) error { return nil }
func (b *bench) Move(context.Context, stock.Movement) error                { return nil }
func (b *bench) Count(context.Context, stock.Movement) (stock.Movement, error) {
	return stock.Movement{}, nil
}
func (b *bench) Cut(context.Context, stock.Piece) error { return nil }
func (b *bench) Movements(context.Context, string, time.Time, string, int) ([]stock.Movement, error) {
	return nil, nil
}
func (b *bench) Uses(context.Context, string, time.Time) ([]stock.Use, error) { return nil, nil }

func easyCare() care.Label {
	return care.Label{WashMax: 60, Wash: care.Normal, Bleach: care.NoBleach, Tumble: care.TumbleNormal, Iron: care.Iron150, Dry: care.SolventP, DryAction: care.Normal, Wet: care.WetNormal}
}

func setUp(t testing.TB) (Planner, branches.Branch, InForce) {
	t.Helper()
	b := branches.Branch{Name: "branches/a", Title: "A", Market: "EU", TimeZone: "Europe/Vienna"}
	store := &bench{
		drawings: map[string]KeptDrawing{}, orders: map[string]KeptOrder{},
		machines: []machines.Machine{
			{Name: "branches/a/machines/c", Kind: machines.Cutter, Title: "Cutter", Width: 600, EdgeMargin: 10, Lead: 20, Tail: 20, Acceleration: 2000, Travel: 500, UnitsPerM: 40000, BladeOffset: 250, Overcut: 500, Dials: []machines.Dial{
				{Quantity: machines.Force, Scale: "step", Step: 1000, Low: 1000, High: 33000, Points: []machines.Point{{Dial: 1000, True: 20000}, {Dial: 33000, True: 180000}}}, {Quantity: machines.Speed, Scale: "mm/s", Step: 10000, Low: 10000, High: 800000}}},
			{Name: "branches/a/machines/p", Kind: machines.Press, Title: "Press", PlatenWidth: 380, PlatenDepth: 380, Count: 1, Dials: []machines.Dial{
				{Quantity: machines.Temperature, Scale: "°C", Step: 1000, Low: 50000, High: 220000}, {Quantity: machines.Time, Scale: "s", Step: 1000, Low: 1000, High: 99000}}},
		},
		rolls: []stock.Roll{{Name: "branches/a/rolls/r", Film: "g", Colour: "gold", Width: 500, Length: 25000}},
	}
	recipe := recipes.Recipe{
		Title: "Glitter on cotton", Film: recipes.Film{Code: "g", Title: "Glitter", Chemistry: "PU", Glitter: true, Thickness: 250, Carrier: 100, RollWidth: 500, Colours: []string{"gold"}, MinStroke: 1000, MinGap: 800, SmallestPiece: 4, Turns: recipes.QuarterTurns, Care: easyCare()},
		Fabric: "cotton", CutSpeed: units.Window[units.MillimetresPerSecond]{Low: 250, Set: 300, High: 500}, CutForce: units.Around(units.GramsForce(120), 20, 20), BladeDepth: units.Around(units.Micrometres(280), 20, 30), Passes: 1, Gap: 3, WeedBorder: 4,
		Temperature: units.Around(units.Celsius(150), 5, 5), PrePress: 5, Dwell: units.Around(units.Seconds(10), 2, 3), Pressure: units.Around(units.Kilopascals(30), 10, 10), Peel: recipes.Hot,
	}
	list := prices.List{Title: "EU", Market: "EU", Currency: "EUR", FilmPrices: []prices.FilmPrice{{Film: "g", Breaks: []prices.Break{{From: 0, PerMetre: 2400}, {From: 5000, PerMetre: 2100}}}},
		Garments: []prices.GarmentPrice{{Garment: "tee", Title: "Tee", Each: 690}}, LabourPerHour: 3600, SetUp: 300, Tax: 200_000, TaxName: "VAT", RoundTo: 1}
	in := InForce{Recipes: map[recipes.RecordName]Approved{"recipes/g-cotton": {Entry: recipes.SheetEntry{Released: recipes.Released{Revision: "recipes/g-cotton/revisions/1"}}, Recipe: recipe}}, List: list, ListRevision: "prices/eu/revisions/1"}
	return Planner{Book: store, Workshop: store, Shelf: store, Heat: &machines.Heat{}}, b, in
}

// An angle with arms of unlike length is not its own mirror image, however it is turned.
const angle = `<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm" viewBox="0 0 80 40"><path d="M0 0H80V10H10V40H0Z"/></svg>`

func orderFor(drawing string, counts ...int64) Order {
	o := Order{Title: "Team tees", Age: -1, SoldAs: "t-shirt", Ownership: "customer-own-use", Cutter: "branches/a/machines/c", Press: "branches/a/machines/p",
		Lines: []Line{{Drawing: drawing, Recipe: "recipes/g-cotton", Colour: "gold", Garment: "tee"}}}
	for i, n := range counts {
		o.Lines[0].Sizes = append(o.Lines[0].Sizes, SizeCount{Size: string(rune('S' + i)), Count: n, Width: units.Micrometres(80_000 + 10_000*i)})
	}
	return o
}

func TestPlan_everyPartIsReallyWorkedOut(t *testing.T) {
	p, b, in := setUp(t)
	ctx := context.Background()
	name, _, err := p.Read(ctx, b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	plan, err := p.Plan(ctx, b, in, orderFor(name, 6, 4), nil, "2026-03-01")
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Blocks) > 0 || len(plan.Layouts) != 1 || len(plan.Layouts[0].Places) != 10 || plan.Garments != 10 {
		t.Fatalf("blocks %v, layouts %d", plan.Blocks, len(plan.Layouts))
	}
	l := plan.Layouts[0]
	if l.Length < l.Bound || l.Drawn() != units.SquareMillimetres(int64(l.RollWidth)*int64(l.Length)/1_000_000) {
		t.Errorf("length %d, bound %d, areas %d", l.Length, l.Bound, l.Drawn())
	}
	// The angle is 80·10 + 10·30 = 1100 mm² at 80 mm (by hand), so 6 + 4·(90/80)² of it here.
	if want := 1100 * (6 + 4*math.Pow(90.0/80, 2)); math.Abs(float64(l.DesignArea)-want) > 2 {
		t.Errorf("design area %d mm², want %.0f", l.DesignArea, want)
	}
	// Gross is worked by hand: 690·10 garments are 6900 of the net.
	q := plan.Quote
	if q == nil || q.Net.Plus(q.Tax) != q.Gross || q.Net.Minor < 6900 {
		t.Errorf("quote %+v", q)
	}
	if l.Roll == "" || plan.Pressing < 10*10 || l.Cutting.Total <= 0 || l.Weeding <= 0 || len(plan.CareWords) < 7 {
		t.Errorf("roll %q, pressing %d, cutting %d, weeding %d, care %v", l.Roll, plan.Pressing, l.Cutting.Total, l.Weeding, plan.CareWords)
	}
	again, err := p.Plan(ctx, b, in, orderFor(name, 6, 4), nil, "2026-03-01")
	if err != nil || again.Layouts[0].Length != l.Length || again.Quote.Payable != q.Payable {
		t.Error("the same order gave another plan")
	}
}

// What is remembered of a drawing changes nothing, and is not changed by who asks.
func TestPlan_inspectionsAreRememberedAsTheyWere(t *testing.T) {
	p, b, in := setUp(t)
	svg, err := os.ReadFile("../../recipes/cut/testdata/badge.svg")
	if err != nil {
		t.Fatal(err)
	}
	name, _, err := p.Read(t.Context(), b.Name, "badge", svg, cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	fresh, err := p.Plan(t.Context(), b, in, orderFor(name, 2, 2), nil, "2026-03-01")
	if err != nil || len(fresh.Findings) == 0 {
		t.Fatalf("%d findings, %v", len(fresh.Findings), err)
	}
	p.Seen = &Inspections{}
	for range 3 {
		again, err := p.Plan(t.Context(), b, in, orderFor(name, 2, 2), nil, "2026-03-01")
		if err != nil || !slices.Equal(again.Findings, fresh.Findings) || again.Layouts[0].Band != fresh.Layouts[0].Band || again.Layouts[0].Cutting != fresh.Layouts[0].Cutting {
			t.Fatalf("%v, then %v: %v", fresh.Findings, again.Findings, err)
		}
	}
	if len(p.Seen.findings.known) != 1 || len(p.Seen.ways.known) != 1 {
		t.Errorf("%d and %d remembered", len(p.Seen.findings.known), len(p.Seen.ways.known))
	}
}

// The cut file is read back and found reflected.
func TestCutFile_isMirrored(t *testing.T) {
	p, b, in := setUp(t)
	ctx := context.Background()
	name, drawing, err := p.Read(ctx, b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	o, plan, _, err := p.Keep(ctx, b, in, orderFor(name, 3), nil, "11111111-2222-3333-4444-555555555555", "2026-03-01", time.Unix(1_772_000_000, 0))
	if err != nil {
		t.Fatal(err)
	}
	f, err := p.CutFile(ctx, o.Name, 0, 0, DXF)
	if err != nil {
		t.Fatal(err)
	}
	rings, err := cut.ReadDXF(f.Content, float64(plan.Layouts[0].Length)/1000, 0.05)
	if err != nil || len(rings) != 3 {
		t.Fatalf("%d rings, %v", len(rings), err)
	}
	mirrored := drawing.Mirrored().Rings()[0]
	for i, r := range rings {
		if !sameShape(r, mirrored) {
			t.Errorf("outline %d on the film is not the mirrored drawing turned by a quarter or not at all", i+1)
		}
		if sameShape(r, drawing.Rings()[0]) {
			t.Errorf("outline %d on the film is the drawing itself, not its mirror image", i+1)
		}
	}
	for _, format := range []Format{SVG, HPGL, PDF} {
		if f, err := p.CutFile(ctx, o.Name, 0, 0, format); err != nil || len(f.Content) < 100 {
			t.Errorf("%s: %d bytes, %v", format, len(f.Content), err)
		}
	}
	picture, err := p.CutFile(ctx, o.Name, 0, 0, PNG)
	if err != nil {
		t.Fatal(err)
	}
	if img, err := png.Decode(bytes.NewReader(picture.Content)); err != nil || max(img.Bounds().Dx(), img.Bounds().Dy()) != previewPixels {
		t.Errorf("picture: %v", err)
	}
	svg, _ := p.CutFile(ctx, o.Name, 0, 0, SVG)
	for d := xml.NewDecoder(strings.NewReader(string(svg.Content))); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal("the SVG cut file is not XML:", err)
		}
	}
}

// sameShape reports whether b is a moved to another place and turned by a multiple of a quarter, never mirrored.
func sameShape(a, b cut.Ring) bool {
	norm := func(r cut.Ring, turn int) map[[2]int64]bool {
		out := make([]cut.Point, len(r))
		low := cut.Point{X: math.Inf(1), Y: math.Inf(1)}
		for i, p := range r {
			for range turn {
				p = cut.Point{X: -p.Y, Y: p.X}
			}
			out[i] = p
			low.X, low.Y = min(low.X, p.X), min(low.Y, p.Y)
		}
		set := map[[2]int64]bool{}
		for _, p := range out {
			set[[2]int64{int64(math.Round((p.X - low.X) * 10)), int64(math.Round((p.Y - low.Y) * 10))}] = true
		}
		return set
	}
	want := norm(b, 0)
	for turn := range 4 {
		got, same := norm(a, turn), true
		for p := range want {
			near := false
			for dx := int64(-1); dx <= 1; dx++ {
				for dy := int64(-1); dy <= 1; dy++ {
					near = near || got[[2]int64{p[0] + dx, p[1] + dy}]
				}
			}
			same = same && near
		}
		if same && len(got) == len(want) {
			return true
		}
	}
	return false
}

// The cut file of a drawing that came in as a cut file is that drawing, mirrored.
func TestRead_takesDXFAndHPGL(t *testing.T) {
	p, b, in := setUp(t)
	ctx := context.Background()
	const dxf = "0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n8\n0\n66\n1\n70\n1\n0\nVERTEX\n8\n0\n10\n0\n20\n0\n0\nVERTEX\n8\n0\n10\n80\n20\n0\n0\nVERTEX\n8\n0\n10\n0\n20\n40\n0\nSEQEND\n0\nENDSEC\n0\nEOF\n"
	for format, file := range map[string]string{"dxf": dxf, "hp-gl": "IN;SP1;PU0,0;PD3200,0,0,1600,0,0;PU;"} {
		name, d, err := p.Read(ctx, b.Name, format, []byte(file), cut.ReadOptions{Width: 80_000})
		if err != nil || math.Abs(d.Width-80) > 0.01 || math.Abs(d.Height-40) > 0.01 {
			t.Errorf("%s: %g × %g, %v", format, d.Width, d.Height, err)
			continue
		}
		plan, err := p.Plan(ctx, b, in, orderFor(name, 2), nil, "2026-03-01")
		if err != nil || plan.Layouts[0].DesignArea != 3200 { // a right-angled triangle of 80 by 40, twice
			t.Errorf("%s: %v", format, err)
		}
		if _, _, err := p.Read(ctx, b.Name, format, []byte(file), cut.ReadOptions{}); !fault.Is(err, fault.Invalid) {
			t.Errorf("%s without a width: %v", format, err)
		}
	}
}

func TestPlan_refusesWithWhatToDo(t *testing.T) {
	p, b, in := setUp(t)
	ctx := context.Background()
	name, _, err := p.Read(ctx, b.Name, "angle", []byte(angle), cut.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]struct {
		change func(*Order)
		reason fault.Reason
	}{
		"zero count":             {func(o *Order) { o.Lines[0].Sizes[0].Count = 0 }, "ORDER_INVALID"},
		"negative count":         {func(o *Order) { o.Lines[0].Sizes[0].Count = -4 }, "ORDER_INVALID"},
		"no lines":               {func(o *Order) { o.Lines = nil }, "ORDER_INVALID"},
		"film for no such cloth": {func(o *Order) { o.Lines[0].Recipe = "recipes/g-nylon" }, "RECIPE_NOT_IN_FORCE"},
		"colour not sold":        {func(o *Order) { o.Lines[0].Colour = "mud" }, "COLOUR_NOT_SOLD"},
		"unknown drawing":        {func(o *Order) { o.Lines[0].Drawing = "drawings/0" }, "DRAWING_NOT_FOUND"},
		"another's machine":      {func(o *Order) { o.Cutter = "branches/b/machines/c" }, "MACHINE_NOT_FOUND"},
		"wider than the roll":    {func(o *Order) { o.Lines[0].Sizes[0].Width = 1_900_000 }, layout.PieceTooWide},
		"colour not drawn":       {func(o *Order) { o.Lines[0].Figure = "#123456" }, "FIGURE_NOT_FOUND"},
		"garment not priced":     {func(o *Order) { o.Lines[0].Garment = "cape" }, "GARMENT_NOT_PRICED"},
	}
	for name2, row := range rows {
		o := orderFor(name, 3)
		row.change(&o)
		_, err := p.Plan(ctx, b, in, o, nil, "2026-03-01")
		if f, ok := fault.As(err); !ok || f.Reason != row.reason || f.Words == "" {
			t.Errorf("%s: got %v, want %s", name2, err, row.reason)
		}
	}
}

func TestKeep_refusesWhatIsBlocked(t *testing.T) {
	p, b, in := setUp(t)
	ctx := context.Background()
	name, _, _ := p.Read(ctx, b.Name, "angle", []byte(angle), cut.ReadOptions{})
	store := p.Book.(*bench)
	store.machines[1].Dials[0].High = 120_000 // a press that can not reach 145 °C
	_, _, _, err := p.Keep(ctx, b, in, orderFor(name, 3), nil, "11111111-2222-3333-4444-555555555555", "2026-03-01", time.Unix(0, 0))
	if f, ok := fault.As(err); !ok || f.Reason != "ORDER_BLOCKED" || len(store.orders) != 0 {
		t.Errorf("got %v with %d orders kept", err, len(store.orders))
	}
}

func BenchmarkPlan(b *testing.B) {
	p, branch, in := setUp(b)
	ctx := context.Background()
	svg, err := os.ReadFile("../../recipes/cut/testdata/badge.svg")
	if err != nil {
		b.Fatal(err)
	}
	name, _, err := p.Read(ctx, branch.Name, "badge", svg, cut.ReadOptions{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.Plan(ctx, branch, in, orderFor(name, 20, 20, 10), nil, "2026-03-01"); err != nil {
			b.Fatal(err)
		}
	}
}

// mixed is the order of the issue: 204 copies of 12 designs in 3 sizes on a 50 cm roll, from the demo's drawings.
func mixed(tb testing.TB, p Planner, b branches.Branch) Order {
	tb.Helper()
	o := orderFor("", 1)
	line := o.Lines[0]
	o.Lines = nil
	files := []string{"badge", "layered", "lettering", "numbers", "scatter"}
	for i := range 12 {
		svg, err := os.ReadFile("../../recipes/cut/testdata/" + files[i%len(files)] + ".svg")
		if err != nil {
			tb.Fatal(err)
		}
		name, _, err := p.Read(context.Background(), b.Name, files[i%len(files)], svg, cut.ReadOptions{Width: 80_000})
		if err != nil {
			tb.Fatal(err)
		}
		line.Drawing, line.Sizes = name, nil
		for j, count := range []int64{5, 6, 6} {
			line.Sizes = append(line.Sizes, SizeCount{Size: string(rune('S' + j)), Count: count, Width: units.Micrometres(50_000 + 5_000*i + 6_000*j)})
		}
		o.Lines = append(o.Lines, line)
	}
	return o
}

// cpu is the processor time of this process: the machine may be shared.
func cpu() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// The first plan inspects every drawing; those that follow while a person types do not.
func BenchmarkPlan_mixed(b *testing.B) {
	for name, seen := range map[string]*Inspections{"first": nil, "again": {}} {
		b.Run(name, func(b *testing.B) {
			p, branch, in := setUp(b)
			p.Seen = seen
			o := mixed(b, p, branch)
			copies, began := 0, cpu()
			for b.Loop() {
				plan, err := p.Plan(context.Background(), branch, in, o, nil, "2026-03-01")
				if err != nil {
					b.Fatal(err)
				}
				copies = len(plan.Layouts[0].Places)
			}
			b.ReportMetric(float64((cpu()-began).Milliseconds())/float64(b.N), "cpu-ms/op")
			b.ReportMetric(float64(copies), "copies")
		})
	}
}

// BenchmarkImprove_mixed is the short search by true outlines on the same order: the film against boxes and plain rows.
func BenchmarkImprove_mixed(b *testing.B) {
	p, branch, in := setUp(b)
	o := mixed(b, p, branch)
	o.Choices.TrueOutlines = true
	var first, best Layout
	began := cpu()
	for b.Loop() {
		first = Layout{}
		if err := p.Improve(context.Background(), branch, in, o, nil, 0, Short, "2026-03-01", func(s Step) error {
			if s.Layout != nil {
				best = *s.Layout
			}
			if first.Length == 0 {
				first = best
			}
			return nil
		}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64((cpu()-began).Milliseconds())/float64(b.N), "cpu-ms/op")
	b.ReportMetric(100*(1-float64(best.Length)/float64(first.Length)), "%-of-boxes")
	b.ReportMetric(100*(1-float64(best.Length)/float64(best.RowsLength)), "%-of-rows")
}
