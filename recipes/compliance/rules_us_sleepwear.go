package compliance

// Lengths of 16 CFR 1615.1(c): one piece 64.8 cm, each of two pieces 40 cm.
const (
	infantOnePiece = 648
	infantTwoPiece = 400
)

// rulesUSSleepwear are the United States' rules of children's sleepwear and infant garments.
var rulesUSSleepwear = []Rule{
	{ID: "US-023", Market: US, From: "1954-07-01", part: garmentPart,
		Words: "Clothing made of unsupported vinyl film may burn no faster than 1.2 in/s.", Citation: "16 CFR 1611.3", Seen: Mixed,
		Limits: []Limit{{Of: []string{"film-burning-rate"}, Op: Above, Thousandths: 1200, Unit: "in/s"}}},
	{ID: "US-024", Market: US, From: "1975-05-01", AgeFrom: 10, AgeBelow: childUS, SoldAs: nightwear, when: func(s *Situation) bool { return !s.Tight && !s.Fabric.FlameResistant },
		Words: "Children's sleepwear above 9 months must resist flame by the char test, or be tight-fitting. A loose cotton garment sold for sleep is neither.", Citation: "16 CFR 1615, 1616", Seen: Read,
		gives: []give{{to: blocks, code: "SLEEPWEAR_LOOSE"}}},
	{ID: "US-024b", Market: US, From: "1975-05-01", AgeFrom: 10, AgeBelow: childUS, SoldAs: nightwear,
		Words: "The certificate of children's sleepwear names the sleepwear rule it meets.", Citation: "16 CFR 1615, 1616", Seen: Read,
		gives: []give{{to: papers, code: "SLEEPWEAR_RECORD", words: "Name 16 CFR 1615 or 1616 on the certificate: the char test, or the tight-fitting measures."}}},
	{ID: "US-025", Market: US, From: "1997-01-01", AgeBelow: 10, SoldAs: infantWear, when: infantShort,
		Words: "An infant garment of size 9 months or smaller is outside the sleepwear char test if short enough and meeting 16 CFR 1610 and 1611.", Citation: "16 CFR 1615.1(c)", Seen: Read,
		gives: []give{
			{to: labels, code: "SIZE_IN_MONTHS", words: "Size label in months of age."},
			{to: papers, code: "INFANT_FLAMMABILITY", words: "Name 16 CFR 1610 and 1611 on the certificate."},
			{to: spared, code: "CHAR_TEST", words: "No sleepwear char test for an infant garment this short."}}},
	{ID: "US-025b", Market: US, From: "1997-01-01", AgeBelow: 10, SoldAs: infantWear, when: func(s *Situation) bool { return s.Length == 0 && !s.Fabric.FlameResistant },
		Words: "Infant garments are judged by length, and none is stated. Measure the garment.", Citation: "16 CFR 1615.1(c)", Seen: Read,
		gives: []give{{to: blocks, code: "MISSING_FACT"}}},
	{ID: "US-025c", Market: US, From: "1997-01-01", AgeBelow: 10, SoldAs: nightwear, when: func(s *Situation) bool {
		return s.Length > 0 && !infantShort(s) && !s.Fabric.FlameResistant
	},
		Words: "This infant garment is longer than the exempt length (64.8 cm in one piece, 40 cm each in two) and is judged as sleepwear.", Citation: "16 CFR 1615.1(c)", Seen: Read,
		gives: []give{{to: blocks, code: "SLEEPWEAR_LOOSE"}}},
	{ID: "US-026", Market: US, From: "2000-06-28", AgeFrom: 10, AgeBelow: childUS, SoldAs: nightwear, when: all(tight, func(s *Situation) bool { return !s.Fabric.FlameResistant }),
		Words: "Tight-fitting sleepwear stays under the greatest measures of its size, carries a hangtag and a neck label, and no ornament stands out more than 6 mm.", Citation: "16 CFR 1615.1(o), 1616.2(m)", Seen: Mixed,
		gives: []give{
			{to: labels, code: "SNUG_NECK", words: "Permanent neck label.", exact: "Wear snug-fitting. Not flame resistant", language: "en"},
			{to: labels, code: "SNUG_HANGTAG", words: "Yellow hangtag.", exact: "For child's safety, garment should fit snugly. This garment is not flame resistant. Loose-fitting garment is more likely to catch fire.", language: "en"},
			{to: records, code: "SNUG_MEASURES", words: "Measure the garment against the size table, and film edges against 6 mm."}}},
}

var infantWear = append([]string{"infant-one-piece"}, nightwear...)

func infantShort(s *Situation) bool {
	longest := infantOnePiece
	if s.SoldAs == "pyjamas" {
		longest = infantTwoPiece
	}
	return s.Length > 0 && int(s.Length) <= longest
}
