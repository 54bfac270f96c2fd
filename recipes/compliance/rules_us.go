package compliance

import "slices"

// Ages of the United States' rules: a child is 12 or younger, child care ends before the fourth birthday.
const (
	childUS     = 156
	childCareUS = 48
)

// rulesUS are the United States' rules except those of children's sleepwear.
var rulesUS = []Rule{
	{ID: "US-001", Market: US, From: "2008-08-14", AgeBelow: childUS, when: garment,
		Words: "Made or meant mainly for children of 12 or younger: a children's product.", Citation: "15 USC 2052(a)(2)", Seen: Read,
		gives: []give{{to: records, code: "AGE_INTENT", words: "Keep a record of the ages the garment is sold for."}}},
	{ID: "US-002", Market: US, From: "2011-08-14", AgeBelow: childUS,
		Words: "No accessible part of a children's product may hold more than 100 mg/kg lead.", Citation: "15 USC 1278a(a)(2)(C)", Seen: Read,
		Limits: []Limit{each(Above, 100, "mg/kg", "lead")}},
	{ID: "US-004", Market: US, From: "2009-08-14", AgeBelow: childUS, part: filmPart,
		Words: "A paint or similar coating on a children's product may not hold more than 90 mg/kg lead. Film may be judged as coating or as base by scraping, so every film for children is held to 90.", Citation: "16 CFR 1303.1(a), 1303.2(b)(1); 15 USC 1278a(f)(1)", Seen: Read,
		Limits: []Limit{each(Above, 90, "mg/kg", "lead")}},
	{ID: "US-006", Market: US, From: "2009-08-26", AgeBelow: childUS, when: garment,
		Words: "Dyed or undyed textile fibres need no lead test; the determination is cited on the certificate. It covers no print, transfer or decal.", Citation: "16 CFR 1500.91(d)(7)", Seen: Mixed,
		gives: []give{
			{to: papers, code: "TEXTILE_DETERMINATION", words: "Cite the textile determination for the garment's cloth on the children's product certificate."},
			{to: spared, code: "CLOTH_LEAD_TEST", words: "No lead test of the dyed cloth itself."}}},
	{ID: "US-007", Market: US, From: "2009-08-26", AgeBelow: childUS, when: hasFilm,
		Words: "The textile determination does not cover applied film: it needs a third-party lead report or component certificate for its lot.", Citation: "16 CFR 1500.91(d)(7)", Seen: Read,
		gives:    []give{{to: papers, code: "FILM_LEAD_REPORT", words: "Third-party lead report or component certificate for the film's lot, at most 90 mg/kg."}},
		evidence: TopicLead, missing: blocks},
	{ID: "US-008", Market: US, From: "2018-04-25", AgeBelow: childCareUS, SoldAs: childCare, when: hasFilm,
		Words: "A plasticised part of a child care article (sleep, feeding; children of 3 or younger) may hold no more than 0.1 % of any of eight phthalates.", Citation: "15 USC 2057c; 16 CFR 1307.3", Seen: Mixed,
		Limits:   []Limit{each(Above, 1000, "mg/kg", phthalatesUS...)},
		gives:    []give{{to: papers, code: "PHTHALATE_REPORT", words: "Third-party phthalate report for the film (16 CFR 1307)."}},
		evidence: TopicChildCare, missing: blocks},
	{ID: "US-009", Market: US, AgeBelow: childUS, when: func(s *Situation) bool {
		return garment(s) && !s.is(toys) && !(s.is(childCare) && s.months() < childCareUS)
	},
		Words: "The phthalate limits cover toys and child care articles, not other children's clothing.", Citation: "15 USC 2057c(g)(1)(B),(C)", Seen: Read,
		gives: []give{{to: spared, code: "PHTHALATE_TEST", words: "No phthalate test for this garment."}}},
	{ID: "US-010", Market: US, From: "1979-06-15", AgeBelow: 36, when: func(s *Situation) bool { return garment(s) && !s.is(toys) },
		Words: "Children's clothing and its buttons are outside the small-parts ban.", Citation: "16 CFR 1501.3(d)", Seen: Read,
		gives: []give{{to: spared, code: "SMALL_PARTS_TEST", words: "No small-parts test for clothing."}}},
	{ID: "US-011", Market: US, From: "1980-01-01", AgeBelow: 36, SoldAs: toys,
		Words: "Nothing meant for children under 3, and no piece that comes off it, may fit the small-parts cylinder.", Citation: "16 CFR 1500.18(a)(9), 1501.4", Seen: Read,
		gives: []give{{to: papers, code: "SMALL_PARTS_REPORT", words: "Third-party small-parts report."}}},
	{ID: "US-012", Market: US, From: "2008-11-12", AgeBelow: childUS,
		Words: "A children's product needs third-party tests at an accepted laboratory and a Children's Product Certificate naming each rule.", Citation: "15 USC 2063(a)(2),(3); 16 CFR 1110", Seen: Read,
		gives: []give{{to: papers, code: "CPC", words: "Children's Product Certificate naming each rule it rests on."}}},
	{ID: "US-013", Market: US, AgeBelow: childUS,
		Words: "The domestic maker or the importer issues the certificate. Whoever decorates a blank is taken as maker of the changed product.", Citation: "16 CFR 1110.7 (decorator as maker: an inference)", Seen: Mixed,
		gives: []give{{to: records, code: "CPC_ISSUER", words: "Record who issues the children's product certificate: normally the workshop that decorated."}}},
	{ID: "US-014", Market: US, From: "2026-07-08", when: func(s *Situation) bool { return s.Imported },
		Words: "Certificate data of imported regulated goods are filed electronically with customs.", Citation: "90 FR 1800; 16 CFR 1110", Seen: Read,
		gives: []give{{to: records, code: "EFILING", words: "File the certificate's data electronically before entry."}}},
	{ID: "US-015", Market: US, From: "2009-08-14", AgeBelow: childUS,
		Words: "Permanent marks on a children's product and its packaging: maker, place and date of production, batch.", Citation: "15 USC 2063(a)(5)(A)", Seen: Read,
		gives: []give{{to: labels, code: "TRACKING_MARK", words: "Tracking mark: maker, place and date of production, batch."}}},
	{ID: "US-017", Market: US, From: "2013-02-08", AgeBelow: childUS,
		Words: "Continuing production is tested again at least yearly (two or three years with a plan), and on every material change.", Citation: "16 CFR 1107.21, 1107.23", Seen: Read,
		gives: []give{{to: records, code: "PERIODIC_TEST", words: "Keep the periodic test plan; test again after a change of film, colour supplier or process."}}},
	{ID: "US-018", Market: US, From: "2013-02-08", AgeBelow: childUS,
		Words: "Certificates, reports and plans are kept five years.", Citation: "16 CFR 1107.26(b)", Seen: Memory,
		gives: []give{{to: records, code: "KEEP_TESTS", words: "Keep certificate, reports and plans five years."}}},
	{ID: "US-020", Market: US, From: "1954-07-01", part: garmentPart, when: func(s *Situation) bool { return apparelUS(s) && !flameExempt(s) },
		Words: "Dangerously flammable cloth may not be used: a plain surface must take 3.5 s or more to burn, a raised one with burning base 4 s or more.", Citation: "16 CFR 1610.4", Seen: Read,
		Limits: []Limit{
			{Of: []string{"burn-time-plain"}, Op: Below, Thousandths: 3500, Unit: "s"},
			each(Below, 4, "s", "burn-time-raised")},
		gives: []give{{to: papers, code: "FLAMMABILITY_REPORT", words: "Flammability report (16 CFR 1610) for the cloth, or its exemption by weight or fibre."}}},
	{ID: "US-021", Market: US, From: "2008-09-22", when: func(s *Situation) bool { return apparelUS(s) && flameExempt(s) },
		Words: "Plain cloth of 88.2 g/m² or more, and cloth wholly of acrylic, modacrylic, nylon, olefin, polyester or wool, needs no flammability test.", Citation: "16 CFR 1610.1(d)", Seen: Memory,
		gives: []give{
			{to: papers, code: "FLAMMABILITY_EXEMPTION", words: "Cite the flammability exemption (16 CFR 1610.1(d)) on the certificate."},
			{to: spared, code: "FLAMMABILITY_TEST", words: "No flammability test of this cloth."}}},
	{ID: "US-027", Market: US, From: "2011-08-18", SoldAs: upperOuterwear, when: func(s *Situation) bool { return hoodCord(s) && s.sized(12) },
		Words: "Children's upper outerwear of sizes 2T to 12 may have no drawstring at hood or neck.", Citation: "16 CFR 1120.3(b)(1); ASTM F1816-97", Seen: Read,
		gives: []give{{to: blocks, code: "HOOD_CORD"}}},
	{ID: "US-028", Market: US, From: "2011-08-18", SoldAs: upperOuterwear, part: garmentPart, when: func(s *Situation) bool { return waistCord(s) && s.sized(16) },
		Words: "In sizes 2T to 16 a waist or bottom drawstring may stand out no more than 3 in.", Citation: "16 CFR 1120.3(b)(2); ASTM F1816-97", Seen: Read,
		Limits: []Limit{each(Above, 3, "in", "waist-cord")}},
	{ID: "US-028b", Market: US, From: "2011-08-18", SoldAs: upperOuterwear, when: func(s *Situation) bool {
		return waistCord(s) && s.sized(16) && (s.Cords.WaistToggle || !s.Cords.WaistTacked)
	},
		Words: "In sizes 2T to 16 a waist or bottom drawstring may have no toggle, knot or attachment at its free ends, and one continuous string must be bar-tacked.", Citation: "16 CFR 1120.3(b)(2); ASTM F1816-97", Seen: Read,
		gives: []give{{to: blocks, code: "WAIST_CORD"}}},
	{ID: "US-028c", Market: US, From: "2011-08-18", AgeBelow: 204, SoldAs: upperOuterwear, when: func(s *Situation) bool {
		return (hoodCord(s) || waistCord(s)) && s.Size == ""
	},
		Words: "The drawstring rules go by size, and none is stated. State the size.", Citation: "16 CFR 1120.3(b)", Seen: Read,
		gives: []give{{to: blocks, code: "MISSING_FACT"}}},
	{ID: "US-029", Market: US, From: "1984-01-02", when: garment,
		Words: "Textile clothing carries a permanent care label on a reasonable basis, warning of a usual step that harms. Symbols without words are lawful in one edition only: print words.", Citation: "16 CFR 423.6, 423.8(g)", Seen: Read,
		gives: []give{{to: labels, code: "CARE_LABEL", words: "Permanent care label in words; keep its basis on file."}}},
	{ID: "US-031", Market: US, From: "1960-03-03", when: all(garment, func(s *Situation) bool { return s.Ownership == Stock }),
		Words: "Clothing states fibres with percentages, country of origin and maker or dealer.", Citation: "15 USC 70b; 16 CFR 303", Seen: Read,
		gives: []give{{to: labels, code: "FIBRE_LABEL", words: "Fibre, origin and maker (or registered number) label."}}},
	{ID: "US-031b", Market: US, From: "1960-03-03", when: all(garment, func(s *Situation) bool { return s.Ownership != Stock }),
		Words: "Who finishes goods under contract for another need not label fibres unless the work changes them.", Citation: "15 USC 70b; 16 CFR 303", Seen: Read,
		gives: []give{{to: spared, code: "FIBRE_LABEL", words: "No fibre label by the workshop on a customer's goods; leave theirs readable."}}},
	{ID: "US-032", Market: US, part: garmentPart, when: func(s *Situation) bool { return s.Fabric.EmbroideryArea > 0 },
		Words: "Fibre decoration of more than 15 % of the surface is named on the fibre label.", Citation: "16 CFR 303.12, 303.26", Seen: Read,
		Limits: []Limit{each(Above, 15, "% area", "embroidery-area")},
		over:   []give{{to: labels, code: "EMBROIDERY_FIBRE", words: "Name the fibre of the embroidery on the fibre label."}}},
	{ID: "US-032b", Market: US, when: func(s *Situation) bool {
		return s.Fabric.EmbroideryArea > 0 && s.Fabric.EmbroideryArea <= 150_000
	},
		Words: "Fibre decoration of up to 15 % of the surface need not be named if the label says so.", Citation: "16 CFR 303.12, 303.26", Seen: Read,
		gives: []give{{to: labels, code: "EXCLUSIVE_OF_DECORATION", exact: "exclusive of decoration", language: "en"}}},
	{ID: "US-035", Market: US, From: "2008-11-12", AgeFrom: childUS, when: apparelUS,
		Words: "Clothing for 13 and older needs a General Certificate of Conformity for each rule on it.", Citation: "15 USC 2063(a)(1)", Seen: Read,
		gives: []give{{to: papers, code: "GCC", words: "General Certificate of Conformity naming 16 CFR 1610 (or its exemption)."}}},
}

// apparelUS: 16 CFR 1610 covers clothing except hats, gloves, footwear and children's sleepwear under its own rules.
func apparelUS(s *Situation) bool {
	return garment(s) && !slices.Contains([]string{"hat", "gloves"}, s.SoldAs) && !(s.is(nightwear) && s.months() < childUS)
}

func flameExempt(s *Situation) bool {
	if slices.Contains([]string{"acrylic", "modacrylic", "nylon", "olefin", "polyester", "wool"}, s.Fabric.Family) {
		return true
	}
	return !s.Fabric.Raised && s.Fabric.Weight > 88 // 88.2 g/m² and above, in whole grams
}
