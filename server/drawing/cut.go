package drawing

import (
	"math"

	"relevel/events"
	"relevel/jobs"
)

// boardWide is the width of one floor board in metres, and boardLeast the least
// that is still seen as one, in px.
const (
	boardWide  = 0.1
	boardLeast = 7.0
)

// drawCuts draws the floor cuts that are not closed again: the boards end in
// steps where they were sawn, and lie across again where the cut is covered.
func (l *layout) drawCuts(c *canvas, p jobs.Picture) {
	for _, cut := range p.Cuts {
		words := "Floor cut " + cut.Name
		if !cut.Covered {
			words += ", not covered"
		}
		c.open("g", "class", "cut")
		c.element("title", words)
		l.drawBoards(c, around(l.outline(cut.Outline)), l.boardsUp(p.Plan.Joists), cut.Covered)
		c.close("g")
	}
}

// boardsUp reports whether boards run up the drawing. They lie across the
// joists; where nobody said how those run, along the plan's x.
func (l *layout) boardsUp(j *events.Joists) bool {
	up := false
	if j != nil {
		up = math.Abs(math.Cos(j.DirectionDeg*math.Pi/180)) > math.Sqrt2/2
	}
	return up != (l.turn%2 == 1)
}

// markCuts marks the places of the cuts as taken, so that names are written
// beside them.
func (l *layout) markCuts(p jobs.Picture, taken *crowd) {
	for _, cut := range p.Cuts {
		taken.add(around(l.outline(cut.Outline)))
	}
}

func (l *layout) drawBoards(c *canvas, b box, up, covered bool) {
	if b.wide() == 0 || b.high() == 0 {
		b = b.grown(12)
	}
	c.rect("paper", b)
	wide := max(boardWide*l.scale, boardLeast)
	long, cross := b.wide(), b.high()
	at := func(along, across float64) point { return point{b.x0 + along, b.y0 + across} }
	if up {
		long, cross = cross, long
		at = func(along, across float64) point { return point{b.x0 + across, b.y0 + along} }
	}
	var left, right []point
	step := min(wide*0.6, long/6)
	for i, y := 0, 0.0; y < cross; i, y = i+1, y+wide {
		to, in := min(y+wide, cross), step*float64(i%2)
		left = append(left, at(in, y), at(in, to))
		right = append(right, at(long-in, y), at(long-in, to))
		if covered && y > 0 {
			c.line("pencil", at(step, y), at(long-step, y))
		}
	}
	c.shape("ink", false, left...)
	c.shape("ink", false, right...)
	c.line("ink", left[0], right[0])
	c.line("ink", left[len(left)-1], right[len(right)-1])
}
