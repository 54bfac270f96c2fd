package placement

import "evenpeel/recipes/units"

const (
	practice = "common practice, no source"
	adults   = "chest girths by EN 13402-3 letter codes, from memory; ease, lengths and sleeves common practice, no source"
	children = "chest girths by height after EN 13402-3, from memory; ease, lengths and sleeves common practice, no source"
)

// girth is a size's chest girth in mm, the middle of its range, and its body length laid flat.
type girth struct {
	name          string
	chest, length units.Millimetres
}

// adultGirths are the middles of EN 13402-3 men's codes: S 86–94, M 94–102, L 102–110, XL 110–118, XXL 118–129 cm.
var (
	adultGirths = []girth{{"XS", 820, 660}, {"S", 900, 690}, {"M", 980, 720}, {"L", 1060, 740}, {"XL", 1140, 760}, {"XXL", 1235, 780}, {"3XL", 1350, 800}}
	childGirths = []girth{{"92", 530, 380}, {"98", 550, 400}, {"104", 570, 420}, {"110", 590, 440}, {"116", 610, 460}, {"122", 630, 480}, {"128", 660, 500}, {"134", 690, 520}, {"140", 720, 545}, {"146", 750, 570}, {"152", 780, 595}, {"158", 810, 620}, {"164", 840, 645}}
)

// cutTo makes sizes from girths with the ease of a cut, the rest in proportion to the flat width.
func cutTo(list []girth, ease, longer units.Millimetres, neck int64, sleeve, sleeveLength int64, pocket int64) []Size {
	var sizes []Size
	for _, g := range list {
		w := (g.chest + ease) / 2
		part := func(perMille int64) units.Millimetres {
			return units.Millimetres(units.MulDiv(int64(w), perMille, 1000))
		}
		sizes = append(sizes, Size{
			Name: g.name, Width: w, Length: g.length + longer, AcrossChest: part(800), Armhole: part(430), FrontNeck: part(neck), BackNeck: part(45),
			NeckHalf: part(180), SleeveWidth: part(sleeve), SleeveLength: part(sleeveLength), PocketUpToHem: part(pocket),
		})
	}
	return sizes
}

// buttoned narrows what reaches down in front to a placket.
func buttoned(sizes []Size) []Size {
	for i := range sizes {
		sizes[i].NeckHalf = 25
	}
	return sizes
}

// Usual is what is common practice, to begin with.
func Usual() Table {
	tops := []string{"t-shirt", "childs-t-shirt", "long-sleeve", "polo", "sweatshirt", "hoodie", "childs-hoodie"}
	return Table{
		Source: practice,
		Garments: []Garment{
			{Kind: "t-shirt", Title: "t-shirt", Source: adults, Sizes: cutTo(adultGirths, 60, 0, 190, 370, 420, 0)},
			{Kind: "childs-t-shirt", Title: "child's t-shirt", Child: true, Source: children, Sizes: cutTo(childGirths, 70, 0, 190, 380, 400, 0)},
			{Kind: "long-sleeve", Title: "long-sleeved shirt", Source: adults, Sizes: cutTo(adultGirths, 60, 10, 190, 190, 1180, 0)},
			{Kind: "polo", Title: "polo", Source: adults, Sizes: buttoned(cutTo(adultGirths, 80, 10, 330, 370, 430, 0))},
			{Kind: "sweatshirt", Title: "sweatshirt", Source: adults, Sizes: cutTo(adultGirths, 140, -20, 190, 190, 1120, 0)},
			{Kind: "hoodie", Title: "hoodie", Source: adults, Sizes: cutTo(adultGirths, 140, -10, 210, 190, 1120, 360)},
			{Kind: "childs-hoodie", Title: "child's hoodie", Child: true, Source: children, Sizes: cutTo(childGirths, 130, 0, 210, 200, 1080, 360)},
			{Kind: "tote", Title: "tote bag", Bag: true, Source: practice, Sizes: []Size{{Name: "one size", Width: 380, Length: 420}}},
			{Kind: "apron", Title: "apron", Bag: true, Source: practice, Sizes: []Size{{Name: "one size", Width: 700, Length: 850}}},
		},
		Places: []Place{
			{Name: "left-chest", Title: "left chest", Face: Front, Landmark: Shoulder, Offset: 190, Across: 100, Clear: 20, Garments: []string{"t-shirt", "long-sleeve", "polo", "sweatshirt", "hoodie"}, Source: practice,
				Bands: []Band{{480, 60, 80, 100, 100}, {560, 70, 90, 110, 110}, {maxMeasure, 75, 100, 120, 120}}},
			{Name: "right-chest", Title: "right chest", Face: Front, Landmark: Shoulder, Offset: 190, Across: -100, Clear: 20, Garments: []string{"t-shirt", "long-sleeve", "polo", "sweatshirt", "hoodie"}, Source: practice,
				Bands: []Band{{480, 60, 80, 100, 100}, {560, 70, 90, 110, 110}, {maxMeasure, 75, 100, 120, 120}}},
			{Name: "childs-left-chest", Title: "left chest, child", Face: Front, Landmark: Shoulder, Offset: 120, Across: 65, Clear: 15, Garments: []string{"childs-t-shirt", "childs-hoodie"}, Source: practice,
				Bands: []Band{{340, 40, 50, 65, 65}, {400, 45, 60, 75, 75}, {maxMeasure, 50, 70, 85, 85}}},
			{Name: "centre-chest", Title: "centre chest", Face: Front, Landmark: Collar, Offset: 70, Clear: 30, Garments: tops, Source: practice,
				Bands: []Band{{340, 80, 120, 160, 120}, {420, 100, 150, 200, 150}, {520, 150, 200, 250, 180}, {maxMeasure, 150, 220, 280, 200}}},
			{Name: "full-front", Title: "full front", Face: Front, Landmark: Collar, Offset: 75, Clear: 30, Garments: tops, Source: practice,
				Bands: []Band{{340, 120, 170, 200, 210}, {420, 150, 210, 250, 260}, {480, 180, 250, 290, 330}, {560, 200, 280, 330, 380}, {maxMeasure, 220, 300, 360, 420}}},
			{Name: "full-back", Title: "full back", Face: Back, Landmark: Collar, Offset: 100, Clear: 30, Garments: tops, Source: practice,
				Bands: []Band{{340, 120, 170, 210, 240}, {420, 150, 210, 260, 300}, {480, 180, 260, 310, 360}, {560, 200, 300, 350, 420}, {maxMeasure, 220, 320, 380, 450}}},
			{Name: "upper-back", Title: "upper back", Face: Back, Landmark: Collar, Offset: 50, Clear: 25, Garments: tops, Source: practice,
				Bands: []Band{{340, 60, 120, 170, 80}, {420, 80, 150, 220, 100}, {maxMeasure, 100, 250, 320, 120}}},
			{Name: "nape", Title: "nape", Face: Back, Landmark: Collar, Offset: 20, Clear: 10, Garments: tops, Source: practice,
				Bands: []Band{{420, 25, 40, 60, 40}, {maxMeasure, 30, 60, 90, 60}}},
			{Name: "left-sleeve", Title: "left sleeve", Face: LeftSleeve, Landmark: Hem, Offset: 35, Clear: 20, Garments: []string{"t-shirt", "childs-t-shirt", "polo"}, Source: practice,
				Bands: []Band{{150, 30, 50, 80, 70}, {maxMeasure, 40, 75, 110, 100}}},
			{Name: "right-sleeve", Title: "right sleeve", Face: RightSleeve, Landmark: Hem, Offset: 35, Clear: 20, Garments: []string{"t-shirt", "childs-t-shirt", "polo"}, Source: practice,
				Bands: []Band{{150, 30, 50, 80, 70}, {maxMeasure, 40, 75, 110, 100}}},
			{Name: "hem", Title: "hem", Face: Front, Landmark: Hem, Offset: 50, Across: 110, Clear: 20, Garments: []string{"t-shirt", "long-sleeve", "polo", "sweatshirt"}, Source: practice,
				Bands: []Band{{maxMeasure, 25, 50, 80, 80}}},
			{Name: "long-left-sleeve", Title: "along the left sleeve", Face: LeftSleeve, Landmark: Shoulder, Offset: 120, Clear: 15, Garments: []string{"long-sleeve", "sweatshirt", "hoodie", "childs-hoodie"}, Source: practice,
				Bands: []Band{{85, 15, 30, 50, 300}, {maxMeasure, 20, 45, 70, 380}}},
			{Name: "long-right-sleeve", Title: "along the right sleeve", Face: RightSleeve, Landmark: Shoulder, Offset: 120, Clear: 15, Garments: []string{"long-sleeve", "sweatshirt", "hoodie", "childs-hoodie"}, Source: practice,
				Bands: []Band{{85, 15, 30, 50, 300}, {maxMeasure, 20, 45, 70, 380}}},
			{Name: "bag-front", Title: "bag front", Face: Front, Landmark: TopEdge, Offset: 90, Clear: 30, Garments: []string{"tote"}, Source: practice,
				Bands: []Band{{maxMeasure, 100, 220, 280, 280}}},
			{Name: "bib", Title: "bib", Face: Front, Landmark: TopEdge, Offset: 80, Clear: 30, Garments: []string{"apron"}, Source: practice,
				Bands: []Band{{maxMeasure, 80, 180, 240, 180}}},
		},
	}
}
