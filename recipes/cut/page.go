package cut

// overPage is how far in mm a shape may reach beyond the page before a person is told.
const overPage = 0.5

// noteOffPage tells of what a browser would cut off at the edge of the page: here it is kept.
func (c *composer) noteOffPage(rings []Ring) {
	if c.page == nil {
		return
	}
	worst, at := overPage, Point{}
	for _, r := range rings {
		for _, p := range r {
			if over := max(c.page.minX-p.X, p.X-c.page.maxX, c.page.minY-p.Y, p.Y-c.page.maxY); over > worst {
				worst, at = over, p
			}
		}
	}
	if worst > overPage {
		c.notes.add(OffPage, at, worst, "This shape reaches %.1f mm beyond the page. It is kept, and will be cut; delete what was not meant.", worst)
	}
}
