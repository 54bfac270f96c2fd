package press

import (
	"fmt"
	"math"
	"testing"
)

func TestMarch_halfSpaceFollowsTheErrorFunctionTable(t *testing.T) {
	t.Parallel()
	printed := []float64{0.11246, 0.22270, 0.32863, 0.42839, 0.52050, 0.60386, 0.67780, 0.74210, 0.79691, 0.84270,
		0.88021, 0.91031, 0.93401, 0.95229, 0.96611, 0.97635, 0.98379, 0.98909, 0.99279, 0.99532}
	var depths []float64
	for i := range printed {
		depths = append(depths, 2*float64(i+1)/10) // x = 2·eta·sqrt(a·t) with a = t = 1
	}
	s := Stack{Top: Held(0), Layers: slabOf(1, 1, 1, 1, append(depths, 6, 14)...)}
	faces := lastFaces(t, s, 1, Resolution{Cells: 60, Grade: 0, Step: 1e-3})
	var rows []row
	for i, want := range printed {
		rows = append(rows, row{fmt.Sprintf("erf %.1f", float64(i+1)/10), faces[i].Lower, want, 3e-5, "Incropera 6e table B.2; Abramowitz & Stegun 7.1 (five digits)"})
	}
	checkRows(t, rows)
}

func TestMarch_planeWallFollowsTheOneTermTable(t *testing.T) {
	t.Parallel()
	var rows []row
	for _, r := range []struct{ bi, zeta, c, zetaExact, cExact float64 }{
		{0.01, 0.0998, 1.0017, 0.099834, 1.001661}, {0.1, 0.3111, 1.0161, 0.311053, 1.016094}, {0.3, 0.5218, 1.0450, 0.521791, 1.045047},
		{0.5, 0.6533, 1.0701, 0.653271, 1.070128}, {1, 0.8603, 1.1191, 0.860334, 1.119132}, {2, 1.0769, 1.1785, 1.076874, 1.178456},
		{5, 1.3138, 1.2402, 1.313838, 1.240249}, {10, 1.4289, 1.2620, 1.428870, 1.261963}, {100, 1.5552, 1.2731, 1.555245, 1.273088},
	} {
		// Half a wall: insulated at its middle, convection at its face.
		s := Stack{Top: Insulated(), Bottom: Convection(0, r.bi), Layers: slabOf(1, 1, 1, 1, 1)}
		const fo = 1.5
		faces := lastFaces(t, s, fo, Resolution{Cells: 100, Grade: 0, Step: 2e-3})
		name := fmt.Sprintf("middle of the wall, Bi %g", r.bi)
		rows = append(rows,
			row{name, faces[0].Upper, r.cExact * math.Exp(-r.zetaExact*r.zetaExact*fo), 5e-5, "roots of z tan z = Bi, C = 4 sin z/(2z + sin 2z), six digits"},
			row{name + " as printed", faces[0].Upper, r.c * math.Exp(-r.zeta*r.zeta*fo), 2e-4, "Incropera 6e table 5.1 (from memory)"})
	}
	for _, r := range []struct{ fo, want float64 }{{0.1, 0.94931}, {0.2, 0.77231}, {0.5, 0.37078}, {1, 0.10798}} {
		s := Stack{Top: Held(0), Bottom: Held(0), Layers: slabOf(1, 1, 1, 1, 1, 2)}
		rows = append(rows, row{fmt.Sprintf("both faces stepped, Fo %g", r.fo), lastFaces(t, s, r.fo, Resolution{160, 0, 2.5e-4})[0].Lower, r.want, 3e-5, "Carslaw & Jaeger 2e, 3.3, series"})
	}
	checkRows(t, rows)
}

// The exact value is the expected one; the printed one, often read from a chart, is a loose bound.
func TestMarch_workedExamples(t *testing.T) {
	t.Parallel()
	var rows []row
	add := func(name string, got, exact, limit, printed, loose float64, source string) {
		rows = append(rows, row{name, got, exact, limit, source + ", recomputed"}, row{name + " as printed", got, printed, loose, source})
	}

	main := Stack{Top: Held(-15), Layers: slabOf(0.52, 2050, 1840, 20, 0.1, 0.3, 0.6766, 0.68, 1.2, 2, 3, 5, 12)}
	faces := lastFaces(t, main, 60*86400, Resolution{60, 1, 7200})
	const pipe = "Incropera 6e example 5.6, water main after 60 days"
	for i, want := range []float64{-12.6669, -8.0653, -0.0006, 0.0673, 8.9572, 16.6978} {
		if i != 2 {
			rows = append(rows, row{fmt.Sprintf("water main, depth %d", i), faces[i].Lower, want, 0.005, pipe + ", erf"})
		}
	}
	rows = append(rows, row{"frost at 0.6766 m (printed 0.68)", faces[2].Lower, 0, 0.005, pipe})

	// a = 18.8e-6 with k 63.9: rho·cp = k/a.
	oil := Stack{Top: Insulated(), Bottom: Convection(60, 500), Layers: slabOf(63.9, 1000, 63.9/18.8e-6/1000, -20, 0.04)}
	c := course(t, oil, 480, 480, Resolution{100, 0, 0.2})
	end := c.Moments[len(c.Moments)-1].Faces[0]
	const oilSource = "Incropera 6e example 5.4, oil pipe after 8 min"
	add("outer face", end.Upper, 43.0175, 0.003, 42.9, 0.15, oilSource)
	add("flux at the oil", 500*(end.Lower-60), -7319, 1, -7362, 60, oilSource)
	add("heat per metre, D 1 m", math.Pi*c.HeatOut, -2.725e7, 1e4, -2.73e7, 2e5, oilSource)

	bar := slabOf(45, 1000, 45/1.4e-5/1000, 35, 0.025, 0.05, 0.1, 0.2)
	fine := Resolution{150, 0, 0.03}
	add("25 mm under a 250 °C face", lastFaces(t, Stack{Top: Held(250), Layers: bar}, 30, fine)[0].Lower, 118.499, 0.005, 118.5, 0.05, "Holman SI example 4-2")
	flux := lastFaces(t, Stack{Top: Heated(3.2e5), Layers: bar}, 30, fine)
	add("25 mm under a flux", flux[0].Lower, 79.3142, 0.005, 79.3, 0.05, "Holman SI example 4-2")
	add("face under a flux", flux[0].Upper, 199.4437, 0.01, 199.4, 0.06, "Holman SI example 4-2")

	copper := lastFaces(t, Stack{Top: Heated(3e5), Layers: slabOf(401, 1000, 401/117e-6/1000, 20, 0.15, 0.3, 0.6, 1.2)}, 120, Resolution{150, 0, 0.3})
	add("copper face", copper[0].Upper, 120.0266, 0.01, 120.0, 0.05, "Incropera 6e example 5.10(c) (printed value from memory)")
	add("copper at 0.15 m", copper[0].Lower, 45.4060, 0.005, 45.4, 0.05, "Incropera 6e example 5.10(c)")

	soil := lastFaces(t, Stack{Top: Convection(-17.8, 11.36), Layers: slabOf(0.865, 1000, 0.865/4.65e-7/1000, 15.6, 0.05, 2)}, 5*3600, Resolution{150, 1, 20})
	add("ground face", soil[0].Upper, -5.16788, 0.003, -5.2, 0.06, "Geankoplis example 5.3-1")

	block := lastFaces(t, Stack{Top: Heated(1250), Layers: slabOf(1.26, 1000, 1.26/1.1e-5/1000, 20, 0.1, 0.2, 0.4, 0.8)}, 1200, Resolution{150, 0, 3})
	add("face under 1250 W/m²", block[0].Upper, 148.612, 0.01, 148.6, 0.05, "Çengel example 4.7")

	slab := lastFaces(t, Stack{Top: Held(0), Layers: slabOf(1, 1000, 1/2e-5/1000, 100, 0.2, 0.4, 0.6, 0.8, 1)}, 6000, Resolution{40, 0, 10})
	for i, r := range []struct{ exact, printed float64 }{{31.6677, 31.25}, {58.4694, 54.69}, {77.5062, 78.13}, {88.3224, 85.94}, {91.7546, 93.75}} {
		add(fmt.Sprintf("slab at %.1f m", 0.2*float64(i+1)), slab[i].Lower, r.exact, 0.01, r.printed, 4, "Geankoplis example 5.4-1 (five slices by hand)")
	}
	checkRows(t, rows)
}

func TestMarch_steadyFluxIsTheSumOfResistances(t *testing.T) {
	settled := Resolution{20, 0, 2000}
	kreith := Stack{Top: Held(405), Bottom: Held(395), Layers: []Layer{
		{ThicknessUM: 10_000, K: 240, Rho: 2800, Cp: 880, ContactBelow: 2.75e-4, Start: 400},
		{ThicknessUM: 10_000, K: 240, Rho: 2800, Cp: 880, Start: 400}}}
	faces := lastFaces(t, kreith, 1e5, settled)
	flux := 240 * (faces[0].Upper - faces[0].Lower) / 0.01

	chip := Stack{Top: Heated(1e4), Bottom: Convection(25, 100), Layers: []Layer{
		{ThicknessUM: 1, K: 240, Rho: 2800, Cp: 880, ContactBelow: 0.9e-4, Start: 25},
		{ThicknessUM: 8_000, K: 239, Rho: 2800, Cp: 880, Start: 25}}}
	// The printed example loses heat on both sides: the chip's own face by convection too.
	chip.Top = Heated(1e4 - 100*(75.3068-25))

	composite := Stack{Top: Convection(100, 8), Bottom: Convection(20, 25), Layers: []Layer{
		{ThicknessUM: 100_000, K: 0.7, Rho: 1000, Cp: 1000, ContactBelow: 1e-3, Start: 60},
		{ThicknessUM: 20_000, K: 0.04, Rho: 30, Cp: 1000, ContactBelow: 2e-3, Start: 60},
		{ThicknessUM: 5_000, K: 15, Rho: 7800, Cp: 500, Start: 60}}}
	sum := 1/8.0 + 0.1/0.7 + 1e-3 + 0.02/0.04 + 2e-3 + 0.005/15 + 1/25.0
	compositeFaces := lastFaces(t, composite, 4e6, settled)
	checkRows(t, []row{
		{"plates in contact, flux", flux, 27907, 1, "Kreith 7e example 1.6, recomputed"},
		{"plates in contact, flux as printed", flux, 2.79e4, 140, "Kreith 7e example 1.6"},
		{"plates in contact, drop", faces[0].Lower - faces[1].Upper, 7.67442, 1e-4, "Kreith 7e example 1.6 (printed 7.67)"},
		{"chip on a plate", lastFaces(t, chip, 1e5, settled)[0].Lower, 75.3068, 0.005, "Incropera 6e example 3.2, recomputed (printed 75.3)"},
		{"composite flux", (100 - compositeFaces[0].Upper) * 8, 80 / sum, 1e-6, "sum of resistances, Incropera 6e section 3.1"},
		{"composite joint", compositeFaces[1].Lower - compositeFaces[2].Upper, 80 / sum * 2e-3, 1e-6, "sum of resistances, Incropera 6e section 3.1"},
	})
}

func TestMarch_twoHalfSpacesMeetAtTheirEffusivities(t *testing.T) {
	t.Parallel()
	aluminium := Layer{ThicknessUM: 1e6, K: 160, Rho: 2800, Cp: 880, Start: 150}
	silicone := Layer{ThicknessUM: 5e4, K: 0.35, Rho: 1200, Cp: 1000, Start: 25}
	faces := lastFaces(t, Stack{Layers: []Layer{aluminium, silicone}}, 5, Resolution{400, 3, 0.005})
	checkRows(t, []row{
		{"aluminium at 150 °C on silicone at 25 °C", faces[0].Lower, 146.049, 0.02, "Incropera 6e equation 5.63, DIN EN 12524:2000 properties"},
		{"no jump without a contact resistance", faces[0].Lower - faces[1].Upper, 0, 1e-9, "continuity of temperature"},
	})
}

func TestMarch_twoLayersWithContactFollowTheEigenvalueSeries(t *testing.T) {
	t.Parallel()
	const source = "series of two layers with contact resistance (shared reference physics A.1), computed by other code"
	var rows []row
	for _, r := range []struct {
		contact, t float64
		want       [3]float64 // at 0.15, 0.45, 0.70 mm
	}{
		{0, 0.2, [3]float64{0.488613, 0.819447, 0.531459}}, {0, 1, [3]float64{0.0578, 0.110875, 0.0755925}}, {0, 3, [3]float64{0.000323648, 0.000625698, 0.000428956}},
		{2e-4, 0.2, [3]float64{0.487773, 0.825421, 0.532144}}, {2e-4, 1, [3]float64{0.0576886, 0.114145, 0.0775355}}, {2e-4, 3, [3]float64{0.000331314, 0.000662446, 0.000452977}},
		{5e-3, 0.2, [3]float64{0.481309, 0.873181, 0.536411}}, {5e-3, 1, [3]float64{0.0529635, 0.182699, 0.114001}}, {5e-3, 3, [3]float64{0.000512321, 0.00224043, 0.00143363}},
	} {
		layers := append(slabOf(0.25, 1200, 1800, 1, 0.15e-3, 0.3e-3), slabOf(0.06, 250, 1300, 1, 0.15e-3, 0.4e-3, 0.6e-3)...)
		layers[1].ContactBelow = r.contact
		faces := lastFaces(t, Stack{Top: Held(0), Bottom: Held(0), Layers: layers}, r.t, Resolution{40, 1, 1e-3})
		for i, layer := range []int{0, 2, 3} {
			rows = append(rows, row{fmt.Sprintf("R %g, %g s, point %d", r.contact, r.t, i), faces[layer].Lower, r.want[i], 2e-4, source})
		}
	}
	checkRows(t, rows)
}

// referenceStack is the stack of shared reference physics A.6.
func referenceStack(platen float64, fabric Layer) Stack {
	return Stack{Top: Behind(platen, 1e-4), Bottom: Held(25), Layers: []Layer{
		{Name: "paper", ThicknessUM: 50, K: 0.08, Rho: 900, Cp: 1400, Start: 25},
		{Name: "carrier", ThicknessUM: 100, K: 0.15, Rho: 1390, Cp: 1170, Start: 25},
		{Name: "film", ThicknessUM: 300, K: 0.25, Rho: 1200, Cp: 1800, ContactBelow: 2e-4, Start: 25},
		fabric,
		{Name: "pad", ThicknessUM: 8000, K: 0.23, Rho: 1200, Cp: 1000, Start: 25},
	}}
}

func jersey(water float64) Layer {
	return Layer{Name: "cotton jersey", ThicknessUM: 600, K: 0.06, Rho: 250, Cp: 1300, Water: water, ContactBelow: 1e-4, Start: 25}
}

func TestMarch_keepsItsEnergyBalance(t *testing.T) {
	for _, water := range []float64{0, 15, 50} {
		c := course(t, referenceStack(150, jersey(water)), 15, 1, PressResolution)
		if off := math.Abs(c.HeatIn-c.HeatOut-c.Stored) / c.HeatIn; !(off < 2e-6) {
			t.Errorf("water %g kg/m³: balance off by %.2g of the heat drawn", water, off)
		}
		if left := c.WaterLeft[3]; water > 0 && !(left > 0 && left < 1) || water == 0 && left != 1 {
			t.Errorf("water %g kg/m³: %g left", water, left)
		}
	}
}

func TestMarch_isOfSecondOrder(t *testing.T) {
	t.Parallel()
	end := func(r Resolution) float64 { return lastFaces(t, referenceStack(150, jersey(0)), 2, r)[2].Lower }
	order := func(a, b, c float64) float64 { return math.Log2(math.Abs((a - b) / (b - c))) }
	checkRows(t, []row{
		{"order in space", order(end(Resolution{8, 1.5, 0.01}), end(Resolution{16, 1.5, 0.01}), end(Resolution{32, 1.5, 0.01})), 2, 0.1, "design order of the finite-volume scheme"},
		{"order in time", order(end(Resolution{16, 1.5, 0.025}), end(Resolution{16, 1.5, 0.0125}), end(Resolution{16, 1.5, 0.00625})), 2, 0.15, "design order of Crank–Nicolson, Rannacher 1984"},
	})
	fine := Resolution{64, 1.5, 0.0025}
	for _, seconds := range []float64{1, 5} {
		got := lastFaces(t, referenceStack(150, jersey(0)), seconds, PressResolution)[2].Lower
		want := lastFaces(t, referenceStack(150, jersey(0)), seconds, fine)[2].Lower
		if !(math.Abs(got-want) < 0.05) {
			t.Errorf("PressResolution after %g s: got %.4f, a finer run %.4f", seconds, got, want)
		}
	}
}

func TestMarch_metamorphic(t *testing.T) {
	r := Resolution{40, 0, 0.05}
	base := referenceStack(150, jersey(0))
	want := lastFaces(t, base, 10, r)[2].Lower
	change := func(f func(*Layer)) Stack {
		s := base
		s.Layers = append([]Layer(nil), base.Layers...)
		for i := range s.Layers {
			f(&s.Layers[i])
		}
		return s
	}
	near := func(name string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) < 1e-8) {
			t.Errorf("%s: got %.10f, want %.10f", name, got, want)
		}
	}

	// Every layer as two halves with half the cells each: the very same cells.
	split := base
	split.Layers = nil
	for _, l := range base.Layers {
		upper := l
		upper.ThicknessUM /= 2
		lower := upper
		upper.ContactBelow = 0
		split.Layers = append(split.Layers, upper, lower)
	}
	near("split layers", lastFaces(t, split, 10, Resolution{20, 0, 0.05})[5].Lower, want)

	scaled := change(func(l *Layer) { l.K *= 3; l.Rho *= 3; l.ContactBelow /= 3 })
	scaled.Top = Behind(150, 1e-4/3)
	near("k and rho·cp together", lastFaces(t, scaled, 10, r)[2].Lower, want)

	longer := change(func(l *Layer) { l.ThicknessUM *= 2; l.ContactBelow *= 2 })
	longer.Top = Behind(150, 2e-4)
	near("lengths doubled, times fourfold", lastFaces(t, longer, 40, Resolution{40, 0, 0.2})[2].Lower, want)

	affine := change(func(l *Layer) { l.Start = 2*l.Start + 10 })
	affine.Top, affine.Bottom = Behind(310, 1e-4), Held(60)
	near("2T + 10", lastFaces(t, affine, 10, r)[2].Lower, 2*want+10)

	cold := change(func(l *Layer) { l.Start = 150 })
	cold.Bottom = Held(150)
	near("nothing to do", lastFaces(t, cold, 10, r)[2].Lower, 150)
}
