package orders

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"math"
	"strconv"
	"strings"

	"evenpeel/recipes/cut"
	"evenpeel/recipes/fault"
)

// Read reads a drawing in any format that cut.Read knows, keeps its outlines under the digest of what was read, and gives
// both. Faults are those of cut.Read.
func (p Planner) Read(ctx context.Context, branch, title string, file []byte, o cut.ReadOptions) (string, cut.Drawing, error) {
	d, err := cut.Read(file, o)
	if err != nil {
		return "", d, err
	}
	body, err := json.Marshal(rounded(d))
	if err != nil {
		return "", d, fault.New(fault.Invalid, room, "DRAWING_UNREADABLE", "The drawing has a place that is no number.").Because(err)
	}
	sum := sha256.Sum256(body)
	name := "drawings/" + hex.EncodeToString(sum[:])
	return name, d, p.Book.PutDrawing(ctx, KeptDrawing{Branch: branch, Name: name, Title: title, Outlines: body})
}

// Drawing reads a kept drawing. Fault NotFound/DRAWING_NOT_FOUND.
func (p Planner) Drawing(ctx context.Context, branch, name string) (cut.Drawing, error) {
	var d cut.Drawing
	kept, err := p.Book.Drawing(ctx, branch, name)
	if err != nil {
		return d, err
	}
	if err := json.Unmarshal(kept.Outlines, &d); err != nil {
		return d, fault.New(fault.Broken, room, "DRAWING_UNREADABLE", "The kept drawing can not be read. Drop the file again.").Because(err)
	}
	return d, nil
}

// rounded brings every point to a whole micrometre, far below what a blade can do, so that drawings stay small.
func rounded(d cut.Drawing) cut.Drawing {
	for _, s := range d.Shapes {
		for _, r := range s.Rings {
			for i := range r {
				r[i].X, r[i].Y = math.Round(r[i].X*1000)/1000, math.Round(r[i].Y*1000)/1000
			}
		}
	}
	return d
}

// figure is the part of the drawing in one colour, its own box moved to 0,0, and where that corner lay; "" is all of it.
func figure(d cut.Drawing, colour string) (cut.Drawing, cut.Point, bool) {
	if colour == "" {
		return d, cut.Point{}, true
	}
	for _, f := range d.Figures() {
		if f.Colour == colour {
			return f.Drawing, f.At, true
		}
	}
	return cut.Drawing{}, cut.Point{}, false
}

// Path writes rings as SVG path data in millimetres.
func Path(rings []cut.Ring) string {
	var b strings.Builder
	for _, r := range rings {
		for i, p := range r {
			b.WriteByte("ML"[min(i, 1)])
			b.WriteString(strconv.FormatFloat(p.X, 'f', -1, 64))
			b.WriteByte(' ')
			b.WriteString(strconv.FormatFloat(p.Y, 'f', -1, 64))
		}
		b.WriteByte('Z')
	}
	return b.String()
}
