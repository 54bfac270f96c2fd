package compliance

import "slices"

// rulesEUSubstances are the European Union's restrictions (REACH Annex XVII and persistent pollutants). Operators
// differ on purpose: some entries prohibit at the limit, some only above it.
var rulesEUSubstances = []Rule{
	{ID: "EU-020", Market: EU, AlsoUK: true, From: "2020-07-07",
		Words: "Plasticised material (PVC, polyurethane, any polymer, coatings, decals, adhesives) with 0.1 % or more of DEHP, DBP, BBP and DIBP together may not be sold, for adults neither.", Citation: "REACH Annex XVII entry 51; Reg (EU) 2018/2005", Seen: Read,
		Limits:   []Limit{together(AtOrAbove, 1000, "mg/kg", "DEHP", "DBP", "BBP", "DIBP")},
		gives:    filmReport("51", "phthalates (entry 51)"),
		evidence: TopicPhthalates, missing: warnings},
	{ID: "EU-021", Market: EU, AlsoUK: true, From: "2007-01-16", AgeBelow: childEN, SoldAs: slices.Concat(toys, sleepOrFeeding),
		Words: "Toys and childcare articles that can be mouthed may not hold more than 0.1 % of DINP, DIDP and DNOP together.", Citation: "REACH Annex XVII entry 52", Seen: Read,
		Limits: []Limit{together(Above, 1000, "mg/kg", "DINP", "DIDP", "DNOP")},
		gives:  filmReport("52", "phthalates of childcare articles (entry 52)")},
	{ID: "EU-022", Market: EU, AlsoUK: true, From: "2020-11-01", when: garment,
		Words: "Clothing, with prints and coatings on it, may not reach the limits of 33 substances. Whether a film of its own counts is unsettled: taken as in scope.", Citation: "REACH Annex XVII entry 72, Appendix 12; Reg (EU) 2018/1513", Seen: Read,
		Limits:   appendix12,
		gives:    filmReport("72", "the 33 substances of entry 72"),
		evidence: TopicCMR, missing: warnings},
	{ID: "EU-022b", Market: EU, AlsoUK: true, From: "2020-11-01", when: func(s *Situation) bool { return garment(s) && s.Fabric.AnimalParts },
		Words: "Leather and fur parts, and non-textile decorative attachments, are outside entry 72.", Citation: "REACH Annex XVII entry 72(3)", Seen: Read,
		gives: []give{{to: spared, code: "LEATHER_72", words: "No entry 72 report for the leather part."}}},
	{ID: "EU-023", Market: EU, AlsoUK: true, From: "2023-11-01", when: garment,
		Words: "Formaldehyde in clothing, jackets and coats too, stays below 75 mg/kg.", Citation: "REACH Annex XVII entry 72(2), Appendix 12", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 75, "mg/kg", "formaldehyde")}},
	{ID: "EU-024", Market: EU, AlsoUK: true, From: "2016-06-01", part: filmPart, when: mouthable,
		Words: "A part that children can mouth (under 5 cm in a dimension, or standing out so) holds less than 0.05 % lead, unless its release is shown to be low.", Citation: "REACH Annex XVII entry 63(7)-(10); Reg (EU) 2015/628", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 500, "mg/kg", "lead")},
		gives:  filmReport("63", "lead of parts that can be mouthed (entry 63)")},
	{ID: "EU-025", Market: EU, AlsoUK: true, From: "2015-12-27",
		Words: "A plastic or rubber part on the skin may not hold more than 1 mg/kg of any of eight PAHs.", Citation: "REACH Annex XVII entry 50(5)", Seen: Read,
		Limits:   []Limit{each(Above, 1, "mg/kg", pahs...)},
		gives:    filmReport("50", "eight PAHs (entry 50)"),
		evidence: TopicPAH, missing: warnings},
	{ID: "EU-026", Market: EU, AlsoUK: true, From: "2015-12-27", AgeBelow: childEN, SoldAs: slices.Concat(toys, sleepOrFeeding),
		Words: "Plastic or rubber parts of toys and childcare articles may not hold more than 0.5 mg/kg of any of eight PAHs.", Citation: "REACH Annex XVII entry 50(6)", Seen: Read,
		Limits: []Limit{{Of: pahs, Op: Above, Thousandths: 500, Unit: "mg/kg"}}},
	{ID: "EU-027", Market: EU, AlsoUK: true, From: "2003-09-11", when: garment,
		Words: "Azo dyes may not release more than 30 mg/kg of a listed aromatic amine.", Citation: "REACH Annex XVII entry 43", Seen: Read,
		Limits: []Limit{each(Above, 30, "mg/kg", "aromatic-amine")}},
	{ID: "EU-028", Market: EU, AlsoUK: true, From: "2021-02-03", part: garmentPart, when: textile,
		Words: "Washable textiles hold less than 0.01 % nonylphenol ethoxylates.", Citation: "REACH Annex XVII entry 46a; Reg (EU) 2016/26", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 100, "mg/kg", "NPE")}},
	{ID: "EU-029", Market: EU, AlsoUK: true, From: "2011-12-10", part: filmPart,
		Words: "Listed plastics hold less than 0.01 % cadmium.", Citation: "REACH Annex XVII entry 23(1)-(4)", Seen: Memory,
		Limits:   []Limit{each(AtOrAbove, 100, "mg/kg", "cadmium")},
		gives:    filmReport("23", "cadmium (entry 23)"),
		evidence: TopicCadmium, missing: warnings},
	{ID: "EU-030", Market: EU, AlsoUK: true, From: "2000-07-20", part: garmentPart, when: func(s *Situation) bool { return s.Fabric.MetalParts },
		Words: "Metal on the skin may not release more than 0.5 µg nickel a square centimetre and week.", Citation: "REACH Annex XVII entry 27", Seen: Read,
		Limits: []Limit{{Of: []string{"nickel-release"}, Op: Above, Thousandths: 500, Unit: "ug/cm2/week"}},
		gives:  []give{{to: papers, code: "NICKEL_REPORT", words: "Nickel release report (EN 1811) for the metal parts."}}},
	{ID: "EU-031", Market: EU, From: "2023-02-25",
		Words: "C9 to C14 perfluorocarboxylic acids stay below 25 ppb together, related substances below 260 ppb.", Citation: "REACH Annex XVII entry 68; Reg (EU) 2021/1297", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 25, "ppb", "PFCA-C9-C14"), each(AtOrAbove, 260, "ppb", "PFCA-related")}},
	{ID: "EU-032", Market: EU, when: garment,
		Words: "From 10 October 2026 clothing holds less than 25 ppb PFHxA and less than 1000 ppb related substances; stock placed on the market before may be sold.", Citation: "REACH Annex XVII entry 79; Reg (EU) 2024/2462", Seen: Read,
		Limits: []Limit{from("2026-10-10", each(AtOrAbove, 25, "ppb", "PFHxA")), from("2026-10-10", each(AtOrAbove, 1000, "ppb", "PFHxA-related"))}},
	{ID: "EU-032b", Market: EU, when: func(s *Situation) bool { return garment(s) && s.Fabric.WaterRepellent && s.On < "2026-10-10" },
		Words: "Water-repellent clothing first placed on the market before 10 October 2026 may be sold afterwards where that day can be shown.", Citation: "REACH Annex XVII entry 79(7)", Seen: Read,
		gives: []give{{to: records, code: "FIRST_PLACED", words: "Keep a dated record that the goods were placed on the market before 10 October 2026."}}},
	{ID: "EU-036", Market: EU, From: "2011-06-01", when: hasFilm,
		Words: "An article with more than 0.1 % of a candidate-list substance: say so to the recipient, answer consumers in 45 days.", Citation: "REACH Art 33, 7(2)", Seen: Memory,
		gives: []give{{to: records, code: "CANDIDATE_LIST", words: "Ask the film's supplier for its candidate-list statement."}}},
	{ID: "EU-037", Market: EU, From: "2020-07-04",
		Words: "PFOA stays at or below 0.025 mg/kg.", Citation: "Reg (EU) 2019/1021 Annex I", Seen: Memory,
		Limits: []Limit{each(Above, 25, "ppb", "PFOA")}},
}

// filmReport is the paper that a film needs on one entry; a garment without film gives none.
func filmReport(entry, about string) []give {
	return []give{{to: papers, code: "FILM_REPORT_" + entry, words: "Report or declaration for the film on " + about + ".", film: true}}
}

func from(day string, l Limit) Limit { l.From = day; return l }
