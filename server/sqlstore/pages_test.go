package sqlstore

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// someEntry has small and huge numbers, so that every length of a varint occurs.
func someEntry(rnd *rand.Rand, sequence int64) entry {
	number := func() int64 { return rnd.Int64() >> rnd.IntN(64) }
	e := entry{sequence: sequence, received: number() - number(), day: 1 + rnd.IntN(31), out: rnd.IntN(4) == 0, late: rnd.IntN(len(lateness) + 1), stratum: number() % 5000}
	for i := 1; i < packedSums; i++ {
		e.sums[i] = number()
	}
	for range rnd.IntN(4) {
		e.causes = append(e.causes, cause{number() % 20, number() % 100})
	}
	return e
}

func TestPage_givesBackWhatWasAdded(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 1))
	for range 200 {
		p := &page{}
		var want []entry
		sequence := int64(0)
		for range 1 + rnd.IntN(40) {
			sequence += 1 + rnd.Int64N(1000)
			e := someEntry(rnd, sequence)
			p.add(&e)
			sign := int64(1)
			if e.out {
				sign, e.sums[sumCorrected] = -1, 1
			}
			e.sums[sumRuns] = sign
			if e.late >= lateFrom {
				e.sums[sumLate] = sign
			}
			for i := 1; i < packedSums; i++ {
				e.sums[i] *= sign
			}
			if e.sums[sumAchievable] != 0 {
				e.sums[sumDrawnKnown] = e.sums[sumDrawn]
			}
			for i := range e.causes {
				e.causes[i].pieces *= sign
			}
			want = append(want, e)
		}
		var got []entry
		read := entries{content: p.content}
		for read.next() {
			e := *read.rest()
			e.causes = slices.Clone(e.causes)
			got = append(got, e)
		}
		if err := read.fault(); err != nil {
			t.Fatal(err)
		}
		for i := range got {
			if len(got[i].causes) == 0 {
				got[i].causes = nil
			}
		}
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(entry{}, cause{})); diff != "" {
			t.Fatalf("the page gives back something else (-want +got):\n%s", diff)
		}
		if p.last != sequence {
			t.Fatalf("last is %d, want %d", p.last, sequence)
		}
	}
}

// FuzzPage reads pages that a failing disk may have changed: it may find fault with them, but must come to an end.
func FuzzPage(f *testing.F) {
	rnd := rand.New(rand.NewPCG(2, 2))
	p := &page{}
	for i := range 3 {
		e := someEntry(rnd, int64(i)+1)
		p.add(&e)
	}
	f.Add(p.content)
	f.Add(p.content[:len(p.content)-1])
	f.Add([]byte{0})
	f.Add([]byte{255, 255, 255, 255, 255, 255, 255, 255, 255, 1})
	f.Fuzz(func(t *testing.T, content []byte) {
		read := entries{content: content}
		n := 0
		for read.next() {
			read.rest()
			n++
		}
		if n > len(content) {
			t.Fatalf("%d entries in %d bytes", n, len(content))
		}
	})
}

// TestBlock_takesSumsOfAnySize adds until 32 bits do not hold the sum, takes out again, and never loses a unit.
func TestBlock_takesSumsOfAnySize(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 3))
	var b block
	var s scratch
	want := map[int]sums{}
	for i := range 2000 {
		stratum := rnd.IntN(30)
		var v sums
		for k := range v {
			v[k] = rnd.Int64N(1 << (1 + min(i/50, 40)))
			if rnd.IntN(3) == 0 {
				v[k] = -v[k]
			}
		}
		b.add(b.row(&s, stratum), &v)
		sum := want[stratum]
		sum.add(&v)
		want[stratum] = sum
		if i%97 == 0 { // another block in between
			(&block{}).row(&s, rnd.IntN(40))
		}
		for k, stratum := range b.strata {
			var kept sums
			b.onto(&kept, k)
			for n, x := range want[int(stratum)] {
				got := kept[n]
				if got != x {
					t.Fatalf("after %d: stratum %d, sum %d: got %d, want %d", i+1, stratum, n, got, x)
				}
			}
		}
	}
	if b.wide == nil || len(b.strata) != 30 {
		t.Fatalf("%d strata, wide %v: the test did not come to sums beyond %d", len(b.strata), b.wide != nil, uint32(math.MaxUint32))
	}
}
