package drawing

import (
	"relevel/events"
	"relevel/jobs"
)

// The room of a small plan, px.
const (
	smallWide = 132.0
	smallHigh = 96.0
)

// Small draws a floor as a thumbnail: its walls, and a post where there is
// still something to do. A finished one is a dot. A page has hundreds of them, so
// what looks the same is one path.
func Small(p jobs.Picture) string {
	l := newLayout(p, 0)
	fit := min(smallWide/max(l.floor.wide(), 0.1), smallHigh/max(l.floor.high(), 0.1))
	at := func(x, y float64) point {
		t := turned(x, y, 0)
		return point{(t.x - l.floor.x0) * fit, (t.y - l.floor.y0) * fit}
	}
	c := &canvas{}
	c.start("small-floor", box{-6, -6, smallWide + 6, smallHigh + 6}, "Small plan")
	c.walls(p.Plan.Walls, at)
	paths := map[string]*canvas{}
	for _, s := range p.Supports {
		class, wide, high := smallPost(s)
		if paths[class] == nil {
			paths[class] = &canvas{}
		}
		paths[class].oblong(at(s.X, s.Y), wide, high)
	}
	for _, class := range smallOrder {
		if d := paths[class]; d != nil {
			c.path(class, d)
		}
	}
	return c.finish()
}

// smallOrder is in which order the posts are drawn, the gravest last and on top.
var smallOrder = []string{"solid", "ink go-unknown", "ink go-0", "ink go-1", "ink go-2", "ink go-3", "ink go-4", "ink go-5", "danger"}

// smallPost says how a post looks, and how large it is.
func smallPost(s jobs.Support) (class string, wide, high float64) {
	switch {
	case s.Signature != nil && s.Signature.Lapsed == "":
		return "solid", 1, 1
	case s.OnJack || s.Out:
		return "danger", 6, 10
	}
	return "ink " + shade(s.Remaining), 5, 9
}

func (c *canvas) walls(walls []events.Wall, at func(x, y float64) point) {
	d := &canvas{}
	for _, w := range walls {
		from, to := at(w.From[0], w.From[1]), at(w.To[0], w.To[1])
		d.raw("M")
		d.pair(from)
		d.raw("L")
		d.pair(to)
	}
	if len(d.b) > 0 {
		c.path("wall", d)
	}
}

// oblong adds a rectangle around a point to the figures of a path.
func (c *canvas) oblong(at point, wide, high float64) {
	c.raw("M")
	c.pair(point{at.x - wide/2, at.y - high/2})
	c.raw("h")
	c.num(wide)
	c.raw("v")
	c.num(high)
	c.raw("h")
	c.num(-wide)
	c.raw("z")
}

func (c *canvas) pair(p point) {
	c.num(p.x)
	c.raw(" ")
	c.num(p.y)
}

func (c *canvas) path(class string, d *canvas) {
	c.empty("path", "class", class, "d", string(d.b))
}
