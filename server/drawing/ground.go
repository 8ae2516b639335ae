package drawing

import (
	"math"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// drawGround draws, lightly, what stands on the floor and will not be lifted.
func (l *layout) drawGround(c *canvas, p events.Plan) {
	for _, r := range p.Rooms {
		class := "room"
		if r.Wet {
			class = "room wet"
		}
		c.shape(class, true, l.outline(r.Outline)...)
	}
	for _, w := range p.Walls {
		class := "wall"
		if w.Masonry {
			class = "wall masonry"
		}
		c.line(class, l.at(w.From[0], w.From[1]), l.at(w.To[0], w.To[1]))
	}
	for _, t := range p.Fixed {
		l.drawFixed(c, t)
	}
	for _, t := range p.Doors {
		l.drawDoor(c, t)
	}
	for _, t := range p.Hatches {
		l.drawHatch(c, t)
	}
}

// drawFixed hatches what does not move.
func (l *layout) drawFixed(c *canvas, t events.Thing) {
	at := l.outline(t.Outline)
	if len(at) < 3 {
		c.shape("fixed", false, at...)
		return
	}
	c.shape("fixed", true, at...)
	b := around(at)
	const step = 9
	for x := b.x0 + step; x < b.x1+b.high(); x += step {
		from := point{min(x, b.x1), b.y0 + max(0, x-b.x1)}
		to := point{max(x-b.high(), b.x0), b.y0 + min(b.high(), x-b.x0)}
		c.line("pencil", from, to)
	}
}

// drawDoor draws the opening and the swing of the leaf.
func (l *layout) drawDoor(c *canvas, t events.Thing) {
	at := l.outline(t.Outline)
	if len(at) < 2 {
		return
	}
	hinge, edge := at[0], at[1]
	d, leaf := hinge.towards(edge), math.Hypot(edge.x-hinge.x, edge.y-hinge.y)
	c.line("door gap", hinge, edge)
	open := hinge.plus(d.y*leaf, -d.x*leaf)
	c.line("pencil", hinge, open)
	c.empty("path", "class", "pencil", "d", "M"+num(open.x)+" "+num(open.y)+
		"A"+num(leaf)+" "+num(leaf)+" 0 0 1 "+num(edge.x)+" "+num(edge.y))
}

// drawHatch draws cut boards: an outline crossed from corner to corner.
func (l *layout) drawHatch(c *canvas, t events.Thing) {
	at := l.outline(t.Outline)
	if len(at) == 0 {
		return
	}
	b := around(at)
	if len(at) < 3 {
		b = b.grown(12)
	}
	c.rect("hatch", b)
	c.line("pencil", point{b.x0, b.y0}, point{b.x1, b.y1})
	c.line("pencil", point{b.x0, b.y1}, point{b.x1, b.y0})
}

func around(ps []point) box {
	b := box{ps[0].x, ps[0].y, ps[0].x, ps[0].y}
	for _, p := range ps[1:] {
		b = b.with(box{p.x, p.y, p.x, p.y})
	}
	return b
}

// markMarks marks the places of datums and spots as taken.
func (l *layout) markMarks(p jobs.Picture, taken *crowd) {
	for _, s := range p.Spots {
		at := l.at(s.X, s.Y)
		taken.add(box{at.x - 5, at.y - 5, at.x + 5, at.y + 5})
	}
	for _, d := range p.Datums {
		at, _ := l.datumAt(d)
		taken.add(box{at.x - 14, at.y - 10, at.x + 14, at.y + 2})
	}
}

// datumAt is where a datum is drawn. One far from the floor stands at the edge
// of the sheet.
func (l *layout) datumAt(d jobs.Datum) (at point, off bool) {
	is, sheet := l.at(d.X, d.Y), l.sheet()
	at = point{min(max(is.x, 30), sheet.x1-40), min(max(is.y, 40), sheet.y1-52)}
	return at, math.Hypot(at.x-is.x, at.y-is.y) > datumReachM*l.scale
}

// drawMarks draws the datums and spots.
func (l *layout) drawMarks(c *canvas, p jobs.Picture, taken *crowd) {
	for _, s := range p.Spots {
		at := l.at(s.X, s.Y)
		c.line("ink", at.plus(-5, 0), at.plus(5, 0))
		c.line("ink", at.plus(0, -5), at.plus(0, 5))
		name := words{"id", s.ID, smallSize, letterWide}
		l.writeNear(c, taken, at, name)
	}
	for _, d := range p.Datums {
		l.drawDatum(c, d, taken)
	}
}

// drawDatum draws a level line with its mark.
func (l *layout) drawDatum(c *canvas, d jobs.Datum, taken *crowd) {
	in, off := l.datumAt(d)
	name, title := d.ID, datumTitle(d, c.units)
	if off {
		name, title = name+" "+l.arrowTo(d, in), title+", off the drawing"
	}
	if d.Doubt != "" {
		name += "?"
	}
	c.open("g", "class", "datum")
	c.element("title", title)
	c.line("heavy", in.plus(-14, 0), in.plus(14, 0))
	c.shape("ink", true, in.plus(-6, -9), in.plus(6, -9), in)
	l.writeNear(c, taken, in, words{"datum-name", name, smallSize, letterWide})
	c.close("g")
}

// arrowTo says which way a datum lies from where it is drawn.
func (l *layout) arrowTo(d jobs.Datum, from point) string {
	is := l.at(d.X, d.Y)
	dx, dy := is.x-from.x, is.y-from.y
	switch {
	case math.Abs(dx) >= math.Abs(dy) && dx < 0:
		return "←"
	case math.Abs(dx) >= math.Abs(dy):
		return "→"
	case dy < 0:
		return "↑"
	}
	return "↓"
}

func datumTitle(d jobs.Datum, u levelling.Unit) string {
	t := d.ID
	if d.Height != nil {
		t += " at " + u.Show(d.Height.MM)
	}
	if d.StandsOn != "" {
		t += ", on " + d.StandsOn
	}
	if d.Doubt != "" {
		t += ". " + d.Doubt
	}
	return t
}

// writeNear writes a name under, over or beside a mark, where there is room.
func (l *layout) writeNear(c *canvas, taken *crowd, at point, w words) {
	half, sheet := w.width()/2, l.sheet()
	ways := []point{at.plus(-half, 17), at.plus(-half, -13), at.plus(18, 4), at.plus(-18-w.width(), 4)}
	for i := range ways {
		ways[i].x = min(max(ways[i].x, 4), sheet.x1-w.width()-4)
	}
	c.text(w.class, taken.best(ways, w), fromStart, w.text)
}

// best is the place, of several, at which words cover least of what is there.
func (c *crowd) best(ways []point, w words) point {
	boxAt := func(p point) box { return box{p.x, p.y - w.size*0.8, p.x + w.width(), p.y + w.size*0.15} }
	choice, least := ways[0], math.Inf(1)
	for _, p := range ways {
		if o := c.overlap(boxAt(p)); o < least {
			choice, least = p, o
		}
		if least == 0 {
			break
		}
	}
	c.add(boxAt(choice))
	return choice
}

// drawRoomNames writes each room's name where nothing else stands in it.
func (l *layout) drawRoomNames(c *canvas, p events.Plan, taken *crowd) {
	for _, r := range p.Rooms {
		at := l.outline(r.Outline)
		if len(at) == 0 {
			continue
		}
		w := words{"room-name", r.Name, 14, letterWide}
		var ways []point
		b := around(at)
		for y := b.y0 + 20; y < b.y1-4; y += 14 {
			for _, x := range []float64{b.x0 + 8, (b.x0 + b.x1 - w.width()) / 2, b.x1 - 8 - w.width()} {
				ways = append(ways, point{x, y})
			}
		}
		if len(ways) > 0 {
			c.text(w.class, taken.best(ways, w), fromStart, r.Name)
		}
	}
}

// drawEdge writes what belongs to the sheet: the street side and the scale.
func (l *layout) drawEdge(c *canvas, p events.Plan) {
	l.drawStreet(c, p.Street)
	s := l.sheet()
	from := point{margin - 40, s.y1 - 14}
	metres := 1.0
	for metres < 5 && metres*l.scale < 90 {
		metres++
	}
	to := from.plus(metres*l.scale, 0)
	c.line("heavy", from, to)
	for i := 0.0; i <= metres; i++ {
		c.line("ink", from.plus(i*l.scale, -5), from.plus(i*l.scale, 5))
	}
	c.text("edge", to.plus(8, 5), fromStart, num(metres)+" m")
}

// drawStreet writes "street" along the side of the drawing it lies on.
func (l *layout) drawStreet(c *canvas, side events.Side) {
	order := []events.Side{events.Top, events.Right, events.Bottom, events.Left}
	for i, s := range order {
		if s == side {
			l.streetAt(c, order[(i+l.turn)%4])
		}
	}
}

func (l *layout) streetAt(c *canvas, side events.Side) {
	s := l.sheet()
	at, angle := point{s.x1 / 2, 18}, ""
	switch side {
	case events.Bottom:
		at = point{max(s.x1/2, s.x1-90), s.y1 - 8} // beside the scale
	case events.Left:
		at, angle = point{16, s.y1 / 2}, "-90"
	case events.Right:
		at, angle = point{s.x1 - 8, s.y1 / 2}, "-90"
	}
	if angle != "" {
		angle = "rotate(" + angle + " " + num(at.x) + " " + num(at.y) + ")"
	}
	c.element("text", "street this way", "class", "edge", "x", at.x, "y", at.y,
		"text-anchor", "middle", "transform", angle)
}
