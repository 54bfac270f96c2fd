package compliance

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

func TestRules_everyRowIsComplete(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Rules() {
		if r.ID == "" || seen[r.ID] || r.Words == "" || r.Citation == "" || !strings.HasPrefix(r.ID, string(r.Market)+"-") {
			t.Errorf("row %q is incomplete or double", r.ID)
		}
		seen[r.ID] = true
		if !slices.Contains([]Seen{Read, Memory, Mixed}, r.Seen) {
			t.Errorf("%s: seen is %q", r.ID, r.Seen)
		}
		if r.From != "" {
			if _, err := time.Parse(time.DateOnly, r.From); err != nil {
				t.Errorf("%s: %v", r.ID, err)
			}
		}
		if r.AgeBelow > 0 && r.AgeFrom >= r.AgeBelow {
			t.Errorf("%s: ages %d to %d", r.ID, r.AgeFrom, r.AgeBelow)
		}
		for _, w := range r.SoldAs {
			if !slices.Contains(SoldAsWords(), w) {
				t.Errorf("%s: sold as %q is no word", r.ID, w)
			}
		}
		for _, l := range r.Limits {
			if _, ok := scales[l.Unit]; !ok || len(l.Of) == 0 || !slices.Contains([]Op{Above, AtOrAbove, Below, AtOrBelow}, l.Op) {
				t.Errorf("%s: limit %v of %v", r.ID, l, l.Of)
			}
		}
		if len(r.Limits) == 0 && len(r.gives) == 0 {
			t.Errorf("%s says nothing", r.ID)
		}
		for _, g := range slices.Concat(r.gives, r.over) {
			if g.code == "" || g.exact != "" && g.language == "" {
				t.Errorf("%s gives %+v", r.ID, g)
			}
		}
	}
}

// The marks of the shared reference, compliance.md §9: these rest on memory and must say so.
func TestRules_memoryIsMarked(t *testing.T) {
	for _, id := range []string{"US-018", "US-021", "EU-029", "EU-036", "EU-037", "EU-042", "EU-045", "UK-002", "UK-003", "AU-003"} {
		i := slices.IndexFunc(table, func(r Rule) bool { return r.ID == id })
		if i < 0 || table[i].Seen != Memory {
			t.Errorf("%s must be marked as from memory", id)
		}
	}
}

// The age bands of age_bands.csv, at the month before and the month of the end; source per row.
func TestJudged_ageBands(t *testing.T) {
	sleep := func(market Market) func(units.Months) Situation {
		return func(age units.Months) Situation {
			s := tee(market, age)
			s.SoldAs, s.Tight, s.Length = "pyjamas", true, 400
			return s
		}
	}
	for _, row := range []struct {
		code       string
		s          func(units.Months) Situation
		last, next units.Months
		source     string
	}{
		{"CPC", func(age units.Months) Situation { return tee(US, age) }, 155, 156, "15 USC 2052(a)(2): 12 or younger"},
		{"PHTHALATE_REPORT", sleep(US), 47, 48, "15 USC 2057c(g)(1)(C): 3 or younger"},
		{"SMALL_PARTS_TEST", func(age units.Months) Situation { return tee(US, age) }, 35, 36, "16 CFR 1501: under 3"},
		{"SIZE_IN_MONTHS", sleep(US), 9, 10, "16 CFR 1615.1(c): size 9 months or smaller"},
		{"NIGHTWEAR_REPORT", sleep(EU), 167, 168, "EN 14878:2007: to 14 years"},
		{"FILM_LEAD_REPORT", func(age units.Months) Situation { return tee(CA, age) }, 167, 168, "SOR/2018-83 s.1: under 14"},
		{"HOOD_CORD", func(age units.Months) Situation {
			s := tee(EU, age)
			s.SoldAs, s.Cords.Hood = "hoodie", true
			return s
		}, 83, 84, "EN 14682:2014: up to 7 years"},
		{"NIGHTWEAR_FLAMMABLE", func(age units.Months) Situation {
			s := tee(UK, age)
			s.SoldAs = "nightdress"
			return s
		}, 155, 156, "SI 1985/2043 reg 3(1): under 13"},
	} {
		if row.source == "" {
			t.Fatalf("%s has no source", row.code)
		}
		for age, want := range map[units.Months]bool{row.last: true, row.next: false} {
			v, err := Judged(row.s(age), nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			if got := slices.Contains(slices.Concat(codes(v.Blocks), codes(v.Labels), codes(v.Papers), codes(v.Spared)), row.code); got != want {
				t.Errorf("%s at %d months: %v, want %v (%s)", row.code, age, got, want, row.source)
			}
		}
	}
}

func TestJudged_evidenceStands(t *testing.T) {
	for _, row := range []struct {
		name  string
		spoil func(*Certificate, *Situation)
		code  string
	}{
		{"good", func(*Certificate, *Situation) {}, ""},
		{"expired the day before", func(c *Certificate, _ *Situation) { c.ValidUntil = "2026-02-28" }, "NOT_IN_FORCE"},
		{"last day", func(c *Certificate, _ *Situation) { c.ValidUntil = "2026-03-01" }, ""},
		{"not yet valid", func(c *Certificate, _ *Situation) { c.ValidFrom = "2026-03-02" }, "NOT_IN_FORCE"},
		{"another market", func(c *Certificate, _ *Situation) { c.Markets = []Market{EU} }, "OTHER_MARKET"},
		{"another colour", func(c *Certificate, _ *Situation) { c.Colours = []string{"blue"} }, "MATERIAL_CHANGE"},
		{"no lot stated", func(_ *Certificate, s *Situation) { s.Films[0].Lot = "" }, "MATERIAL_CHANGE"},
		{"another film", func(c *Certificate, _ *Situation) { c.Film = "gloss" }, "NO_REPORT"},
		{"another topic", func(c *Certificate, _ *Situation) { c.Results = nil }, "NO_REPORT"},
		{"topic without a figure", func(c *Certificate, _ *Situation) { c.Results, c.Covers = nil, []string{TopicLead} }, ""},
		{"a scheme's certificate is no third-party test", func(c *Certificate, _ *Situation) { c.Kind = SchemeCertificate }, "NO_REPORT"},
		{"91 mg/kg", func(c *Certificate, _ *Situation) { c.Results = []Measure{{"lead", 91_000, "mg/kg"}} }, "LIMIT"},
	} {
		c, s := leadFree, tee(US, 60)
		s.Films = slices.Clone(s.Films)
		row.spoil(&c, &s)
		v, err := Judged(s, nil, []Certificate{c})
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		var want []string
		if row.code != "" {
			want = []string{row.code}
		}
		if got := codes(v.Blocks); !slices.Equal(got, want) {
			t.Errorf("%s: blocks %v, want %v", row.name, got, want)
		}
	}
}

func TestJudged_notes(t *testing.T) {
	note := Note{Title: "Babies", Market: EU, AgeBelow: 36, SoldAs: []string{"t-shirt"}, Films: []string{"matt"},
		Labels: []Wording{{"de", "Kanten prüfen"}}, Papers: []string{"Photograph of the placement"}, Cautions: []Wording{{"en", "Round all corners."}}, Blocks: true, Reason: "Not for babies until tested."}
	for _, row := range []struct {
		name string
		s    Situation
		hit  bool
	}{
		{"applies", tee(EU, 35), true},
		{"too old", tee(EU, 36), false},
		{"adult", changed(tee(EU, 0), func(s *Situation) { s.Adult = true }), false},
		{"other market", tee(UK, 35), false},
		{"sold as something else", changed(tee(EU, 35), func(s *Situation) { s.SoldAs = "bib" }), false},
		{"other film", changed(tee(EU, 35), func(s *Situation) { s.Films = []Film{{Film: "gloss"}} }), false},
	} {
		v, err := Judged(row.s, []Note{note}, nil)
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		for what, items := range map[string][]Item{"blocks": v.Blocks, "labels": v.Labels, "papers": v.Papers, "cautions": v.Cautions} {
			if got := slices.Contains(codes(items), "NOTE"); got != row.hit {
				t.Errorf("%s: note in %s is %v", row.name, what, got)
			}
		}
	}
}

func TestJudged_greatBritainKeepsSomeOfTheUnionsEntries(t *testing.T) {
	bad := report(Measure{"DEHP", 1_000_000, "mg/kg"}, Measure{"PFCA-C9-C14", 25_000, "ppb"})
	for northern, want := range map[bool][]string{false: {"EU-020", "EU-022"}, true: {"EU-020", "EU-022", "EU-031"}} {
		s := tee(UK, 60)
		s.NorthernIreland = northern
		v, err := Judged(s, nil, []Certificate{bad})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, i := range v.Blocks {
			got = append(got, i.Rule)
			if strings.Contains(i.Citation, "UK-021") == northern {
				t.Errorf("northern %v: citation %q", northern, i.Citation)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("northern %v: %v, want %v", northern, got, want)
		}
	}
}

func TestJudged_warnsOfClassAndCautions(t *testing.T) {
	scheme := Certificate{Scheme: "s", Kind: SchemeCertificate, Number: "C-9", Issuer: "i", Film: "matt", ValidFrom: "2026-01-01", Class: 2}
	s := changed(tee(EU, 35), func(s *Situation) { s.SoldAs, s.Films[0].Chemistry = "pyjamas", "PVC" })
	v, err := Judged(s, nil, []Certificate{scheme})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(codes(v.Warnings), "CLASS") || !slices.Equal(codes(v.Cautions), []string{"LOOSE_PIECES", "NIGHTWEAR", "PVC_FUMES"}) {
		t.Errorf("warnings %v, cautions %v", codes(v.Warnings), codes(v.Cautions))
	}
	s.Age = 36
	if v, _ = Judged(s, nil, []Certificate{scheme}); slices.Contains(codes(v.Warnings), "CLASS") {
		t.Error("class 2 is enough from 36 months")
	}
}

func TestJudged_refusesWithEveryField(t *testing.T) {
	bad := Situation{Market: "XX", On: "1 March", Age: -1, SoldAs: "cape", Size: "huge", Ownership: "ours", NorthernIreland: true, Films: []Film{{}}, Height: -1, Cords: Cords{Waist: -1}, Fabric: Fabric{Weight: -1, TextileShare: 1_000_001}}
	_, err := Judged(bad, nil, nil)
	f, ok := fault.As(err)
	if !ok || f.Reason != SituationInvalid {
		t.Fatalf("got %v", err)
	}
	var got []string
	for _, field := range f.Fields {
		got = append(got, field.Path)
	}
	want := []string{"market", "northern_ireland", "on", "age_months", "sold_as", "size", "ownership", "fabric.weight_g_m2", "fabric.textile_share_ppm", "cords.waist_um", "height_mm", "films[0].film"}
	if !slices.Equal(got, want) {
		t.Errorf("got %v", got)
	}
	_, err = Judged(tee(EU, 1), []Note{{}}, []Certificate{{Results: []Measure{{"DEPH", -1, "stone"}}, Covers: []string{"all"}, Class: 5, ValidUntil: "2026-13-01"}})
	f, ok = fault.As(err)
	if !ok || f.Reason != PapersInvalid {
		t.Fatalf("got %v", err)
	}
	got = nil
	for _, field := range f.Fields {
		got = append(got, field.Path)
	}
	c := "certificates[0]."
	want = []string{"notes[0].title", "notes[0].market", "notes[0].labels", c + "scheme", c + "number", c + "issuer", c + "kind", c + "film", c + "valid_from", c + "valid_until", c + "product_class", c + "covers[0]",
		c + "results[0].quantity", c + "results[0].value_milli", c + "results[0].unit"}
	if !slices.Equal(got, want) {
		t.Errorf("got %v", got)
	}
	if _, err = Judged(tee(EU, 1), make([]Note, MaxNotes+1), nil); !fault.Is(err, fault.TooLarge) {
		t.Errorf("got %v", err)
	}
}

func TestRecallNotice(t *testing.T) {
	sound := RecallNotice{Headline: RecallHeadline, Product: "Shirt, invented brand, picture 1", Identification: "Lot 7731, on the neck label", Hazard: "The film can come off and be swallowed.",
		Action: "Stop using it at once.", Remedies: []string{"replacement", "refund"}, Contact: "0800 000 000"}
	if fs := sound.Check(); len(fs) > 0 {
		t.Fatalf("a sound notice has faults: %v", fs)
	}
	for _, row := range []struct {
		spoil  func(*RecallNotice)
		path   string
		source string
	}{
		{func(n *RecallNotice) { n.Hazard += " This is a precautionary step." }, "hazard", "decision case D31; Reg (EU) 2023/988 Art 36(2)(c)"},
		{func(n *RecallNotice) { n.Action = "We voluntarily ask you to stop using it." }, "action", "Art 36(2)(c)"},
		{func(n *RecallNotice) { n.Hazard = "It can, in rare\nsituations, come off." }, "hazard", "Art 36(2)(c)"},
		{func(n *RecallNotice) { n.Headline = "Important notice" }, "headline", "Art 36(2)(a)"},
		{func(n *RecallNotice) { n.Remedies = n.Remedies[:1] }, "remedies", "Art 37"},
		{func(n *RecallNotice) { n.Contact = "" }, "contact", "Art 36(2)(f)"},
	} {
		n := sound
		row.spoil(&n)
		if fs := n.Check(); len(fs) != 1 || fs[0].Path != row.path || row.source == "" {
			t.Errorf("%s: %v", row.source, fs)
		}
	}
	sound.Hazard = "Involuntary loosening of the film."
	if fs := sound.Check(); len(fs) > 0 {
		t.Errorf("a whole other word was taken for a softener: %v", fs)
	}
}

func TestKeptUntil(t *testing.T) {
	for _, row := range []struct {
		markets []Market
		record  Record
		event   string
		until   string
		atMost  bool
		source  string
	}{
		{[]Market{EU}, TechnicalDocumentation, "2026-03-01", "2036-03-01", false, "Reg (EU) 2023/988 Art 9(3): 10 years"},
		{[]Market{EU}, Traceability, "2026-03-01", "2032-03-01", false, "Art 15(5): 6 years"},
		{[]Market{EU, CA, UK}, Traceability, "2026-03-01", "2032-12-31", false, "CCPSA s.13(2): 6 years after the end of the year, the longest"},
		{[]Market{EU, US}, ComplaintPersonalData, "2026-03-01", "2031-03-01", true, "Art 9(13): at most 5 years"},
		{[]Market{US}, TestsAndCertificates, "2028-02-29", "2033-03-01", false, "16 CFR 1107.26(b): 5 years (from memory); no 29 February 2033, so the day after"},
		{[]Market{US}, FibreContent, "2026-03-01", "2029-03-01", false, "16 CFR 303.39: 3 years (from memory)"},
	} {
		if row.source == "" {
			t.Fatal("a row without a source")
		}
		kept, err := KeptUntil(row.markets, row.record, row.event)
		if err != nil || kept.Until != row.until || kept.By.AtMost != row.atMost || kept.By.Citation == "" {
			t.Errorf("%v %s: %+v, %v; want %s (%s)", row.markets, row.record, kept, err, row.until, row.source)
		}
	}
	if _, err := KeptUntil([]Market{AU}, Traceability, "2026-03-01"); !fault.Is(err, fault.NotFound) {
		t.Errorf("got %v", err)
	}
	if _, err := KeptUntil([]Market{EU}, Traceability, "soon"); !fault.Is(err, fault.Invalid) {
		t.Errorf("got %v", err)
	}
}

func anySituation(t *rapid.T) Situation {
	flag := func(name string) bool { return rapid.Bool().Draw(t, name) }
	s := Situation{
		Market: rapid.SampledFrom(markets).Draw(t, "market"), Adult: flag("adult"), SoldAs: rapid.SampledFrom(SoldAsWords()).Draw(t, "sold as"),
		On:   rapid.SampledFrom([]string{"2009-01-01", "2023-10-17", "2024-12-12", "2026-03-01", "2026-10-10"}).Draw(t, "on"),
		Size: rapid.SampledFrom(append(SizeWords(), "")).Draw(t, "size"), Tight: flag("tight"), Ownership: rapid.SampledFrom(ownerships).Draw(t, "ownership"),
		OwnLabel: flag("own label"), Online: flag("online"), Garment: "tee",
		Fabric: Fabric{Family: "cotton", Raised: flag("raised"), BS5722: flag("bs5722"), FlameResistant: flag("resistant"), AnimalParts: flag("animal"), EmbroideryArea: units.PartsPerMillion(rapid.Int64Range(0, 1_000_000).Draw(t, "embroidery"))},
		Cords:  Cords{Hood: flag("hood"), HoodFreeEnds: flag("free ends"), Waist: units.Micrometres(rapid.Int64Range(0, 200_000).Draw(t, "waist"))},
		Films:  []Film{{Film: "matt", Lot: rapid.SampledFrom([]string{"7731", "8000"}).Draw(t, "lot"), Chemistry: "PVC", Glitter: flag("glitter"), Mouthable: flag("mouthable")}},
	}
	if !s.Adult {
		s.Age = units.Months(rapid.Int64Range(0, 200).Draw(t, "age"))
	}
	return s
}

// A worse result never makes a verdict milder, the same input gives the same verdict, and every item has its words,
// rule, citation and mark.
func TestJudged_laws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySituation(t)
		low := rapid.Int64Range(0, 2_000_000).Draw(t, "low")
		high := low + rapid.Int64Range(0, 2_000_000).Draw(t, "more")
		quantity := rapid.SampledFrom([]string{"lead", "DEHP", "formaldehyde", "benzo[a]pyrene", "cadmium"}).Draw(t, "quantity")
		judged := func(v int64) Verdict {
			verdict, err := Judged(s, nil, []Certificate{report(Measure{quantity, v, "mg/kg"})})
			if err != nil {
				t.Fatal(err)
			}
			return verdict
		}
		mild, worse := judged(low), judged(high)
		for _, b := range mild.Blocks {
			if !slices.Contains(worse.Blocks, b) {
				t.Fatalf("%s of %d blocks by %s, but %d does not", quantity, low, b.Rule, high)
			}
		}
		if !reflect.DeepEqual(mild, judged(low)) || mild.Help != Help {
			t.Fatal("not the same verdict twice, or without its sentence")
		}
		for _, list := range [][]Item{worse.Blocks, worse.Warnings, worse.Labels, worse.Papers, worse.Records, worse.Spared, worse.Cautions} {
			for _, i := range list {
				if i.Code == "" || i.Rule == "" || i.Words == "" || i.Citation == "" || i.Seen == "" {
					t.Fatalf("an item is incomplete: %+v", i)
				}
			}
		}
	})
}

func FuzzSituation(f *testing.F) {
	f.Add("EU", "2026-03-01", int64(60), "t-shirt", "6", "stock", "cotton", "7731")
	f.Add("US", "2026-02-30", int64(-1), "", "6X", "", "", "")
	f.Fuzz(func(t *testing.T, market, on string, age int64, soldAs, size, ownership, family, lot string) {
		s := Situation{Market: Market(market), On: on, Age: units.Months(age), SoldAs: soldAs, Size: size, Ownership: Ownership(ownership), Fabric: Fabric{Family: family}, Films: []Film{{Film: "matt", Lot: lot}}}
		_, err := Judged(s, nil, []Certificate{leadFree})
		if _, isFault := fault.As(err); (err != nil) != (len(s.Check()) > 0) || err != nil && !isFault {
			t.Fatalf("%+v: %v", s, err)
		}
	})
}

func BenchmarkJudged(b *testing.B) {
	s := tee(EU, 60)
	var certificates []Certificate
	for i := range 200 {
		c := leadFree
		c.Number = fmt.Sprint(i)
		certificates = append(certificates, c)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Judged(s, nil, certificates); err != nil {
			b.Fatal(err)
		}
	}
}
