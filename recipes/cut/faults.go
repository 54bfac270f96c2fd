package cut

import "evenpeel/recipes/fault"

// The reasons of this room, append-only.
const (
	NotSVG          fault.Reason = "NOT_SVG"           // the bytes are not a readable SVG drawing
	TooLarge        fault.Reason = "TOO_LARGE"         // over a stated limit of bytes, depth, elements or millimetres
	NoSize          fault.Reason = "NO_SIZE"           // the drawing has no physical size: ask for a width
	Hostile         fault.Reason = "HOSTILE"           // doctype, script, outside link and the like
	NotFinite       fault.Reason = "NOT_FINITE"        // a number is not finite, or beyond a million
	TooManyPoints   fault.Reason = "TOO_MANY_POINTS"   // too many path commands, points or crossings
	TextNotOutlined fault.Reason = "TEXT_NOT_OUTLINED" // text must become outlines first
	Unsupported     fault.Reason = "UNSUPPORTED"       // pictures, gradients, clips, dashes
	NothingToCut    fault.Reason = "NOTHING_TO_CUT"    // no filled or stroked shape
	OptionsInvalid  fault.Reason = "OPTIONS_INVALID"   // ReadOptions, Motion or File out of range
	OutOfRange      fault.Reason = "OUT_OF_RANGE"      // a cut file's coordinates leave what its format can hold
	NotACutFile     fault.Reason = "NOT_A_CUT_FILE"    // the bytes are not HP-GL or DXF as read here
	FileNotWritten  fault.Reason = "FILE_NOT_WRITTEN"  // the writer handed in failed
	UnknownFormat   fault.Reason = "UNKNOWN_FORMAT"    // none of the formats that are read
)

func refuse(kind fault.Kind, reason fault.Reason, words string, args ...any) *fault.Fault {
	return fault.New(kind, "cut", reason, words, args...)
}
