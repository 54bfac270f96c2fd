package recipes

import (
	"fmt"
	"testing"
	"time"
)

// franchise is a history of many releases over many branches: every twentieth is a trial at three of them.
func franchise(releases, branches int) ([]Release, []Place) {
	var list []Release
	for n := range releases {
		r := release(int64(n+1), noon.Add(time.Duration(n)*time.Hour), RecordName(fmt.Sprintf("recipes/r%d", n%50)).Revision(int64(n/50+1)))
		if n%20 == 0 {
			r.Branches = []string{fmt.Sprint("branches/b", n%branches), fmt.Sprint("branches/b", (n+1)%branches), fmt.Sprint("branches/b", (n+2)%branches)}
		}
		list = append(list, r)
	}
	var places []Place
	for i := range branches {
		places = append(places, Place{fmt.Sprint("branches/b", i), "EU"})
	}
	return list, places
}

func BenchmarkStandings_500ReleasesAt1000Branches(b *testing.B) {
	releases, places := franchise(500, 1000)
	at := noon.AddDate(1, 0, 0)
	for b.Loop() {
		if got := Standings(releases, places, at); len(got) != 500 {
			b.Fatal(len(got))
		}
	}
}

func BenchmarkWanted_500Releases(b *testing.B) {
	releases, _ := franchise(500, 1000)
	for b.Loop() {
		if got := Wanted(releases, "branches/b7", "EU", noon.Add(100*time.Hour)); len(got) == 0 {
			b.Fatal("nothing")
		}
	}
}
