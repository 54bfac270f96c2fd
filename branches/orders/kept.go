package orders

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"evenpeel/branches"
	"evenpeel/branches/machines"
	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
	"evenpeel/recipes/units"
)

type body struct {
	Order Order
	Plan  Plan
}

// Keep works an order out and keeps both under the client's id; asking twice answers the first, with the time at which it
// was kept. Faults are those of Plan, NotReady/ORDER_BLOCKED where something blocks it, and Invalid/REQUEST_ID_REUSED where
// another order has the id.
func (p Planner) Keep(ctx context.Context, b branches.Branch, in InForce, o Order, held []Held, id, day string, now time.Time) (Order, Plan, time.Time, error) {
	name := b.Name + "/orders/" + id
	if kept, err := p.Book.Order(ctx, name); err == nil {
		return openedAs(kept, o)
	} else if !fault.Is(err, fault.NotFound) {
		return o, Plan{}, now, err
	}
	plan, err := p.Plan(ctx, b, in, o, held, day)
	if err != nil {
		return o, plan, now, err
	}
	if len(plan.Blocks) > 0 {
		return o, plan, now, fault.New(fault.NotReady, room, "ORDER_BLOCKED", "This order can not go on: %s", strings.Join(plan.Blocks, " "))
	}
	o.Name = name
	text, err := json.Marshal(body{o, plan})
	if err != nil {
		return o, plan, now, fault.New(fault.Broken, room, "ORDER_UNREADABLE", "The plan can not be kept.").Because(err)
	}
	kept, err := p.Book.AddOrder(ctx, KeptOrder{Name: name, Branch: b.Name, Title: o.Title, Created: now, Body: text})
	if err != nil {
		return o, plan, now, err
	}
	return openedAs(kept, o)
}

// openedAs opens an order that was kept when it was sent before, if it is the one that is sent now.
func openedAs(k KeptOrder, sent Order) (Order, Plan, time.Time, error) {
	o, plan, err := opened(k)
	if err != nil {
		return o, plan, k.Created, err
	}
	sent.Name = o.Name
	was, err := json.Marshal(o)
	if err == nil {
		var is []byte
		if is, err = json.Marshal(sent); err == nil && !bytes.Equal(was, is) {
			err = fault.New(fault.Invalid, room, "REQUEST_ID_REUSED", "An order with this id was kept before and says something else. Look at it; what you want now is sent as an order of its own.").With("order", o.Name)
		}
	}
	return o, plan, k.Created, err
}

// Kept reads an order. Fault NotFound/ORDER_NOT_FOUND.
func (p Planner) Kept(ctx context.Context, name string) (Order, Plan, time.Time, error) {
	kept, err := p.Book.Order(ctx, name)
	if err != nil {
		return Order{}, Plan{}, time.Time{}, err
	}
	o, plan, err := opened(kept)
	return o, plan, kept.Created, err
}

func opened(k KeptOrder) (Order, Plan, error) {
	var b body
	if err := json.Unmarshal(k.Body, &b); err != nil {
		return b.Order, b.Plan, fault.New(fault.Broken, room, "ORDER_UNREADABLE", "The kept order can not be read. Tell head office.").Because(err)
	}
	for i := range b.Plan.Layouts {
		b.Plan.Layouts[i].modern()
	}
	return b.Order, b.Plan, nil
}

// modern fills in what orders kept before there were angles and cuts do not say.
func (l *Layout) modern() {
	if len(l.Cuts) > 0 {
		return
	}
	l.Cuts = []Cut{{Length: l.Length, RollWidth: l.RollWidth, Roll: l.Roll, Words: l.RollWords, Lot: l.Lot}}
	for _, at := range l.Places {
		if at.Outline >= 0 && at.Outline < len(l.Outlines) {
			l.Outlines[at.Outline].Line, l.Outlines[at.Outline].Size = at.Line, at.Size
		}
	}
	ps := poses{outlines: l.Outlines}
	for i, at := range l.Places {
		if at.Outline >= 0 && at.Outline < len(l.Outlines) {
			l.Places[i] = ps.settle(at.angled())
		}
	}
}

// Format is an open format of cut files.
type Format string

const (
	SVG  Format = "svg"
	HPGL Format = "hpgl"
	DXF  Format = "dxf"
	PDF  Format = "pdf"
	PNG  Format = "png" // a picture to look at, not to cut by
)

var media = map[Format]string{SVG: "image/svg+xml", HPGL: "application/vnd.hp-hpgl", DXF: "image/vnd.dxf", PDF: "application/pdf", PNG: "image/png"}

// previewPixels is the longer side of a picture.
const previewPixels = 1600

// CutFile is a layout as a file.
type CutFile struct {
	Name, MediaType string
	Content         []byte
}

// CutFile writes one cut of one layout of a kept order, mirrored, with the cutter's own unit and blade. Faults:
// NotFound/ORDER_NOT_FOUND, NotFound/LAYOUT_NOT_FOUND, NotFound/CUT_NOT_FOUND, Invalid/CUT_TOO_LONG where the cutter's
// HP-GL can not hold the length, Invalid/OUT_OF_RANGE where the blade's offset leaves the film.
func (p Planner) CutFile(ctx context.Context, name string, index, cutIndex int, f Format) (CutFile, error) {
	o, plan, _, err := p.Kept(ctx, name)
	if err != nil {
		return CutFile{}, err
	}
	if index < 0 || index >= len(plan.Layouts) {
		return CutFile{}, fault.New(fault.NotFound, room, "LAYOUT_NOT_FOUND", "This order has %d layouts; there is no number %d.", len(plan.Layouts), index+1)
	}
	l := plan.Layouts[index]
	if cutIndex < 0 || cutIndex >= len(l.Cuts) {
		return CutFile{}, fault.New(fault.NotFound, room, "CUT_NOT_FOUND", "This layout is cut in %d; there is no number %d.", len(l.Cuts), cutIndex+1)
	}
	cutter, _, err := p.machines(ctx, branches.Of(name), o)
	if err != nil {
		return CutFile{}, err
	}
	file := cut.File{Rings: l.ordered(&poses{outlines: l.Outlines}, cutIndex), Width: float64(l.RollWidth) / 1000, Height: float64(l.Cuts[cutIndex].Length) / 1000, Title: fmt.Sprintf("%s, %s %s", o.Title, l.FilmTitle, l.Colour)}
	file.Speed, file.Passes = l.Card.Recipe.CutSpeed.Set, int(l.Card.Recipe.Passes)
	if force, ok := dialled(l.Card, machines.Force); ok {
		file.Force = force
	}
	var b bytes.Buffer
	switch f {
	case SVG:
		err = cut.WriteSVG(&b, file)
	case DXF:
		err = cut.WriteDXF(&b, file)
	case PDF:
		err = cut.WritePDF(&b, file)
	case PNG:
		err = cut.WritePNG(&b, []cut.Figure{{Drawing: cut.Drawing{Shapes: []cut.Shape{{Rings: file.Rings}}, Width: file.Width, Height: file.Height}}}, previewPixels)
	case HPGL:
		file.UnitsPerMM = float64(cutter.UnitsPerM) / 1000
		file.BladeOffset, file.Overcut, file.Long = cutter.BladeOffset, cutter.Overcut, cutter.LongNumbers
		if err = tooLong(cutter, file); err == nil {
			err = cut.WriteHPGL(&b, file)
		}
	default:
		err = fault.New(fault.Invalid, room, "FORMAT_UNKNOWN", "Choose one of: SVG, HP-GL, DXF, PDF, PNG.")
	}
	if err != nil {
		return CutFile{}, err
	}
	ext := map[Format]string{SVG: "svg", HPGL: "plt", DXF: "dxf", PDF: "pdf", PNG: "png"}[f]
	part := ""
	if len(l.Cuts) > 1 {
		part = fmt.Sprintf("-%d", cutIndex+1)
	}
	return CutFile{fmt.Sprintf("%s-%d%s.%s", name[strings.LastIndexByte(name, '/')+1:], index+1, part, ext), media[f], b.Bytes()}, nil
}

// mostUnits is where the numbers of plain HP-GL end. Source: HP 7475A Interfacing and Programming Manual (1984), p. 2-5.
const mostUnits = 32767

// tooLong says what can be done where a cut is longer than the cutter's numbers.
func tooLong(cutter machines.Machine, f cut.File) error {
	reach := max(f.Width, f.Height)
	if cutter.LongNumbers || reach*f.UnitsPerMM <= mostUnits {
		return nil
	}
	ends := int64(mostUnits / f.UnitsPerMM)
	return fault.New(fault.Invalid, room, "CUT_TOO_LONG", "This cut is %.0f mm long; plain HP-GL ends at %d mm on %s. If it reads the long numbers of HP-GL/2, have the branch manager say so under Machines. Otherwise save it as SVG, DXF or PDF, or have the longest cut set to %d mm and plan it again.", reach, ends, cutter.Title, ends)
}

// dialled is a whole-numbered setting of the card: HP-GL's force select (FS) knows only steps 1 to 8, and what they
// mean is the machine's own affair, so anything else is left to the operator's hand.
func dialled(c machines.Card, q machines.Quantity) (int, bool) {
	for _, s := range c.Cut {
		if s.Quantity == q && s.Dial%1000 == 0 && s.Dial >= 1000 && s.Dial <= 8000 && s.Scale == "step" {
			return int(s.Dial / 1000), true
		}
	}
	return 0, false
}

// Seconds rounds thousandths up to whole seconds.
func Seconds(ms units.Milliseconds) units.Seconds { return units.Seconds((ms + 999) / 1000) }
