package compliance

import (
	"slices"
	"strconv"
	"strings"
)

// What a garment is sold as beats the age: one film on a T-shirt, a bib and a pyjama top has three answers.
var (
	nightwear      = []string{"pyjamas", "nightdress", "nightshirt", "bathrobe", "terry-bathrobe", "sleepsuit"}
	childCare      = append([]string{"bib", "sleep-bag"}, nightwear...) // US: to help sleep or feeding; sleepwear counts
	sleepOrFeeding = []string{"bib", "sleep-bag"}                       // EU: clothing as such is no childcare article
	upperOuterwear = []string{"jacket", "coat", "hoodie", "sweatshirt"}
	toys           = []string{"toy", "costume"}
	outsideEN14682 = []string{"bib", "hat", "gloves", "scarf", "apron", "bag", "costume", "toy", "loose-glitter"}
	notGarments    = []string{"bag", "toy", "loose-glitter"}
	ordinary       = []string{"t-shirt", "polo", "shirt", "trousers", "shorts", "skirt", "dress", "sportswear", "workwear", "underwear", "socks", "infant-one-piece"}
)

// LooseGlitter is glitter sold as such, not on a garment.
const LooseGlitter = "loose-glitter"

// SoldAsWords are the words of Situation.SoldAs and Note.SoldAs.
func SoldAsWords() []string {
	words := slices.Concat(ordinary, upperOuterwear, childCare, outsideEN14682)
	slices.Sort(words)
	return slices.Compact(words)
}

// SizeWords are the sizes that the United States' and Canada's rules name.
func SizeWords() []string {
	return []string{"NB", "3M", "6M", "9M", "12M", "18M", "24M", "2T", "3T", "4T", "5T", "2", "3", "4", "5", "6", "6X",
		"7", "8", "9", "10", "11", "12", "13", "14", "14X", "15", "16"}
}

// sized reports whether the size lies from 2T up to and including last; infants' sizes and none do not.
func (s *Situation) sized(last int) bool {
	if strings.HasSuffix(s.Size, "M") {
		return false
	}
	number, err := strconv.Atoi(strings.TrimRight(s.Size, "TX"))
	if err != nil {
		return false
	}
	if strings.HasSuffix(s.Size, "X") {
		number++ // 6X and 14X are above 6 and 14
	}
	return 2 <= number && number <= last
}

func (s *Situation) is(words []string) bool { return slices.Contains(words, s.SoldAs) }
