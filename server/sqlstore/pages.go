package sqlstore

import (
	"encoding/binary"
	"time"

	"evenpeel/branches/runs"
	"evenpeel/recipes/fault"
)

// A page is the roll-up's unit: what runs of one branch and month add to the sums, one entry after another in the order of
// receipt. An entry is, each as a varint,
//
//	its length in bytes, this left out
//	its sequence, less that of the entry before
//	its receipt in µs, less the latest receipt so far, zigzag
//	the day of the month, plus outFlag where it takes a corrected run out again
//	how late it came: a class of lateness
//	its stratum (compare_stratum)
//	the sums, the number of runs left out
//	how many causes, then for each its number (compare_cause) and its pieces
//
// About 35 bytes, a tenth of the run itself. So a month of one branch is read in some ten rows, as of any instant.

// pageBytes is how long a page may get. Rows of PostgreSQL up to 2 kB lie in the table itself.
const pageBytes = 1800

const outFlag = 32

// Classes of lateness by the time from a run's end to its receipt: the last one has no limit.
var lateness = [...]time.Duration{time.Hour, 24 * time.Hour, 7 * 24 * time.Hour}

// lateFrom is the first class that counts as late.
const lateFrom = 2

func latenessOf(end, received int64) (class int) {
	for class < len(lateness) && received-end > lateness[class].Microseconds() {
		class++
	}
	return class
}

// sums are what runs add up to: runs, pieces, reprints, areas in mm², and how they were reported. pieces leaves reprints
// out, as runs do; comparison counts both, and gets both from here.
type sums [15]int64

// Places in sums.
const (
	sumRuns = iota
	sumPieces
	sumReprints
	sumDrawn
	sumDecorated
	sumLayout
	sumEdge
	sumTestCut
	sumWeeding
	sumReprintFilm
	sumRollEnd
	sumAchievable
	rateSums   = sumDecorated + 1 // what rates are made of comes first
	packedSums = iota - 1         // pages hold the sums above, but for runs; those below follow from the rest of the entry
	sumLate    = iota - 2
	sumCorrected
	sumDrawnKnown // film drawn by runs whose achievable figure is known
)

func sumsOf(r *runs.Run) sums {
	return sums{1, r.Pieces, r.ReprintCount(), int64(r.Drawn), int64(r.Decorated), int64(r.LayoutLoss), int64(r.EdgeLoss),
		int64(r.TestCutLoss), int64(r.WeedingLoss), int64(r.ReprintFilm()), int64(r.RollEndLoss), int64(r.Achievable), 0, 0, 0}
}

// cause is pieces made again for one cause, by its number.
type cause struct{ id, pieces int64 }

// entry is what one run adds, or with out takes away.
type entry struct {
	sequence, received int64
	day                int // of the month
	out                bool
	late               int
	stratum            int64
	sums               sums
	causes             []cause
}

// page is a page under way.
type page struct {
	part, last, newest int64
	content            []byte
}

// add puts an entry at the end.
func (p *page) add(e *entry) {
	var room [256]byte
	b := binary.AppendUvarint(room[:0], uint64(e.sequence-p.last))
	b = binary.AppendVarint(b, e.received-p.newest)
	day := e.day
	if e.out {
		day += outFlag
	}
	b = append(b, byte(day), byte(e.late))
	b = binary.AppendUvarint(b, uint64(e.stratum))
	for _, v := range e.sums[1:packedSums] {
		b = binary.AppendUvarint(b, uint64(v))
	}
	b = binary.AppendUvarint(b, uint64(len(e.causes)))
	for _, c := range e.causes {
		b = binary.AppendUvarint(b, uint64(c.id))
		b = binary.AppendUvarint(b, uint64(c.pieces))
	}
	p.content = append(binary.AppendUvarint(p.content, uint64(len(b))), b...)
	p.last, p.newest = e.sequence, max(e.received, p.newest)
}

// fits says whether the page takes one more.
func (p *page) fits() bool { return len(p.content) < pageBytes }

// after is the page that follows a full one.
func (p *page) after() *page { return &page{part: p.part + 1} }

// entries reads a page. next reads the head of an entry (all but sums and causes), rest what it leaves out; an entry whose
// rest nobody reads costs next to nothing.
type entries struct {
	content []byte
	body    []byte // of the entry, from its sums on
	newest  int64
	entry   entry
	broken  bool
}

func (r *entries) next() bool {
	if len(r.content) == 0 || r.broken {
		return false
	}
	length := int(r.varint(&r.content))
	if length <= 0 || length > len(r.content) {
		r.broken = true
		return false
	}
	b := r.content[:length]
	r.content = r.content[length:]
	r.entry.sequence += int64(r.varint(&b))
	step := r.varint(&b)
	r.entry.received = r.newest + (int64(step>>1) ^ -int64(step&1))
	r.newest = max(r.newest, r.entry.received)
	if len(b) < 2 {
		r.broken = true
		return false
	}
	r.entry.day, r.entry.out, r.entry.late = int(b[0]&^outFlag), b[0]&outFlag != 0, int(b[1])
	b = b[2:]
	r.entry.stratum = int64(r.varint(&b))
	r.body = b
	return !r.broken
}

// rest reads the sums, negative for an entry that takes out, and the causes likewise. They hold until the next call.
func (r *entries) rest() *entry {
	e, sign := &r.entry, int64(1)
	if e.out {
		sign = -1
	}
	e.sums[sumRuns], e.sums[sumLate], e.sums[sumCorrected] = sign, 0, 0
	if e.late >= lateFrom {
		e.sums[sumLate] = sign
	}
	if e.out {
		e.sums[sumCorrected] = 1
	}
	b := r.body
	for i := 1; i < packedSums; i++ {
		e.sums[i] = sign * int64(r.varint(&b))
	}
	e.sums[sumDrawnKnown] = 0
	if e.sums[sumAchievable] != 0 {
		e.sums[sumDrawnKnown] = e.sums[sumDrawn]
	}
	e.causes = e.causes[:0]
	for n := min(r.varint(&b), uint64(len(b))); n > 0; n-- {
		id := int64(r.varint(&b))
		e.causes = append(e.causes, cause{id, sign * int64(r.varint(&b))})
	}
	return e
}

// varint takes one off b. Where there is none it answers 0 and marks the page as broken.
func (r *entries) varint(b *[]byte) uint64 {
	s := *b
	if len(s) > 0 && s[0] < 0x80 {
		*b = s[1:]
		return uint64(s[0])
	}
	if len(s) > 1 && s[1] < 0x80 {
		*b = s[2:]
		return uint64(s[0]&0x7f) | uint64(s[1])<<7
	}
	v, n := binary.Uvarint(s)
	if n <= 0 {
		r.broken = true
		return 0
	}
	*b = s[n:]
	return v
}

// fault tells whether all of it could be read.
func (r *entries) fault() error {
	if r.broken {
		return fault.New(fault.Broken, room, StoreBroken, "A page of the roll-up can not be read. Build the roll-ups anew from the runs.")
	}
	return nil
}
