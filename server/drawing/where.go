package drawing

import (
	"slices"

	"relevel/jobs"
)

// Where returns how a floor is drawn as a small sketch on which some supports
// stand out: what a record is about. The floor is laid out once for many.
func Where(p jobs.Picture) func(supports []string) string {
	const wide, high = 84.0, 56.0
	l := newLayout(p, 0)
	fit := min(wide/max(l.floor.wide(), 0.1), high/max(l.floor.high(), 0.1))
	at := func(x, y float64) point {
		t := turned(x, y, 0)
		return point{(t.x - l.floor.x0) * fit, (t.y - l.floor.y0) * fit}
	}
	frame := box{-6, -6, l.floor.wide()*fit + 6, l.floor.high()*fit + 6}
	lines := bearerLines(p, at)
	return func(supports []string) string {
		if len(p.Supports) == 0 || len(supports) == 0 {
			return ""
		}
		c := &canvas{}
		c.start("where", frame, "Where on the floor")
		for _, w := range p.Plan.Walls {
			c.line("wall", at(w.From[0], w.From[1]), at(w.To[0], w.To[1]))
		}
		for _, line := range lines {
			c.shape("along", false, line...)
		}
		for _, s := range p.Supports {
			a, size, class := at(s.X, s.Y), 0.75, "dot"
			if slices.Contains(supports, s.ID) {
				size, class = 3.5, "solid"
			}
			c.rect(class, box{a.x - size, a.y - size, a.x + size, a.y + size})
		}
		return c.finish()
	}
}

// bearerLines are the bearers as lines from support to support.
func bearerLines(p jobs.Picture, at func(x, y float64) point) (lines [][]point) {
	for _, b := range p.Plan.Bearers {
		var line []point
		for _, id := range b.Supports {
			if s, ok := p.Support(id); ok {
				line = append(line, at(s.X, s.Y))
			}
		}
		if len(line) > 1 {
			lines = append(lines, line)
		}
	}
	return lines
}
