package prices

import (
	"strconv"

	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

// FilmUse is a length of one film drawn for the work, before the waste allowance.
type FilmUse struct {
	Film   string
	Length units.Millimetres
}

// GarmentUse is a number of one garment; an empty Garment is the customer's own, which is free.
type GarmentUse struct {
	Garment string
	Count   int
}

// Work is what a plan needs, as far as a price depends on it.
type Work struct {
	Film                       []FilmUse
	Garments                   []GarmentUse
	Cutting, Weeding, Pressing units.Seconds // for the whole work
	Designs                    int           // designs or colours set up
}

// Check reports every fault of the work at once.
func (w Work) Check() fault.Fields {
	var fs fault.Fields
	if !tooMany(&fs, "film", len(w.Film), MaxUses) {
		for i, u := range w.Film {
			name(&fs, at("film", i)+".film", u.Film)
			within(&fs, at("film", i)+".length_mm", int64(u.Length), 1, MaxLength)
		}
	}
	if !tooMany(&fs, "garments", len(w.Garments), MaxUses) {
		for i, u := range w.Garments {
			if u.Garment != "" {
				name(&fs, at("garments", i)+".garment", u.Garment)
			}
			within(&fs, at("garments", i)+".count", int64(u.Count), 1, MaxCount)
		}
	}
	if len(w.Garments) == 0 {
		fs.Add("garments", "is empty; state how many garments, a customer's own without a name")
	}
	within(&fs, "cutting_seconds", int64(w.Cutting), 0, MaxTime)
	within(&fs, "weeding_seconds", int64(w.Weeding), 0, MaxTime)
	within(&fs, "pressing_seconds", int64(w.Pressing), 0, MaxTime)
	within(&fs, "designs", int64(w.Designs), 0, MaxDesigns)
	return fs
}

// films adds the uses of one film together, in the order of their first use: the break is that of the whole length.
func (w Work) films() []FilmUse {
	var out []FilmUse
	place := map[string]int{}
	for _, u := range w.Film {
		if i, ok := place[u.Film]; ok {
			out[i].Length += u.Length
			continue
		}
		place[u.Film] = len(out)
		out = append(out, u)
	}
	return out
}

// garments adds the uses of one garment together, in the order of their first use.
func (w Work) garments() (own []GarmentUse, count int64) {
	place := map[string]int{}
	for _, u := range w.Garments {
		count += int64(u.Count)
		if u.Garment == "" {
			continue
		}
		if i, ok := place[u.Garment]; ok {
			own[i].Count += u.Count
			continue
		}
		place[u.Garment] = len(own)
		own = append(own, u)
	}
	return own, count
}

func at(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]" }
