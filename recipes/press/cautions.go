package press

// Where a caution stands.
type Where string

// The places.
const (
	AtStart    Where = "start"     // before the day's first press
	AtPrePress Where = "pre-press" // bare garment under the platen
	AtPlace    Where = "place"     // hands between the plates
	AtPress    Where = "press"     // the platen comes down
	AtPeel     Where = "peel"
)

// Caution is one danger at the press. Screens show it where the work is.
type Caution struct {
	Key   string
	Words string
	Where Where
}

// Cautions is every caution of this room. They are common practice and no safety assessment: the machine maker's
// manual and the law where you work stand above them.
func Cautions() []Caution {
	return []Caution{
		{"MANUAL_FIRST", "Read the machine maker's manual before you use this press. The manual and the law where you work stand above anything shown here.", AtStart},
		{"FUMES", "Heated film, dye and finish give off fumes. Air the room or draw them off, follow the film's safety data sheet, and stop if anything smells burnt or your eyes sting.", AtStart},
		{"UNKNOWN_MATERIAL", "Press only film and fabric you know. Some plastics give off harmful gas when they are too hot.", AtStart},
		{"STEAM", "A damp garment gives off hot steam when the press closes and opens. Keep face and arms back.", AtPrePress},
		{"HOT_PLATEN", "The platen burns skin at once, and stays hot long after it is switched off. Keep hands, sleeves and cords clear of it.", AtPlace},
		{"PINCH", "The closing press crushes. Both hands out, nobody else near, then close. Never reach in to mend a crease while it moves.", AtPress},
		{"SEVERAL_PRESSES", "A press that opens by itself may move while you stand at another. Stay in reach of a press that is closed and heating.", AtPress},
		{"HARD_PARTS", "Zips, buttons and rivets get hot and may break under the platen. Keep them off the pad.", AtPress},
		{"HOT_PEEL", "Carrier, cover sheet and film are hot when the press opens. Wear heat-proof gloves or wait as the recipe says.", AtPeel},
	}
}
