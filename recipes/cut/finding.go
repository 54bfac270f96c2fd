package cut

import "fmt"

// FindingKind is what kind of trouble a place of a drawing is. The list is append-only.
type FindingKind string

const (
	ThinStroke     FindingKind = "THIN_STROKE"     // narrower than the film holds: it tears or lifts
	NarrowGap      FindingKind = "NARROW_GAP"      // closer than a weeding hook and the blade can part
	TinyPiece      FindingKind = "TINY_PIECE"      // smaller than the adhesive holds
	TinyHole       FindingKind = "TINY_HOLE"       // a counter too small to be weeded cleanly
	OpenPath       FindingKind = "OPEN_PATH"       // ends that do not meet
	SelfCrossing   FindingKind = "SELF_CROSSING"   // an outline that crosses itself
	Overlap        FindingKind = "OVERLAP"         // shapes of one colour that overlapped; they were joined
	SharpCorner    FindingKind = "SHARP_CORNER"    // points that lift in the wash
	DamagedPath    FindingKind = "DAMAGED_PATH"    // path data that can be read only in part
	StrokeOutlined FindingKind = "STROKE_OUTLINED" // a drawn line was made into a filled outline
	OffPage        FindingKind = "OFF_PAGE"        // beyond the edge of the page; it is kept
	PartlyMeasured FindingKind = "PARTLY_MEASURED" // too dense to be measured everywhere
)

// Finding is one place that a person should look at.
type Finding struct {
	Kind     FindingKind
	At       Point
	Size     float64 // mm (strokes, gaps, open ends), mm² (pieces, holes), degrees (corners), 0 where it has no measure
	PassesAt int     // percent to which the drawing must be enlarged for this place to pass; 0 where that does not help
	Words    string
}

// maxOfKind bounds what a person is shown of one kind; the worst come first.
const maxOfKind = 50

// notes gathers what reading meets; places of one kind are kept up to maxOfKind and counted beyond.
type notes struct {
	list  []Finding
	count map[FindingKind]int
}

func (n *notes) add(kind FindingKind, at Point, size float64, words string, args ...any) {
	if n.count == nil {
		n.count = map[FindingKind]int{}
	}
	if n.count[kind]++; n.count[kind] <= maxOfKind {
		n.list = append(n.list, Finding{Kind: kind, At: at, Size: size, Words: fmt.Sprintf(words, args...)})
	}
}
