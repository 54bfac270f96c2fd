package compliance

// childEN is the end of the European standards' children: fourteenth birthday; youngEN the end of young children.
const (
	childEN  = 168
	youngEN  = 84
	youngTop = 1340 // mm of body height
)

const gpsr = "2024-12-13" // Reg (EU) 2023/988 applies

// rulesEU are the European Union's rules except those on substances.
var rulesEU = []Rule{
	{ID: "EU-002", Market: EU, From: gpsr, when: maker,
		Words: "The maker, and whoever sells under its own name, analyses the risks and keeps technical documentation for ten years.", Citation: "Reg (EU) 2023/988 Art 9(2),(3)", Seen: Read,
		gives: []give{
			{to: papers, code: "RISK_ANALYSIS", words: "Internal risk analysis."},
			{to: papers, code: "TECHNICAL_DOCUMENTATION", words: "Technical documentation, kept ten years."}}},
	{ID: "EU-003", Market: EU, From: gpsr, when: forSale,
		Words: "The product carries a type, batch or serial number, easily seen and read.", Citation: "Reg (EU) 2023/988 Art 9(5)", Seen: Read,
		gives: []give{{to: labels, code: "BATCH_MARK", words: "Type, batch or serial mark."}}},
	{ID: "EU-004", Market: EU, From: gpsr, when: forSale,
		Words: "The product carries the maker's name or mark with postal and electronic address; the importer adds its own.", Citation: "Reg (EU) 2023/988 Art 9(6), 11(3)", Seen: Read,
		gives: []give{{to: labels, code: "MAKER_ADDRESS", words: "Maker's name, postal and electronic address."}}},
	{ID: "EU-005", Market: EU, From: gpsr, when: forSale,
		Words: "Instructions and safety words come in the language of the country of sale, unless the product is safe without.", Citation: "Reg (EU) 2023/988 Art 9(7)", Seen: Read,
		gives: []give{{to: records, code: "INSTRUCTIONS", words: "Decide whether the garment needs instructions, and in which language."}}},
	{ID: "EU-006", Market: EU, From: gpsr, when: func(s *Situation) bool { return forSale(s) && !s.MakerInUnion && !maker(s) },
		Words: "Without a maker in the Union, a responsible person in the Union is named on the goods.", Citation: "Reg (EU) 2023/988 Art 16", Seen: Read,
		gives: []give{{to: labels, code: "RESPONSIBLE_PERSON", words: "Name and contact of the responsible person in the Union."}}},
	{ID: "EU-007", Market: EU, From: gpsr, when: all(online, forSale),
		Words: "An online offer shows the maker with postal and electronic address, a picture, type and identifier, and warnings.", Citation: "Reg (EU) 2023/988 Art 19", Seen: Read,
		gives: []give{{to: papers, code: "LISTING", words: "Listing with maker's name, postal and electronic address, picture, identifier and warnings."}}},
	{ID: "EU-007b", Market: EU, From: gpsr, when: func(s *Situation) bool {
		return online(s) && forSale(s) && s.Listing != Listing{true, true, true, true, true, true}
	},
		Words: "The online offer lacks something it must show: maker's name, postal or electronic address, picture, identifier or warnings. Complete it first.", Citation: "Reg (EU) 2023/988 Art 19", Seen: Read,
		gives: []give{{to: blocks, code: "LISTING_INCOMPLETE"}}},
	{ID: "EU-008", Market: EU, From: gpsr, when: func(s *Situation) bool { return s.Ownership == CustomerForResale && !s.OwnLabel },
		Words: "Decoration makes the decorator the maker only where it changes safety in a way the first maker did not foresee.", Citation: "Reg (EU) 2023/988 Art 13", Seen: Read,
		gives: []give{{to: warnings, code: "MAKER_ROLE", words: "Decide with the customer who is the maker of the decorated garment, and write it down."}}},
	{ID: "EU-009", Market: EU, From: gpsr, when: ownUse,
		Words: "Decorating a consumer's own garment for that consumer's own use is no substantial modification. The film itself still has to be safe.", Citation: "Reg (EU) 2023/988 Art 13(3)(c)", Seen: Read,
		gives: []give{
			{to: records, code: "JOB_OWN_USE", words: "Record: customer's own garment, for own use."},
			{to: spared, code: "TECHNICAL_DOCUMENTATION", words: "No technical documentation for the garment."}}},
	{ID: "EU-010", Market: EU, From: gpsr,
		Words: "Suppliers and business customers can be named for six years; risks and measures for ten.", Citation: "Reg (EU) 2023/988 Art 15(3)-(5)", Seen: Read,
		gives: []give{{to: records, code: "TRACE", words: "Keep film lot, order and customer linked for six years."}}},
	{ID: "EU-011", Market: EU, From: gpsr, when: maker,
		Words: "The maker keeps a register of complaints; personal data in it are deleted after five years at most.", Citation: "Reg (EU) 2023/988 Art 9(11)-(13)", Seen: Read,
		gives: []give{{to: records, code: "COMPLAINTS", words: "Keep a complaint register; delete personal data after five years."}}},
	{ID: "EU-034", Market: EU, From: "2023-10-17", when: all(garment, glitter),
		Words: "Glitter in the film of a garment counts as part of the garment, outside the rule on microparticles.", Citation: "REACH Annex XVII entry 78(5)(c); Commission Q&A on Reg (EU) 2023/2055", Seen: Read,
		gives: []give{{to: spared, code: "ENTRY_78", words: "No microparticle statement for glittered film on clothing."}}},
	{ID: "EU-033", Market: EU, From: "2023-10-17", SoldAs: []string{LooseGlitter},
		Words: "Loose plastic glitter may not be sold.", Citation: "REACH Annex XVII entry 78; Reg (EU) 2023/2055", Seen: Mixed,
		gives: []give{{to: blocks, code: "LOOSE_GLITTER"}}},
	{ID: "EU-040", Market: EU, From: "2014-12-01", AgeBelow: childEN, when: func(s *Situation) bool {
		young := s.Age < youngEN || s.Height > 0 && s.Height <= youngTop
		return young && hoodCord(s) && !s.is(outsideEN14682)
	},
		Words: "Clothing for children to 7 years or 134 cm has no cord in the hood, head or neck area.", Citation: "EN 14682:2014", Seen: Read,
		gives: []give{{to: blocks, code: "HOOD_CORD"}}},
	{ID: "EU-041", Market: EU, From: "2014-12-01", AgeFrom: youngEN, AgeBelow: childEN, when: func(s *Situation) bool { return s.Cords.HoodFreeEnds && !s.is(outsideEN14682) },
		Words: "Clothing for 7 to 14 years has no drawstring with free ends at head or neck.", Citation: "EN 14682:2014", Seen: Read,
		gives: []give{{to: blocks, code: "HOOD_CORD"}}},
	{ID: "EU-042", Market: EU, From: "2014-12-01", AgeBelow: childEN, part: garmentPart, when: func(s *Situation) bool { return waistCord(s) && !s.is(outsideEN14682) },
		Words: "Free ends of a waist drawstring on children's clothing are at most 140 mm.", Citation: "EN 14682:2014 cl. 3", Seen: Memory,
		Limits: []Limit{each(Above, 140, "mm", "waist-cord")}},
	{ID: "EU-043", Market: EU, From: "2014-12-01", AgeBelow: childEN, SoldAs: outsideEN14682,
		Words: "Bibs, hats, gloves, scarves, aprons, bags and costumes are outside the cord standard.", Citation: "EN 14682:2014 scope", Seen: Read,
		gives: []give{{to: spared, code: "CORD_MEASURES", words: "No cord measures for this article."}}},
	{ID: "EU-044", Market: EU, From: "2007-07-31", AgeBelow: childEN, SoldAs: nightwear,
		Words: "Children's nightwear is classed by burning: nightwear and pyjamas are tested, babies' are not.", Citation: "EN 14878:2007", Seen: Mixed,
		gives: []give{{to: papers, code: "NIGHTWEAR_REPORT", words: "Burning report for children's nightwear (EN 14878)."}}},
	{ID: "EU-045", Market: EU, AgeBelow: childEN, SoldAs: toys,
		Words: "An article with play value follows toy law; a decorated T-shirt does not.", Citation: "Dir 2009/48/EC", Seen: Memory,
		gives: []give{{to: papers, code: "TOY_DECLARATION", words: "Toy conformity declaration and mark."}}},
	{ID: "EU-050", Market: EU, From: "2012-05-08", part: garmentPart, when: func(s *Situation) bool { return forSale(s) && textile(s) },
		Words: "A product of at least 80 % textile fibres by weight states its fibres in the language of the country of sale, before purchase too.", Citation: "Reg (EU) 1007/2011 Art 2, 9, 14-16", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 80, "%", "textile-share")},
		over:   []give{{to: labels, code: "FIBRE_LABEL", words: "Fibre label in the language of the country of sale."}}},
	{ID: "EU-051", Market: EU, From: "2012-05-08", when: all(forSale, textile, hasFilm),
		Words: "Decorations and prints do not count in the fibre composition.", Citation: "Reg (EU) 1007/2011 Annex VII(a)", Seen: Read,
		gives: []give{{to: spared, code: "FILM_FIBRE", words: "No fibre statement for the film; keep the blank's own."}}},
	{ID: "EU-053", Market: EU, From: "2012-05-08", part: garmentPart, when: all(forSale, textile),
		Words: "Embroidery of at least 10 % of the surface is stated separately.", Citation: "Reg (EU) 1007/2011 Annex IV item 5", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 10, "% area", "embroidery-area")},
		over:   []give{{to: labels, code: "EMBROIDERY_FIBRE", words: "Fibre label naming base and embroidery."}}},
	{ID: "EU-054", Market: EU, From: "2012-05-08", part: garmentPart, when: all(forSale, textile),
		Words: "A part of another fibre that is 30 % of the weight or more is stated separately.", Citation: "Reg (EU) 1007/2011 Art 11(2)", Seen: Read,
		Limits: []Limit{each(AtOrAbove, 30, "%", "component-weight")},
		over:   []give{{to: labels, code: "COMPONENT_FIBRE", words: "Fibre label naming each large part."}}},
	{ID: "EU-055", Market: EU, From: "2012-05-08", when: func(s *Situation) bool { return forSale(s) && textile(s) && s.Fabric.AnimalParts },
		Words: "Leather, horn, feather or bone on a textile product is declared in fixed words.", Citation: "Reg (EU) 1007/2011 Art 12", Seen: Read,
		gives: []give{{to: labels, code: "ANIMAL_PARTS", words: "On the fibre label, in the language of the country of sale.", exact: "Contains non-textile parts of animal origin", language: "en"}}},
	{ID: "EU-056", Market: EU, From: "2012-05-08", when: ownUse,
		Words: "Work on a customer's goods without a change of owner is outside the fibre label law.", Citation: "Reg (EU) 1007/2011 Art 2(3)", Seen: Read,
		gives: []give{{to: spared, code: "FIBRE_LABEL", words: "No fibre label by the workshop."}}},
	{ID: "EU-059", Market: EU, when: garment,
		Words: "No Union-wide care label duty; some countries have one.", Citation: "UK and EU labelling overview", Seen: Mixed,
		gives: []give{{to: spared, code: "CARE_LABEL", words: "No Union-wide duty; a care label is still good practice, and some countries require it."}}},
}
