package compliance

import "slices"

const childUK = 156

// rulesUKNightwear are the Nightwear (Safety) Regulations 1985.
var rulesUKNightwear = []Rule{
	{ID: "UK-010", Market: UK, From: "1987-03-01", AgeBelow: childUK, SoldAs: nightwear, when: func(s *Situation) bool { return !labelOnlyUK(s) && !largeUK(s) && !s.Fabric.BS5722 },
		Words: "Children's nightwear under 13, other than pyjamas, babies' garments and terry bath robes, must meet BS 5722. No label cures that.", Citation: "SI 1985/2043 reg 4(1)", Seen: Read,
		gives: []give{{to: blocks, code: "NIGHTWEAR_FLAMMABLE"}}},
	{ID: "UK-011", Market: UK, From: "1987-03-01", AgeBelow: childUK, SoldAs: nightwear, when: func(s *Situation) bool { return (labelOnlyUK(s) || largeUK(s)) && !s.Fabric.BS5722 },
		Words: "Pyjamas, babies' garments, terry bath robes and nightwear too large for a child, not shown to meet BS 5722, carry the red words.", Citation: "SI 1985/2043 reg 3(1), 4(2), Sch 1, 2", Seen: Read,
		gives: []give{redUK}},
	{ID: "UK-011b", Market: UK, From: "1987-03-01", AgeBelow: childUK, SoldAs: nightwear, when: func(s *Situation) bool { return (labelOnlyUK(s) || largeUK(s)) && s.Fabric.BS5722 },
		Words: "Pyjamas, babies' garments, terry bath robes and nightwear too large for a child, shown to meet BS 5722, carry the black words, or the red, or both.", Citation: "SI 1985/2043 reg 3(1), 4(2), Sch 1, 2", Seen: Read,
		gives: []give{blackUK}},
	{ID: "UK-012", Market: UK, From: "1987-03-01", AgeFrom: childUK, SoldAs: nightwear, when: func(s *Situation) bool { return !s.Fabric.BS5722 },
		Words: "Adults' nightwear not shown to meet BS 5722 carries the red words.", Citation: "SI 1985/2043 reg 6, Sch 2", Seen: Read,
		gives: []give{redUK}},
	{ID: "UK-012b", Market: UK, From: "1987-03-01", AgeFrom: childUK, SoldAs: nightwear, when: func(s *Situation) bool { return s.Fabric.BS5722 },
		Words: "Adults' nightwear shown to meet BS 5722 carries the black words, or the red, or both.", Citation: "SI 1985/2043 reg 6, Sch 2", Seen: Read,
		gives: []give{blackUK}},
	{ID: "UK-013", Market: UK, From: "1987-03-01", SoldAs: nightwear, when: func(s *Situation) bool { return labelOnlyUK(s) || largeUK(s) || s.months() >= childUK },
		Words: "The words stand inside the neck or by the size label, in 10 point medium capitals, lasting and in contrast.", Citation: "SI 1985/2043 Sch 2 paras 3-4", Seen: Read,
		gives: []give{{to: records, code: "LABEL_PLACE"}}},
	{ID: "UK-015", Market: UK, From: "1987-03-01", SoldAs: nightwear, when: func(s *Situation) bool { return s.Fabric.FlameRetardant },
		Words: "Nightwear treated with flame-retardant chemicals carries the washing words of Schedule 3.", Citation: "SI 1985/2043 reg 7, Sch 3", Seen: Mixed,
		gives: []give{{to: labels, code: "FLAME_RETARDANT_WASH", words: "Washing label with the words of Schedule 3; look them up, they are not held here."}}},
	{ID: "UK-016", Market: UK, From: "1987-03-01", SoldAs: nightwear, when: online,
		Words: "Certain distance advertisements for nightwear state its flammability.", Citation: "SI 1985/2043 reg 9, Sch 4", Seen: Read,
		gives: []give{{to: papers, code: "ADVERT_WORDS", words: "Flammability statement in the offer."}}},
}

var (
	redUK   = give{to: labels, code: "FIRE_RED", words: "Red letters, 10 point medium capitals.", exact: "KEEP AWAY FROM FIRE", language: "en"}
	blackUK = give{to: labels, code: "FIRE_BLACK", words: "Black letters, 10 point medium capitals.", exact: "LOW FLAMMABILITY TO BS 5722", language: "en"}
)

// labelOnlyUK: what carries a label instead of the duty to meet BS 5722 (reg 4(2); a baby's garment is for up to 3
// months with a chest of at most 53 cm).
func labelOnlyUK(s *Situation) bool {
	return s.is([]string{"pyjamas", "terry-bathrobe"}) || s.months() < 3 && s.Chest > 0 && s.Chest <= 530
}

// largeUK: too large to count as a child's (UK-014: nightdress chest above 91 cm or length above 122 cm, gown or robe
// chest above 97 cm; sleeves are not asked).
func largeUK(s *Situation) bool {
	if s.is([]string{"bathrobe"}) {
		return s.Chest > 970
	}
	return s.is([]string{"nightdress", "nightshirt"}) && (s.Chest > 910 || s.Length > 1220)
}

// rulesUK are the United Kingdom's rules; restrictions on substances are the European rows marked AlsoUK.
var rulesUK = slices.Concat([]Rule{
	{ID: "UK-002", Market: UK, From: "2005-10-01", when: forSale,
		Words: "The producer is named with address on product or packaging, with a product reference or batch.", Citation: "SI 2005/1803 reg 7(4)", Seen: Memory,
		gives: []give{{to: labels, code: "PRODUCER_BATCH", words: "Producer's name and address, and the batch."}}},
	{ID: "UK-003", Market: UK, From: "2005-10-01",
		Words: "The papers that trace a product's origin are kept; no period is fixed, six years is common.", Citation: "SI 2005/1803 reg 8(1)(b)", Seen: Memory,
		gives: []give{{to: records, code: "TRACE", words: "Keep film lot, order and supplier linked; six years is common practice."}}},
	{ID: "UK-020", Market: UK, From: "2012-05-08", when: func(s *Situation) bool { return s.Ownership == Stock && textile(s) },
		Words: "A product of at least 80 % textile fibres states its fibres in English.", Citation: "SI 2012/1102; Reg (EU) 1007/2011 as assimilated", Seen: Read,
		gives: []give{{to: labels, code: "FIBRE_LABEL", words: "Fibre label in English."}}},
	{ID: "UK-022", Market: UK, From: gpsr,
		Words: "Goods for Northern Ireland follow the Union's product rules.", Citation: "Windsor Framework", Seen: Mixed,
		gives: []give{{to: records, code: "NORTHERN_IRELAND", words: "Judged by the European Union's rules."}}},
}, rulesUKNightwear)

// rulesCA are Canada's rules.
var rulesCA = []Rule{
	{ID: "CA-001", Market: CA, From: "2018-11-02", AgeBelow: 168, when: garment,
		Words: "Accessible parts of clothing for a child under 14 hold no more than 90 mg/kg lead.", Citation: "SOR/2018-83 s.1, 2", Seen: Read,
		Limits: []Limit{each(Above, 90, "mg/kg", "lead")}},
	{ID: "CA-002", Market: CA, From: "2016-06-22", AgeBelow: 168, part: filmPart, when: hasFilm,
		Words: "A sticker, film or coating on an accessible part of a children's product holds no more than 90 mg/kg lead.", Citation: "SOR/2016-193 s.6(b)", Seen: Read,
		Limits:   []Limit{each(Above, 90, "mg/kg", "lead")},
		gives:    []give{{to: papers, code: "FILM_LEAD_REPORT", words: "Lead report for the film, at most 90 mg/kg."}},
		evidence: TopicLead, missing: warnings},
	{ID: "CA-003", Market: CA, From: "2016-06-22", AgeBelow: 48, SoldAs: childCare, part: filmPart, when: pvc,
		Words: "Vinyl of a child care article (under 4; sleep, hygiene, feeding) holds no more than 1000 mg/kg of DEHP, DBP or BBP each.", Citation: "SOR/2016-188 s.2, 3", Seen: Read,
		Limits:   []Limit{each(Above, 1000, "mg/kg", "DEHP", "DBP", "BBP")},
		gives:    []give{{to: papers, code: "PHTHALATE_REPORT", words: "Phthalate report for the vinyl film."}},
		evidence: TopicPhthalates, missing: warnings},
	{ID: "CA-004", Market: CA, From: "2016-06-22", part: garmentPart, when: func(s *Situation) bool { return garment(s) && !(s.is(nightwear) && s.months() < 168) },
		Words: "Flame on a textile must take more than 3.5 s to spread, on a raised surface whose base burns more than 4 s.", Citation: "SOR/2016-194 s.2, 3, 5", Seen: Read,
		Limits: []Limit{{Of: []string{"burn-time-plain"}, Op: AtOrBelow, Thousandths: 3500, Unit: "s"}, each(AtOrBelow, 4, "s", "burn-time-raised")}},
	{ID: "CA-005", Market: CA, From: "2016-06-22", AgeBelow: 168, SoldAs: nightwear, part: garmentPart, when: func(s *Situation) bool { return !s.Tight },
		Words: "Loose children's sleepwear to size 14X chars no more than 178 mm on average.", Citation: "SOR/2016-169 s.1, 3", Seen: Read,
		Limits: []Limit{each(Above, 178, "mm", "char-length")},
		gives:  []give{{to: papers, code: "CHAR_REPORT", words: "Char test report for loose children's sleepwear."}}},
	{ID: "CA-005b", Market: CA, From: "2016-06-22", AgeBelow: 168, SoldAs: nightwear, when: func(s *Situation) bool { return !s.Tight && s.Fabric.FlameRetardant },
		Words: "Flame-retardant treated children's sleepwear says so in English and French, with care words in both.", Citation: "SOR/2016-169 s.4", Seen: Read,
		gives: []give{
			{to: labels, code: "FLAME_RETARDANT", words: "Permanent label.", exact: "flame retardant", language: "en"},
			{to: labels, code: "FLAME_RETARDANT", words: "Permanent label.", exact: "ignifugeant", language: "fr"},
			{to: labels, code: "CARE_LABEL", words: "Care words in English and French."}}},
	{ID: "CA-006", Market: CA, From: "2016-06-22", AgeBelow: 168, SoldAs: nightwear, part: garmentPart, when: tight,
		Words: "Flame on tight-fitting children's sleepwear must take more than 7 s to spread.", Citation: "SOR/2016-169 s.2", Seen: Read,
		Limits: []Limit{each(AtOrBelow, 7, "s", "burn-time-sleepwear")},
		gives:  []give{{to: papers, code: "FLAME_REPORT", words: "Flame spread report for tight-fitting children's sleepwear."}}},
	{ID: "CA-007", Market: CA, From: "2011-06-20",
		Words: "Supplier and customer papers are kept six years after the end of the year they relate to.", Citation: "CCPSA s.13", Seen: Read,
		gives: []give{{to: records, code: "TRACE", words: "Keep supplier and customer papers six years after the year's end."}}},
}

// rulesAU are a few of Australia's rules.
var rulesAU = []Rule{
	{ID: "AU-001", Market: AU, From: "2020-01-01", AgeBelow: 180, SoldAs: append([]string{"sleep-bag"}, nightwear...),
		Words: "Children's nightwear of sizes 00 to 14 is put in one of four categories and carries the matching fire-danger label.", Citation: "Consumer Goods (Children's Nightwear …) Safety Standard 2017; AS/NZS 1249:2014", Seen: Read,
		gives: []give{{to: labels, code: "FIRE_DANGER", words: "Fire-danger label of the garment's category; large prints can change the category."}}},
	{ID: "AU-002", Market: AU, From: "2020-01-01", AgeBelow: 180, SoldAs: []string{"t-shirt", "sportswear", "hat"},
		Words: "T-shirts, track clothing and headwear not sold as nightwear nor in a nightwear set are outside the nightwear standard.", Citation: "Consumer Goods (Children's Nightwear …) Safety Standard 2017", Seen: Read,
		gives: []give{{to: spared, code: "FIRE_DANGER", words: "No fire-danger label, as long as it is not sold as part of a nightwear set."}}},
	{ID: "AU-003", Market: AU, when: garment,
		Words: "Clothing carries a permanent care label.", Citation: "care labelling information standard (AS/NZS 1957)", Seen: Memory,
		gives: []give{{to: labels, code: "CARE_LABEL", words: "Permanent care label."}}},
}
